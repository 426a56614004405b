//! Whether a file at hand is the official one.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::{Entry, Known};
use crate::table::digest::sha256_of_file;

/// First words of a SAS transport file, and the length of its records in bytes.
const BEGINNING: &[u8; 20] = b"HEADER RECORD*******";
const RECORD: u64 = 80;

/// What is known of one official file in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    Good(PathBuf),
    /// There, and nothing is known to compare it with.
    Unknown(PathBuf),
    /// There, but not the official bytes; the reason in words.
    Damaged(PathBuf, String),
    Missing,
}

/// Looks for a file in `<folder>/<survey>/<cycle>`, `<folder>/<cycle>` and `<folder>`, as a run does, and compares size and sha256.
pub fn verify(entry: &Entry, survey: &str, folder: &Path) -> io::Result<State> {
    let places = [folder.join(survey).join(&entry.cycle), folder.join(&entry.cycle), folder.to_owned()];
    match places.iter().find_map(|place| named(place, &entry.name)) {
        None => Ok(State::Missing),
        Some(file) => Ok(match (fault(&file, entry)?, &entry.known) {
            (None, Some(_)) => State::Good(file),
            (None, None) => State::Unknown(file),
            (Some(fault), _) => State::Damaged(file, fault),
        }),
    }
}

/// The transport file of this name, whatever the case of its letters.
fn named(folder: &Path, name: &str) -> Option<PathBuf> {
    let wanted = format!("{name}.xpt").to_lowercase();
    let is_it =
        |path: &PathBuf| path.file_name().is_some_and(|name| name.to_string_lossy().to_lowercase() == wanted);
    folder.read_dir().ok()?.flatten().map(|entry| entry.path()).filter(is_it).min()
}

/// Why a file is not the official one; `None` when nothing speaks against it.
pub(super) fn fault(file: &Path, entry: &Entry) -> io::Result<Option<String>> {
    match &entry.known {
        Some(known) => not_known(file, known),
        None => Ok((!is_transport(file)?).then(|| "it is no SAS transport file".to_owned())),
    }
}

fn not_known(file: &Path, known: &Known) -> io::Result<Option<String>> {
    let bytes = file.metadata()?.len();
    if bytes != known.bytes {
        return Ok(Some(format!("{bytes} bytes, the official file has {}", known.bytes)));
    }
    let (found, _) = sha256_of_file(file)?;
    Ok((found != known.sha256)
        .then(|| format!("its sha256 is {found}, that of the official file {}", known.sha256)))
}

/// Whether a file begins like a transport file and is made of whole records.
fn is_transport(file: &Path) -> io::Result<bool> {
    let mut start = [0; BEGINNING.len()];
    let whole = file.metadata()?.len().is_multiple_of(RECORD);
    Ok(whole && File::open(file)?.read_exact(&mut start).is_ok() && start == *BEGINNING)
}
