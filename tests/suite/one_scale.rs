//! An index is smoothed on one scale in everybody and in every group, or their cutoffs would differ by their kernels.

use std::fmt::Write as _;
use std::fs;

use cutspan::pipeline;
use cutspan::study;

use crate::support::table;

const STUDY: &str = r#"
title = "test"
question = "test"
[[source]]
survey = "table"
name = "people"
files = ["people.csv"]
id = "id"
weight = "weight"
psu = "place"
[source.columns]
insulin = { column = "insulin", unit = "uU/mL", unit_checked = true }
triglycerides = { column = "tg", unit = "mg/dL" }
hdl = { column = "hdl", unit = "mg/dL" }
[cohort]
[analysis]
indices = ["beyond_two"]
outcomes = ["hdl_below_40"]
groups = ["half"]
[resampling]
replicates = 50
[[define.index]]
name = "beyond_two"
label = "insulin beyond 2"
formula = "insulin_uu_ml - 2.0"
unit = "uU/mL"
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
column = "triglycerides_mg_dl"
cuts = [150.0]
labels = ["low", "high"]
source = "test"
"#;

/// The scale of every group; the first person, of low triglycerides, has this much insulin and nobody else less than 3.
fn scales(first: u32) -> Vec<(String, String)> {
    let mut people = String::from("id,weight,place,insulin,tg,hdl\n");
    for id in 0..200 {
        let insulin = if id == 0 { first } else { 3 + id * 7 % 23 + 4 * u32::from(id % 3 == 0) };
        let (tg, hdl) = (100 + 100 * (id % 2), if id % 3 == 0 { 30 } else { 60 });
        writeln!(people, "{id},1,{},{insulin},{tg},{hdl}", 1 + id / 2 % 8).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("people.csv"), people).unwrap();
    let study = study::parse(STUDY, "test.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    let results = pipeline::estimate(&study, &[]).unwrap();
    let rows = table(&results, "smoothed_cutoffs").iter();
    rows.map(|row| (row.text("group").to_owned(), row.text("scale").to_owned())).collect()
}

#[test]
fn one_value_of_zero_puts_every_group_on_the_raw_scale() {
    let all =
        |scale: &str| ["everybody", "low", "high"].map(|group| (group.to_owned(), scale.to_owned())).to_vec();
    assert_eq!(scales(3), all("logarithm"));
    assert_eq!(scales(2), all("raw"));
}
