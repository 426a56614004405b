//! What a later question starts from: the study and the tallies of a finished run, of a study file
//! that is tallied on the spot, or of the demo. No survey file is read for a finished run.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use serde::Deserialize;
use tempfile::TempDir;
use thiserror::Error;

use crate::output::{RECORD, RESOLVED, VERSION, private_folder};
use crate::pipeline;
use crate::study::{self, Study, StudyError};
use crate::table::digest::sha256;
use crate::tally::{self, FORMAT, SavedError, Tallies};

const DEMO_STUDY: &str = include_str!("../pipelines/demo.toml");
const DEMO_SURVEY: &[u8] = include_bytes!("../data-public/veldmark.csv");
const TALLY: &str = "tally";

/// A study with its tallies, ready for questions that the run itself did not ask.
#[derive(Debug)]
pub struct Opened {
    /// As it was run; thresholds may be replaced now that the tallies are read.
    pub study: Study,
    pub tallies: Tallies,
    pub origin: Origin,
    /// SHA-256 of the resolved study, which names the run in a citation.
    pub study_sha256: String,
    /// Version of the program that made the tallies.
    pub version: String,
}

/// Where a study and its tallies came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    Run(PathBuf),
    StudyFile(PathBuf),
    /// The embedded survey of invented people.
    Demo,
}

/// Why a finished run could not be opened.
#[derive(Debug, Error)]
pub enum FinishedError {
    #[error(
        "{0}: no such file or folder; give the output folder of a finished `cutspan run`, or a study file (.toml)"
    )]
    Absent(PathBuf),
    #[error(
        "{file} is not a study file or a run's folder; give the output folder of a finished `cutspan run`, or a study file (.toml)"
    )]
    Neither {
        file: PathBuf,
        #[source]
        cause: Box<StudyError>,
    },
    #[error(
        "{folder}: not a finished run, it holds no {missing}; make one with `cutspan run STUDY.toml --out {folder}`, \
         or give the study file itself"
    )]
    NotARun { folder: PathBuf, missing: &'static str },
    #[error(
        "{file}: no tallies there, although {folder} is a finished run{private}; run the study again, or give the study file itself"
    )]
    NoTally { folder: PathBuf, file: PathBuf, private: &'static str },
    #[error("{file}: cannot be read")]
    File {
        file: PathBuf,
        #[source]
        cause: io::Error,
    },
    #[error("{file}: not the record of a run; run the study again")]
    Record {
        file: PathBuf,
        #[source]
        cause: serde_json::Error,
    },
    #[error(
        "{file}: its sha256 is {found}, the run wrote {expected}; the file was changed, run the study again"
    )]
    Changed { file: PathBuf, found: String, expected: String },
    #[error(
        "{folder}: made by version {made} (tally format {format}), and this is version {VERSION} (tally format {FORMAT}), \
         which reads the study differently; run the study again"
    )]
    OtherVersion { folder: PathBuf, made: String, format: u32 },
    #[error("{folder}: {why}")]
    SeveralSamples { folder: PathBuf, why: String },
    #[error("the study of the run cannot be read")]
    Study(#[from] StudyError),
    #[error("the tallies of the run cannot be read")]
    Tallies(#[from] SavedError),
}

/// The part of `run.json` that is checked.
#[derive(Debug, Deserialize)]
struct Made {
    version: String,
    tally_format: u32,
    study_sha256: String,
}

/// Opens a finished run (a folder) or tallies a study file; without a place, the demo.
/// `data` are folders that may hold a known survey's files.
pub fn open(place: Option<&Path>, data: &[PathBuf]) -> Result<Opened> {
    match place {
        None => demo(),
        Some(folder) if folder.is_dir() => Ok(run(folder)?),
        Some(file) if file.is_file() => {
            let study = study::load(file).map_err(|cause| unreadable(file, cause))?;
            tallied(study, data, Origin::StudyFile(file.to_owned()))
        }
        Some(other) => Err(FinishedError::Absent(other.to_owned()).into()),
    }
}

/// A file that is neither TOML nor called so was never meant as a study.
fn unreadable(file: &Path, cause: StudyError) -> anyhow::Error {
    let is_toml = file.extension().is_some_and(|extension| extension == "toml");
    match cause {
        StudyError::Syntax { .. } | StudyError::NotAStudy { .. } if !is_toml => {
            FinishedError::Neither { file: file.to_owned(), cause: Box::new(cause) }.into()
        }
        cause => cause.into(),
    }
}

/// Opens the folder of a finished run after checking its version, its study and its tallies.
pub fn run(folder: &Path) -> Result<Opened, FinishedError> {
    let made = record(folder)?;
    let file = folder.join(RESOLVED);
    if !file.exists() {
        return Err(FinishedError::NotARun { folder: folder.to_owned(), missing: RESOLVED });
    }
    let text = fs::read(&file).map_err(|cause| FinishedError::File { file: file.clone(), cause })?;
    let found = sha256(&text);
    if found != made.study_sha256 {
        return Err(FinishedError::Changed { file, found, expected: made.study_sha256 });
    }
    let other = |format| FinishedError::OtherVersion {
        folder: folder.to_owned(),
        made: made.version.clone(),
        format,
    };
    if made.tally_format != FORMAT {
        return Err(other(made.tally_format));
    }
    let study = study::load(&file)?;
    if sha256(study.resolved_toml.as_bytes()) != made.study_sha256 {
        return Err(other(made.tally_format));
    }
    if let Some(why) = study.not_one_sample() {
        return Err(FinishedError::SeveralSamples { folder: folder.to_owned(), why });
    }
    let tallies = tally::load(&study, &tally_folder(&study, folder)?)?;
    let origin = Origin::Run(folder.to_owned());
    Ok(Opened { study, tallies, origin, study_sha256: made.study_sha256, version: made.version })
}

fn record(folder: &Path) -> Result<Made, FinishedError> {
    let file = folder.join(RECORD);
    if !file.exists() {
        return Err(FinishedError::NotARun { folder: folder.to_owned(), missing: RECORD });
    }
    let text =
        fs::read_to_string(&file).map_err(|cause| FinishedError::File { file: file.clone(), cause })?;
    serde_json::from_str(&text).map_err(|cause| FinishedError::Record { file, cause })
}

/// The folder of the tallies: inside the results, or beside them when the people may not be shown.
fn tally_folder(study: &Study, folder: &Path) -> Result<PathBuf, FinishedError> {
    let (tallies, private) = if study.public {
        (folder.join(TALLY), "")
    } else {
        (
            private_folder(folder).join(TALLY),
            " (its source is not public, so they stand beside the results, not in them)",
        )
    };
    if tallies.is_dir() {
        return Ok(tallies);
    }
    Err(FinishedError::NoTally { folder: folder.to_owned(), file: tallies, private })
}

/// The embedded study on the embedded survey of invented people.
fn demo() -> Result<Opened> {
    let (_checkout, study) = demo_study()?;
    tallied(study, &[], Origin::Demo)
}

fn tallied(study: Study, data: &[PathBuf], origin: Origin) -> Result<Opened> {
    let tallies = pipeline::tallies(&study, data)?;
    let study_sha256 = sha256(study.resolved_toml.as_bytes());
    Ok(Opened { study, tallies, origin, study_sha256, version: VERSION.to_owned() })
}

/// Lays out the embedded study and survey in a temporary folder, which lives as long as the first answer.
pub fn demo_study() -> Result<(TempDir, Study)> {
    let checkout = tempfile::tempdir().context("no temporary folder for the embedded files")?;
    let pipelines = checkout.path().join("pipelines");
    let data = checkout.path().join("data-public");
    for folder in [&pipelines, &data] {
        fs::create_dir(folder).context("the embedded files cannot be laid out")?;
    }
    let file = pipelines.join("demo.toml");
    fs::write(&file, DEMO_STUDY).context("the embedded study cannot be laid out")?;
    fs::write(data.join("veldmark.csv"), DEMO_SURVEY).context("the embedded survey cannot be laid out")?;
    let study = study::load(&file)?;
    Ok((checkout, study))
}
