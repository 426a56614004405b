//! The output folder, written aside and renamed when complete: an interrupted run never leaves a
//! half report that looks whole, and never harms an earlier one.

mod aside;
mod chart_notices;
mod error;
mod foreign;
mod leave;
mod place;
mod record;
mod swap;

pub use chart_notices::{letters_notice, small_print_notice};
pub use error::OutputError;
pub use leave::{Leavings, RESOLVED, SampleLeavings, VERSION, notice_table};
pub use place::private_folder;
pub use record::Record;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use aside::{Aside, drop_own, sweep};
use place::{are_replaceable, own_name};
use swap::{Move, SwapError, swap};

/// The file that marks a folder as a finished run.
pub const RECORD: &str = "run.json";
/// What its record is told by: any folder may hold a file of that name.
const PROGRAM: &str = "cutspan";
/// Methods and results as text.
const METHODS: &str = "methods.md";
/// The report.
const PAGE: &str = "index.html";

/// Folders aside that become the results, and what is private beside them, on [`Staging::publish`].
#[derive(Debug)]
pub struct Staging {
    /// Where the results will be, as it is told.
    folder: PathBuf,
    /// The same of what is private.
    beside: Option<PathBuf>,
    results: Aside,
    private: Option<Aside>,
    kept: Vec<PathBuf>,
}

/// Results in their place.
#[derive(Debug)]
pub struct Published {
    pub folder: PathBuf,
    /// The folder beside it with what is too close to the people themselves to be shared.
    pub private: Option<PathBuf>,
    /// What is left of earlier results that could not be deleted.
    pub leftover: Vec<PathBuf>,
    /// What runs left that were broken off while their results took the place of earlier ones, which it may hold.
    pub kept: Vec<PathBuf>,
}

impl Staging {
    /// Checks that the target may be written, and what is private beside it, and makes the folders aside.
    pub fn new(target: &Path, public: bool) -> Result<Self, OutputError> {
        let folder = own_name(target);
        let beside = (!public).then(|| private_folder(&folder));
        are_replaceable(&folder, beside.as_deref())?;
        // Before there is one of this run: some file systems give a lock twice to one program.
        let kept: BTreeSet<PathBuf> =
            beside.iter().chain([&folder]).flat_map(|place| sweep(&own_name(place))).collect();
        let private = beside.as_deref().map(|place| aside(place, true)).transpose()?;
        Ok(Self {
            results: aside(&folder, false)?,
            private,
            folder,
            beside,
            kept: kept.into_iter().collect(),
        })
    }

    #[must_use]
    pub fn path(&self) -> &Path {
        self.results.path()
    }

    /// A folder inside the results.
    pub fn folder(&self, name: &Path) -> Result<PathBuf, OutputError> {
        inside(&self.results, name)
    }

    /// A folder for what is too close to the people themselves to be shown: beside the results, or in them where the
    /// people are public.
    pub fn private_folder(&self, name: &Path) -> Result<PathBuf, OutputError> {
        inside(self.private.as_ref().unwrap_or(&self.results), name)
    }

    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) -> Result<(), OutputError> {
        let file = self.path().join(name);
        fs::write(&file, content).map_err(|cause| OutputError::File { file, cause })
    }

    /// Puts everything in place of an earlier run, or where nothing was: all of it, or nothing.
    pub fn publish(self) -> Result<Published, OutputError> {
        // Somebody may have put a file there while the run went on.
        are_replaceable(&self.folder, self.beside.as_deref())?;
        let Self { folder, beside: private, kept, .. } = self;
        let asides: Vec<Aside> = self.private.into_iter().chain([self.results]).collect();
        let _held = aside::hold();
        let begun = asides.iter().try_for_each(Aside::begin);
        begun.map_err(|cause| OutputError::Folder { folder: folder.clone(), cause })?;
        let moves: Vec<Move> = asides.iter().flat_map(Aside::moves).collect();
        match swap(&moves) {
            Ok(()) => {
                let leftover = asides.into_iter().filter_map(Aside::close).collect();
                Ok(Published { folder, private, leftover, kept })
            }
            Err(SwapError::Undone(cause)) => Err(OutputError::Folder { folder, cause }),
            Err(SwapError::Stuck(cause)) => {
                let kept = asides.into_iter().map(Aside::keep).collect();
                Err(OutputError::Stuck { folder, kept, cause })
            }
        }
    }
}

/// Deletes what a run of this very program has not finished, as the program is about to be ended; whether there was any.
#[must_use]
pub fn break_off(target: &Path) -> bool {
    // The program ends: nothing of it may change places any more.
    std::mem::forget(aside::hold());
    // What is private stands beside it.
    drop_own(&own_name(target))
}

/// A folder beside its place. The path holds wherever the program is, whose own folder may be the one that is replaced.
fn aside(place: &Path, private: bool) -> Result<Aside, OutputError> {
    let made = std::path::absolute(own_name(place)).and_then(|absolute| Aside::new(absolute, private));
    made.map_err(|cause| OutputError::Folder { folder: place.to_owned(), cause })
}

fn inside(aside: &Aside, name: &Path) -> Result<PathBuf, OutputError> {
    aside.folder(name).map_err(|cause| OutputError::Folder { folder: aside.path().join(name), cause })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The record of a run that made these files.
    fn record(files: &[&str]) -> String {
        serde_json::json!({ "program": "cutspan", "files": files }).to_string()
    }

    fn finish(target: &Path, files: &[&str]) -> Published {
        let staging = Staging::new(target, true).unwrap();
        for file in files {
            staging.write(file, "made").unwrap();
        }
        staging.write(RECORD, record(files)).unwrap();
        staging.publish().unwrap()
    }

    /// Results and private tallies of a run, both with this name in them.
    fn private(target: &Path, name: &str) -> Staging {
        let staging = Staging::new(target, false).unwrap();
        staging.write(name, "made").unwrap();
        staging.write(RECORD, record(&[name])).unwrap();
        let tally = staging.private_folder(Path::new("tally")).unwrap();
        fs::write(tally.join(name), "sums").unwrap();
        fs::write(tally.join("manifest.json"), format!(r#"{{"files":[{{"name":"{name}","sha256":""}}]}}"#))
            .unwrap();
        staging
    }

    fn entries(folder: &Path) -> Vec<String> {
        let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name());
        let mut names: Vec<String> = names.map(|name| name.to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_folder_of_someone_else_is_left_alone() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("thesis");
        fs::create_dir_all(target.join("tables")).unwrap();
        fs::write(target.join("tables/mine.csv"), "words").unwrap();
        assert!(matches!(Staging::new(&target, true), Err(OutputError::Foreign(_))));
        for record in [r#"{ "model": "x" }"#, "{}", r#"{ "program": "other", "files": [] }"#] {
            fs::write(target.join(RECORD), record).unwrap();
            let refused = Staging::new(&target, true);
            assert!(matches!(refused, Err(OutputError::Foreign(_))), "{record}: {refused:?}");
        }
        assert!(target.join("tables/mine.csv").exists());
    }

    #[test]
    fn files_that_somebody_put_beside_an_earlier_run_are_left_alone() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("out");
        finish(&target, &[]);
        let second = Staging::new(&target, true).unwrap();
        second.write(RECORD, record(&[])).unwrap();
        for name in 1..=7 {
            fs::write(target.join(format!("note-{name}.txt")), "words").unwrap();
        }
        assert!(matches!(second.publish(), Err(OutputError::Mixed { .. })), "put there during a run");
        let said = Staging::new(&target, true).unwrap_err().to_string();
        assert!(said.contains("did not make note-1.txt, note-2.txt"), "{said}");
        assert!(said.contains("and 2 more") && said.contains("move them away"), "{said}");
        assert!(target.join("note-7.txt").exists());
    }

    #[test]
    fn an_earlier_run_is_replaced_whole_and_survives_an_unfinished_one() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("out");
        finish(&target, &["only-in-first"]);
        drop(Staging::new(&target, true).unwrap());
        assert!(target.join("only-in-first").exists());
        assert!(finish(&target, &[]).leftover.is_empty());
        assert_eq!(
            (entries(&target), entries(place.path())),
            (vec![RECORD.to_owned()], vec!["out".to_owned()])
        );
    }

    #[test]
    fn what_is_private_is_replaced_with_the_results_or_stays_with_them() {
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("out");
        let tally = place.path().join("out-private/tally");
        private(&target, "first.parquet").publish().unwrap();
        let second = private(&target, "second.parquet");
        assert_eq!(
            entries(&tally),
            ["first.parquet", "manifest.json"],
            "nothing is written there before the end"
        );
        fs::write(target.join("notes.txt"), "words").unwrap();
        second.publish().unwrap_err();
        assert!(target.join("first.parquet").exists() && tally.join("first.parquet").exists());
        fs::remove_file(target.join("notes.txt")).unwrap();
        let made = private(&target, "second.parquet").publish().unwrap();
        assert_eq!(made.private, Some(place.path().join("out-private")));
        assert_eq!(entries(&tally), ["manifest.json", "second.parquet"]);
        assert_eq!(entries(place.path()), ["out", "out-private"]);
        // A key of names, say, that somebody keeps there.
        fs::write(tally.join("key.csv"), "names").unwrap();
        let said = Staging::new(&target, false).unwrap_err().to_string();
        assert!(said.contains("out-private") && said.contains("did not make tally/key.csv"), "{said}");
    }

    #[test]
    fn what_an_earlier_run_left_between_two_places_is_told_with_the_results() {
        let place = tempfile::tempdir().unwrap();
        let left = place.path().join(".cutspan-left");
        fs::create_dir_all(left.join("earlier")).unwrap();
        for file in ["lock", "moving"] {
            fs::write(left.join(file), "").unwrap();
        }
        assert_eq!(finish(&place.path().join("out"), &[]).kept, [left.as_path()]);
        assert!(left.join("earlier").exists());
        assert!(!place.path().join("out/moving").exists());
    }

    #[cfg(unix)]
    #[test]
    fn what_is_private_is_closed_to_other_users() {
        use std::os::unix::fs::PermissionsExt;
        let place = tempfile::tempdir().unwrap();
        let made = private(&place.path().join("out"), "first.parquet").publish().unwrap();
        let mode = fs::metadata(made.private.unwrap()).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0, "{mode:o}");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_and_one_that_leads_nowhere_is_told_before_the_run() {
        use std::os::unix::fs::symlink;
        let place = tempfile::tempdir().unwrap();
        let disk = place.path().canonicalize().unwrap().join("disk");
        let link = place.path().join("link");
        symlink(disk.join("o"), &link).unwrap();
        fs::create_dir(&disk).unwrap();
        assert!(matches!(Staging::new(&link, true), Err(OutputError::Dangling(_))));
        fs::create_dir(disk.join("o")).unwrap();
        let made = private(&link, "first.parquet").publish().unwrap();
        assert_eq!((made.folder, made.private), (disk.join("o"), Some(disk.join("o-private"))));
        assert!(link.is_symlink() && link.join(RECORD).exists());
        assert_eq!(private_folder(&link.join(".")), disk.join("o-private"), "as it is looked for");
        assert_eq!(entries(&disk), ["o", "o-private"]);
    }

    #[cfg(unix)]
    #[test]
    fn earlier_results_that_cannot_be_deleted_are_told_and_the_new_ones_stand() {
        use std::os::unix::fs::PermissionsExt;
        let place = tempfile::tempdir().unwrap();
        let target = place.path().join("out");
        finish(&target, &[]);
        let locked = target.join("charts");
        fs::create_dir(&locked).unwrap();
        fs::write(locked.join(".DS_Store"), "a file of the system").unwrap();
        let close =
            |folder: &Path, mode| fs::set_permissions(folder, fs::Permissions::from_mode(mode)).unwrap();
        close(&locked, 0o500);
        // Nothing is closed to the owner of the machine.
        let note = locked.join("note");
        let is_closed = fs::write(&note, "words").and_then(|()| fs::remove_file(&note)).is_err();
        let made = finish(&target, &[]);
        assert_eq!(entries(&target), [RECORD]);
        assert_eq!(made.leftover.len(), usize::from(is_closed), "{made:?}");
        for left in &made.leftover {
            assert!(left.join("earlier/charts/.DS_Store").exists(), "{made:?}");
            close(&left.join("earlier/charts"), 0o700);
        }
    }
}
