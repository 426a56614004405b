//! What acting on an index would do, and laboratory limits: by hand and on the real survey.

use cutspan::table::Row;
use cutspan::{pipeline, study};

use crate::indices::{BY_HAND, SMALL, five, small};
use crate::support::{assert_close, table};

#[test]
fn net_benefit_by_hand() {
    let (_folder, study) = small();
    let results = pipeline::estimate(&study, &[]).unwrap();
    let at = |strategy: &'static str| -> Vec<Row<'_>> {
        let rows = table(&results, "net_benefit").iter();
        rows.filter(|r| r.text("index") == "insulin" && r.text("strategy") == strategy)
            .filter(|r| r.real("threshold_probability") == Some(0.2))
            .collect()
    };
    let value = |row: &Row| row.real("net_benefit").unwrap();
    // Nine people have insulin, four of them the outcome; a false positive costs 0.2 / 0.8 of a true one.
    assert_close(value(&at("treat_all")[0]), 4.0 / 9.0 - 5.0 / 9.0 / 4.0, BY_HAND, "everybody");
    assert_eq!(value(&at("treat_none")[0]), 0.0);
    // At 10 or more: 11, 15 and 20 with, 10, 12 and 30 without; 10 itself is not above 10.
    let thresholds = at("threshold");
    assert_close(value(&thresholds[0]), 3.0 / 9.0 - 3.0 / 9.0 / 4.0, BY_HAND, "at or above");
    assert_close(value(&thresholds[1]), 3.0 / 9.0 - 2.0 / 9.0 / 4.0, BY_HAND, "above");
    assert!(thresholds.iter().all(|r| r.real("cutoff").is_some() && r.text("stated") == "study"));
}

#[test]
fn net_benefit_of_a_group_has_an_interval_or_says_why_not() {
    let (folder, _) = small();
    let grouped = SMALL.replace("groups = []", "groups = [\"half\"]").replace(
        "[[define.index]]",
        "[[define.group]]\nname = \"half\"\nlabel = \"half\"\ncolumn = \"triglycerides_mg_dl\"\ncuts = [150.0]\n\
         labels = [\"low\", \"high\"]\nsource = \"test\"\n[[define.index]]",
    );
    let study = study::parse(&grouped, "small.toml", folder.path()).unwrap_or_else(|e| panic!("{e:#?}"));
    let results = pipeline::estimate(&study, &[]).unwrap();
    let rows: Vec<Row<'_>> =
        table(&results, "net_benefit").iter().filter(|row| row.text("grouping") != "everybody").collect();
    let printed = rows.iter().filter(|row| row.real("net_benefit").is_some());
    assert!(printed.clone().count() > 0);
    for row in printed {
        let interval = row.real("lower").zip(row.real("upper"));
        assert_eq!(interval.is_some(), !row.text("interval").is_empty());
        assert!(interval.is_some() || row.why_no_interval().is_some(), "{row:?}");
    }
}

#[test]
fn the_laboratory_way_asks_for_forty_people() {
    let (folder, flagged) = small();
    let strict = SMALL.replace("unreliable = \"flag\"", "");
    let withheld = study::parse(&strict, "small.toml", folder.path()).unwrap();
    for (study, column) in [(flagged, "notices"), (withheld, "withheld")] {
        let results = pipeline::estimate(&study, &[]).unwrap();
        let limits = table(&results, "reference_limits");
        assert_eq!(limits.rows.len(), 2 * 3);
        for row in limits.iter() {
            assert!(row.text(column).contains("fewer than 40 people"), "{}", row.text(column));
            // Rank 0.025 · 10 lies before the first of nine people.
            assert!(row.real("value").is_none() || row.text("limit") == "one_sided");
        }
    }
}

#[test]
fn weighted_percentiles_beside_the_limits_are_those_of_the_percentile_table() {
    let Some(results) = five() else { return };
    let mut seen = 0;
    for row in table(results, "reference_limits").iter().filter(|r| r.text("limit") == "one_sided") {
        let place = ["index", "population", "grouping", "group"];
        let same =
            |p: &Row| p.real("percentile") == Some(95.0) && place.iter().all(|c| p.text(c) == row.text(c));
        let Some(want) = table(results, "percentiles").iter().find(same) else { continue };
        if let (Some(value), Some(weighted)) = (want.real("value"), row.real("weighted")) {
            assert_eq!((weighted, row.real("weighted_lower")), (value, want.real("lower")));
            assert_eq!(row.real("percentile"), Some(if row.text("index") == "quicki" { 5.0 } else { 95.0 }));
            seen += 1;
        }
    }
    assert!(seen >= 5 * 3, "{seen}");
}

#[test]
fn groups_together_are_outside_the_common_limits_as_often_as_everybody() {
    let Some(results) = five() else { return };
    let tests = table(results, "partition_tests");
    assert_eq!(tests.rows.len(), 5, "one pair of sexes for each index");
    for row in tests.iter() {
        let [a, b] = ["n", "other_n"].map(|c| row.real(c).unwrap());
        for (own, other) in [("below", "other_below"), ("above", "other_above")] {
            let share = (a * row.real(own).unwrap() + b * row.real(other).unwrap()) / (a + b);
            // Ranks 0.025 (n + 1) and 0.975 (n + 1) leave at most that many people outside.
            assert!(share > 1.5 && share <= 2.5 * (a + b + 1.0) / (a + b), "{own}: {share}");
        }
        let advised =
            row.real("z").unwrap() > row.real("critical_z").unwrap() || row.real("sd_ratio").unwrap() > 1.5;
        assert_eq!(row.text("advice") == "limits of their own", advised);
    }
}
