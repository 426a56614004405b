//! The folders in which results are left: what they are called, and whether what stands there may be replaced.

use std::fs;
use std::path::{Path, PathBuf};

use super::{OutputError, foreign};

/// The folder beside the results `out`, for what is too close to the people themselves to be shown.
#[must_use]
pub fn private_folder(out: &Path) -> PathBuf {
    let mut beside = own_name(out).into_os_string();
    beside.push("-private");
    PathBuf::from(beside)
}

/// A folder by its own name and not by `.` or a link, so that it can be renamed and have another beside it.
pub(super) fn own_name(folder: &Path) -> PathBuf {
    let folder: PathBuf = folder.components().collect();
    if folder.file_name().is_some() && !folder.is_symlink() {
        return folder;
    }
    folder.canonicalize().unwrap_or(folder)
}

/// Whether the folders of results, and of what is private beside them, may be replaced.
pub(super) fn are_replaceable(results: &Path, private: Option<&Path>) -> Result<(), OutputError> {
    replaceable(results)?;
    private.map_or(Ok(()), replaceable_private)
}

/// What is not there, an empty folder, and an earlier run alone may be replaced.
fn replaceable(target: &Path) -> Result<(), OutputError> {
    if is_free(target)? {
        return Ok(());
    }
    let at = |cause| OutputError::Folder { folder: target.to_owned(), cause };
    match foreign::foreign(target).map_err(at)? {
        None => Err(OutputError::Foreign(target.to_owned())),
        Some(files) => none_of(target, files),
    }
}

/// In what is private, all files must be those of tallies.
fn replaceable_private(private: &Path) -> Result<(), OutputError> {
    if is_free(private)? {
        return Ok(());
    }
    let at = |cause| OutputError::Folder { folder: private.to_owned(), cause };
    none_of(private, foreign::foreign_private(private).map_err(at)?)
}

fn none_of(folder: &Path, files: Vec<String>) -> Result<(), OutputError> {
    if files.is_empty() { Ok(()) } else { Err(OutputError::Mixed { folder: folder.to_owned(), files }) }
}

/// Whether nothing is there, or a folder with nothing in it.
fn is_free(target: &Path) -> Result<bool, OutputError> {
    if target.is_symlink() && !target.exists() {
        return Err(OutputError::Dangling(target.to_owned()));
    }
    if !target.exists() {
        return Ok(true);
    }
    let entries = fs::read_dir(target);
    let mut entries = entries.map_err(|cause| OutputError::Folder { folder: target.to_owned(), cause })?;
    Ok(entries.next().is_none())
}
