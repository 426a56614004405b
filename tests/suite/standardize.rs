//! Groups compared on equal terms: what must vanish vanishes, what must stay stays, and every slip in
//! the study file has its message.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use cutspan::analysis::Results;
use cutspan::pipeline;
use cutspan::study::{self, Standard, Stated, Study, StudyError};
use cutspan::table::Row;

use crate::support::{assert_close, table};

/// Sums of a few hundred weights in another order.
const ROUNDING: f64 = 1e-9;
const CLASSES: [f64; 3] = [22.0, 27.0, 34.0];
const PER_CLASS: usize = 120;

/// One made-up person of class `class`: insulin, and whether resistant. Both depend on the class alone.
fn person(class: usize, number: usize) -> (f64, bool) {
    let insulin = 3.0 + 4.0 * class as f64 + (number * 7 % PER_CLASS) as f64 / 12.0;
    let odd_one = number.is_multiple_of(11);
    (insulin, (insulin > 6.0 + 4.5 * class as f64) != odd_one)
}

/// A file with groups North and South of the same people, whose weights by BMI class are given.
fn made_up(name: &str, north: [f64; 3], south: [f64; 3]) -> PathBuf {
    let mut text = "id,stratum,psu,weight,group,age,bmi,insulin,resistant\n".to_owned();
    for (group, weights) in [("North", north), ("South", south)] {
        for (class, weight) in weights.into_iter().enumerate().filter(|(_, weight)| *weight > 0.0) {
            for number in 0..PER_CLASS {
                let (insulin, resistant) = person(class, number);
                let (stratum, psu, age) = (number % 6, number / 6 % 2, 30 + number % 30);
                let answer = if resistant { 1 } else { 2 };
                writeln!(
                    text,
                    "{group}{class}{number},{stratum},{psu},{weight},{group},{age},{},{insulin:.2},{answer}",
                    CLASSES[class]
                )
                .unwrap();
            }
        }
    }
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.csv"));
    fs::write(&path, text).unwrap();
    path
}

fn study_text(file: &Path, standardize: &str) -> String {
    format!(
        r#"
title = "made up"
[[source]]
survey = "table"
name = "made up"
files = ["{}"]
id = "id"
weight = "weight"
stratum = "stratum"
psu = "psu"
[source.columns]
insulin = {{ column = "insulin", unit = "uU/mL" }}
bmi = {{ column = "bmi", unit = "kg/m2" }}
age = {{ column = "age", unit = "years" }}
ancestry = {{ column = "group" }}
resistant = {{ column = "resistant", codes = {{ 1 = "yes", 2 = "no" }} }}
[cohort]
age = {{ from = 20 }}
[analysis]
indices = ["insulin"]
outcomes = ["resistant"]
groups = ["ancestry", "age_20_40_60", "obesity"]
rules = ["youden"]
[[analysis.threshold]]
index = "insulin"
value = 9.0
{standardize}
[resampling]
replicates = 100
[[define.quantity]]
name = "resistant"
label = "resistant"
kind = "yes_no"
subsample = "fasting"
[[define.outcome]]
name = "resistant"
label = "resistant"
formula = "resistant"
source = "made up"
"#,
        file.display()
    )
}

fn parse(text: &str) -> Result<Study, StudyError> {
    study::parse(text, "made-up.toml", Path::new("."))
}

fn estimates(file: &Path, standardize: &str) -> Results {
    pipeline::estimate(&parse(&study_text(file, standardize)).unwrap(), &[]).unwrap()
}

fn rows<'a>(results: &'a Results, name: &str, keep: &[(&str, &str)]) -> Vec<Row<'a>> {
    let wanted = |row: &Row<'_>| keep.iter().all(|(column, value)| row.text(column) == *value);
    table(results, name).iter().filter(wanted).collect()
}

const EMPIRICAL: (&str, &str) = ("method", "empirical_youden");
const SMOOTHED: (&str, &str) = ("method", "kernel_smoothed_youden");
/// The bandwidth follows the number of people that the weights of a group are worth, which differs before and after.
const BANDWIDTH: f64 = 0.02;

fn cutoffs(results: &Results, method: (&str, &str), adjustment: &str) -> Vec<f64> {
    let rows = rows(results, "standardised_cutoffs", &[method, ("adjustment", adjustment)]);
    rows.iter().map(|row| row.shown("cutoff").unwrap_or_else(|| panic!("{}", row.text("withheld")))).collect()
}

const BMI: &str = "[analysis.standardize]\nof = [\"ancestry\"]\nto = [[\"obesity\"]]\n";

#[test]
fn a_difference_that_is_only_the_mix_of_bmi_vanishes() {
    let results = estimates(&made_up("mix", [7.0, 2.0, 1.0], [1.0, 2.0, 7.0]), BMI);
    for method in [EMPIRICAL, SMOOTHED] {
        let before = cutoffs(&results, method, "none");
        assert!(before[1] / before[0] > 1.1, "the mix alone moves the cutoff: {before:?}");
    }
    let after = cutoffs(&results, EMPIRICAL, "obesity");
    assert_eq!(after[0], after[1]);
    let after = cutoffs(&results, SMOOTHED, "obesity");
    assert_close(after[0] / after[1], 1.0, BANDWIDTH, "smoothed");
    for measure in ["percentile", "share_beyond"] {
        let values =
            rows(&results, "standardised_values", &[("measure", measure), ("adjustment", "obesity")]);
        let (north, south) = values.split_at(values.len() / 2);
        assert!(!north.is_empty() && north.len() == south.len(), "{measure}: {} values", values.len());
        for (north, south) in north.iter().zip(south) {
            assert_eq!((north.text("group"), south.text("group")), ("North", "South"));
            assert_close(north.shown("value").unwrap(), south.shown("value").unwrap(), ROUNDING, measure);
        }
    }
    let ranges = rows(&results, "decomposition", &[EMPIRICAL]);
    assert_eq!(ranges[0].shown("log_range_remaining"), Some(100.0));
    assert_eq!((ranges[1].shown("ratio"), ranges[1].shown("log_range_remaining")), (Some(1.0), Some(0.0)));
    assert!(ranges[1].text("notices").contains("possible mediator"));
}

#[test]
fn groups_that_have_the_standards_mix_keep_everything() {
    let results = estimates(&made_up("same", [3.0, 2.0, 1.0], [3.0, 2.0, 1.0]), BMI);
    let [before, after] = ["none", "obesity"].map(|adjustment| cutoffs(&results, EMPIRICAL, adjustment));
    assert_eq!(before, after);
    let [before, after] = ["none", "obesity"].map(|adjustment| cutoffs(&results, SMOOTHED, adjustment));
    assert_close(before[0], after[0], ROUNDING, "smoothed");
    let value = |adjustment: &str| -> Vec<f64> {
        let rows = rows(&results, "standardised_values", &[("adjustment", adjustment)]);
        rows.iter().map(|row| row.shown("value").unwrap()).collect()
    };
    let (before, after) = (value("none"), value("obesity"));
    assert!(before.len() > 2 && before.len() == after.len(), "{before:?} {after:?}");
    for (before, after) in before.iter().zip(&after) {
        assert_close(*after, *before, ROUNDING, "value");
    }
}

/// Share of a class at or beyond 9, counted.
fn beyond(class: usize) -> f64 {
    (0..PER_CLASS).filter(|&n| person(class, n).0 >= 9.0).count() as f64 / PER_CLASS as f64
}

fn share(results: &Results, group: &str, adjustment: &str) -> f64 {
    let keep = [("measure", "share_beyond"), ("group", group), ("adjustment", adjustment)];
    rows(results, "standardised_values", &keep)[0].shown("value").unwrap()
}

#[test]
fn an_adjusted_share_is_the_sum_over_classes_of_the_standard() {
    let results = estimates(&made_up("sum", [7.0, 2.0, 1.0], [1.0, 2.0, 7.0]), BMI);
    // Both groups together weigh 8 : 4 : 8.
    let want = 100.0 * (0.4 * beyond(0) + 0.2 * beyond(1) + 0.4 * beyond(2));
    let raw = 100.0 * (0.7 * beyond(0) + 0.2 * beyond(1) + 0.1 * beyond(2));
    assert_close(share(&results, "North", "obesity"), want, ROUNDING, "adjusted");
    assert_close(share(&results, "North", "none"), raw, ROUNDING, "as it is");
}

#[test]
fn a_named_population_gives_its_shares() {
    let section = "[analysis.standardize]\nof = [\"ancestry\"]\nto = [[\"age_20_40_60\"]]\n\
                   standard = \"united_states_2000\"\n";
    let study = parse(&study_text(Path::new("x.csv"), section)).unwrap().standardisation.unwrap();
    let Standard::Population { shares, .. } = study.standard else { panic!("{:?}", study.standard) };
    // No band under 20 in a cohort from 20 on; values as printed by Klein and Schoenborn 2001.
    assert_eq!(shares, [0.396_579, 0.371_795, 0.231_626]);
    assert_eq!(study.stated, Stated::Study);
    // Ages of the made-up people run from 30 to 59: the oldest band is empty, 23 % of the standard.
    let results = estimates(&made_up("named", [1.0, 1.0, 1.0], [1.0, 1.0, 1.0]), section);
    let row = rows(&results, "decomposition", &[("adjustment", "age_20_40_60")])[0];
    assert_close(row.real("lost_share").unwrap(), 23.1626, 1e-6, "lost share");
    assert!(row.text("withheld").contains("empty in some group") && row.shown("ratio").is_none());
}

#[test]
fn a_cell_empty_in_one_group_is_dropped_from_all() {
    // The heaviest class of North is empty; South has 0.5 there of 14 altogether: 3.6 % of the standard.
    let results = estimates(&made_up("lost", [4.0, 2.0, 0.0], [4.0, 3.5, 0.5]), BMI);
    let all = rows(&results, "standardised_cutoffs", &[]);
    assert!(!all.is_empty());
    for row in &all {
        assert_eq!(row.whole("n"), Some(2 * PER_CLASS as i64), "{}", row.text("group"));
        assert_close(row.real("lost_share").unwrap(), 100.0 * 0.5 / 14.0, ROUNDING, "lost share");
        assert!(row.shown("cutoff").is_some(), "{}", row.text("withheld"));
    }
    let results = estimates(&made_up("lost_more", [4.0, 2.0, 0.0], [2.0, 2.0, 4.0]), BMI);
    let all = rows(&results, "standardised_cutoffs", &[]);
    assert!(!all.is_empty());
    assert!(all.iter().all(|r| r.shown("cutoff").is_none() && r.text("withheld").contains("29 %")));
}

#[test]
fn a_study_that_splits_by_ancestry_age_and_bmi_is_compared_unasked() {
    let study = parse(&study_text(Path::new("x.csv"), "")).unwrap();
    let found = study.standardisation.clone().unwrap();
    assert_eq!((found.of, found.to), (vec![0], vec![vec![1], vec![1, 2]]));
    assert_eq!((found.standard, found.stated), (Standard::Cohort, Stated::Tool));
    assert!(study.resolved_toml.contains("stated = \"tool\""));
    assert_eq!(study::parse(&study.resolved_toml, "again.toml", &study.folder).unwrap(), study);
    let nothing = parse(&study_text(Path::new("x.csv"), "[analysis.standardize]\nof = []\n")).unwrap();
    assert_eq!(nothing.standardisation, None);
    assert_eq!(study::parse(&nothing.resolved_toml, "again.toml", &nothing.folder).unwrap(), nothing);
}

#[test]
fn every_slip_has_its_message() {
    let slips = [
        ("of = [\"ancestri\"]\nto = [[\"obesity\"]]", "unknown grouping of this study \"ancestri\""),
        ("of = [\"ancestry\"]", "has no `to`"),
        ("of = [\"ancestry\"]\nto = [[]]", "at least one variable"),
        ("of = [\"ancestry\"]\nto = [[\"bmi_class\"]]", "unknown variable among this study's groups"),
        ("of = [\"obesity\"]\nto = [[\"obesity\"]]", "cannot be adjusted for it"),
        ("of = [\"ancestry\"]\nto = [[\"obesity\"]]\nstandard = \"world\"", "unknown standard \"world\""),
        (
            "of = [\"ancestry\"]\nto = [[\"obesity\"]]\nstandard = \"united_states_2000\"",
            "put it into every list of `to`",
        ),
        ("of = [\"ancestry\"]\ntoo = [[\"obesity\"]]", "Did you mean `to`?"),
    ];
    for (section, message) in slips {
        let text = study_text(Path::new("x.csv"), &format!("[analysis.standardize]\n{section}\n"));
        let error = parse(&text).unwrap_err().to_string();
        assert!(error.contains(message) && error.starts_with("made-up.toml:"), "{section}: {error}");
    }
}
