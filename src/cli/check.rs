//! `cutspan check`: what a study file asks, in words.

use std::io::{self, Write};
use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use crate::study;

/// Read a study file, say what it asks, and run nothing.
///
/// Names, units, numbers and formulas are checked; the files with the data are not opened.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  cutspan check pipelines/own-table.toml")]
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
    write!(out, "{}", study::explain(&study))?;
    Ok(())
}
