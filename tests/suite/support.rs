//! What several suites share.

use std::fs;
use std::path::{Path, PathBuf};

use cutspan::analysis::Results;
use cutspan::pipeline;
use cutspan::study::{self, Study};
use cutspan::table::Table;

/// Fails with both numbers when they differ by more than `tolerance`.
#[track_caller]
pub fn assert_close(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!((got - want).abs() <= tolerance, "{what}: got {got}, want {want} within {tolerance}");
}

/// A table of results by its name.
#[track_caller]
pub fn table<'a>(results: &'a Results, name: &str) -> &'a Table {
    results.tables.iter().find(|table| table.name == name).unwrap_or_else(|| panic!("no table {name}"))
}

/// A study of the table `people.csv`, and what it finds in these people; `more` stands before its first source.
#[track_caller]
pub fn estimated(study: &str, people: &str, more: &str) -> (Study, Results) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("people.csv"), people).unwrap();
    let text = study.replace("[[source]]", &format!("{more}[[source]]"));
    let study = study::parse(&text, "test.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    let results = pipeline::estimate(&study, &[]).unwrap();
    (study, results)
}

/// The folder with official survey files: `CUTSPAN_DATA`, else `../shared/data`. Without one the
/// test says that it is skipped; in CI a missing folder fails.
#[expect(clippy::print_stdout, reason = "a skipped test says so")]
pub fn official_data() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/data");
    let folder = std::env::var_os("CUTSPAN_DATA").map_or(beside, PathBuf::from);
    if folder.join("nhanes").is_dir() {
        return Some(folder);
    }
    assert!(
        std::env::var_os("CI").is_none(),
        "CI must have the official files; none in {}",
        folder.display()
    );
    println!("skipped: no official files (set CUTSPAN_DATA to a folder that holds nhanes/<cycle>/)");
    None
}
