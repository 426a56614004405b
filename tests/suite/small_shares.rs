//! What shares tell of people who may not be shown in small counts: whole numbers that fit all printed ones together.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use cutspan::pipeline;
use cutspan::study;
use cutspan::table::{Row, Table, schema, small};

use super::small_counts::{files, write_study};

const LIMIT: i64 = 10;
const STEP: f64 = 5.0;
const MEASURES: [&str; 4] = ["sensitivity", "specificity", "ppv", "npv"];

fn named<'t>(tables: &'t [Table], name: &str) -> &'t Table {
    tables.iter().find(|table| table.name == name).unwrap()
}

/// Multiples of five of so many people whose share is printed as this one.
fn counts(value: f64, people: f64) -> Vec<f64> {
    let steps = (0..=(people / STEP) as u32).map(|step| f64::from(step) * STEP);
    steps.filter(|count| (100.0 * (count / people - value)).abs() < 0.5 + 1e-6).collect()
}

/// A row's group, and its threshold or cutoff.
fn point(row: &Row<'_>) -> String {
    let names = ["index", "outcome", "grouping", "group", "rule"];
    let texts: Vec<&str> = names.iter().filter(|name| row.has(name)).map(|name| row.text(name)).collect();
    let at = if row.has("cutoff") { row.real("cutoff") } else { row.real("threshold") };
    format!("{} {at:?}", texts.join("|"))
}

/// Sensitivity, specificity and predictive values with the people beside them fitted one pair of counts alone, which was the
/// true one.
#[test]
fn measures_against_an_outcome_fit_multiples_of_five() {
    for name in ["threshold_accuracy", "cutoff_accuracy"] {
        let mut points: BTreeMap<String, BTreeMap<String, [f64; 2]>> = BTreeMap::new();
        for row in named(files(), name).iter().filter(|row| MEASURES.contains(&row.text("measure"))) {
            if let Some((value, n)) = row.real("value").zip(row.real("n")) {
                let at = points.entry(point(&row)).or_default();
                at.insert(row.text("measure").to_owned(), [value, n]);
            }
        }
        let (mut seen, mut whole) = (0, 0);
        for (point, measures) in &points {
            let what = format!("{name}, {point}: {measures:?}");
            let of = |measure: &str| measures.get(measure).map(|[value, n]| (counts(*value, *n), *n));
            for measure in MEASURES.into_iter().filter_map(of) {
                seen += 1;
                assert_eq!(measure.0.len(), 1, "{what}");
            }
            if let [Some(found), Some(passed), Some(beyond), Some(short)] = MEASURES.map(of) {
                whole += 1;
                assert_eq!((&found.0, &passed.0), (&beyond.0, &short.0), "{what}");
                let alarmed = passed.1 - passed.0[0];
                assert!((beyond.1 - found.0[0] - alarmed).abs() < 1e-9, "{what}");
            }
        }
        assert!(seen > 5 && whole > 0, "{name}: {seen} {whole}");
    }
}

#[test]
fn every_share_of_counted_people_fits_a_multiple_of_five() {
    let mut seen = 0;
    for (table, share, of, everybody) in [
        ("threshold_shares", "share_beyond", "n", 100.0),
        ("threshold_grid", "share_beyond", "n", 100.0),
        ("threshold_grid", "sensitivity", "n_with", 1.0),
        ("threshold_grid", "specificity", "n_without", 1.0),
        ("published_cutoffs", "share_beyond", "n", 100.0),
        ("outcome_prevalence", "prevalence", "n", 100.0),
        ("reclassified", "newly_beyond", "n", 100.0),
    ] {
        for row in named(files(), table).iter() {
            if let Some((value, n)) = row.real(share).zip(row.real(of)) {
                seen += 1;
                assert!(!counts(value / everybody, n).is_empty(), "{table}.{share}: {value} of {n}");
            }
        }
    }
    assert!(seen > 100, "{seen}");
}

/// 23 and 14 of 45 are found: at the first threshold only the predictive values tell it.
#[test]
fn a_threshold_is_shown_by_its_predictive_values_too() {
    let mut table = Table::new(schema::shape("threshold_accuracy").unwrap());
    for (threshold, found, passed, sure) in [(2.0, 23.0, 119.0, false), (2.5, 14.0, 137.0, true)] {
        let (beyond, short) = (found + 180.0 - passed, 45.0 - found + passed);
        for (measure, n, value) in [
            ("sensitivity", 45.0, Some(found / 45.0).filter(|_| sure)),
            ("specificity", 180.0, Some(passed / 180.0)),
            ("ppv", beyond, Some(found / beyond)),
            ("npv", short, Some(passed / short)),
        ] {
            let row = table.row().text("index", "homa_ir").text("outcome", "o").text("group", "lean");
            let row = row.text("measure", measure).real("threshold", Some(threshold));
            let row = row.whole("n", Some(n as i64)).real("value", value);
            let why = if value.is_none() { "interval 30 percentage points wide or wider" } else { "" };
            row.text("withheld", why).done().unwrap();
        }
    }
    let mut tables = [table];
    small::hide(&mut tables, LIMIT);
    let shown: Vec<bool> = tables[0].iter().map(|row| row.real("value").is_some()).collect();
    assert_eq!(shown, [false, true, true, true, false, false, false, false], "9 people lie between");
}

/// Nobody of the lean is obese, nor in any other class above theirs.
#[test]
fn nobody_in_a_reference_group_reads_as_a_few() {
    let folder = tempfile::tempdir().unwrap();
    write_study(folder.path());
    let file = folder.path().join("study.toml");
    let reference = "[[analysis.reference]]\nname = \"lean\"\nwithout = [\"bmi_25_or_more\"]\n";
    fs::write(&file, format!("{}\n{reference}", fs::read_to_string(&file).unwrap())).unwrap();
    let mut study = study::load(&file).unwrap();
    study.resampling.replicates = 10;
    let tables = pipeline::estimate(&study, &[]).unwrap().tables;
    let mut few = 0;
    for name in ["percentiles", "geometric_means", "threshold_shares", "outcome_prevalence", "sample"] {
        let of = |population: &str| -> BTreeSet<String> {
            let names = if name == "sample" { ["variable", "level"] } else { ["grouping", "group"] };
            let rows = named(&tables, name).iter().filter(|row| row.text("population") == population);
            rows.map(|row| names.map(|name| row.text(name)).join(": ")).collect()
        };
        let missing: Vec<String> = of("cohort").difference(&of("lean")).cloned().collect();
        assert!(missing.is_empty(), "{name}: {missing:?}");
        let grouped = if name == "sample" { "level" } else { "group" };
        let of_nobody =
            |row: &Row<'_>| row.text("population") == "lean" && row.text(grouped) == "BMI 30 and over";
        for row in named(&tables, name).iter().filter(of_nobody) {
            few += 1;
            assert_eq!(row.whole("n"), None);
            assert!(
                row.text("withheld").ends_with("fewer than 10 people"),
                "{name}: {}",
                row.text("withheld")
            );
        }
    }
    assert!(few > 4, "{few}");
}
