//! A study file from a path, and what is said when something else is there.

use std::fs;
use std::io;
use std::path::Path;

use super::StudyError;

/// Extensions of tables, which are named in a study file and are none.
const TABLES: [&str; 12] =
    ["csv", "tsv", "tab", "txt", "gz", "parquet", "xpt", "xlsx", "xls", "dta", "sav", "sas7bdat"];
/// Study files named in a message, at most.
const MOST_NAMED: usize = 6;

/// The text of a study file.
pub(super) fn text(path: &Path) -> Result<String, StudyError> {
    let not_a_study = |problem: String| StudyError::NotAStudy { path: path.to_owned(), problem };
    if path.is_dir() {
        return Err(not_a_study(folder(path)));
    }
    let extension = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    if path.is_file() && TABLES.contains(&extension.as_str()) {
        let table = path.display();
        return Err(not_a_study(format!(
            "this is a table, expected a study file (.toml): cutspan new study.toml --table {table} writes one for it"
        )));
    }
    let bytes = fs::read(path).map_err(|source| unreadable(path, source))?;
    String::from_utf8(bytes).map_err(|error| {
        let before = String::from_utf8_lossy(&error.as_bytes()[..error.utf8_error().valid_up_to()]);
        let line = before.matches('\n').count();
        not_a_study(format!("line {} is not UTF-8 text: save the file as UTF-8", line + 1))
    })
}

fn unreadable(path: &Path, source: io::Error) -> StudyError {
    let advice = if source.kind() == io::ErrorKind::NotFound {
        "; give the path of one, or write a first one with cutspan new"
    } else {
        ""
    };
    StudyError::Read { path: path.to_owned(), source, advice: advice.to_owned() }
}

/// A folder is a finished run, or holds study files, or neither.
fn folder(path: &Path) -> String {
    let own = path.join("study.toml");
    if path.join("run.json").is_file() && own.is_file() {
        return format!(
            "this is the folder of a finished run, expected a study file; the study of that run is {}",
            own.display()
        );
    }
    let entries = fs::read_dir(path).into_iter().flatten().flatten().map(|entry| entry.path());
    let mut studies: Vec<String> = entries
        .filter(|file| file.extension().is_some_and(|extension| extension == "toml"))
        .map(|file| file.display().to_string())
        .collect();
    studies.sort();
    studies.truncate(MOST_NAMED);
    let held = if studies.is_empty() {
        "it holds none; cutspan new writes one".to_owned()
    } else {
        format!("it holds {}", studies.join(", "))
    };
    format!("this is a folder, expected a study file (.toml); {held}")
}
