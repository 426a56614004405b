//! Smoothed cutoffs and tests of whether cutoffs differ, on the invented survey with its known truth.

use std::path::Path;
use std::sync::LazyLock;

use cutspan::analysis::Results;
use cutspan::pipeline;
use cutspan::study::{self, Study};
use cutspan::table::{Row, Table};

/// The demo with one index and fewer replicates.
pub static RESULTS: LazyLock<Results> = LazyLock::new(|| estimates("[\"homa_ir\"]"));

/// The demo with other indices and fewer replicates, without the sections that nothing here reads.
fn estimates(indices: &str) -> Results {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
    let demo = include_str!("../../pipelines/demo.toml")
        .replace("[\"homa_ir\", \"tyg\", \"mets_ir\"]", indices)
        .replace("replicates = 500", "replicates = 200");
    let study = study::parse(&demo, "demo.toml", &folder).unwrap();
    let study = Study { curves: None, sensitivity: None, standardisation: None, ..study };
    pipeline::estimate(&study, &[]).unwrap()
}

fn table(name: &str) -> &'static Table {
    RESULTS.tables.iter().find(|t| t.name == name).unwrap()
}

fn tests(method: &'static str) -> Vec<Row<'static>> {
    table("heterogeneity").iter().filter(|r| r.text("method") == method).collect()
}

#[test]
fn smoothed_cutoffs_find_the_true_ones() {
    let truth = include_str!("../../data-public/veldmark-truth.csv");
    let (mut holding, mut all) = (0, 0);
    for row in table("smoothed_cutoffs").iter().filter(|r| r.text("outcome") == "insulin_resistant") {
        let wanted = format!("cohort,{},{},youden_cutoff,", row.text("grouping"), row.text("group"));
        let Some(line) = truth.lines().find(|l| l.starts_with(&wanted)) else { continue };
        let value: f64 = line.split(',').nth(5).unwrap().parse().unwrap();
        if let (Some(lower), Some(upper)) = (row.real("lower"), row.real("upper")) {
            all += 1;
            holding += usize::from((lower..=upper).contains(&value));
        }
    }
    assert!(all >= 15 && holding * 10 >= all * 9, "{holding} of {all}");
}

#[test]
fn cutoffs_that_truly_differ_are_told_from_noise_and_those_that_do_not_are_not() {
    let of = |grouping: &str| {
        let found = tests("kernel_smoothed_youden").into_iter();
        found
            .filter(|r| r.text("grouping") == grouping)
            .find(|r| r.text("outcome") == "insulin_resistant")
            .unwrap()
    };
    let by_bmi = of("bmi_class");
    assert_eq!(by_bmi.text("conclusion"), "differ by more than noise");
    assert!(by_bmi.real("ratio").unwrap() > by_bmi.real("ratio_under_equality").unwrap());
    // True cutoffs by sex are 2.57 and 2.54: nothing that a sample of this size could find.
    assert_eq!(of("sex").text("conclusion"), "not distinguishable with these data");
}

#[test]
fn an_index_that_orders_people_like_another_adds_no_question() {
    let both = estimates("[\"homa_ir\", \"quicki\"]");
    let table = both.tables.iter().find(|t| t.name == "heterogeneity").unwrap();
    let of = |rows: Vec<Row<'_>>| -> Vec<Option<f64>> { rows.iter().map(|row| row.real("p_holm")).collect() };
    let alone = tests("kernel_smoothed_youden");
    let leading =
        |row: &Row<'_>| row.text("method") == "kernel_smoothed_youden" && row.text("index") == "homa_ir";
    let beside = of(table.iter().filter(leading).collect());
    assert_eq!(beside, of(alone), "QUICKI changes no verdict on HOMA-IR");
    assert!(beside.iter().flatten().any(|p| *p > 0.0 && *p < 1.0));
}

#[test]
fn adjusted_p_values_are_never_below_the_raw_ones_and_intervals_hold_their_spread() {
    let mut computed = 0;
    for row in tests("kernel_smoothed_youden").iter().chain(&tests("empirical_youden")) {
        if let (Some(p), Some(adjusted)) = (row.real("p"), row.real("p_holm")) {
            assert!((0.0..=1.0).contains(&p) && p <= adjusted && adjusted <= 1.0);
            assert!(row.real("spread").unwrap() >= 1.0);
            computed += 1;
        } else {
            assert!(!row.text("withheld").is_empty());
        }
    }
    assert!(computed >= 12, "{computed}");
}

#[test]
fn an_estimate_outside_its_own_interval_says_so() {
    let mut outside = 0;
    for (name, column) in [("cutoffs", "cutoff"), ("cutoff_accuracy", "value")] {
        for row in table(name).iter() {
            let ends = row.real("lower").zip(row.real("upper"));
            let Some(((lower, upper), value)) = ends.zip(row.real(column)) else { continue };
            let is_outside = !(lower..=upper).contains(&value);
            let said = row.text("notices").contains("the estimate lies outside its interval");
            assert_eq!(said, is_outside, "{name}: {value} ({lower} to {upper})");
            outside += usize::from(is_outside);
        }
    }
    assert!(outside > 0, "a sensitivity of at least 0.8 is often a little below those of its replicates");
}
