//! What the suites about one person share: a small study, a woman of it, and the program asked about her.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use cutspan::analysis::{Person, Placed, PlacedIndex};
use cutspan::definitions::answer::Answer;
use cutspan::definitions::quantity::quantity;
use cutspan::pipeline::{self, Options};
use cutspan::study::{self, Study};
use cutspan::tally::Tallies;

/// Weights are rounded once, to less than 1e-10 of their sum; percentages are a hundred times a share.
pub const WEIGHTS_ROUNDED: f64 = 1e-7;

/// Numbers in comments carry six digits.
pub const BY_HAND: f64 = 2e-6;

/// The demo with fewer indices, groups and replicates, and the person's HOMA-IR as a further threshold:
/// 101 × 9.8 / 405 = 2.443951 (rounded to the index's resolution, 1e-9).
pub fn small_demo(folder: &Path) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    fs::create_dir_all(folder.join("pipelines")).unwrap();
    fs::create_dir_all(folder.join("data-public")).unwrap();
    fs::copy(root.join("data-public/veldmark.csv"), folder.join("data-public/veldmark.csv")).unwrap();
    let demo = fs::read_to_string(root.join("pipelines/demo.toml")).unwrap();
    let (before, curves) = demo.split_once("[analysis.curves]").unwrap();
    let (_, after) = curves.split_once("[resampling]").unwrap();
    let text = format!(
        "{before}[[analysis.threshold]]\nindex = \"homa_ir\"\nvalue = 2.443950617\nsource = \"the same value\"\n\n[resampling]{after}"
    )
    .replace("indices = [\"homa_ir\", \"tyg\", \"mets_ir\"]", "indices = [\"homa_ir\", \"quicki\", \"tyg\"]")
    .replace("  \"metabolic_syndrome_harmonized_2009\",\n  \"metabolic_syndrome_harmonized_2009_without_glucose\",\n", "")
    .replace("\"sex\", \"age_20_40_60\", \"bmi_class\", \"ancestry\", \"sex × bmi_class\"", "\"sex\", \"sex × bmi_class\"")
    .replace("replicates = 500", "replicates = 100");
    let file = folder.join("pipelines/small.toml");
    fs::write(&file, text).unwrap();
    file
}

/// The small study and its tallies, made once, beside the folder of its data.
pub fn opened() -> (&'static Study, &'static Tallies) {
    static OPENED: OnceLock<(tempfile::TempDir, Study, Tallies)> = OnceLock::new();
    let open = || {
        let folder = tempfile::tempdir().unwrap();
        let study = study::load(&small_demo(folder.path())).unwrap();
        assert_eq!((study.indices.len(), study.outcomes.len(), study.resampling.replicates), (3, 1, 100));
        let tallies = pipeline::tallies(&study, &[]).unwrap();
        (folder, study, tallies)
    };
    let (_, study, tallies) = OPENED.get_or_init(open);
    (study, tallies)
}

pub fn answers(written: &[(&str, &str)]) -> Vec<Answer> {
    let read = |(name, value): &(&str, &str)| Answer::read(quantity(name).unwrap(), value, None).unwrap();
    written.iter().map(read).collect()
}

pub const WOMAN: [(&str, &str); 9] = [
    ("glucose", "101mg/dL"),
    ("insulin", "9.8uU/mL"),
    ("sex", "female"),
    ("age", "47"),
    ("bmi", "31"),
    ("fasting", "10"),
    ("pregnant", "no"),
    ("diagnosed_diabetes", "no"),
    ("insulin_treated", "no"),
];

pub fn woman() -> Person {
    Person { answers: answers(&WOMAN), ..Person::default() }
}

pub fn index<'a>(placed: &'a Placed, name: &str) -> &'a PlacedIndex {
    placed.indices.iter().find(|i| i.index == name).unwrap()
}

pub fn cutspan(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .arg("place")
        .args(args)
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap()
}

/// The same woman as she is typed, whom the demo's study includes, with everything it asks for.
pub const TYPED: [(&str, &str); 10] = [
    ("--glucose", "101mg/dL"),
    ("--insulin", "9.8uIU/mL"),
    ("--sex", "female"),
    ("--age", "47"),
    ("--bmi", "31"),
    ("--fasting-hours", "10"),
    ("--pregnant", "no"),
    ("--diabetes", "no"),
    ("--insulin-treated", "no"),
    ("--glucose-drug", "no"),
];

/// Exit code, what was said and what was complained of, with some answers replaced or added.
pub fn place_in(study: &str, changes: &[(&str, &str)]) -> (Option<i32>, String, String) {
    placed_in(study, "", changes)
}

/// What is said when one answer is not given.
pub fn place_in_without(unsaid: &str, changes: &[(&str, &str)]) -> String {
    placed_in("lenient", unsaid, changes).1
}

/// A folder with finished runs of the small study, `small`, and of one that excludes nobody, `lenient`; made once.
fn runs() -> &'static Path {
    static RUNS: OnceLock<tempfile::TempDir> = OnceLock::new();
    let make = || {
        let folder = tempfile::tempdir().unwrap();
        let small = small_demo(folder.path());
        let text = fs::read_to_string(&small).unwrap();
        let excluded = "exclude = [\"pregnant\", \"diagnosed_diabetes\", \"diabetes_by_fasting_glucose\"]";
        assert!(text.contains(excluded), "the demo's exclusions are written otherwise");
        let lenient = small.with_file_name("lenient.toml");
        fs::write(&lenient, text.replace(excluded, "exclude = []")).unwrap();
        for (file, out) in [(small, "small"), (lenient, "lenient")] {
            let out = folder.path().join(out);
            let options = Options { out: &out, data: Vec::new(), progress: &|_| {} };
            pipeline::run(&study::load(&file).unwrap(), &options).unwrap();
        }
        folder
    };
    RUNS.get_or_init(make).path()
}

pub fn placed_in(study: &str, unsaid: &str, changes: &[(&str, &str)]) -> (Option<i32>, String, String) {
    let mut args = vec![study];
    let replaced = |name: &str| name == unsaid || changes.iter().any(|(changed, _)| *changed == name);
    for (name, value) in TYPED.iter().filter(|(name, _)| !replaced(name)).chain(changes) {
        args.extend([*name, *value]);
    }
    let done = cutspan(runs(), &args);
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (done.status.code(), text(done.stdout).replace("\n  ", " "), text(done.stderr))
}

pub fn said(changes: &[(&str, &str)]) -> String {
    let (code, said, complaint) = place_in("small", changes);
    assert_eq!(code, Some(0), "{complaint}");
    said
}

/// What `place demo` says of the woman with some answers replaced or added, on one line a paragraph.
pub fn said_of_demo(changes: &[(&str, &str)]) -> String {
    said_of_demo_without("", changes)
}

/// The same with one answer not given.
pub fn said_of_demo_without(unsaid: &str, changes: &[(&str, &str)]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let replaced = |name: &str| name == unsaid || changes.iter().any(|(changed, _)| *changed == name);
    let mut args = vec!["demo"];
    for (name, value) in TYPED.iter().filter(|(name, _)| !replaced(name)).chain(changes) {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).unwrap().replace("\n  ", " ")
}
