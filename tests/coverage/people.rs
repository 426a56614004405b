//! From a drawn survey to tallies, estimates and the people of a group.

use std::fs;

use cutspan::analysis::{self, Context, Results};
use cutspan::cohort::{self, UNKNOWN, YES};
use cutspan::invented::{self, Person};
use cutspan::source;
use cutspan::stats::Sample;
use cutspan::study::{self, Study};
use cutspan::tally::{self, Tallies};

/// Replicates of every estimate.
pub const REPLICATES: usize = 200;

/// The demo's sources and cohort with a smaller analysis, on the file `survey.csv` beside it.
pub fn study_text(groups: &str, replicates: usize) -> String {
    let demo = include_str!("../../pipelines/demo.toml").replace("../data-public/veldmark.csv", "survey.csv");
    let source = &demo[..demo.find("[analysis]").expect("the demo has an analysis")];
    let define = &demo[demo.find("[[define.quantity]]").expect("the demo defines its outcome")..];
    format!(
        "{source}\n[analysis]\nindices = [\"homa_ir\"]\noutcomes = [\"insulin_resistant\"]\n\
         groups = {groups}\nrules = [\"youden\"]\n\
         [[analysis.threshold]]\nindex = \"homa_ir\"\nvalue = 2.0\nsource = \"coverage\"\n\
         [resampling]\nreplicates = {replicates}\nseed = 1\n{define}"
    )
}

/// What the whole program makes of a survey, and the tallies it made it from.
pub struct Estimated {
    pub study: Study,
    pub tallies: Tallies,
    pub results: Results,
}

pub fn estimate(survey: &[Person], text: &str) -> Estimated {
    let (study, tallies) = tallied(survey, text);
    let results = analysis::estimate(&study, &tallies, &[]).expect("the draw can be estimated").results;
    Estimated { study, tallies, results }
}

/// A survey tallied as a study asks, nothing estimated yet.
pub fn tallied(survey: &[Person], text: &str) -> (Study, Tallies) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    fs::write(folder.path().join("survey.csv"), invented::file::survey_csv(survey)).expect("written");
    let study = study::parse(text, "coverage.toml", folder.path()).expect("the study is valid");
    let loaded = source::read_all(&study, &[]).expect("the survey can be read");
    let cohort = cohort::build(&study, &loaded).expect("people");
    let joints = tally::joints(&study, &cohort).expect("joint tallies");
    let tallies = Tallies { joints, ..tally::collect(&cohort).expect("tallies") };
    (study, tallies)
}

/// People of a group of the cohort with a value and a known outcome, and who has it.
pub fn classed(context: &Context, group: usize) -> (Sample, Vec<bool>) {
    let ordered = &context.frames[context.frame_of_pair(0, 0)].indices[0];
    let all = &ordered.sample;
    let known = |row: &usize| {
        ordered.outcomes[*row] & 0b11 != UNKNOWN
            && context.populations[0].holds(ordered.flags[*row])
            && context.groups[group].holds(&ordered.levels[*row])
    };
    let rows: Vec<usize> = (0..all.len()).filter(known).collect();
    let sample = Sample {
        value: rows.iter().map(|&r| all.value[r]).collect(),
        weight: rows.iter().map(|&r| all.weight[r]).collect(),
        weight_squared: rows.iter().map(|&r| all.weight_squared[r]).collect(),
        people: rows.iter().map(|&r| all.people[r]).collect(),
        unit: rows.iter().map(|&r| all.unit[r]).collect(),
    };
    (sample, rows.iter().map(|&r| ordered.outcomes[r] & 0b11 == YES).collect())
}
