//! Files in the folder of an earlier run that this run did not make: a new run must not delete them.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::Path;

use serde::Deserialize;

use super::{PROGRAM, RECORD};
use crate::tally;

/// What systems put into a folder that is looked at.
const OF_THE_SYSTEM: [&str; 3] = [".DS_Store", "Thumbs.db", "desktop.ini"];

/// The part of the record that says what belongs to the run.
#[derive(Deserialize)]
struct Made {
    program: String,
    files: BTreeSet<String>,
}

/// Every file below a folder, by its path from there with `/` between its parts. Links are not followed.
pub(super) fn files(folder: &Path) -> io::Result<BTreeSet<String>> {
    let mut found = BTreeSet::new();
    collect(folder, "", &mut found)?;
    Ok(found)
}

fn collect(folder: &Path, before: &str, found: &mut BTreeSet<String>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = format!("{before}{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            collect(&entry.path(), &format!("{name}/"), found)?;
        } else {
            found.insert(name);
        }
    }
    Ok(())
}

/// The files of somebody else in the folder of an earlier run; `None` where it is no run's, as any folder may hold a file
/// of that name.
pub(super) fn foreign(run: &Path) -> io::Result<Option<Vec<String>>> {
    let record = run.join(RECORD);
    if !record.exists() {
        return Ok(None);
    }
    let made = serde_json::from_slice::<Made>(&fs::read(record)?).ok();
    let Some(Made { files: mut own, .. }) = made.filter(|made| made.program == PROGRAM) else {
        return Ok(None);
    };
    own.insert(RECORD.to_owned());
    others(run, &own).map(Some)
}

/// The files of somebody else among tallies: those that no list of tallies beside them names.
pub(super) fn foreign_private(private: &Path) -> io::Result<Vec<String>> {
    let folders: BTreeSet<String> =
        files(private)?.iter().filter_map(|file| Some(file.rsplit_once('/')?.0.to_owned())).collect();
    let mut own = BTreeSet::new();
    for folder in folders {
        let saved = tally::saved_files(&private.join(&folder));
        own.extend(saved.iter().map(|name| format!("{folder}/{name}")));
    }
    others(private, &own)
}

/// Files that are neither one's own nor the system's.
fn others(folder: &Path, own: &BTreeSet<String>) -> io::Result<Vec<String>> {
    let is_of_the_system = |file: &str| OF_THE_SYSTEM.contains(&file.rsplit('/').next().unwrap_or_default());
    Ok(files(folder)?.into_iter().filter(|file| !own.contains(file) && !is_of_the_system(file)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(record: &str, files: &[&str]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().expect("a folder");
        for file in files {
            let path = folder.path().join(file);
            fs::create_dir_all(path.parent().expect("a folder around it")).expect("a folder");
            fs::write(path, "words").expect("a file");
        }
        fs::write(folder.path().join(RECORD), record).expect("a record");
        folder
    }

    #[test]
    fn what_the_record_does_not_list_is_somebody_elses() {
        let record = r#"{ "program": "cutspan", "files": ["index.html", "tables/auc.csv"] }"#;
        let made = ["index.html", "tables/auc.csv", "tables/.DS_Store"];
        let own = folder(record, &made);
        assert_eq!(foreign(own.path()).expect("readable"), Some(Vec::new()));
        let theirs = ["notes.txt", "charts/mine.png", "tables/old/auc.csv"];
        let mixed = folder(record, &[&made[..], &theirs].concat());
        let found = foreign(mixed.path()).expect("readable").expect("a run");
        assert_eq!(found, ["charts/mine.png", "notes.txt", "tables/old/auc.csv"]);
    }
}
