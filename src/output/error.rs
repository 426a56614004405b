//! Why results could not be left behind, and what to do.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

/// Files named in a message, at most.
const MOST_NAMED: usize = 5;

/// Why results could not be left behind.
#[derive(Debug, Error)]
pub enum OutputError {
    #[error(
        "{folder}: the output folder cannot be made or written; choose another with --out, or change its permissions"
    )]
    Folder {
        folder: PathBuf,
        #[source]
        cause: io::Error,
    },
    #[error(
        "{0} exists and is not the result of an earlier run, so it is left alone; choose another folder with --out"
    )]
    Foreign(PathBuf),
    #[error(
        "{folder}: the earlier run there did not make {}, which a new run would delete; move {} away, or choose another \
         folder with --out",
        named(files),
        if files.len() == 1 { "it" } else { "them" }
    )]
    Mixed { folder: PathBuf, files: Vec<String> },
    #[error("{0} is a link to what is not there; make the folder it names, or choose another with --out")]
    Dangling(PathBuf),
    #[error(
        "{folder}: the new results could not be put there, nor the earlier ones back; both are whole: move them by hand from {}",
        listed(kept)
    )]
    Stuck {
        folder: PathBuf,
        kept: Vec<PathBuf>,
        #[source]
        cause: io::Error,
    },
    #[error("{file}: cannot be written")]
    File {
        file: PathBuf,
        #[source]
        cause: io::Error,
    },
    #[error("the record of the run cannot be written as JSON")]
    Record(#[from] serde_json::Error),
}

/// The first of many files, and how many others.
fn named(files: &[String]) -> String {
    let first = files.iter().take(MOST_NAMED).map(String::as_str).collect::<Vec<_>>().join(", ");
    match files.len().saturating_sub(MOST_NAMED) {
        0 => first,
        more => format!("{first} and {more} more"),
    }
}

/// Folders in a message.
fn listed(folders: &[PathBuf]) -> String {
    folders.iter().map(|folder| folder.display().to_string()).collect::<Vec<_>>().join(" and ")
}
