//! Files in the folder of an earlier run that this run did not make: a new run must not delete them.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::Path;

use serde::Deserialize;

use super::{DESCRIPTION, METHODS, PAGE, RECORD, RESOLVED};

/// What systems put into a folder that is looked at.
const OF_THE_SYSTEM: [&str; 3] = [".DS_Store", "Thumbs.db", "desktop.ini"];
/// What a run makes whose record does not list its files, and the folders in which everything is its own.
const USUAL_FILES: [&str; 5] = [RECORD, RESOLVED, DESCRIPTION, METHODS, PAGE];
const USUAL_FOLDERS: [&str; 3] = ["tables/", "charts/", "tally/"];

/// The part of the record that says what belongs to the run.
#[derive(Deserialize)]
struct Made {
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

/// The files of somebody else in the folder of an earlier run.
pub(super) fn foreign(run: &Path) -> io::Result<Vec<String>> {
    let record = fs::read_to_string(run.join(RECORD))?;
    let made = serde_json::from_str::<Made>(&record).map(|made| made.files);
    let is_own = |file: &str| match &made {
        Ok(files) => file == RECORD || files.contains(file),
        Err(_) => USUAL_FILES.contains(&file) || USUAL_FOLDERS.iter().any(|folder| file.starts_with(folder)),
    };
    let is_of_the_system = |file: &str| OF_THE_SYSTEM.contains(&file.rsplit('/').next().unwrap_or_default());
    let all = files(run)?.into_iter();
    Ok(all.filter(|file| !is_own(file) && !is_of_the_system(file)).collect())
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
        let record = r#"{ "files": ["index.html", "tables/auc.csv"] }"#;
        let made = ["index.html", "tables/auc.csv", "tables/.DS_Store"];
        let own = folder(record, &made);
        assert!(foreign(own.path()).expect("a run").is_empty());
        let theirs = ["notes.txt", "charts/mine.png", "tables/old/auc.csv"];
        let mixed = folder(record, &[&made[..], &theirs].concat());
        let found = foreign(mixed.path()).expect("a run");
        assert_eq!(found, ["charts/mine.png", "notes.txt", "tables/old/auc.csv"]);
    }

    #[test]
    fn a_record_without_a_list_leaves_the_usual_places() {
        let old = folder("{}", &["index.html", "charts/roc.svg", "tally/00/frame", "notes.txt"]);
        assert_eq!(foreign(old.path()).expect("a run"), ["notes.txt"]);
    }
}
