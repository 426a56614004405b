//! Several samples in one study: never pooled, joined in one run, compared, and one judged by another.

use std::path::{Path, PathBuf};

use cutspan::analysis::{self, Results};
use cutspan::study::{self, Study, StudyError};
use cutspan::table::Row;
use cutspan::tally::{self, Tallies};
use cutspan::{cohort, pipeline, source};

use crate::support::{assert_close, table};

fn checkout(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(file)
}

const COLUMNS: &str = r#"
id = "person_id"
weight = "fasting_weight"
stratum = "stratum"
psu = "psu"
[source.columns]
glucose = { column = "glucose", unit = "mg/dL" }
insulin = { column = "insulin", unit = "uU/mL" }
age = { column = "age", unit = "years" }
sex = { column = "sex", codes = { 1 = "male", 2 = "female" } }
insulin_resistant = { column = "insulin_resistant", codes = { 1 = "yes", 2 = "no" } }
"#;

/// A source of the invented survey of this file.
fn a_source(name: &str, file: &str, keys: &str) -> String {
    let file = checkout(file);
    format!(
        "[[source]]\nsurvey = \"table\"\nname = \"{name}\"\nfiles = [\"{}\"]\n{keys}{COLUMNS}",
        file.display()
    )
}

#[test]
fn no_question_is_put_to_several_samples_nor_proposed() {
    let study = study::load(&checkout("pipelines/two-samples.toml")).unwrap();
    assert!(study.not_one_sample().unwrap().contains("keeps 2 samples apart"));
    assert_eq!(study::load(&checkout("pipelines/demo.toml")).unwrap().not_one_sample(), None);
    let check = |file: &str| {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_cutspan"))
            .args(["check", file])
            .current_dir(checkout("pipelines"))
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let (several, one) = (check("two-samples.toml"), check("demo.toml"));
    assert!(several.contains("cutspan run") && !several.contains("cutspan claim"), "{several}");
    assert!(one.contains("cutspan claim"), "{one}");
}

fn parse(sources: &[String], resampling: &str) -> Result<Study, StudyError> {
    let text = format!(
        r#"
title = "samples"
{}
[cohort]
age = {{ from = 20 }}
[analysis]
indices = ["homa_ir"]
outcomes = ["insulin_resistant"]
groups = ["sex"]
rules = ["youden", {{ rule = "sensitivity_at_least", value = 0.8 }}]
percentiles = [50, 90]
[[analysis.reference]]
name = "lean"
without = ["insulin_resistant"]
[[analysis.threshold]]
index = "homa_ir"
value = 2.0
[resampling]
{resampling}
[[define.quantity]]
name = "insulin_resistant"
label = "insulin resistant"
kind = "yes_no"
subsample = "fasting"
[[define.outcome]]
name = "insulin_resistant"
label = "insulin resistant"
formula = "insulin_resistant"
source = "invented"
"#,
        sources.concat()
    );
    study::parse(&text, "samples.toml", Path::new("."))
}

const FIRST: &str = "data-public/veldmark.csv";
const SECOND: &str = "data-public/veldmark-second.csv";
const FEW: &str = "replicates = 100\nseed = 5\n";

fn run(sources: &[String], resampling: &str) -> Results {
    pipeline::estimate(&parse(sources, resampling).unwrap(), &[]).unwrap()
}

fn rows<'a>(results: &'a Results, name: &str, keep: &[(&str, &str)]) -> Vec<Row<'a>> {
    let wanted = |row: &Row<'_>| keep.iter().all(|(column, value)| row.text(column) == *value);
    table(results, name).iter().filter(wanted).collect()
}

#[test]
fn a_study_without_samples_runs_as_its_stages_alone_run() {
    let study = parse(&[a_source("one", FIRST, "")], FEW).unwrap();
    assert!(study.samples.is_empty() && !study.resolved_toml.contains("\nsample ="));
    let loaded = source::read_all(&study, &[]).unwrap();
    let cohort = cohort::build(&study, &loaded).unwrap();
    let flow = cohort::flow(&study, &cohort, &loaded.flow).unwrap();
    let joints = tally::joints(&study, &cohort).unwrap();
    let tallies = Tallies { joints, ..tally::collect(&cohort).unwrap() };
    let alone = analysis::estimate(&study, &tallies, &flow).unwrap().results;
    let run = pipeline::estimate(&study, &[]).unwrap();
    let (same, added) = run.tables.split_at(alone.tables.len());
    assert!(same == alone.tables, "tables differ");
    let filled: Vec<&str> = added.iter().filter(|t| !t.rows.is_empty()).map(|t| t.name).collect();
    assert_eq!(
        filled,
        ["outcome_items", "measurement_limits"],
        "nothing is varied, stated or set side by side"
    );
}

#[test]
fn two_samples_are_joined_and_not_pooled() {
    let one = run(&[a_source("one", FIRST, "")], FEW);
    let two = run(
        &[
            a_source("one", FIRST, "sample = \"a\"\nlabel = \"The first\"\n"),
            a_source("two", SECOND, "sample = \"b\"\n"),
        ],
        FEW,
    );
    let pooled =
        run(&[a_source("one", FIRST, "share = 0.5\n"), a_source("two", SECOND, "share = 0.5\n")], FEW);
    let everybody = [("grouping", "everybody"), ("population", "cohort")];
    let percentiles = |results: &Results, survey: &[(&str, &str)]| -> Vec<Option<f64>> {
        let keep = [&everybody[..], survey].concat();
        rows(results, "percentiles", &keep).iter().map(|row| row.real("value")).collect()
    };
    let first = percentiles(&two, &[("survey", "The first")]);
    assert_eq!(first, percentiles(&one, &[]));
    let (second, both) = (percentiles(&two, &[("survey", "b")]), percentiles(&pooled, &[]));
    assert_eq!((first.len(), second.len(), both.len()), (2, 2, 2));
    assert!(both != first && both != second, "{both:?}");
    let flow = table(&two, "participant_flow");
    assert!(flow.iter().any(|row| row.text("source") == "The first: all"));
    assert!(two.notices.iter().any(|notice| notice.about == "b: two"));
}

#[test]
fn a_sample_goes_by_its_label_in_every_table() {
    let keys = |name: &str| format!("sample = \"{name}\"\nlabel = \"The {name} one\"\n");
    let sources = [a_source("one", FIRST, &keys("first")), a_source("two", SECOND, &keys("second"))];
    let results = run(&sources, &format!("{FEW}[sensitivity]\nindex = \"homa_ir\"\n"));
    assert!(!rows(&results, "choices", &[("survey", "The second one")]).is_empty());
    for table in results.tables.iter().filter(|table| table.position("survey").is_some()) {
        let strange = table.iter().map(|row| row.text("survey").to_owned());
        let strange: Vec<String> = strange.filter(|survey| !survey.starts_with("The ")).collect();
        assert!(strange.is_empty(), "{}: {strange:?}", table.name);
    }
}

#[test]
fn replicates_of_two_samples_are_not_the_same_numbers() {
    let keys = |name: &str| format!("sample = \"{name}\"\n");
    let two = run(&[a_source("one", FIRST, &keys("a")), a_source("two", FIRST, &keys("b"))], FEW);
    let of = |survey: &str| rows(&two, "cutoffs", &[("survey", survey), ("group", "everybody")])[0];
    assert_eq!(of("a").real("cutoff"), of("b").real("cutoff"));
    assert_ne!(of("a").real("lower_t"), of("b").real("lower_t"));
}

#[test]
fn shares_sum_to_one_within_a_sample() {
    let shared = |share: &str, sample: &str| format!("sample = \"{sample}\"\nshare = {share}\n");
    let three = [
        a_source("one", FIRST, &shared("0.4", "a")),
        a_source("two", SECOND, &shared("0.6", "a")),
        a_source("three", SECOND, "sample = \"b\"\n"),
    ];
    let study = parse(&three, FEW).unwrap();
    let sources: Vec<&[usize]> = study.samples.iter().map(|s| &s.sources[..]).collect();
    assert_eq!(sources, [&[0, 1][..], &[2]]);
    assert_eq!(study::parse(&study.resolved_toml, "again", Path::new(".")).unwrap(), study);
    let wrong = [a_source("one", FIRST, &shared("0.4", "a")), a_source("two", SECOND, &shared("0.6", "b"))];
    assert!(parse(&wrong, FEW).unwrap_err().to_string().contains("must sum to 1, found 0.4"));
}

#[test]
fn every_slip_about_samples_has_its_message() {
    let said = |first: &str, second: &str| {
        let sources = [a_source("one", FIRST, first), a_source("two", SECOND, second)];
        parse(&sources, FEW).unwrap_err().to_string()
    };
    assert!(said("sample = \"a\"\n", "").contains("samples.toml:19:1: this source has no sample"));
    assert!(said("label = \"x\"\n", "").contains("samples.toml:7:9: a label belongs to a sample"));
    assert!(said("sample = \"a b\"\n", "sample = \"a_b\"\n").contains("cannot be told apart by \"a_b\""));
    let labels = said("sample = \"a\"\nlabel = \"x\"\n", "sample = \"b\"\nlabel = \"x\"\n");
    assert!(labels.contains("cannot be told apart by \"x\""));
    let labels = said("sample = \"a\"\nlabel = \"x\"\n", "sample = \"a\"\nlabel = \"y\"\n");
    assert!(labels.contains("two labels"));
    let cycle = |cycle: &str, sample: &str| {
        format!("[[source]]\nsurvey = \"nhanes\"\ncycle = \"{cycle}\"\nsample = \"{sample}\"\n")
    };
    let people = parse(&[cycle("2017-2018", "a"), cycle("2017-2020", "b")], FEW).unwrap_err().to_string();
    assert!(people.contains("independent") && people.contains("same people"), "{people}");
}

/// Squares of standard errors of one survey by two roads.
const ROUNDING: f64 = 1e-12;
const JACKKNIFE: &str = "kind = \"jackknife\"\n";

#[test]
fn two_copies_of_one_survey_differ_by_nothing_with_twice_the_variance() {
    // A jackknife draws no random numbers: both copies have the very same replicates.
    let copies = [a_source("one", FIRST, "sample = \"a\"\n"), a_source("two", FIRST, "sample = \"b\"\n")];
    let results = run(&copies, JACKKNIFE);
    let rows = rows(&results, "sample_comparison", &[]);
    // A jackknife says nothing of cutoffs that are chosen by a rule.
    for (measure, fewest) in [("cutoff", 0), ("smoothed_cutoff", 3), ("auc", 3), ("percentile", 3)] {
        let of: Vec<_> = rows.iter().filter(|row| row.text("measure") == measure).collect();
        let shown = of.iter().filter(|row| row.text("withheld").is_empty()).count();
        let as_wanted = if fewest == 0 { shown == 0 && of.len() >= 3 } else { shown >= fewest };
        assert!(as_wanted, "{measure}: {shown} of {}", of.len());
    }
    let interval = |measure: &str| {
        rows.iter().find(|row| row.text("measure") == measure).unwrap().text("value_interval").to_owned()
    };
    assert_eq!(["smoothed_cutoff", "percentile"].map(interval), ["replicates_t", "woodruff_logit"]);
    for row in rows.iter().filter(|row| row.text("withheld").is_empty()) {
        let number = |column: &str| row.real(column).unwrap_or_else(|| panic!("{column}"));
        assert_eq!(number("value"), number("other"));
        assert_eq!((number("difference"), number("p")), (0.0, 1.0));
        assert_close(number("ratio"), 1.0, ROUNDING, "ratio");
        let (own, both) = (number("standard_error").powi(2), number("difference_standard_error").powi(2));
        assert_close(both / own, 2.0, ROUNDING, "variance");
        assert_close(number("lower") + number("upper"), 0.0, ROUNDING, "symmetric about nothing");
    }
}

#[test]
fn a_cutoff_judged_in_a_copy_does_what_it_does_at_home() {
    let copies = [a_source("one", FIRST, "sample = \"a\"\n"), a_source("two", FIRST, "sample = \"b\"\n")];
    let results = run(&copies, FEW);
    let mut compared = 0;
    for row in rows(&results, "transfer", &[("survey", "a"), ("derived_from", "everybody")]) {
        let measure = row.text("measure");
        if row.text("group") != "everybody" || row.text("cutoff_uncertainty") != "fixed" {
            continue;
        }
        let keep = [("survey", "a"), ("group", "everybody"), ("rule", row.text("rule"))];
        let at_home = [&keep[..], &[("measure", measure), ("cutoff_uncertainty", "fixed")]].concat();
        match measure {
            "sensitivity" | "specificity" => {
                let home = rows(&results, "cutoff_accuracy", &at_home)[0];
                for column in ["value", "lower", "upper"] {
                    assert_eq!(row.real(column), home.real(column), "{measure} {column}");
                }
            }
            "youden" => {
                let home = rows(&results, "cutoffs", &keep)[0];
                assert_close(row.real("value").unwrap(), home.real("youden").unwrap(), ROUNDING, measure);
            }
            "youden_loss" => assert_eq!(
                (row.real("value"), row.real("lower"), row.real("upper")),
                (Some(0.0), Some(0.0), Some(0.0))
            ),
            _ => {
                assert!(row.real("value").is_some(), "{measure}");
                continue;
            }
        }
        compared += 1;
    }
    assert_eq!(compared, 8, "four measures by two rules");
    let area = rows(&results, "transfer", &[("measure", "auc"), ("group", "everybody"), ("survey", "a")])[0];
    let own = rows(&results, "auc", &[("survey", "b"), ("group", "everybody")])[0];
    assert_eq!(area.real("value"), own.real("auc"));
    // A cutoff that moves is less sure than one that is held.
    let width = |kind: &str| {
        let keep = [
            ("survey", "a"),
            ("group", "everybody"),
            ("rule", "youden"),
            ("measure", "sensitivity"),
            ("cutoff_uncertainty", kind),
        ];
        let row = rows(&results, "transfer", &keep)[0];
        row.real("upper").unwrap() - row.real("lower").unwrap()
    };
    assert!(width("varying") > 1.3 * width("fixed"), "{} {}", width("varying"), width("fixed"));
}
