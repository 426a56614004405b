//! `cutspan claim`: the numbers of a fresh run, and the whole answer of the real program in every format.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use cutspan::analysis::claim::{Form, Question, Side, Stated, answer};
use cutspan::finished;
use cutspan::pipeline;
use cutspan::study::{self, Source, Study};
use cutspan::table::{Table, csv, number, schema};

use crate::chart::texts_state_their_widths;

const DEMO: &str = include_str!("../../pipelines/demo.toml");
const SURVEY: &str = include_str!("../../data-public/veldmark.csv");

/// The demo, cut down to two indices that run in opposite directions, one outcome, two groupings and
/// few replicates, with the thresholds that are given.
pub(super) fn small_demo(folder: &Path, thresholds: &str) -> PathBuf {
    let head = &DEMO[..DEMO.find("[analysis]").unwrap()];
    let define = &DEMO[DEMO.find("[[define.quantity]]").unwrap()..];
    let analysis = "\n[analysis]\nindices = [\"homa_ir\", \"quicki\"]\noutcomes = [\"insulin_resistant\"]\n\
        groups = [\"sex\", \"bmi_class\"]\n\
        [[analysis.reference]]\nname = \"lean\"\nlabel = \"BMI under 25\"\nwithout = [\"bmi_25_or_more\"]\n";
    let resampling = "\n[resampling]\nreplicates = 120\nseed = 5\n";
    let head = head.replace("../data-public/", "");
    fs::write(folder.join("veldmark.csv"), SURVEY).unwrap();
    let file = folder.join("small.toml");
    fs::write(&file, format!("{head}{analysis}{thresholds}{resampling}\n{define}")).unwrap();
    file
}

pub(super) fn threshold(index: &str, value: f64, strict: bool) -> String {
    format!("[[analysis.threshold]]\nindex = \"{index}\"\nvalue = {value}\nstrict = {strict}\n")
}

/// Cells of the rows whose texts are as given, as they stand in a CSV file.
fn cells(table: &Table, keep: &[(&str, &str)], columns: &[&str]) -> Vec<Vec<String>> {
    let text = csv::to_text(table);
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|h| h == name).unwrap_or_else(|| panic!("{name}"));
    let rows = reader.records().map(Result::unwrap);
    rows.filter(|row| keep.iter().all(|(column, value)| &row[at(column)] == *value))
        .map(|row| columns.iter().map(|c| row[at(c)].to_owned()).collect())
        .collect()
}

#[test]
fn the_numbers_are_those_of_a_run_with_that_threshold_in_its_study() {
    let folder = tempfile::tempdir().unwrap();
    let opened = finished::open(Some(&small_demo(folder.path(), "")), &[]).unwrap();
    // HOMA-IR below 2.3 leaves 2.3 beyond; QUICKI above 0.34 is the insulin-sensitive side, so 0.34 is beyond as well.
    let cases = [
        (0, Side::Below, 2.3, false),
        (0, Side::AtMost, 2.3, true),
        (1, Side::Above, 0.34, false),
        (1, Side::Below, 0.34, true),
    ];
    for (index, side, value, strict) in cases {
        let name = ["homa_ir", "quicki"][index];
        let file = small_demo(folder.path(), &threshold(name, value, strict));
        let fresh = pipeline::estimate(&study::load(&file).unwrap(), &[]).unwrap().tables;
        let table = |name: &str| fresh.iter().find(|t| t.name == name).unwrap();
        let question = Question {
            index,
            stated: vec![Stated { side, value }],
            meant: Vec::new(),
            outcome: Some(0),
            groupings: vec![0, 1],
            only: Vec::new(),
            forms: vec![Form::BestCutoff { within: 10.0 }],
        };
        let claim = answer(&opened.study, &opened.tallies, &question).unwrap().table;
        let of = |measure: &str, columns: &[&str]| {
            cells(&claim, &[("measure", measure), ("index", name), ("claim", "")], columns)
        };
        let who = ["population", "grouping", "group"];
        let numbers = ["n", "df", "value", "lower", "upper", "withheld", "notices", "strict"];
        let shares = ["n", "df", "share_beyond", "lower", "upper", "withheld", "notices", "strict"];
        let mut beyond = of("share_beyond", &[&who[..], &numbers[..]].concat());
        // A run leaves groups out that a reference group excludes by its own terms.
        beyond.retain(|row| row[3] != "0");
        assert_eq!(beyond, cells(table("threshold_shares"), &[], &[&who[..], &shares[..]].concat()));
        assert!(beyond.len() == 12 && beyond.iter().any(|row| !row[5].is_empty()), "{}", beyond.len());
        // A percentile is printed where the share on the stated side is; in a run, where the share beyond is.
        let shown = |measure: &str| of(measure, &["population", "group", "withheld"]);
        assert_eq!(shown("percentile"), shown("share"));
        let asked = of("percentile", &["population", "group", "value"]);
        let printed = cells(table("threshold_shares"), &[], &["population", "group", "percentile"]);
        let mut both = 0;
        for want in printed.iter().filter(|row| !row[2].is_empty()) {
            let got = asked.iter().find(|row| row[..2] == want[..2]).unwrap();
            assert!(got == want || got[2].is_empty(), "{got:?} {want:?}");
            both += usize::from(got == want);
        }
        assert!(both >= 8, "{both}");
        for measure in ["sensitivity", "specificity", "ppv", "npv", "lr_positive", "lr_negative"] {
            let columns = [&who[..], &numbers[..]].concat();
            let want = cells(table("threshold_accuracy"), &[("measure", measure)], &columns);
            let per = if measure.starts_with("lr") { 1.0 } else { 100.0 };
            assert_eq!(scaled(of(measure, &columns), 1.0), scaled(want, per), "{measure}");
        }
        // One rule for run and claim: what has no interval has a reason.
        let bare = cells(table("threshold_accuracy"), &[("lower", "")], &["value", "withheld"]);
        assert!(
            !bare.is_empty() && bare.iter().all(|row| row[0].is_empty() && !row[1].is_empty()),
            "{bare:?}"
        );
        let same = cells(table("equivalent_thresholds"), &[("same", "percentile")], &["group", "equivalent"]);
        assert_eq!(of("equivalent", &["group", "value"]), same);
        let best = cells(
            table("cutoffs"),
            &[("index", name), ("rule", "youden")],
            &["group", "cutoff", "lower", "upper"],
        );
        assert_eq!(of("best_cutoff", &["group", "value", "lower", "upper"]), best);
        assert_eq!((same.len(), best.len()), (7, 7), "everybody, two sexes, four classes");
        let smoothed =
            cells(table("smoothed_cutoffs"), &[("index", name)], &["group", "cutoff", "lower", "upper"]);
        assert_eq!(of("smoothed_cutoff", &["group", "value", "lower", "upper"]), smoothed);
    }
}

/// Value, lower and upper end in another unit, at the precision of a file.
fn scaled(mut rows: Vec<Vec<String>>, per: f64) -> Vec<Vec<String>> {
    for cell in rows.iter_mut().flat_map(|row| &mut row[5..8]).filter(|cell| !cell.is_empty()) {
        // Two digits less than the file's, since these numbers were rounded before.
        *cell = number::significant(per * cell.parse::<f64>().unwrap(), number::FILE_DIGITS - 2);
    }
    rows
}

#[test]
fn the_two_sides_of_a_threshold_add_to_all_people() {
    let folder = tempfile::tempdir().unwrap();
    let opened = finished::open(Some(&small_demo(folder.path(), "")), &[]).unwrap();
    let question = Question {
        index: 1,
        stated: [Side::Below, Side::AtMost, Side::AtLeast, Side::Above]
            .map(|side| Stated { side, value: 0.3312 })
            .to_vec(),
        meant: Vec::new(),
        outcome: None,
        groupings: vec![1],
        only: Vec::new(),
        forms: Vec::new(),
    };
    let table = answer(&opened.study, &opened.tallies, &question).unwrap().table;
    let share = |side: &str| -> BTreeMap<(&str, &str), f64> {
        let rows = table.iter().filter(|row| row.text("side") == side && row.text("measure") == "share");
        rows.filter_map(|row| Some(((row.text("population"), row.text("group")), row.real("value")?)))
            .collect()
    };
    // Where a share is withheld, that of the other side is too; where they are printed, they add up.
    let mut compared = 0;
    for (one, other) in [("below", "at or above"), ("at or below", "above")] {
        let (shares, others) = (share(one), share(other));
        assert!(shares.keys().eq(others.keys()), "{shares:?} {others:?}");
        for (share, rest) in shares.values().zip(others.values()) {
            assert!((share + rest - 100.0).abs() < 1e-9, "{share} {rest}");
            compared += 1;
        }
    }
    assert!(compared >= 10, "{compared}");
    let (below, at_most) = (share("below"), share("at or below"));
    let both: Vec<(f64, f64)> =
        below.iter().filter_map(|(group, share)| Some((*share, *at_most.get(group)?))).collect();
    assert!(both.len() >= 3 && both.iter().all(|(share, wider)| share <= wider), "{both:?}");
}

#[test]
fn shares_of_a_survey_whose_weights_stand_for_people_are_told_in_people() {
    let folder = tempfile::tempdir().unwrap();
    let opened = finished::open(Some(&small_demo(folder.path(), "")), &[]).unwrap();
    let survey =
        Source::Survey { survey: "nhanes".to_owned(), cycle: "2017-2020".to_owned(), weight_share: 1.0 };
    let known = Study { sources: vec![survey], ..opened.study.clone() };
    let question = Question {
        index: 0,
        stated: vec![Stated { side: Side::Below, value: 2.0 }],
        meant: Vec::new(),
        outcome: None,
        groupings: vec![0],
        only: Vec::new(),
        forms: Vec::new(),
    };
    let numbers = |study: &Study, column: &str| -> Vec<Option<f64>> {
        let table = answer(study, &opened.tallies, &question).unwrap().table;
        let shares =
            table.iter().filter(|row| row.text("measure") == "share" && row.text("population") == "cohort");
        shares.map(|row| row.real(column)).collect()
    };
    let of = |column: &str| numbers(&known, column).into_iter().map(Option::unwrap).collect::<Vec<f64>>();
    let people = of("population_number");
    // Everybody, then the two sexes, who add up.
    assert_eq!(people.len(), 3);
    assert!((people[0] - people[1] - people[2]).abs() < 1e-6 * people[0], "{people:?}");
    // One total stands behind a share and both ends of its interval.
    let total = people[0] / of("value")[0];
    for (end, number) in [("lower", "population_lower"), ("upper", "population_upper")] {
        assert!((of(number)[0] / of(end)[0] - total).abs() < 1e-9 * total);
    }
    // Weights of a table may be scaled to anything.
    assert_eq!(numbers(&opened.study, "population_number"), [None; 3]);
}

pub(super) fn claim(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .arg("claim")
        .args(args)
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .env("COLUMNS", "100")
        .output()
        .unwrap()
}

pub(super) fn said(folder: &Path, args: &[&str]) -> String {
    let run = claim(folder, args);
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).unwrap()
}

/// The line to cite of an answer in text.
pub(super) fn cited(text: &str) -> &str {
    text.lines().skip_while(|line| !line.starts_with("To cite")).nth(1).unwrap()
}

/// Takes out what changes with the version or with new keys of a study file.
pub(super) fn lasting(text: &str) -> String {
    let words = text.split_inclusive(char::is_whitespace).map(|word| {
        let hash = word.trim_end().trim_end_matches('.');
        let is_hash = hash.len() == 64 && hash.chars().all(|c| c.is_ascii_hexdigit());
        if is_hash { word.replace(hash, "HASH") } else { word.to_owned() }
    });
    words.collect::<String>().replace(env!("CARGO_PKG_VERSION"), "VERSION")
}

/// Lines of a text joined, so that words are found wherever lines break.
pub(super) fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_sentence_is_answered_in_words_from_the_folder_of_a_run() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), &threshold("homa_ir", 2.0, false));
    let run = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(["run", "small.toml", "--out", "out"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    fs::remove_file(folder.path().join("veldmark.csv")).unwrap();

    let asked =
        ["--index", "homa_ir", "--below", "2", "--means", "insulin_resistant", "--group", "bmi_class"];
    let text = said(
        folder.path(),
        &[&asked[..], &["--says", "share at most 60%", "--says", "best cutoff", "out"]].concat(),
    );
    insta::assert_snapshot!("claim_text", lasting(&text));
    let long = |line: &&str| line.chars().count() > 100;
    assert_eq!(text.lines().filter(long).collect::<Vec<_>>(), [cited(&text)]);
    // Not in the study; its sensitivity would be that of the other side.
    let args =
        ["--index", "QUICKI", "--at-least", "0.34", "--group", "sex", "--outcome", "insulin_resistant"];
    let args = [&args[..], &["--says", "Se more than 50 %", "--format", "markdown", "out"]].concat();
    insta::assert_snapshot!("claim_markdown", lasting(&said(folder.path(), &args)));

    let file = |name: &str| folder.path().join(name);
    let says = ["--says", "sensitivity at least 90 %", "--says", "share at most 60 %"];
    let written = [&asked[..], &says, &["--out", "claim.csv", "--chart", "claim.svg", "out"]].concat();
    assert_eq!(said(folder.path(), &written), "");
    let table = csv::read(schema::shape("claim").unwrap(), &file("claim.csv")).unwrap();
    assert!(table.iter().any(|row| row.text("verdict") == "fails" && row.text("group") == "all groups"));
    let stated: Vec<&str> =
        table.iter().map(|row| row.text("stated")).filter(|stated| !stated.is_empty()).collect();
    assert!(stated.len() > 20 && stated.iter().all(|stated| *stated == "study"), "{stated:?}");
    let picture = fs::read_to_string(file("claim.svg")).unwrap();
    texts_state_their_widths("claim.svg", &picture);
    for words in [
        "HOMA-IR below 2: share of people",
        "Claim: at most 60 %",
        "claimed: at least 90 %",
        "%, with its",
        "fails",
        "INVENTED DATA",
        env!("CARGO_PKG_VERSION"),
        "In no group, because it is not known of them: 19 people",
        "(without:",
    ] {
        assert!(picture.contains(words), "{words}: {picture}");
    }
    // Every column is described beside the table, and withheld reference rows are left out.
    let columns = fs::read_to_string(file("claim.columns.csv")).unwrap();
    assert_eq!(columns.lines().count(), table.columns.len() + 1);
    assert!(columns.contains("never below 2 / (replicates + 1)"), "{columns}");
    assert!(table.iter().all(|row| row.text("population") == "cohort" || row.text("withheld").is_empty()));

    let json = said(folder.path(), &[&asked[..], &says, &["--format", "json", "out"]].concat());
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["rows"].as_array().unwrap().len(), table.rows.len());
    assert!(json["warning"].as_str().unwrap().contains("INVENTED"));
    assert_eq!(json["study_sha256"].as_str().unwrap().len(), 64);
    let all = said(
        folder.path(),
        &[&asked[..], &says, &["--format", "json", "--withheld-references", "out"]].concat(),
    );
    let all: serde_json::Value = serde_json::from_str(&all).unwrap();
    assert!(all["rows"].as_array().unwrap().len() > table.rows.len());
}

#[test]
fn nearness_of_a_best_cutoff_is_the_same_on_a_scale_that_runs_the_other_way() {
    let folder = tempfile::tempdir().unwrap();
    let opened = finished::open(Some(&small_demo(folder.path(), "")), &[]).unwrap();
    // HOMA-IR 2 is glucose · insulin 810, QUICKI 1 / log10(810) = 0.3438.
    let verdicts = |index: usize, side: Side, value: f64| -> Vec<(String, String)> {
        let question = Question {
            index,
            stated: vec![Stated { side, value }],
            meant: Vec::new(),
            outcome: Some(0),
            groupings: vec![0, 1],
            only: Vec::new(),
            forms: vec![Form::BestCutoff { within: 10.0 }],
        };
        let table = answer(&opened.study, &opened.tallies, &question).unwrap().table;
        let claimed = table.iter().filter(|row| !row.text("claim").is_empty());
        claimed.map(|row| (row.text("group").to_owned(), row.text("verdict").to_owned())).collect()
    };
    let homa = verdicts(0, Side::AtLeast, 2.0);
    assert!(homa.len() == 8 && homa.iter().any(|(_, verdict)| verdict == "fails"), "{homa:?}");
    assert_eq!(homa, verdicts(1, Side::AtMost, 0.3438));
}
