//! The page of a run in a real browser, and its packed numbers against the run's file.

use std::fmt::Write as _;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use cutspan::pipeline::{self, Options};
use cutspan::study::{self, Study};
use cutspan::table::number::fixed;
use cutspan::table::{Row, Table, csv, schema};
use flate2::read::GzDecoder;
use serde_json::Value;

use super::small_counts::write_study;

/// A hundredth of a percentage point and a half, to which shares are rounded, and the noise of dividing by it.
const ROUNDING: f64 = 0.015 + 1e-9;
/// A page that can be sent by mail.
const MOST_BYTES: u64 = 2_000_000;

fn load(pipeline: &str, replicates: usize) -> Study {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines").join(pipeline);
    let mut study = study::load(&file).unwrap();
    study.resampling.replicates = replicates;
    study.curves = None;
    study
}

fn run(study: &Study, data: Vec<PathBuf>) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    pipeline::run(study, &Options { out: &out, data, progress: &|_| {} }).unwrap();
    folder
}

/// A run of the demo, made once.
fn demo() -> &'static Path {
    static DEMO: OnceLock<tempfile::TempDir> = OnceLock::new();
    DEMO.get_or_init(|| run(&load("demo.toml", 40), Vec::new())).path()
}

/// A run of people who may not be shown in small counts; few of them are short of the first threshold of their study.
fn private() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    write_study(folder.path());
    let file = folder.path().join("study.toml");
    let text = fs::read_to_string(&file).unwrap();
    let far = "[[analysis.threshold]]\nindex = \"homa_ir\"\nvalue = 0.1\nsource = \"far\"\n\n[[analysis.threshold]]";
    fs::write(&file, text.replacen("[[analysis.threshold]]", far, 1)).unwrap();
    run(&study::load(&file).unwrap(), Vec::new())
}

/// A run of two samples that stay apart, made once.
fn two_samples() -> &'static Path {
    static TWO: OnceLock<tempfile::TempDir> = OnceLock::new();
    TWO.get_or_init(|| run(&load("two-samples.toml", 20), Vec::new())).path()
}

fn grid(out: &Path) -> Table {
    csv::read(schema::shape("threshold_grid").unwrap(), &out.join("tables/threshold_grid.csv")).unwrap()
}

/// The numbers packed into a page.
fn packed(out: &Path) -> Value {
    let html = fs::read_to_string(out.join("index.html")).unwrap();
    let (_, rest) = html.split_once("id=\"explore-data\">").unwrap();
    let letters = rest.split_once("</script>").unwrap().0;
    let mut json = String::new();
    GzDecoder::new(&STANDARD.decode(letters).unwrap()[..]).read_to_string(&mut json).unwrap();
    serde_json::from_str(&json).unwrap()
}

fn position(list: &Value, name: &str) -> usize {
    list.as_array().unwrap().iter().position(|entry| entry[0] == name || entry["name"] == name).unwrap()
}

/// Where a row of the file stands in the packed numbers.
struct Place<'a> {
    index: &'a Value,
    against: &'a Value,
    group: usize,
    at: usize,
}

fn place<'a>(packed: &'a Value, row: &Row<'_>) -> Place<'a> {
    let index = &packed["indices"][position(&packed["indices"], row.text("index"))];
    let against = &index["outcomes"][position(&packed["outcomes"], row.text("outcome"))];
    let grouping = position(&packed["groupings"], row.text("grouping"));
    let groups = packed["groups"].as_array().unwrap();
    let group = groups.iter().position(|g| g[0] == grouping && g[1] == row.text("group")).unwrap();
    let thresholds = index["at"].as_array().unwrap();
    let at = thresholds.iter().position(|t| t.as_f64() == row.real("threshold")).unwrap();
    Place { index, against, group, at }
}

/// A list of steps up to a place, in percent; `None` where nothing is known.
fn sum(steps: &Value, at: usize) -> Option<f64> {
    let steps = steps.as_array().unwrap();
    steps[at].as_i64()?;
    Some(steps[..=at].iter().filter_map(Value::as_i64).sum::<i64>() as f64 / 100.0)
}

/// Compares one share of a row; answers whether it is printed.
fn same_share(
    packed: &Value,
    series: &Value,
    at: usize,
    (row, name, percent): (&Row<'_>, &str, f64),
) -> bool {
    let stem = if name == "share_beyond" { "share" } else { name };
    let reason = row.text(&format!("{stem}_withheld"));
    let [value, below, above] = [0, 1, 2].map(|part| sum(&series[part], at));
    if !reason.is_empty() {
        let code = series[3][at].as_u64().unwrap();
        assert_eq!(packed["reasons"][usize::try_from(code).unwrap()], reason);
        assert!(value.is_none() && below.is_none() && above.is_none());
        return false;
    }
    assert!(series.get(3).is_none_or(|reasons| reasons[at].is_null()));
    let ends = [value, value.zip(below).map(|(v, b)| v - b), value.zip(above).map(|(v, a)| v + a)];
    for (got, column) in ends.into_iter().zip([name, &format!("{stem}_lower"), &format!("{stem}_upper")]) {
        let want = row.real(column).map(|value| value * percent);
        assert_eq!(got.is_some(), want.is_some(), "{column} of {}", row.text("group"));
        let written = |value: f64| [fixed(value, 0), fixed(value, 1)];
        assert_eq!(got.map(written), want.map(written), "{column} of {}", row.text("group"));
        let apart = got.zip(want).map_or(0.0, |(got, want)| (got - want).abs());
        assert!(apart < ROUNDING, "{column} of {}: {got:?} for {want:?}", row.text("group"));
    }
    true
}

fn compare(out: &Path) -> usize {
    let (samples, grid) = (packed(out)["samples"].clone(), grid(out));
    let samples = samples.as_array().unwrap();
    let mut shown = 0;
    for row in grid.iter() {
        let own = samples.iter().find(|sample| sample["survey"] == row.text("survey"));
        let packed = own.unwrap_or(&samples[0]);
        assert!(own.is_some() || samples.len() == 1, "{}", row.text("survey"));
        let Place { index, against, group, at } = place(packed, &row);
        assert_eq!(index["n"][group].as_i64(), row.whole("n"));
        assert_eq!(against["with"][group].as_i64(), row.whole("n_with"));
        assert_eq!(against["cutoff"][group].as_f64(), row.real("cutoff"));
        let shares = [
            (&index["beyond"], "share_beyond", 1.0),
            (&against["sensitivity"], "sensitivity", 100.0),
            (&against["specificity"], "specificity", 100.0),
            (&against["moved"], "reclassified", 1.0),
        ];
        for (series, name, percent) in shares {
            shown += usize::from(same_share(packed, &series[group], at, (&row, name, percent)));
        }
    }
    shown
}

#[test]
fn the_page_holds_the_numbers_of_the_file() {
    let shown = compare(&demo().join("out"));
    assert!(shown > 10_000, "{shown}");
}

#[test]
fn each_sample_has_a_grid_of_its_own_that_rises() {
    let out = two_samples().join("out");
    assert!(compare(&out) > 1000);
    let samples = packed(&out)["samples"].clone();
    assert_eq!(samples.as_array().unwrap().len(), 2);
    for index in samples.as_array().unwrap().iter().flat_map(|sample| sample["indices"].as_array().unwrap()) {
        let at: Vec<f64> = index["at"].as_array().unwrap().iter().filter_map(Value::as_f64).collect();
        assert!(at.len() > 20 && at.is_sorted(), "{at:?}");
    }
}

#[test]
fn the_page_of_the_real_survey_holds_its_numbers_and_stays_small() {
    let Some(data) = crate::support::official_data() else { return };
    let folder = run(&load("nhanes-2017-2020-adults.toml", 10), vec![data]);
    let out = folder.path().join("out");
    assert!(compare(&out) > 10_000);
    let bytes = fs::metadata(out.join("index.html")).unwrap().len();
    assert!(bytes < MOST_BYTES, "{bytes} bytes");
}

/// A program on the path.
fn program(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|folder| folder.join(name)).find(|file| file.is_file())
}

#[test]
fn the_page_answers_in_a_browser() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser/explorer.mjs");
    let package = script.with_file_name("node_modules/playwright-core");
    let mut missing = String::new();
    let (browser, node) = (program("chromium"), program("node"));
    for (there, what) in [
        (browser.is_some(), "chromium"),
        (node.is_some(), "node"),
        (package.is_dir(), "`npm ci` in tests/browser"),
    ] {
        if !there {
            write!(missing, " {what}").unwrap();
        }
    }
    let (Some(browser), Some(node), true) = (browser, node, package.is_dir()) else {
        assert!(std::env::var_os("CI").is_none(), "CI must test the page in a browser; missing:{missing}");
        println!("skipped: the page in a browser needs{missing}");
        return;
    };
    let private = private();
    for (folder, least, only) in [(demo(), 20, ""), (two_samples(), 4, ""), (private.path(), 1, "start")] {
        let mut command = Command::new(&node);
        command.arg(&script).arg(folder.join("out")).arg(&browser).arg(only);
        let run = command.output().unwrap();
        let said = String::from_utf8_lossy(&run.stdout);
        assert!(run.status.success(), "{said}\n{}", String::from_utf8_lossy(&run.stderr));
        assert!(said.lines().filter(|line| line.starts_with("ok ")).count() >= least, "{said}");
    }
}
