//! `cutspan check`: what a study file asks, in words; or whether a finished run comes out the same again.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};
use clap::Args;

use super::run::{NotAllHold, progress_bar};
use super::say::say;
use crate::against;
use crate::definitions::Direction;
use crate::pipeline;
use crate::source::{self, Inspected};
use crate::study::{self, Source, Study};

/// Read a study file and say what it asks, or run a finished study again and compare.
///
/// Names, units, numbers and formulas are checked. Tables of one's own are read from end to end, and everything that is
/// wrong with them is listed, with its line, and an outcome that nobody of them has; official files need not be there. With --against the study is run once more
/// in a temporary folder, and every table is compared with what the earlier run left: exit code 0 when all are the same
/// to the byte, 1 when one differs.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan check pipelines/own-table.toml
  cutspan check --resolved pipelines/own-table.toml > resolved.toml      every default written out
  cutspan check --against out                              does the run come out the same here, now?
  cutspan check --against out --data FOLDER                its files lie elsewhere
  cutspan check --against out pipelines/demo.toml          does this study file give those numbers?

Output: the study in words: sources, who is studied and who is left out, reference groups, indices with formulas,
outcomes, rules, thresholds, groups, intervals, how large and how long, what the files hold, and what to run next. With --against: how
many tables are the same, or the first number that differs.")]
pub struct CheckArgs {
    /// Study file (TOML); with --against the study saved in the run, when left out
    #[arg(required_unless_present = "against")]
    study: Option<PathBuf>,
    /// Print the study with all defaults written out, as TOML, instead
    #[arg(long, conflicts_with = "against")]
    resolved: bool,
    /// Output folder of a finished run, to be made again and compared
    #[arg(long, value_name = "OUT")]
    against: Option<PathBuf>,
    /// Folder that holds official files, or tables that are not where the study names them; may be given several times
    #[arg(long, value_name = "FOLDER", env = "CUTSPAN_DATA")]
    data: Vec<PathBuf>,
}

pub fn run(args: &CheckArgs) -> Result<()> {
    match (&args.against, &args.study) {
        (Some(out), study) => compare(out, study.as_deref(), &args.data),
        (None, Some(file)) => explain(file, args),
        (None, None) => bail!("give a study file, or a finished run with --against"),
    }
}

fn explain(file: &Path, args: &CheckArgs) -> Result<()> {
    let study = study::load(file)?;
    if args.resolved {
        return say(study.resolved_toml);
    }
    let mut seen = source::inspect(&study, &args.data)?;
    seen.notices.extend(pipeline::foresee(&study, &args.data)?);
    say([study::explain_read(&study, &seen.people), files(&seen), next(file, &study, &args.data)].concat())
}

/// What is where the study says its data are, and what is to be said of the values.
fn files(seen: &Inspected) -> String {
    let section = |heading: &str, lines: Vec<String>| {
        if lines.is_empty() { String::new() } else { format!("\n{heading}\n  {}\n", lines.join("\n  ")) }
    };
    let absent = seen.absent.iter().map(|line| format!("not at hand: {line}"));
    let found: Vec<String> = seen.found.iter().cloned().chain(absent).collect();
    let remarks = seen.notices.iter().map(ToString::to_string).collect();
    section("Files", found) + &section("Remarks on the values", remarks)
}

/// What to run next, ready to be copied.
fn next(file: &Path, study: &Study, folders: &[PathBuf]) -> String {
    let file = quoted(&file.display().to_string());
    let official = study.sources.iter().any(|source| matches!(source, Source::Survey { .. }));
    let data = match (official, study.data_folders.is_empty() && folders.is_empty()) {
        (true, true) => " --data FOLDER-WITH-THE-OFFICIAL-FILES",
        _ => "",
    };
    let asked = study.thresholds.first().filter(|_| study.not_one_sample().is_none());
    let claim = asked.map(|threshold| {
        let index = &study.indices[threshold.index].row;
        // The side that a sentence calls fine: the less resistant one.
        let side = match index.direction {
            Direction::Higher => "--below",
            Direction::Lower => "--above",
        };
        format!(
            "\n  cutspan claim --index {} {side} {} out     then: for whom does it hold?",
            index.name, threshold.value
        )
    });
    format!("\nNext\n  cutspan run {file} --out out{data}{}\n", claim.unwrap_or_default())
}

/// A path as a shell takes it.
fn quoted(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "/._-\\:".contains(c);
    if path.chars().all(plain) { path.to_owned() } else { format!("\"{path}\"") }
}

fn compare(out: &Path, study: Option<&Path>, data: &[PathBuf]) -> Result<()> {
    let bar = progress_bar();
    let compared = against::rerun(out, study, data, &|stage| bar.set_message(stage.to_owned()));
    bar.finish_and_clear();
    let compared = compared?;
    say(compared.to_string())?;
    if compared.is_equal() { Ok(()) } else { Err(NotAllHold.into()) }
}
