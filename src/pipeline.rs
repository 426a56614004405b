//! The whole run, as the list of its stages. Nothing else knows their order.

use std::fmt;
use std::path::{Path, PathBuf};
use std::time::Instant;

use anyhow::Result;

use crate::analysis::{self, Results};
use crate::chart;
use crate::cohort::{self, Cohort};
use crate::notice::Notice;
use crate::output::{self, Leavings, Staging};
use crate::report;
use crate::source::{self, Loaded};
use crate::study::Study;
use crate::tally::{self, Tallies};

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
    pub notices: Vec<Notice>,
    /// The answer in a few sentences.
    pub answer: Vec<String>,
}

/// Runs a study from its files to its output folder.
pub fn run(study: &Study, options: &Options) -> Result<Finished> {
    let mut stages = Stages::new(options.progress);
    let staging = Staging::new(options.out)?;
    let Estimated { loaded, tallies, results } =
        estimates(study, &folders(study, &options.data), &mut stages)?;
    let notices: Vec<Notice> = loaded.notices.iter().chain(&results.notices).cloned().collect();
    let mut tables = results.tables;
    tables.push(output::notice_table(&notices)?);
    stages.start("drawing");
    let labels = chart::labels(study, &tallies.survey);
    let charts = chart::draw_all(&tables, &labels)?;
    stages.start("writing");
    let leavings = Leavings {
        study,
        loaded: &loaded,
        tallies: &tallies,
        tables: &tables,
        notices: &notices,
        charts: &charts,
        labels: &labels,
    };
    leavings.write(&staging)?;
    leavings.write_record(&staging, stages.seconds())?;
    let answer = report::answer(&tables, &labels);
    Ok(Finished { folder: staging.publish()?, notices, answer })
}

/// The estimates of a study, without charts, report or output folder.
pub fn estimate(study: &Study, data: &[PathBuf]) -> Result<Results> {
    Ok(estimates(study, &folders(study, data), &mut Stages::new(&|_| {}))?.results)
}

/// The tallies of a study, for questions that are not in it.
pub fn tallies(study: &Study, data: &[PathBuf]) -> Result<Tallies> {
    let loaded = source::read_all(study, &folders(study, data))?;
    tallied(study, &cohort::build(study, &loaded)?)
}

fn tallied(study: &Study, cohort: &Cohort) -> Result<Tallies> {
    Ok(Tallies { joints: tally::joints(study, cohort)?, ..tally::collect(cohort)? })
}

/// What the stages up to the estimates leave for the stages after them.
struct Estimated {
    loaded: Loaded,
    tallies: Tallies,
    results: Results,
}

fn estimates(study: &Study, folders: &[PathBuf], stages: &mut Stages) -> Result<Estimated> {
    stages.start("reading the files");
    let loaded = source::read_all(study, folders)?;
    stages.start("computing indices, outcomes and groups");
    let cohort = cohort::build(study, &loaded)?;
    let flow = cohort::flow(study, &cohort, &loaded.flow)?;
    stages.start("tallying");
    let tallies = tallied(study, &cohort)?;
    stages.start("estimating");
    let results = analysis::estimate(study, &tallies, &flow)?;
    Ok(Estimated { loaded, tallies, results })
}

fn folders(study: &Study, first: &[PathBuf]) -> Vec<PathBuf> {
    let own = study.data_folders.iter().map(|folder| study.folder.join(folder));
    first.iter().cloned().chain(own).collect()
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
