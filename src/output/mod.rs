//! The output folder, written aside and renamed when complete: an interrupted run never leaves a
//! half report that looks whole, and never harms an earlier one.

mod foreign;
mod leave;
mod record;

pub use leave::{Leavings, RESOLVED, SampleLeavings, VERSION, notice_table, small_print_notice};
pub use record::Record;

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use tempfile::TempDir;
use thiserror::Error;

/// The file that marks a folder as a finished run.
pub const RECORD: &str = "run.json";
/// What the tables are.
const DESCRIPTION: &str = "datapackage.json";
/// Methods and results as text.
const METHODS: &str = "methods.md";
/// The report.
const PAGE: &str = "index.html";
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
    #[error("{file}: cannot be written")]
    File {
        file: PathBuf,
        #[source]
        cause: io::Error,
    },
    #[error("the record of the run cannot be written as JSON")]
    Record(#[from] serde_json::Error),
}

/// A folder beside the target that becomes the target on [`Staging::publish`].
#[derive(Debug)]
pub struct Staging {
    aside: TempDir,
    target: PathBuf,
}

impl Staging {
    /// Checks that the target may be written and makes the folder aside.
    pub fn new(target: &Path) -> Result<Self, OutputError> {
        let at = |cause| OutputError::Folder { folder: target.to_owned(), cause };
        replaceable(target)?;
        let parent = match target.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
            _ => PathBuf::from("."),
        };
        fs::create_dir_all(&parent).map_err(at)?;
        let aside = tempfile::Builder::new().prefix(".cutspan-").tempdir_in(&parent).map_err(at)?;
        Ok(Self { aside, target: target.to_owned() })
    }

    #[must_use]
    pub fn path(&self) -> &Path {
        self.aside.path()
    }

    /// A folder inside the results.
    pub fn folder(&self, name: &Path) -> Result<PathBuf, OutputError> {
        let folder = self.path().join(name);
        fs::create_dir_all(&folder).map_err(|cause| OutputError::Folder { folder: folder.clone(), cause })?;
        Ok(folder)
    }

    /// A folder beside the results, for what is too close to the people themselves to be shown.
    pub fn private_folder(&self, name: &Path) -> Result<PathBuf, OutputError> {
        let folder = private_folder(&self.target).join(name);
        fs::create_dir_all(&folder).map_err(|cause| OutputError::Folder { folder: folder.clone(), cause })?;
        Ok(folder)
    }

    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> Result<(), OutputError> {
        let file = self.path().join(name);
        fs::write(&file, content).map_err(|cause| OutputError::File { file, cause })
    }

    /// Puts the results in place of an earlier run, or where nothing was.
    pub fn publish(self) -> Result<PathBuf, OutputError> {
        let at = |cause| OutputError::Folder { folder: self.target.clone(), cause };
        let old = self.aside.path().with_extension("old");
        // Somebody may have put a file there while the run went on.
        replaceable(&self.target)?;
        let had_old = self.target.exists();
        if had_old {
            fs::rename(&self.target, &old).map_err(at)?;
        }
        readable(self.aside.path()).map_err(at)?;
        if let Err(cause) = fs::rename(self.aside.path(), &self.target) {
            if had_old {
                fs::rename(&old, &self.target).map_err(at)?;
            }
            return Err(at(cause));
        }
        if had_old {
            fs::remove_dir_all(&old).map_err(at)?;
        }
        // The folder aside has become the target; there is nothing left to clean up.
        let _ = self.aside.keep();
        Ok(self.target)
    }
}

/// The folder beside the results `out`, for what is too close to the people themselves to be shown.
#[must_use]
pub fn private_folder(out: &Path) -> PathBuf {
    let out: PathBuf = out.components().collect();
    let mut beside = out.into_os_string();
    beside.push("-private");
    PathBuf::from(beside)
}

/// What is not there, an empty folder, and an earlier run alone may be replaced.
fn replaceable(target: &Path) -> Result<(), OutputError> {
    let at = |cause| OutputError::Folder { folder: target.to_owned(), cause };
    if !target.exists() {
        return Ok(());
    }
    if !target.join(RECORD).exists() {
        let is_empty = fs::read_dir(target).map_err(at)?.next().is_none();
        return if is_empty { Ok(()) } else { Err(OutputError::Foreign(target.to_owned())) };
    }
    let files = foreign::foreign(target).map_err(at)?;
    if files.is_empty() { Ok(()) } else { Err(OutputError::Mixed { folder: target.to_owned(), files }) }
}

/// The first of many files, and how many others.
fn named(files: &[String]) -> String {
    let first = files.iter().take(MOST_NAMED).map(String::as_str).collect::<Vec<_>>().join(", ");
    match files.len().saturating_sub(MOST_NAMED) {
        0 => first,
        more => format!("{first} and {more} more"),
    }
}

/// Temporary folders are private to their owner; results are meant to be read.
#[cfg(unix)]
fn readable(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn readable(_folder: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_of_someone_else_is_left_alone() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("thesis");
        fs::create_dir(&target).unwrap();
        fs::write(target.join("chapter.txt"), "words").unwrap();
        assert!(matches!(Staging::new(&target), Err(OutputError::Foreign(_))));
        assert!(target.join("chapter.txt").exists());
    }

    #[test]
    fn files_that_somebody_put_beside_an_earlier_run_are_left_alone() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("out");
        let first = Staging::new(&target).unwrap();
        first.write(RECORD, "{}").unwrap();
        first.publish().unwrap();
        let second = Staging::new(&target).unwrap();
        second.write(RECORD, "{}").unwrap();
        for name in 1..=7 {
            fs::write(target.join(format!("note-{name}.txt")), "words").unwrap();
        }
        assert!(matches!(second.publish(), Err(OutputError::Mixed { .. })), "put there during a run");
        let said = Staging::new(&target).unwrap_err().to_string();
        assert!(said.contains("did not make note-1.txt, note-2.txt"), "{said}");
        assert!(said.contains("and 2 more") && said.contains("move them away"), "{said}");
        assert!(target.join("note-7.txt").exists());
    }

    #[test]
    fn an_earlier_run_is_replaced_whole_and_survives_an_unfinished_one() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("out");
        let first = Staging::new(&target).unwrap();
        first.write(RECORD, r#"{ "files": ["only-in-first"] }"#).unwrap();
        first.write("only-in-first", "1").unwrap();
        first.publish().unwrap();
        drop(Staging::new(&target).unwrap());
        assert!(target.join("only-in-first").exists());
        let second = Staging::new(&target).unwrap();
        second.write(RECORD, "{}").unwrap();
        second.publish().unwrap();
        assert!(!target.join("only-in-first").exists());
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1);
    }
}
