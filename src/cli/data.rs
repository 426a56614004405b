//! `cutspan data`: official survey files, listed, verified and fetched.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::{Args, Subcommand};

use super::run::NotAllHold;
use super::say::say;
use crate::definitions::nearest;
use crate::official::{self, Catalogue, Entry, Got, State, catalogue};
use crate::table::number::whole;

/// Official survey files: list them, verify those at hand, get the others.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan data list                                 cycles, with the number of files and their size
  cutspan data list 2017-2020                       files of a cycle
  cutspan data verify --data FOLDER                 are the files in this folder the official ones?
  cutspan data get 2017-2020 --to FOLDER            download, verify; goes on where it broke off

Output: one line a file, with its size and state. Exit code 1 when a file is damaged. Downloads go by the system's curl.")]
pub struct DataArgs {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Cycles of the catalogue, or the files of one cycle
    List {
        /// Cycle, such as 2017-2020
        cycle: Option<String>,
    },
    /// Compare size and sha256 of files at hand; exit code 1 when one is damaged
    Verify {
        /// Cycle; all without it
        cycle: Option<String>,
        /// Folder that holds <survey>/<cycle>/ or the files themselves
        #[arg(long, value_name = "FOLDER", env = "CUTSPAN_DATA")]
        data: PathBuf,
    },
    /// Download the files of a cycle with the system's curl, and verify them; good files are left alone
    Get {
        /// Cycle, such as 2017-2020
        cycle: String,
        /// Folder of data; files go to <survey>/<cycle>/ inside it
        #[arg(long, value_name = "FOLDER")]
        to: PathBuf,
        /// What the path of a file is put behind, in place of the agency's address
        #[arg(long, hide = true, env = "CUTSPAN_ADDRESS")]
        address: Option<String>,
    },
}

pub fn run(args: &DataArgs) -> Result<()> {
    let catalogue = catalogue();
    match &args.what {
        What::List { cycle } => list(catalogue, cycle.as_deref()),
        What::Verify { cycle, data } => verify(catalogue, cycle.as_deref(), data),
        What::Get { cycle, to, address } => {
            get(catalogue, cycle, address.as_deref().unwrap_or(&catalogue.address), to)
        }
    }
}

fn known<'a>(catalogue: &'a Catalogue, cycle: &str) -> Result<&'a str> {
    let cycles = catalogue.cycles();
    match cycles.iter().find(|known| **known == cycle) {
        Some(known) => Ok(known),
        None => bail!(
            "the catalogue has no files of cycle \"{cycle}\". {}",
            nearest::hint(cycle, cycles.iter().copied())
        ),
    }
}

/// The files meant: of a cycle, or all.
fn files<'a>(catalogue: &'a Catalogue, cycle: Option<&str>) -> Result<Vec<&'a Entry>> {
    let cycle = cycle.map(|cycle| known(catalogue, cycle)).transpose()?;
    Ok(catalogue.files.iter().filter(|file| cycle.is_none_or(|cycle| file.cycle == cycle)).collect())
}

fn list(catalogue: &Catalogue, cycle: Option<&str>) -> Result<()> {
    let mut out = String::new();
    if let Some(cycle) = cycle {
        for file in files(catalogue, Some(cycle))? {
            let about = file.known.as_ref().map_or_else(
                || "size and sha256 not known: can be had, not verified".to_owned(),
                |known| format!("{:>12} bytes  {}", whole(known.bytes as i64), known.sha256),
            );
            writeln!(out, "{:<10} {about}", file.name)?;
        }
        return say(out);
    }
    for cycle in catalogue.cycles() {
        let known: Vec<u64> =
            catalogue.of_cycle(cycle).filter_map(|file| Some(file.known.as_ref()?.bytes)).collect();
        let (count, bytes) = (known.len(), whole(known.iter().sum::<u64>() as i64));
        let others = catalogue.of_cycle(cycle).count() - count;
        writeln!(
            out,
            "{cycle}  {count:>3} files {bytes:>12} bytes, and {others} of unknown size and sha256"
        )?;
    }
    writeln!(
        out,
        "{}, {}; {}. Its address, {}, is {}.",
        catalogue.label,
        catalogue.agency,
        catalogue.licence,
        catalogue.address,
        catalogue.address_standing.replace('_', " ")
    )?;
    say(out)
}

fn verify(catalogue: &Catalogue, cycle: Option<&str>, data: &Path) -> Result<()> {
    if !data.is_dir() {
        bail!("{}: no such folder; name the folder of the official files with --data", data.display());
    }
    let (mut good, mut unknown, mut damaged, mut missing) = (0, 0, 0, Vec::new());
    for file in files(catalogue, cycle)? {
        let state = official::verify(file, &catalogue.survey, data)
            .with_context(|| format!("{} {}: cannot be read", file.cycle, file.name))?;
        match state {
            State::Good(_) => good += 1,
            State::Unknown(_) => unknown += 1,
            State::Damaged(path, fault) => {
                damaged += 1;
                say(format!("damaged: {}: {fault}\n", path.display()))?;
            }
            State::Missing => missing.push(format!("{} {}", file.cycle, file.name)),
        }
    }
    for file in &missing {
        say(format!("no transport file: {file}\n"))?;
    }
    say(format!(
        "{good} good, {damaged} damaged, {unknown} of unknown sha256, {} not there as transport files\n",
        missing.len()
    ))?;
    if damaged > 0 { Err(NotAllHold.into()) } else { Ok(()) }
}

fn get(catalogue: &Catalogue, cycle: &str, address: &str, to: &Path) -> Result<()> {
    let mut failed = Vec::new();
    for file in files(catalogue, Some(cycle))? {
        match official::get(file, &catalogue.survey, address, to) {
            Ok(Got::AlreadyThere(path)) => say(format!("already there: {}\n", path.display()))?,
            Ok(Got::Downloaded(path)) => say(format!("verified: {}\n", path.display()))?,
            Ok(Got::Unverified(path)) => {
                say(format!("not verified, its sha256 is not known: {}\n", path.display()))?;
            }
            Err(error @ official::GetError::NoCurl { .. }) => return Err(error.into()),
            Err(error) => failed.push(format!("{:#}", anyhow::Error::from(error))),
        }
    }
    if failed.is_empty() {
        return Ok(());
    }
    bail!("{} files could not be had:\n  {}", failed.len(), failed.join("\n  "))
}
