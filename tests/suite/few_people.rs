//! People too few for an interval, or for a percentile: what is said in place of a number.

use std::fmt::Write as _;

use cutspan::analysis::Results;
use cutspan::table::Row;

use crate::support::{estimated, table};

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
indices = ["insulin"]
outcomes = ["hdl_below_40"]
groups = ["half"]
percentiles = [50, 95]
[[analysis.reference]]
name = "higher_hdl"
without = ["hdl_below_40"]
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

fn run(people: &str, more: &str) -> Results {
    estimated(STUDY, &format!("id,weight,place,insulin,tg,hdl\n{people}"), more).1
}

/// The first row that says all this.
fn row<'a>(results: &'a Results, name: &str, keep: &[(&str, &str)]) -> Row<'a> {
    let wanted = |row: &Row<'_>| keep.iter().all(|(column, text)| row.text(column) == *text);
    table(results, name).iter().find(wanted).unwrap_or_else(|| panic!("{name}: no row of {keep:?}"))
}

/// 120 people of four places with low HDL, and five of the first place without: three of them high in triglycerides.
fn five_of_one_place() -> String {
    let mut people = String::new();
    for id in 0..120 {
        writeln!(people, "{id},1,{},{},{},30", 1 + id % 4, 5 + id % 19, 100 + 100 * (id / 4 % 2)).unwrap();
    }
    for id in 120..125 {
        writeln!(people, "{id},1,1,{},{},60", id % 7, if id < 123 { 200 } else { 100 }).unwrap();
    }
    people
}

#[test]
fn a_share_of_five_people_of_one_place_is_withheld() {
    let people = five_of_one_place();
    for more in ["", "unreliable = \"flag\"\n"] {
        let results = run(&people, more);
        let few = row(&results, "sample", &[("population", "higher_hdl"), ("level", "high")]);
        if more.is_empty() {
            assert_eq!(
                (few.real("value"), few.text("withheld")),
                (None, "only 5 people, from too few sampling units to judge it by")
            );
        } else {
            assert_eq!((few.real("value"), few.real("lower")), (Some(60.0), None), "flagged by choice");
        }
        let all = row(&results, "sample", &[("population", "cohort"), ("level", "high")]);
        assert!(all.real("value").is_some() && all.real("lower").is_some(), "125 people of four places");
    }
}

/// 200 people of eight places with insulin of 1 to 200, the ten highest of a weight of their own.
fn ten_of_weight(weight: u32) -> String {
    let mut people = String::new();
    for id in 1..=200 {
        let weight = if id > 190 { weight } else { 1 };
        let (tg, hdl) = (if id > 50 { 100 } else { 200 }, if id % 2 == 0 { 30 } else { 60 });
        writeln!(people, "{id},{weight},{},{id},{tg},{hdl}", 1 + id * id / 3 % 10).unwrap();
    }
    people
}

#[test]
fn people_beyond_a_percentile_are_counted() {
    let of = |results: &Results, percentile: f64| {
        let rows = table(results, "percentiles").iter();
        let mut rows =
            rows.filter(|row| row.text("population") == "cohort" && row.text("group") == "everybody");
        let row = rows.find(|row| row.real("percentile") == Some(percentile)).unwrap();
        (row.real("value"), row.text("withheld").to_owned())
    };
    let equal = run(&ten_of_weight(1), "");
    assert_eq!(of(&equal, 95.0), (Some(190.0), String::new()), "ten people lie above");
    // By weight 218.5 of 230 are reached at the eighth of the ten: two lie above.
    let heavy = run(&ten_of_weight(4), "");
    assert_eq!(of(&heavy, 95.0), (None, "fewer than 5 people beyond it".to_owned()));
    assert_eq!(of(&heavy, 50.0), (Some(115.0), String::new()));
    let private = run(&ten_of_weight(2), "public = false\n");
    // 199.5 of 210 are reached at the fifth of the ten: five lie above.
    assert_eq!(of(&private, 95.0), (None, "fewer than 10 people beyond it".to_owned()));
}
