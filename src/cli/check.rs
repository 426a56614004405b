//! `cutspan check`: what a study file asks, in words; or whether a finished run comes out the same again.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};
use clap::Args;

use super::run::{NotAllHold, progress_bar};
use super::say::say;
use super::shell::quoted;
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
    let data = if official && study.data_folders.is_empty() && folders.is_empty() {
        " --data FOLDER-WITH-THE-OFFICIAL-FILES".to_owned()
    } else {
        let given = folders.iter().map(|folder| format!(" --data {}", quoted(&folder.display().to_string())));
        given.collect::<Vec<_>>().concat()
    };
    let asked = study.thresholds.first().filter(|_| study.not_one_sample().is_none());
    let claim = asked.map(|threshold| {
        let index = &study.indices[threshold.index].row;
        // The side that a sentence calls fine: the less resistant one, with the value itself where the study puts it.
        let side = match (index.direction, threshold.strict) {
            (Direction::Higher, false) => "--below",
            (Direction::Higher, true) => "--at-most",
            (Direction::Lower, false) => "--above",
            (Direction::Lower, true) => "--at-least",
        };
        format!(
            "\n  cutspan claim --index {} {side} {} out     then: for whom does it hold?",
            index.name, threshold.value
        )
    });
    format!("\nNext\n  cutspan run {file}{data} --out out{}\n", claim.unwrap_or_default())
}

fn compare(out: &Path, study: Option<&Path>, data: &[PathBuf]) -> Result<()> {
    let bar = progress_bar();
    let compared = against::rerun(out, study, data, &|stage| bar.set_message(stage.to_owned()));
    bar.finish_and_clear();
    let compared = compared?;
    say(compared.to_string())?;
    if compared.is_equal() { Ok(()) } else { Err(NotAllHold.into()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(threshold: &str, folders: &[PathBuf]) -> String {
        let text = format!(
            "title = \"t\"\n[[source]]\nsurvey = \"table\"\nname = \"clinic\"\nfiles = [\"c.csv\"]\nid = \"id\"\n\
             [source.columns]\nglucose = {{ column = \"g\", unit = \"mg/dL\" }}\n\
             insulin = {{ column = \"i\", unit = \"uU/mL\" }}\n\
             [analysis]\nindices = [\"homa_ir\", \"quicki\"]\n[[analysis.threshold]]\n{threshold}"
        );
        let study = study::parse(&text, "s.toml", Path::new(".")).expect("a study");
        next(Path::new("my $tudy.toml"), &study, folders)
    }

    #[test]
    fn the_next_command_names_the_folders_that_were_given_and_is_quoted() {
        let folders = [PathBuf::from("files"), PathBuf::from("more files")];
        let said = said("index = \"homa_ir\"\nvalue = 2\n", &folders);
        let wanted = "\n  cutspan run 'my $tudy.toml' --data files --data 'more files' --out out\n";
        assert!(said.contains(wanted), "{said}");
    }

    #[test]
    fn the_claim_puts_the_value_itself_on_the_side_where_the_study_does() {
        for (index, strict, option) in [
            ("homa_ir", false, "--below 2 "),
            ("homa_ir", true, "--at-most 2 "),
            ("quicki", false, "--above 2 "),
            ("quicki", true, "--at-least 2 "),
        ] {
            let said = said(&format!("index = \"{index}\"\nvalue = 2\nstrict = {strict}\n"), &[]);
            assert!(said.contains(&format!("--index {index} {option}")), "{said}");
        }
    }
}
