//! People drawn singly, without weights, strata or sampling units: areas by DeLong's variance.

use std::fmt::Write as _;
use std::fs;

use cutspan::analysis::Results;
use cutspan::pipeline;
use cutspan::study;

use crate::expected::{Expected, Rows};
use crate::support::{assert_close, table};

const STUDY: &str = r#"
title = "people drawn singly"
[[source]]
survey = "table"
name = "people"
files = ["people.csv"]
id = "id"
[source.columns]
score = { column = "score", unit = "points" }
pregnant = { column = "outcome", codes = { "1" = "yes", "0" = "no" } }
[analysis]
indices = ["score"]
outcomes = ["event"]
groups = []
rules = ["youden"]
[resampling]
replicates = 50
[[define.quantity]]
name = "score"
label = "score"
kind = "number"
subsample = "interview"
unit = [{ unit = "points", suffix = "points", factor = 1.0, source = "test" }]
[[define.index]]
name = "score"
label = "score"
formula = "score_points"
unit = "points"
direction = "higher"
source = "test"
[[define.outcome]]
name = "event"
label = "event"
formula = "pregnant"
source = "test"
"#;

/// The published people of a bleeding of the brain, their grade as a score and a poor end as the event.
fn results(seed: u32, weight: &str) -> Results {
    let folder = tempfile::tempdir().unwrap();
    let mut people = "id,weight,score,outcome\n".to_owned();
    for (id, row) in Rows::read("delong", "input.csv").only("case", "asah").iter().enumerate() {
        writeln!(people, "{id},1,{},{}", row["a"], row["outcome"]).unwrap();
    }
    fs::write(folder.path().join("people.csv"), people).unwrap();
    let text = STUDY
        .replace("replicates = 50", &format!("replicates = 50\nseed = {seed}"))
        .replace("[source.columns]", &format!("{weight}[source.columns]"));
    let study = study::parse(&text, "test.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    pipeline::estimate(&study, &[]).unwrap()
}

/// pROC's variance of the area; t on 40 degrees of freedom (41 people with the outcome) is 2.0210753903.
#[test]
fn an_area_has_delongs_interval_on_the_logit_whatever_the_seed() {
    let expected = Expected::read("delong");
    let asah = expected.rows.only("case", "asah").only("a", "1").only("b", "1");
    let of = |quantity: &str| asah.only("quantity", quantity).numbers("value")[0];
    let (area, error) = (of("auc"), of("covariance").sqrt());
    for seed in [1, 2] {
        let results = results(seed, "");
        let row = table(&results, "auc").iter().next().unwrap();
        assert_close(row.real("auc").unwrap(), area, 1e-9, "pROC");
        assert_close(row.real("standard_error").unwrap(), error, 1e-9, "pROC");
        assert_eq!((row.text("interval"), row.whole("df")), ("delong_t_logit", Some(40)));
        assert_eq!(row.whole("replicates"), None);
        let logit = (area / (1.0 - area)).ln();
        let reach = 2.021_075_390_3 * error / (area * (1.0 - area));
        for (end, at) in [("lower", logit - reach), ("upper", logit + reach)] {
            assert_close(row.real(end).unwrap(), 1.0 / (1.0 + (-at).exp()), 1e-8, end);
        }
        let which = table(&results, "which_index").iter().next();
        assert!(which.is_none_or(|row| row.text("interval") == "delong_t_logit"));
    }
}

#[test]
fn a_stated_weight_is_a_design() {
    let results = results(1, "weight = \"weight\"\n");
    let row = table(&results, "auc").iter().next().unwrap();
    assert_eq!((row.text("interval"), row.whole("replicates")), ("replicates_t_logit", Some(50)));
}
