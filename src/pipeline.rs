//! The whole run, as the list of its stages. Nothing else knows their order.

use std::fmt;
use std::path::{Path, PathBuf};
use std::time::Instant;

use anyhow::{Context, Result, bail};

use crate::analysis::{self, Derived, Results};
use crate::chart::{self, Chart, Labels};
use crate::cohort::{self, Counts, FlowStep};
use crate::notice::Notice;
use crate::output::{self, Leavings, Published, SampleLeavings, Staging};
use crate::report::{self, Said, StatedChecks};
use crate::source::{self, Loaded};
use crate::study::{Source, Study, StudySample, unlike_samples};
use crate::table::{Table, small};
use crate::tally::{self, Tallies};
use crate::variant;

/// Replicates of a look ahead, which prints no interval.
const FORESEEN_REPLICATES: usize = 10;

/// Where a run reads and writes, and whom it tells.
pub struct Options<'a> {
    pub out: &'a Path,
    /// Folders that may hold a known survey's files, before those of the study.
    pub data: Vec<PathBuf>,
    /// Told the name of every stage as it starts.
    pub progress: &'a dyn Fn(&str),
}

/// A finished run.
#[derive(Debug)]
pub struct Finished {
    pub folder: PathBuf,
    /// The folder beside it with what is too close to the people themselves to be shared.
    pub private: Option<PathBuf>,
    /// What is left of earlier results that could not be deleted.
    pub leftover: Vec<PathBuf>,
    /// Folders of runs that were broken off while their results took the place of earlier ones.
    pub kept: Vec<PathBuf>,
    pub notices: Vec<Notice>,
    /// The answer in a few sentences.
    pub answer: Vec<Said>,
    /// How many of the numbers that the study states were found; `None` when it states none.
    pub checks: Option<StatedChecks>,
}

/// Runs a study from its files to its output folder.
pub fn run(study: &Study, options: &Options) -> Result<Finished> {
    let mut stages = Stages::new(options.progress);
    let staging = Staging::new(options.out, study.public)?;
    let samples = gather(study, &options.data, &mut stages)?;
    let estimated = estimates(&samples, &mut stages)?;
    stages.start("drawing");
    let charts = draw(&samples, &estimated)?;
    let Results { mut tables, mut notices } = join(study, &samples, estimated)?;
    notices.extend(output::small_print_notice(study, &charts));
    notices.extend(output::letters_notice(study, &charts));
    tables.push(output::notice_table(&notices)?);
    let labels = labels(study, &samples);
    stages.start("writing");
    let parts: Vec<SampleLeavings> = samples.iter().map(leavings).collect();
    let leavings = Leavings {
        study,
        samples: &parts,
        tables: &tables,
        notices: &notices,
        charts: &charts,
        labels: &labels,
    };
    leavings.write(&staging)?;
    leavings.write_record(&staging, stages.seconds())?;
    let answer = report::answer(&tables, &labels);
    let checks = report::stated_checks(&tables);
    let Published { folder, private, leftover, kept } = staging.publish()?;
    Ok(Finished { folder, private, leftover, kept, notices, answer, checks })
}

/// The estimates of a study, without charts, report or output folder.
pub fn estimate(study: &Study, data: &[PathBuf]) -> Result<Results> {
    let mut stages = Stages::new(&|_| {});
    let samples = gather(study, data, &mut stages)?;
    let estimated = estimates(&samples, &mut stages)?;
    join(study, &samples, estimated)
}

/// What a run would remark on, or refuse, once it has read a study's own tables. A sample with official files is not
/// looked at.
pub fn foresee(study: &Study, data: &[PathBuf]) -> Result<Vec<Notice>> {
    let own = |sample: &StudySample| (sample.name.clone(), study.of_sample(sample, study.resampling.seed));
    let mut samples: Vec<(String, Study)> = study.samples.iter().map(own).collect();
    if samples.is_empty() {
        samples.push((String::new(), study.clone()));
    }
    let mut notices = Vec::new();
    for (name, sample) in samples {
        if sample.sources.iter().any(|source| matches!(source, Source::Survey { .. })) {
            continue;
        }
        let found = foresee_one(&sample, data);
        notices.extend(if name.is_empty() {
            found?
        } else {
            found.with_context(|| format!("sample {name}"))?
        });
    }
    Ok(notices)
}

fn foresee_one(study: &Study, data: &[PathBuf]) -> Result<Vec<Notice>> {
    let loaded = source::read_all(study, data)?;
    let notices = cohort::remarks(study, &loaded)?;
    // Everybody alone, by few replicates: what is refused depends on neither.
    let mut bare = Study { groupings: Vec::new(), ..study.clone() };
    source::note_empty(&mut bare, &loaded)?;
    bare.resampling.replicates = bare.resampling.replicates.min(FORESEEN_REPLICATES);
    let cohort = cohort::build(&bare, &loaded)?;
    analysis::refuse(&bare, &tally::collect(&cohort)?)?;
    Ok(notices)
}

/// The tallies of a study, for questions that are not in it.
pub fn tallies(study: &Study, data: &[PathBuf]) -> Result<Tallies> {
    if let Some(why) = study.not_one_sample() {
        bail!(why);
    }
    Ok(gather_one(study.clone(), data, &mut Stages::new(&|_| {}))?.tallies)
}

/// One sample, from its files to its tallies.
struct Gathered {
    /// Its name as it stands in names of files; empty when the study is one sample.
    stem: String,
    /// The study as this sample alone runs it.
    study: Study,
    loaded: Loaded,
    flow: Vec<FlowStep>,
    counts: Counts,
    tallies: Tallies,
}

/// What the estimates leave for the stages after them.
struct Estimated {
    /// One for each sample.
    samples: Vec<Results>,
    /// Tables that set samples side by side.
    across: Vec<Table>,
}

/// Reads and tallies every sample of a study.
fn gather(study: &Study, data: &[PathBuf], stages: &mut Stages) -> Result<Vec<Gathered>> {
    if study.samples.is_empty() {
        return Ok(vec![gather_one(study.clone(), data, stages)?]);
    }
    let one = |sample: &StudySample| {
        let seed = cohort::stable_hash(&sample.name, study.resampling.seed);
        let mut gathered = gather_one(study.of_sample(sample, seed), data, stages)
            .with_context(|| format!("sample {}", sample.name))?;
        if study.samples.len() > 1 {
            gathered.stem = sample.stem();
        }
        gathered.tallies.survey.clone_from(&sample.label);
        Ok(gathered)
    };
    study.samples.iter().map(one).collect()
}

fn gather_one(mut study: Study, data: &[PathBuf], stages: &mut Stages) -> Result<Gathered> {
    stages.start("reading the files");
    let mut loaded = source::read_all(&study, data)?;
    source::note_empty(&mut study, &loaded)?;
    loaded.notices.extend(cohort::remarks(&study, &loaded)?);
    stages.start("computing indices, outcomes and groups");
    let cohort = cohort::build(&study, &loaded)?;
    let flow = cohort::flow(&study, &cohort, &loaded.flow)?;
    let counts = cohort::counts(&study, &loaded, &cohort)?;
    stages.start("tallying");
    let tallies = Tallies { joints: tally::joints(&study, &cohort)?, ..tally::collect(&cohort)? };
    Ok(Gathered { stem: String::new(), study, loaded, flow, counts, tallies })
}

fn estimates(samples: &[Gathered], stages: &mut Stages) -> Result<Estimated> {
    stages.start("estimating");
    let mut derived = Vec::new();
    for sample in samples {
        let one = estimate_one(sample);
        derived.push(if sample.stem.is_empty() {
            one?
        } else {
            one.with_context(|| format!("sample {}", sample.tallies.survey))?
        });
    }
    let across = analysis::across(&derived)?;
    let mut estimated = Estimated { samples: derived.into_iter().map(|d| d.results).collect(), across };
    // Samples are one study's, and share what may be shown.
    if let Some(limit) = samples.first().and_then(|sample| sample.study.fewest_shown()) {
        leave_out(&mut estimated, limit);
    }
    Ok(estimated)
}

/// Takes out what would show how few people something holds for: of the tables, before anything is made from them.
fn leave_out(estimated: &mut Estimated, limit: i64) {
    let mut samples: Vec<&mut Vec<Table>> =
        estimated.samples.iter_mut().map(|results| &mut results.tables).collect();
    let left_out = small::leave_out_of_samples(&mut samples, &mut estimated.across, limit);
    for (Results { notices, .. }, left_out) in estimated.samples.iter_mut().zip(left_out) {
        notices.push(analysis::left_out_notice(left_out, limit));
    }
}

fn estimate_one(sample: &Gathered) -> Result<Derived<'_>> {
    let Gathered { study, loaded, tallies, flow, counts, .. } = sample;
    let mut derived = analysis::estimate(study, tallies, flow)?;
    derived.add(analysis::counted(&derived.context, counts)?);
    let varied = analysis::sensitivity(&derived, &variant::all(study, loaded, &tallies.survey)?)?;
    derived.results.add(varied);
    Ok(derived)
}

/// The charts of each sample, and those of samples side by side.
fn draw(samples: &[Gathered], estimated: &Estimated) -> Result<Vec<Chart>> {
    let labels = |sample: &Gathered| chart::labels(&sample.study, &sample.tallies.survey);
    let print = |sample: &Gathered| chart::print(&sample.study);
    if let ([sample], [results]) = (samples, &estimated.samples[..]) {
        return Ok(chart::draw_all(&results.tables, &labels(sample), &print(sample))?);
    }
    let mut charts = match samples.first() {
        Some(first) => chart::draw_all(&estimated.across, &chart::labels(&first.study, ""), &print(first))?,
        None => Vec::new(),
    };
    for (sample, results) in samples.iter().zip(&estimated.samples) {
        charts.extend(chart::draw_sample(&results.tables, &labels(sample), (&sample.stem, &print(sample)))?);
    }
    Ok(charts)
}

/// Tables and notices of all samples, and the stated numbers beside them.
fn join(study: &Study, samples: &[Gathered], estimated: Estimated) -> Result<Results> {
    let (mut tables, mut notices) = (Vec::new(), Vec::new());
    for (sample, results) in samples.iter().zip(estimated.samples) {
        let label = &sample.tallies.survey;
        // Who the people are comes before what their files and numbers show.
        let (lead, rest): (Vec<Notice>, Vec<Notice>) = results.notices.into_iter().partition(Notice::leads);
        let all = lead.into_iter().chain(sample.loaded.notices.iter().cloned()).chain(rest);
        notices.push((label.clone(), all.collect()));
        tables.push((label.clone(), results.tables));
    }
    let mut tables = analysis::join(tables, estimated.across);
    tables.push(analysis::checks(study, &tables)?);
    let mut notices: Vec<Notice> =
        unlike_samples(study).into_iter().chain(analysis::join_notices(&notices)).collect();
    notices.extend(analysis::withheld_notice(&tables));
    Ok(Results { tables, notices })
}

/// Labels of the study; with several samples the tables alone say which survey a row is of.
fn labels(study: &Study, samples: &[Gathered]) -> Labels {
    match samples {
        [only] => chart::labels(study, &only.tallies.survey),
        _ => chart::labels(study, ""),
    }
}

fn leavings(sample: &Gathered) -> SampleLeavings<'_> {
    SampleLeavings { folder: sample.stem.clone(), loaded: &sample.loaded, tallies: &sample.tallies }
}

impl fmt::Debug for Options<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Options").field("out", &self.out).field("data", &self.data).finish_non_exhaustive()
    }
}

/// Names and times the stages.
struct Stages<'a> {
    progress: &'a dyn Fn(&str),
    started: Vec<(String, Instant)>,
}

impl<'a> Stages<'a> {
    fn new(progress: &'a dyn Fn(&str)) -> Self {
        Self { progress, started: Vec::new() }
    }

    fn start(&mut self, stage: &str) {
        (self.progress)(stage);
        self.started.push((stage.to_owned(), Instant::now()));
    }

    /// Seconds from the start of each stage to the start of the next, or to now.
    fn seconds(&self) -> Vec<(String, f64)> {
        let now = Instant::now();
        let ends = self.started.iter().skip(1).map(|(_, at)| *at).chain([now]);
        self.started
            .iter()
            .zip(ends)
            .map(|((stage, from), to)| (stage.clone(), (to - *from).as_secs_f64()))
            .collect()
    }
}
