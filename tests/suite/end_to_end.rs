//! The demo by the real program: the same bytes on one thread and two, and estimates beside the known truth.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use cutspan::chart::{self, Print};
use cutspan::pipeline;
use cutspan::study;
use cutspan::table::{Table, csv, schema};

/// Size of the charts in the README: large enough to read on a page, small enough to load.
const PICTURE: Print = Print { width_mm: 174.0, pixels_per_inch: 98.0 };
/// The charts of the demo that the README shows.
const PICTURES: [&str; 3] =
    ["cutoffs_homa_ir_insulin_resistant", "percentile_of_threshold_homa_ir", "percentile_curves_homa_ir_age"];
/// A picture beside the README loads at once.
const MOST_BYTES: usize = 120_000;

fn cutspan(here: &Path, arguments: &[&str]) {
    let run = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(arguments)
        .current_dir(here)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    let said = String::from_utf8(run.stdout).unwrap();
    assert!(said.contains("Veldmark (invented)") && said.contains("index.html"), "{said}");
}

/// A folder in which `cutspan demo` was run, once for all suites.
pub fn demo_run() -> &'static Path {
    static RUN: OnceLock<tempfile::TempDir> = OnceLock::new();
    let run = || {
        let folder = tempfile::tempdir().unwrap();
        cutspan(folder.path(), &["demo"]);
        folder
    };
    RUN.get_or_init(run).path()
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

/// The README's pictures are the demo's charts, byte by byte; set `UPDATE_PICTURES` to make them anew.
fn pictures_are_those_of_the_readme(run: &Path) {
    let study = study::load(&run.join("study.toml")).unwrap();
    let shapes = schema::tables().filter(|s| run.join(format!("tables/{}.csv", s.name)).exists());
    let tables: Vec<Table> = shapes.map(|shape| read(run, shape.name)).collect();
    let charts = chart::draw_all(&tables, &chart::labels(&study, "Veldmark (invented)"), &PICTURE).unwrap();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-public/demo");
    let readme = fs::read_to_string(folder.join("../../README.md")).unwrap();
    for name in PICTURES {
        let drawn = charts.iter().find(|chart| chart.name == name).unwrap().png(&PICTURE).unwrap();
        let file = folder.join(format!("{name}.png"));
        if std::env::var_os("UPDATE_PICTURES").is_some() {
            fs::write(&file, &drawn).unwrap();
        }
        assert!(fs::read(&file).unwrap() == drawn, "{name}.png is not the demo's chart");
        assert!(drawn.len() < MOST_BYTES, "{name}: {} bytes", drawn.len());
        assert!(readme.contains(&format!("(data-public/demo/{name}.png)")), "{name}");
    }
    let explorer = fs::metadata(folder.join("explorer.png")).unwrap().len() as usize;
    assert!(explorer < MOST_BYTES && readme.contains("(data-public/demo/explorer.png)"), "{explorer}");
}

/// The text for a paper that the demo leaves, with no word of code in its paragraphs.
fn text_is_as_it_was(run: &Path) {
    let text = fs::read_to_string(run.join("methods.md")).unwrap();
    let paragraphs = text.split("## What only the authors can say").next().unwrap();
    for code in ["`", "homa_ir", "mets_ir", "_syndrome", "_cutoffs", "kernel_", "replicates_"] {
        assert!(!paragraphs.contains(code), "{code}");
    }
    let page = fs::read_to_string(run.join("index.html")).unwrap();
    assert!(page.contains("<p>To cite this run: Veldmark (invented); without: under 20 years"));
    assert!(page.contains("; insulin assay: invented; study “"));
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../golden");
    settings.set_prepend_module_to_snapshot(false);
    settings.add_filter("[0-9a-f]{64}", "[SHA-256]");
    settings.add_filter("study [0-9a-f]{12}\\.", "study [HASH].");
    settings.bind(|| insta::assert_snapshot!("methods.md", text));
}

/// The demo with fewer replicates: still more than one block of them.
pub fn few_replicates() -> String {
    let few = include_str!("../../pipelines/demo.toml").replace("replicates = 500", "replicates = 100");
    assert_eq!(few.matches("replicates = 100").count(), 2, "of the study and of its curves");
    few
}

/// Work is shared out by groups and by blocks of replicates, of which there are several.
#[test]
fn one_thread_and_two_give_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let (few, people) = (few_replicates(), include_str!("../../data-public/veldmark.csv"));
    for (name, text) in [("pipelines/demo.toml", &*few), ("data-public/veldmark.csv", people)] {
        fs::create_dir_all(folder.path().join(name).parent().unwrap()).unwrap();
        fs::write(folder.path().join(name), text).unwrap();
    }
    let [first, second] = ["1", "2"].map(|threads| {
        cutspan(folder.path(), &["run", "pipelines/demo.toml", "--threads", threads, "--out", "out"]);
        files(&folder.path().join("out"))
    });
    assert!(first.keys().eq(second.keys()));
    let differing: Vec<_> =
        first.iter().filter(|(name, bytes)| second[*name] != **bytes).map(|(n, _)| n).collect();
    assert!(differing.is_empty(), "{differing:?}");
    assert!(first.len() > 60, "{}", first.len());
}

#[test]
fn the_demo_finds_the_truth_and_is_pictured_in_the_readme() {
    let one = demo_run().join("out");
    pictures_are_those_of_the_readme(&one);
    text_is_as_it_was(&one);

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
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
    let text = fs::read_to_string(folder.join("own-table.toml")).unwrap();
    let few = format!("{text}\n[resampling]\nreplicates = 20\n");
    let study = study::parse(&few, "own-table.toml", &folder).unwrap();
    let again = study::parse(&study.resolved_toml, "study.toml", &study.folder).unwrap();
    let tables = |s| pipeline::estimate(s, &[]).unwrap().tables;
    let (first, second) = (tables(&study), tables(&again));
    assert!(first.iter().any(|table| table.name == "cutoffs" && !table.rows.is_empty()));
    assert!(first == second);
}
