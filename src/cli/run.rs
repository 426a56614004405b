//! `cutspan run`: a study file to an output folder.

use std::env;
use std::fs;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::{Context, Result};
use clap::Args;
use indicatif::ProgressBar;

use super::say::{columns, say, tell};
#[cfg(unix)]
use super::stopped;
use crate::notice::{Weight, grouped};
use crate::output::{RESOLVED, private_folder};
use crate::pipeline::{self, Finished, Options};
use crate::report::{Said, wrapped};
use crate::study::{self, Study};

/// Lines no broader than this are easily read.
const BROADEST: usize = 100;
/// Work shorter than this shows no progress.
const QUIET: Duration = Duration::from_secs(1);

/// Run a study: from its files to tables, charts and a report.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan run pipelines/own-table.toml --out results
  cutspan run pipelines/nhanes-2017-2020-adults.toml --data FOLDER       FOLDER holds the official files
  cutspan run clinic.toml --out clinic           a file that cutspan new wrote

Output: a folder with index.html (the report), tables/*.csv and .parquet, charts/*.svg and .png, tally/, study.toml
(all defaults written out) and run.json; sentences that answer the question on standard output, cautions on standard
error. An earlier run in the folder is replaced when this one is complete; a file there that it did not make stops the
new run before it starts. With public = false small counts are left out of the folder, and tally/ goes into
FOLDER-private beside it, which is not to be shared.")]
pub struct RunArgs {
    /// Study file (TOML) that states everything: sources, cohort, indices, groups, outcomes, rules
    pub study: PathBuf,
    #[command(flatten)]
    pub place: PlaceArgs,
    /// Folder that holds official files, or tables that are not where the study names them; may be given several times
    #[arg(long, value_name = "FOLDER", env = "CUTSPAN_DATA")]
    pub data: Vec<PathBuf>,
}

/// Where results go and how they are made.
#[derive(Debug, Args)]
pub struct PlaceArgs {
    /// Folder for the results; an earlier run there is replaced when this one is complete
    #[arg(long, value_name = "FOLDER", default_value = "out")]
    pub out: PathBuf,
    /// Threads to use; the results do not depend on it
    #[arg(long, value_name = "N")]
    pub threads: Option<usize>,
}

pub fn run(args: &RunArgs) -> Result<()> {
    let study = study::load(&args.study)?;
    perform(&study, &args.place, &args.data)
}

/// Runs a checked study and says what came out.
pub fn perform(study: &Study, place: &PlaceArgs, data: &[PathBuf]) -> Result<()> {
    if let Some(threads) = place.threads {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build_global()
            .context("the number of threads cannot be set")?;
    }
    let bar = progress_bar();
    #[cfg(unix)]
    stopped::watch(&place.out, &bar);
    let progress = |stage: &str| bar.set_message(stage.to_owned());
    let options = Options { out: &place.out, data: data.to_vec(), progress: &progress };
    let replaced = replaced(&place.out, study);
    let finished = pipeline::run(study, &options);
    bar.finish_and_clear();
    let finished = finished?;
    let said = say(answer(&finished, study.not_one_sample().is_none()));
    cautions(&finished);
    if let Some(title) = replaced {
        tell(format!("replaced: the folder held the run of another study, {title}"));
    }
    for remark in of_privacy(study, &finished.folder).into_iter().chain(of_the_folder(&finished)) {
        tell(remark);
    }
    said?;
    match finished.checks {
        Some(checks) if checks.held < checks.all => Err(NotAllHold.into()),
        _ => Ok(()),
    }
}

/// The run is done, and a number that the study states was not found; which, has been said.
#[derive(Debug, thiserror::Error)]
#[error("a stated check does not hold")]
pub struct NotAllHold;

/// A spinner on a terminal, nothing when the output is piped.
pub fn progress_bar() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new_spinner();
    bar.enable_steady_tick(QUIET / 8);
    bar
}

/// The title of another study whose run is in the folder, which this one will replace.
fn replaced(out: &Path, study: &Study) -> Option<String> {
    let title = |text: &str| text.lines().find_map(|line| line.strip_prefix("title = ").map(str::to_owned));
    let before = title(&fs::read_to_string(out.join(RESOLVED)).ok()?)?;
    (title(&study.resolved_toml).as_ref() != Some(&before)).then_some(before)
}

/// That people are taken as public, and that an earlier run has left tallies that are not to be shared.
fn of_privacy(study: &Study, out: &Path) -> Vec<String> {
    let standing = Some(private_folder(out)).filter(|private| study.public && private.is_dir());
    let standing = standing.map(|private| {
        format!(
            "caution: {} still stands, with the tallies of an earlier run with public = false: not to be shared; delete it when \
             that run is no longer needed",
            private.display()
        )
    });
    let taken = study::taken_as_public(study).map(|notice| format!("caution: {notice}"));
    taken.into_iter().chain(standing).collect()
}

/// What is left of earlier results, and that the folder in which the program was called is another one now.
fn of_the_folder(finished: &Finished) -> Vec<String> {
    let left = |folder: &PathBuf| {
        format!(
            "caution: the earlier results are replaced, and what is left of them in {} could not be deleted: delete it by hand",
            folder.display()
        )
    };
    let moved = env::current_dir().is_err();
    let moved = moved
        .then(|| "the folder that this terminal is in was replaced; type cd . to see the new one".to_owned());
    let kept = finished.kept.iter().map(|folder| between_places(folder));
    finished.leftover.iter().map(left).chain(kept).chain(moved).collect()
}

/// What a run left that was broken off at its end, before everything had its place.
fn between_places(folder: &Path) -> String {
    format!(
        "caution: a run was broken off while its results took the place of earlier ones, and {} is kept: `earlier` in it is what \
         stood in the place that `moving` names, `new` what was to stand there; move out what you want, and delete the rest",
        folder.display()
    )
}

/// What came out, and where it is.
fn answer(finished: &Finished, can_be_asked: bool) -> String {
    let mut lines = under_headings(&finished.answer);
    lines.extend(finished.checks.as_ref().map(ToString::to_string));
    lines.push(format!("Report: {}", finished.folder.join("index.html").display()));
    if let Some(private) = &finished.private {
        let read = if can_be_asked { "; place and claim read them there" } else { "" };
        lines.push(format!(
            "Not to be shared: {} holds the tallies, which are close to single people (public = false){read}. Everything in {} \
             is made without small counts.",
            private.display(),
            finished.folder.display()
        ));
    }
    lines.iter().map(|line| on_a_terminal(line)).collect::<Vec<_>>().join("\n") + "\n"
}

/// Each heading once, above its paragraphs and below an empty line.
fn under_headings(said: &[Said]) -> Vec<String> {
    let mut lines = Vec::new();
    let mut heading = "";
    for Said { heading: of, text } in said {
        if *of != heading {
            lines.push((*of).to_owned());
            heading = of;
        }
        lines.push(format!("{text}\n"));
    }
    lines
}

/// A line as broad as is easily read, where a terminal would break it within words.
fn on_a_terminal(line: &str) -> String {
    match columns() {
        Some(width) => wrapped(line, ("", ""), width.min(BROADEST)),
        None => line.to_owned(),
    }
}

/// What is to be known with it.
fn cautions(finished: &Finished) {
    for failed in finished.checks.iter().flat_map(|checks| &checks.failed) {
        tell(failed);
    }
    let cautions = grouped(&finished.notices).into_iter().filter(|n| n.weight == Weight::Caution);
    for notice in cautions {
        tell(format!("caution: {notice}"));
    }
    let notes = finished.notices.iter().filter(|n| n.weight == Weight::Note).count();
    if notes > 0 {
        tell(format!("{notes} more notices stand in the report and in tables/notices.csv"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_earlier_private_folder_beside_a_public_run_is_told() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let mut study = study::load(&root.join("demo.toml")).expect("a study");
        let place = tempfile::tempdir().expect("a folder");
        let out = place.path().join("out");
        assert!(of_privacy(&study, &out).is_empty());
        fs::create_dir(private_folder(&out)).expect("a folder");
        let said = of_privacy(&study, &out);
        assert!(said.len() == 1 && said[0].contains("out-private still stands"), "{said:?}");
        study.public = false;
        assert!(of_privacy(&study, &out).is_empty(), "it is this run's own");
    }

    #[test]
    fn a_heading_stands_once_above_its_paragraphs() {
        let said = |heading, text: &str| Said { heading, text: text.to_owned() };
        let lines = under_headings(&[said("Who", "All."), said("More", "One."), said("More", "Two.")]);
        assert_eq!(lines.join("\n"), "Who\nAll.\n\nMore\nOne.\n\nTwo.\n");
    }

    #[test]
    fn only_the_run_of_another_study_is_told_as_replaced() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let load = |file: &str| study::load(&root.join(file)).expect("a study");
        let (one, other) = (load("demo.toml"), load("own-table.toml"));
        let out = tempfile::tempdir().expect("a folder");
        assert_eq!(replaced(out.path(), &one), None, "nothing was there");
        fs::write(out.path().join(RESOLVED), &one.resolved_toml).expect("a file");
        assert_eq!(replaced(out.path(), &one), None);
        assert_eq!(replaced(out.path(), &other), Some(format!("\"{}\"", one.title)));
    }
}
