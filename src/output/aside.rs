//! A folder beside its place, which takes that place when it is complete.

use std::fs::{self, DirBuilder, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process;
use std::sync::{LazyLock, Mutex, MutexGuard, PoisonError};
use std::time::{SystemTime, UNIX_EPOCH};

use tempfile::TempDir;

use super::swap::Move;

/// How the name of a folder aside begins.
const PREFIX: &str = ".cutspan-";
/// What the run of a folder aside holds locked for as long as it goes on, and its name before it is.
const LOCK: &str = "lock";
const UNLOCKED: &str = "unlocked";
/// What will stand in the place, and what stood there.
const NEW: &str = "new";
const EARLIER: &str = "earlier";
/// Stands there while folders change places, and names the place.
const MOVING: &str = "moving";

/// By what this program knows its own folders: another machine, or another container, may have a process of the same number.
static OWN: LazyLock<String> = LazyLock::new(|| {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    format!("{} {}", process::id(), since.map_or(0, |time| time.as_nanos()))
});

/// Held while folders change places.
static PLACES: Mutex<()> = Mutex::new(());

/// Waits until no folders of this program change places; none does as long as what is returned lives.
pub(super) fn hold() -> MutexGuard<'static, ()> {
    PLACES.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A folder aside and the place it is meant for.
#[derive(Debug)]
pub(super) struct Aside {
    place: PathBuf,
    new: PathBuf,
    lock: File,
    folder: TempDir,
}

impl Aside {
    /// Makes the folder. What is private is closed to other users.
    pub fn new(place: PathBuf, private: bool) -> io::Result<Self> {
        let parent = parent(&place);
        fs::create_dir_all(&parent)?;
        let folder = tempfile::Builder::new().prefix(PREFIX).tempdir_in(&parent)?;
        let lock = locked(folder.path())?;
        let new = folder.path().join(NEW);
        builder(private).create(&new)?;
        Ok(Self { place, new, lock, folder })
    }

    /// Where the run writes.
    pub fn path(&self) -> &Path {
        &self.new
    }

    /// A folder inside.
    pub fn folder(&self, name: &Path) -> io::Result<PathBuf> {
        let folder = self.new.join(name);
        fs::create_dir_all(&folder)?;
        Ok(folder)
    }

    /// Marks that the folders change places from now on: should that be broken off, nothing here is deleted.
    pub fn begin(&self) -> io::Result<()> {
        fs::write(self.folder.path().join(MOVING), self.place.display().to_string())
    }

    /// What puts the new folder into its place, after what stands there is moved away.
    pub fn moves(&self) -> Vec<Move> {
        let away = Move { from: self.place.clone(), to: self.folder.path().join(EARLIER) };
        let into_place = Move { from: self.new.clone(), to: self.place.clone() };
        if self.place.exists() { vec![away, into_place] } else { vec![into_place] }
    }

    /// Deletes the folder with what stood in the place; where that fails, what is left of it.
    pub fn close(self) -> Option<PathBuf> {
        let _ = fs::remove_file(self.folder.path().join(MOVING));
        let Self { lock, folder, .. } = self;
        // Some systems delete no file that is open.
        drop(lock);
        let path = folder.path().to_owned();
        folder.close().err().map(|_| path)
    }

    /// Leaves everything where it is; answers with the folder.
    pub fn keep(self) -> PathBuf {
        self.folder.keep()
    }
}

fn parent(place: &Path) -> PathBuf {
    match place.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

#[cfg(unix)]
fn builder(private: bool) -> DirBuilder {
    use std::os::unix::fs::DirBuilderExt;
    let mut builder = DirBuilder::new();
    if private {
        builder.mode(0o700);
    }
    builder
}

#[cfg(not(unix))]
fn builder(_private: bool) -> DirBuilder {
    DirBuilder::new()
}

/// A locked file. It gets its name only then, so that nobody takes the folder for a forgotten one.
fn locked(folder: &Path) -> io::Result<File> {
    let unlocked = folder.join(UNLOCKED);
    let mut file = File::create(&unlocked)?;
    write!(file, "{}", *OWN)?;
    // Where the file system knows no locks, nobody can lock the file after the run either: the folder is left alone.
    let _ = file.lock();
    fs::rename(unlocked, folder.join(LOCK))?;
    Ok(file)
}

/// Deletes what runs that were broken off left beside a place; what cannot be deleted is in nobody's way. Answers with the
/// folders of those that were broken off while folders changed places: they may hold the earlier results, and stay.
pub(super) fn sweep(place: &Path) -> Vec<PathBuf> {
    let forgotten = beside(place).filter(|folder| is_free(folder));
    let (kept, others): (Vec<PathBuf>, Vec<PathBuf>) = forgotten.partition(|folder| is_between_moves(folder));
    for folder in others {
        let _ = fs::remove_dir_all(folder);
    }
    kept
}

/// Deletes what this very program has beside a place, as it is about to be ended; whether that was to take the place yet.
pub(super) fn drop_own(place: &Path) -> bool {
    let mut any = false;
    for folder in beside(place).filter(|folder| is_own(folder) && !is_between_moves(folder)) {
        // Once it has taken its place only what it replaced is left.
        any |= folder.join(NEW).exists();
        // Another thread may still write into it: what is then left of it the next run sweeps.
        let _ = fs::remove_dir_all(folder);
    }
    any
}

/// Folders aside of any run.
fn beside(place: &Path) -> impl Iterator<Item = PathBuf> {
    let entries = fs::read_dir(parent(place)).into_iter().flatten().flatten();
    let named = entries.filter(|entry| entry.file_name().to_string_lossy().starts_with(PREFIX));
    named.map(|entry| entry.path())
}

/// Whether no run has the folder locked.
fn is_free(folder: &Path) -> bool {
    let open = File::options().write(true).open(folder.join(LOCK));
    open.is_ok_and(|file| file.try_lock().is_ok())
}

/// Whether the folder is this program's, as its lock says.
fn is_own(folder: &Path) -> bool {
    fs::read_to_string(folder.join(LOCK)).is_ok_and(|name| name == *OWN)
}

/// Whether folders of its run have begun to change places, of which it may hold one that nothing else holds.
fn is_between_moves(folder: &Path) -> bool {
    folder.join(MOVING).exists()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder aside, as a run makes it.
    fn swept(folder: &Path) -> Aside {
        let place = folder.join("out");
        sweep(&place);
        Aside::new(place, false).unwrap()
    }

    fn asides(folder: &Path) -> usize {
        let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name());
        names.filter(|name| name.to_string_lossy().starts_with(PREFIX)).count()
    }

    #[test]
    fn what_a_broken_off_run_left_is_deleted_by_the_next_and_a_run_that_goes_on_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let new = || swept(folder.path());
        // The lock goes with the process.
        let Aside { lock, folder: left, .. } = new();
        drop(lock);
        let left = left.keep();
        let going_on = new();
        assert!(!left.exists());
        let other = new();
        assert!(going_on.path().exists() && other.path().exists());
        assert_eq!(asides(folder.path()), 2);
        assert_eq!((going_on.close(), other.close()), (None, None));
        assert_eq!(asides(folder.path()), 0);
    }

    /// Whoever owns the machine may delete everything; a folder that is gone already cannot be deleted by anybody.
    #[test]
    fn what_cannot_be_deleted_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let aside = swept(folder.path());
        let path = aside.folder.path().to_owned();
        fs::remove_dir_all(&path).unwrap();
        assert_eq!(aside.close(), Some(path));
    }

    #[test]
    fn what_was_broken_off_while_folders_changed_places_is_told_and_never_deleted() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("out");
        let aside = swept(folder.path());
        aside.begin().unwrap();
        let Aside { lock, folder: left, .. } = aside;
        drop(lock);
        let left = left.keep();
        fs::create_dir(left.join(EARLIER)).unwrap();
        assert_eq!(sweep(&place), [left.as_path()], "broken off between the moves");
        // The folder of what is private has taken its place first; that of the results has not.
        fs::remove_dir(left.join(NEW)).unwrap();
        assert_eq!(sweep(&place), [left.as_path()]);
        assert!(left.join(EARLIER).exists());
        fs::remove_file(left.join(MOVING)).unwrap();
        assert!(sweep(&place).is_empty());
        assert!(!left.exists(), "all had taken their places");
    }

    #[test]
    fn a_program_that_is_ended_drops_what_is_its_own() {
        let folder = tempfile::tempdir().unwrap();
        let (own, other) = (swept(folder.path()), swept(folder.path()));
        fs::write(other.folder.path().join(LOCK), "1").unwrap();
        assert!(drop_own(&folder.path().join("out")));
        assert!(!own.path().exists() && other.path().exists());
        assert!(!drop_own(&folder.path().join("out")), "there is nothing left");
        let between = swept(folder.path());
        between.begin().unwrap();
        assert!(!drop_own(&folder.path().join("out")) && between.path().exists(), "it holds earlier results");
    }
}
