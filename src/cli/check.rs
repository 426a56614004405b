//! `cutspan check`: what a study file asks, in words.

use std::io::{self, Write};
use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use crate::study::{self, Source, Study};

/// Read a study file, say what it asks, and run nothing.
///
/// Names, units, numbers and formulas are checked; the files with the data are not opened.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan check pipelines/own-table.toml
  cutspan check --resolved pipelines/own-table.toml > resolved.toml      every default written out

Output: the study in words: sources, who is studied and who is left out, reference groups, indices with formulas,
outcomes, rules, thresholds, groups, intervals, how large and how long, and what to run next.")]
pub struct CheckArgs {
    /// Study file (TOML)
    study: PathBuf,
    /// Print the study with all defaults written out, as TOML, instead
    #[arg(long)]
    resolved: bool,
}

pub fn run(args: &CheckArgs) -> Result<()> {
    let study = study::load(&args.study)?;
    let mut out = io::stdout().lock();
    if args.resolved {
        out.write_all(study.resolved_toml.as_bytes())?;
        return Ok(());
    }
    write!(out, "{}{}", study::explain(&study), next(args, &study))?;
    Ok(())
}

/// What to run next, ready to be copied.
fn next(args: &CheckArgs, study: &Study) -> String {
    let file = quoted(&args.study.display().to_string());
    let official = study.sources.iter().any(|source| matches!(source, Source::Survey { .. }));
    let data = match (official, study.data_folders.is_empty()) {
        (true, true) => " --data FOLDER-WITH-THE-OFFICIAL-FILES",
        _ => "",
    };
    let claim = study.thresholds.first().map(|threshold| {
        let index = &study.indices[threshold.index].row.name;
        format!(
            "\n  cutspan claim --index {index} --below {} out     then: for whom does it hold?",
            threshold.value
        )
    });
    format!("\nNext\n  cutspan run {file} --out out{data}{}\n", claim.unwrap_or_default())
}

/// A path as a shell takes it.
fn quoted(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "/._-\\:".contains(c);
    if path.chars().all(plain) { path.to_owned() } else { format!("\"{path}\"") }
}
