//! One official file from the agency, by the system's `curl`: resumed, verified, and only then put in its place.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;

use thiserror::Error;

use super::verify::{fault, verify};
use super::{Entry, State, place};

/// Exit code of `curl` when the server does not go on from where a transfer broke off.
const NO_RANGE: i32 = 33;
/// Seconds in which a server must answer at all.
const CONNECT_SECONDS: &str = "30";

/// What became of a file that is now good.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Got {
    AlreadyThere(PathBuf),
    Downloaded(PathBuf),
    /// Downloaded, and nothing is known to compare it with.
    Unverified(PathBuf),
}

/// Why a file could not be had.
#[derive(Debug, Error)]
pub enum GetError {
    #[error("no program `curl` was found: install it, or get {address} by hand and put it into {folder}")]
    NoCurl { address: String, folder: PathBuf },
    #[error("{address}: not to be had; curl says: {said}")]
    Transfer { address: String, said: String },
    #[error(
        "{address}: what came is not the official file: {fault}; it was thrown away. Try again later, or see whether \
         the agency has released the file anew"
    )]
    Damaged { address: String, fault: String },
    #[error("{file}: cannot be written; choose another folder with --to")]
    File {
        file: PathBuf,
        #[source]
        cause: io::Error,
    },
}

/// Gets one file of the catalogue into a folder of data; a file there that nothing speaks against is left as it is.
///
/// A transfer that breaks off leaves `<name>.xpt.part`, from which the next one goes on. A damaged file is replaced, where
/// it lies, only when the new one is verified.
pub fn get(entry: &Entry, survey: &str, address: &str, folder: &Path) -> Result<Got, GetError> {
    let new = place(entry, survey, folder);
    let file =
        match verify(entry, survey, folder).map_err(|cause| GetError::File { file: new.clone(), cause })? {
            State::Good(there) | State::Unknown(there) => return Ok(Got::AlreadyThere(there)),
            // Under another spelling or elsewhere it would still be found first.
            State::Damaged(there, _) => there,
            State::Missing => new,
        };
    let at = |cause| GetError::File { file: file.clone(), cause };
    let inside = file.parent().unwrap_or(folder);
    fs::create_dir_all(inside).map_err(at)?;
    let part = file.with_extension("xpt.part");
    let address = format!("{address}{}", entry.path);
    // Of a file that nothing is known of, a beginning may be anything's.
    let bytes = entry.known.as_ref().map_or(0, |known| known.bytes);
    if size(&part) > bytes {
        fs::remove_file(&part).map_err(at)?;
    }
    let resumed = size(&part) > 0;
    if !resumed || size(&part) < bytes {
        transfer(&address, &part, inside)?;
    }
    let mut found = fault(&part, entry).map_err(at)?;
    if found.is_some() && resumed {
        // The beginning may be that of an older release: once more from the start.
        fs::remove_file(&part).map_err(at)?;
        transfer(&address, &part, inside)?;
        found = fault(&part, entry).map_err(at)?;
    }
    if let Some(fault) = found {
        fs::remove_file(&part).map_err(at)?;
        return Err(GetError::Damaged { address, fault });
    }
    fs::rename(&part, &file).map_err(at)?;
    Ok(if entry.known.is_some() { Got::Downloaded(file) } else { Got::Unverified(file) })
}

/// Size of a file, 0 when there is none.
fn size(file: &Path) -> u64 {
    file.metadata().map_or(0, |about| about.len())
}

/// Appends to the part what is missing; a server that cannot go on in the middle starts again.
fn transfer(address: &str, part: &Path, folder: &Path) -> Result<(), GetError> {
    let (code, said) = curl(address, part, folder)?;
    match code {
        Some(0) => Ok(()),
        Some(NO_RANGE) if part.exists() => {
            fs::remove_file(part).map_err(|cause| GetError::File { file: part.to_owned(), cause })?;
            transfer(address, part, folder)
        }
        _ => Err(GetError::Transfer { address: address.to_owned(), said }),
    }
}

fn curl(address: &str, part: &Path, folder: &Path) -> Result<(Option<i32>, String), GetError> {
    let run = Command::new("curl")
        .args(["--fail", "--location", "--silent", "--show-error", "--connect-timeout", CONNECT_SECONDS])
        .args(["--continue-at", "-", "--output"])
        .arg(part)
        .args(["--", address])
        .output();
    match run {
        Ok(done) => Ok((done.status.code(), String::from_utf8_lossy(&done.stderr).trim().to_owned())),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
            Err(GetError::NoCurl { address: address.to_owned(), folder: folder.to_owned() })
        }
        Err(cause) => Err(GetError::Transfer { address: address.to_owned(), said: cause.to_string() }),
    }
}
