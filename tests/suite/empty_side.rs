//! A group nobody in which has the outcome: named in every table of cutoffs and in the chart, with one number of people.

use cutspan::analysis::Results;
use cutspan::chart::{self, Print};
use cutspan::table::Row;

use crate::support::{estimated, table};

const NOBODY: &str = "nobody with the outcome";

const STUDY: &str = r#"
title = "test"
question = "test"
[[source]]
survey = "table"
name = "people"
files = ["people.csv"]
id = "id"
[source.columns]
insulin = { column = "insulin", unit = "uU/mL" }
triglycerides = { column = "tg", unit = "mg/dL" }
hdl = { column = "hdl", unit = "mg/dL" }
[cohort]
[analysis]
indices = ["insulin"]
outcomes = ["hdl_below_40"]
groups = ["half"]
rules = ["youden", { rule = "sensitivity_at_least", value = 0.8 }]
[sensitivity]
index = "insulin"
[resampling]
replicates = 50
[[define.outcome]]
name = "hdl_below_40"
label = "HDL below 40 mg/dL"
formula = "hdl_mg_dl < 40"
source = "test"
[[define.group]]
name = "half"
label = "half"
column = "triglycerides_mg_dl"
cuts = [150.0]
labels = ["low", "high"]
source = "test"
"#;

/// 80 people of the low half, every other with the outcome, and 34 of the high half, all without it.
fn people() -> String {
    let mut lines = vec!["id,insulin,tg,hdl".to_owned()];
    for id in 1..=80 {
        let (insulin, hdl) = if id % 2 == 1 { (10 + id % 23, 30) } else { (4 + id % 17, 60) };
        lines.push(format!("{id},{insulin},100,{hdl}"));
    }
    lines.extend((81..=114).map(|id| format!("{id},{},200,60", 5 + id % 13)));
    lines.join("\n") + "\n"
}

fn rows<'a>(results: &'a Results, name: &str, group: &'a str) -> Vec<Row<'a>> {
    table(results, name).iter().filter(|row| row.text("group") == group).collect()
}

#[test]
fn a_group_nobody_in_which_has_the_outcome_is_named_with_the_reason() {
    for more in ["", "unreliable = \"flag\"\n"] {
        let (_, results) = estimated(STUDY, &people(), more);
        for name in ["cutoffs", "cutoff_differences", "reclassified"] {
            let found = rows(&results, name, "high");
            assert_eq!(found.len(), 2, "{name}: a row for each rule");
            for row in found {
                assert!(row.text("withheld").contains(NOBODY), "{name}: {}", row.text("withheld"));
                assert_eq!(row.real("cutoff"), None, "{name}");
            }
        }
    }
}

#[test]
fn every_table_counts_the_same_people_in_it() {
    let (_, results) = estimated(STUDY, &people(), "");
    let area = rows(&results, "auc", "high")[0];
    let prevalence = rows(&results, "outcome_prevalence", "high")[0];
    let choices = rows(&results, "choices", "high");
    let choices: Vec<Row<'_>> = choices.into_iter().filter(|row| row.text("kind") == "outcome").collect();
    assert_eq!(choices.len(), 2);
    let counts = |row: &Row<'_>| ["n", "n_with", "n_without"].map(|column| row.whole(column));
    for row in choices.iter().chain([&area]) {
        assert_eq!(counts(row), [Some(34), Some(0), Some(34)]);
        assert_eq!(row.text("withheld"), NOBODY);
    }
    assert_eq!(prevalence.whole("n").unwrap_or(34), 34);
    let ranges = rows(&results, "choice_ranges", "high");
    let of_rule = ranges.iter().find(|row| row.text("kind") == "outcome").unwrap();
    assert_eq!(of_rule.text("withheld"), format!("the base cutoff is withheld: {NOBODY}"));
}

#[test]
fn the_chart_names_it_too() {
    let (study, results) = estimated(STUDY, &people(), "");
    let labels = chart::labels(&study, "people");
    let charts = chart::draw_all(&results.tables, &labels, &Print::default()).unwrap();
    let forest = charts.iter().find(|chart| chart.name.starts_with("cutoffs_insulin")).unwrap();
    assert!(forest.svg.contains(NOBODY), "{}", forest.name);
}

#[test]
fn only_the_largest_youden_index_has_cutoffs_that_do_as_well() {
    let (_, results) = estimated(STUDY, &people(), "");
    let everybody = rows(&results, "cutoffs", "everybody");
    assert_eq!(everybody.len(), 2);
    for row in everybody {
        assert!(row.real("cutoff").is_some());
        let flat = ["flat_from", "flat_to"].map(|column| row.real(column).is_some());
        assert_eq!(flat, [row.text("rule") == "youden"; 2], "{}", row.text("rule"));
    }
}
