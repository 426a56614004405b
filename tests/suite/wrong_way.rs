//! Indices that run the wrong way: people with the outcome have the lower values, so that no cutoff tells them apart.

use std::fs;
use std::path::Path;

use cutspan::pipeline::{self, Options};
use cutspan::study::{self, Study};
use cutspan::table::Row;

use crate::support::table;

const WRONG_WAY: &str = "the interval of the AUC lies below 0.5 (the index separates the wrong way round)";

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
systolic = { column = "systolic", unit = "mm Hg" }
hdl = { column = "hdl", unit = "mg/dL" }
[cohort]
[analysis]
indices = ["insulin", "triglycerides_alone"]
outcomes = ["hdl_below_40"]
groups = ["half"]
rules = ["youden", { rule = "sensitivity_at_least", value = 0.8 }]
[[analysis.threshold]]
index = "insulin"
value = 12.0
source = "test"
[sensitivity]
index = "insulin"
[resampling]
replicates = 50
[[define.index]]
name = "triglycerides_alone"
label = "triglycerides"
formula = "triglycerides_mg_dl"
unit = "mg/dL"
direction = "higher"
source = "test"
[[define.outcome]]
name = "hdl_below_40"
label = "HDL below 40 mg/dL"
formula = "hdl_mg_dl < 40"
source = "test"
[[define.group]]
name = "half"
label = "half"
column = "systolic_mm_hg"
cuts = [130.0]
labels = ["low", "high"]
source = "test"
"#;

/// 160 people in two halves, every other with the outcome, and these with the lower insulin and triglycerides.
fn study(folder: &Path, more: &str) -> Study {
    let mut lines = vec!["id,insulin,tg,systolic,hdl".to_owned()];
    for id in 1..=160 {
        let systolic = if id / 2 % 2 == 0 { 110 } else { 150 };
        let (insulin, tg, hdl) =
            if id % 2 == 1 { (4 + id % 17, 80 + id % 31, 30) } else { (10 + id % 23, 90 + id % 41, 60) };
        lines.push(format!("{id},{insulin},{tg},{systolic},{hdl}"));
    }
    fs::write(folder.join("people.csv"), lines.join("\n") + "\n").unwrap();
    let text = STUDY.replace("[[source]]", &format!("{more}[[source]]"));
    study::parse(&text, "test.toml", folder).unwrap_or_else(|e| panic!("{e:#?}"))
}

#[test]
fn no_table_prints_a_cutoff() {
    let folder = tempfile::tempdir().unwrap();
    let results = pipeline::estimate(&study(folder.path(), ""), &[]).unwrap();
    for row in table(&results, "auc").iter() {
        assert!(row.real("upper").is_some_and(|upper| upper < 0.5), "{:?}", row.real("auc"));
    }
    let of_outcome = |row: &Row<'_>| !row.text("outcome").is_empty();
    for name in [
        "cutoffs",
        "smoothed_cutoffs",
        "cutoff_methods",
        "cutoff_differences",
        "cutoff_pairs",
        "reclassified",
        "choices",
    ] {
        let rows: Vec<Row<'_>> = table(&results, name).iter().filter(of_outcome).collect();
        assert!(!rows.is_empty(), "{name}");
        for row in rows {
            assert_eq!(row.real("cutoff"), None, "{name}, {}", row.text("group"));
            assert!(row.text("withheld").contains(WRONG_WAY), "{name}: {}", row.text("withheld"));
        }
    }
    assert!(table(&results, "threshold_grid").iter().all(|row| row.real("cutoff").is_none()));
    let accuracy = table(&results, "cutoff_accuracy");
    assert!(accuracy.iter().all(|row| row.real("cutoff").is_none() && row.real("value").is_none()));
    assert!(table(&results, "heterogeneity").iter().all(|row| row.real("p").is_none()));
    let which = table(&results, "which_index");
    assert!(which.iter().all(|row| row.text("conclusion") == "none separates better than chance"));
}

#[test]
fn a_study_that_flags_prints_it_with_the_reason() {
    let folder = tempfile::tempdir().unwrap();
    let results = pipeline::estimate(&study(folder.path(), "unreliable = \"flag\"\n"), &[]).unwrap();
    let row = table(&results, "cutoffs").iter().next().unwrap();
    assert!(row.real("cutoff").is_some());
    assert!(row.text("notices").contains(&format!("unreliable: {WRONG_WAY}")), "{}", row.text("notices"));
}

#[test]
fn page_and_text_say_why_there_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let options = Options { out: &out, data: Vec::new(), progress: &|_| {} };
    pipeline::run(&study(folder.path(), ""), &options).unwrap();
    for file in ["index.html", "methods.md"] {
        let text = fs::read_to_string(out.join(file)).unwrap();
        assert!(text.contains(&format!("is withheld: {WRONG_WAY}")), "{file}");
        assert!(
            text.contains("no index separates better than chance: the highest area is that of"),
            "{file}"
        );
        assert!(!text.contains("everybody’s cutoff:"), "{file}");
    }
    let captions = fs::read_to_string(out.join("charts/captions.md")).unwrap();
    assert!(captions.contains("No index separates everybody better than chance"), "{captions}");
}
