//! The demo by the real program: twice the same bytes, and estimates beside the known truth.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use cutspan::pipeline;
use cutspan::study;
use cutspan::table::{Table, csv, schema};

fn demo(out: &Path, threads: &str) {
    let run = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(["demo", "--threads", threads, "--out"])
        .arg(out)
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    let said = String::from_utf8(run.stdout).unwrap();
    assert!(said.contains("Veldmark (invented)") && said.contains("index.html"), "{said}");
}

/// Every file of a run with its bytes, except those that may differ between equal runs.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.file_name().is_some_and(|n| n != "run.json") {
                found.insert(path.strip_prefix(folder).unwrap().to_owned(), fs::read(&path).unwrap());
            }
        }
    }
    found
}

fn read(folder: &Path, name: &str) -> Table {
    csv::read(schema::shape(name).unwrap(), &folder.join(format!("tables/{name}.csv"))).unwrap()
}

/// True values of the cohort: (grouping, group, measure) → value.
fn truth() -> BTreeMap<(String, String, String), f64> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-public/veldmark-truth.csv");
    let mut reader = ::csv::Reader::from_path(file).unwrap();
    let rows = reader.records().map(Result::unwrap).filter(|r| &r[0] == "cohort");
    rows.map(|r| ((r[1].to_owned(), r[2].to_owned(), r[3].to_owned()), r[5].parse().unwrap())).collect()
}

/// How many printed 95 % intervals of a table hold the true value, and how many there are.
fn covered(
    table: &Table,
    keep: &[(&str, &str)],
    measure: &dyn Fn(&cutspan::table::Row) -> String,
) -> (usize, usize) {
    let truth = truth();
    let (mut holding, mut all) = (0, 0);
    for row in table.iter().filter(|r| keep.iter().all(|(column, value)| r.text(column) == *value)) {
        let key = (row.text("grouping").to_owned(), row.text("group").to_owned(), measure(&row));
        if let (Some(lower), Some(upper), Some(&value)) =
            (row.real("lower"), row.real("upper"), truth.get(&key))
        {
            all += 1;
            holding += usize::from(lower <= value && value <= upper);
        }
    }
    (holding, all)
}

#[test]
fn the_demo_gives_the_same_bytes_on_one_thread_and_two_and_finds_the_truth() {
    let folder = tempfile::tempdir().unwrap();
    let (one, two) = (folder.path().join("one"), folder.path().join("two"));
    demo(&one, "1");
    demo(&two, "2");
    let (first, second) = (files(&one), files(&two));
    assert!(first.keys().eq(second.keys()));
    let differing: Vec<_> =
        first.iter().filter(|(name, bytes)| second[*name] != **bytes).map(|(n, _)| n).collect();
    assert!(differing.is_empty(), "{differing:?}");
    assert!(first.len() > 60, "{}", first.len());

    let homa = ("index", "homa_ir");
    let measured = ("outcome", "insulin_resistant");
    let percentiles = read(&one, "percentiles");
    let (holding, all) = covered(&percentiles, &[homa, ("population", "cohort")], &|r| {
        format!("percentile_{}", r.real("percentile").unwrap())
    });
    assert!(all >= 60 && holding * 10 >= all * 9, "percentiles: {holding} of {all}");
    let (holding, all) = covered(&read(&one, "auc"), &[homa, measured], &|_| "auc".to_owned());
    assert!(all >= 15 && holding * 10 >= all * 9, "areas: {holding} of {all}");
    let cutoffs = read(&one, "cutoffs");
    let (holding, all) =
        covered(&cutoffs, &[homa, measured, ("rule", "youden")], &|_| "youden_cutoff".to_owned());
    assert!(all >= 12 && holding * 10 >= all * 9, "cutoffs: {holding} of {all}");
}

#[test]
fn the_study_that_a_run_leaves_behind_gives_the_same_tables() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/own-table.toml");
    let study = study::load(&file).unwrap();
    let again = study::parse(&study.resolved_toml, "study.toml", &study.folder).unwrap();
    let tables = |s| pipeline::estimate(s, &[]).unwrap().tables;
    assert!(tables(&study) == tables(&again));
}
