//! The whole run, as the list of its stages. Nothing else knows their order.

use std::path::{Path, PathBuf};
use std::time::Instant;

use anyhow::Result;

use crate::analysis::{self, Results};
use crate::cohort;
use crate::notice::Notice;
use crate::output::{Record, Staging};
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
    pub answer: Vec<String>,
}

/// Runs a study from its files to its output folder.
pub fn run(study: &Study, options: &Options) -> Result<Finished> {
    let mut stages = Stages::new(options.progress);
    let staging = Staging::new(options.out)?;
    let estimated = estimates(study, &folders(study, &options.data), &mut stages)?;
    todo!()
}

/// The estimates of a study, without charts, report or output folder.
pub fn estimate(study: &Study, data: &[PathBuf]) -> Result<Results> {
    Ok(estimates(study, &folders(study, data), &mut Stages::new(&|_| {}))?.results)
}

/// What the stages up to the estimates leave for the stages after them.
struct Estimated {
    loaded: Loaded,
    tallies: Tallies,
    results: Results,
}

fn estimates(study: &Study, folders: &[PathBuf], stages: &mut Stages) -> Result<Estimated> {
    stages.start("reading the files");
    let loaded = source::read(study, &study.sources[0], folders)?;
    stages.start("computing indices, outcomes and groups");
    let cohort = cohort::build(study, &loaded)?;
    let flow = cohort::flow(study, &cohort, &loaded.flow)?;
    stages.start("tallying");
    let tallies = tally::collect(&cohort)?;
    stages.start("estimating");
    let results = analysis::estimate(study, &tallies, &flow)?;
    Ok(Estimated { loaded, tallies, results })
}

fn folders(study: &Study, first: &[PathBuf]) -> Vec<PathBuf> {
    let own = study.data_folders.iter().map(|folder| study.folder.join(folder));
    first.iter().cloned().chain(own).collect()
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
