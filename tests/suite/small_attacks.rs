//! What someone who subtracts could learn of people who may not be shown in small counts, one attack at a time: on the
//! tables of a private run, and on the same tables before they are rounded, so that rounding hides no gap.

use std::collections::{BTreeMap, BTreeSet};

use cutspan::table::{Kind, Row, Table};

use super::small_counts::{exact, files};

const LIMIT: f64 = 10.0;

fn named<'t>(tables: &'t [Table], name: &str) -> &'t Table {
    tables.iter().find(|table| table.name == name).unwrap()
}

fn key(row: &Row<'_>, names: &[&str]) -> String {
    names.iter().filter(|name| row.has(name)).map(|name| row.text(name)).collect::<Vec<_>>().join("|")
}

fn are_few(people: f64) -> bool {
    (0.5..LIMIT - 0.5).contains(&people.abs())
}

/// People that a share stands for.
fn people(row: &Row<'_>, share: &str, of: &str, everybody: f64) -> Option<f64> {
    Some(row.real(share)? / everybody * row.real(of)?)
}

/// Where people are drawn one by one their degrees of freedom are their number less one.
#[test]
fn degrees_of_freedom_tell_no_small_count() {
    let mut seen = 0;
    for table in files().iter().filter(|table| table.position("df").is_some()) {
        for row in table.iter() {
            let df = row.real("df");
            seen += usize::from(df.is_some());
            assert!(df.is_none_or(|df| df + 1.0 >= LIMIT), "{}: {df:?}", table.name);
            let notices = if row.has("notices") { row.text("notices") } else { "" };
            let only = notices.split("; ").any(|one| one.starts_with("only ") && one.ends_with("of freedom"));
            assert!(!only && !notices.contains("of 60 replicates"), "{notices}");
        }
    }
    assert!(seen > 500, "{seen}");
}

const POINT: [&str; 9] =
    ["survey", "index", "outcome", "population", "grouping", "group", "rule", "strict", "derived_from"];

/// LR+ is sensitivity ÷ (1 − specificity): beside one of them it tells the other.
#[test]
fn no_likelihood_ratio_tells_a_share_that_is_left_out() {
    let mut hidden = 0;
    for tables in [files(), exact()] {
        for table in ["threshold_accuracy", "cutoff_accuracy"].map(|name| named(tables, name)) {
            let mut few: BTreeMap<String, bool> = BTreeMap::new();
            let point = |row: &Row<'_>| {
                let number = if row.has("rule") { row.real("cutoff") } else { row.real("threshold") };
                format!("{} {number:?}", key(row, &POINT))
            };
            let of = |row: &Row<'_>, part: &str| row.text("measure").starts_with(part);
            for row in table.iter().filter(|row| of(row, "sens") || of(row, "spec")) {
                *few.entry(point(&row)).or_default() |= row.text("withheld").contains("fewer than 10 people");
            }
            for row in table.iter().filter(|row| of(row, "lr_") && few.get(&point(row)) == Some(&true)) {
                hidden += 1;
                assert_eq!(row.real("value"), None, "{}: {}", table.name, point(&row));
            }
        }
    }
    assert!(hidden > 0);
}

/// The share beyond a threshold, less or more the people who move between it and the cutoff, is the share at the cutoff.
#[test]
fn the_grid_does_not_tell_the_share_at_a_cutoff() {
    let tables = files();
    let grid = named(tables, "threshold_grid");
    assert!(grid.iter().any(|row| row.real("share_beyond").is_some()));
    for row in grid.iter() {
        assert_eq!(row.real("reclassified"), None);
        assert!(row.text("reclassified_withheld").contains("would tell the share at the group"));
    }
}

/// Asserts that no two counts of one curve differ by few people.
fn are_apart(table: &str, counts: &BTreeMap<String, Vec<f64>>) -> usize {
    let mut pairs = 0;
    for (curve, people) in counts {
        for (at, one) in people.iter().enumerate() {
            for other in &people[..at] {
                pairs += 1;
                assert!(!are_few(one - other), "{table}, {curve}: {one} and {other}");
            }
        }
    }
    pairs
}

/// The curve that a row is a point of, and its threshold.
fn point(row: &Row<'_>) -> (String, (String, String)) {
    let strict = if row.has("strict") { row.text("strict") } else { "no" };
    let curve = key(row, &["survey", "frame", "index", "population", "grouping", "group"]);
    (curve, (format!("{:?}", row.real("threshold")), strict.to_owned()))
}

/// People at or beyond the threshold of a row.
fn share_of(row: &Row<'_>) -> Option<f64> {
    people(row, "share_beyond", "n", 100.0)
}

/// Nobody between two thresholds tells something of everybody, and the page's slider moves over them.
#[test]
fn of_two_thresholds_with_nobody_between_one_is_told() {
    let mut pairs = 0;
    for table in ["threshold_grid", "threshold_shares", "published_cutoffs"] {
        let shown: BTreeSet<_> =
            named(files(), table).iter().filter_map(|row| share_of(&row).map(|_| point(&row))).collect();
        let mut curves: BTreeMap<String, BTreeMap<(String, String), f64>> = BTreeMap::new();
        for row in named(exact(), table).iter().filter(|row| shown.contains(&point(row))) {
            let Some(share) = share_of(&row) else { continue };
            let (curve, at) = point(&row);
            curves.entry(curve).or_default().insert(at, share);
        }
        for (curve, points) in curves {
            let people: Vec<f64> = points.into_values().collect();
            for (at, one) in people.iter().enumerate() {
                for other in &people[..at] {
                    pairs += 1;
                    assert!((one - other).abs() > LIMIT - 0.5, "{table}, {curve}: {one} and {other}");
                }
            }
        }
    }
    assert!(pairs > 20, "{pairs}");
}

/// The answer prints the share beyond a threshold of the study: so does the slider beside it.
#[test]
fn the_grid_shows_the_thresholds_that_the_answer_prints() {
    let names = ["survey", "index", "population", "grouping", "group"];
    let grid = named(files(), "threshold_grid");
    let mut compared = 0;
    let shares = named(files(), "threshold_shares");
    for row in shares.iter().filter(|row| row.real("share_beyond").is_some() && row.text("strict") != "yes") {
        let same = |of: &Row<'_>| {
            key(of, &names) == key(&row, &names) && of.real("threshold") == row.real("threshold")
        };
        for of in grid.iter().filter(same) {
            compared += 1;
            assert_eq!(of.real("share_beyond"), row.real("share_beyond"), "{}", key(&row, &names));
        }
    }
    assert!(compared > 0);
}

#[test]
fn no_two_thresholds_tell_the_few_people_between_them() {
    let mut pairs = 0;
    let whose = ["survey", "frame", "index", "population", "grouping", "group"];
    let by_outcome = [&whose[..], &["outcome"]].concat();
    for (table, share, of, everybody, names) in [
        ("threshold_grid", "share_beyond", "n", 100.0, &whose[..]),
        ("threshold_grid", "sensitivity", "n_with", 1.0, &by_outcome),
        ("threshold_grid", "specificity", "n_without", 1.0, &by_outcome),
        ("threshold_shares", "share_beyond", "n", 100.0, &whose),
        ("published_cutoffs", "share_beyond", "n", 100.0, &whose),
        ("published_cutoffs", "sensitivity", "n_with", 1.0, &by_outcome),
        ("published_cutoffs", "specificity", "n_without", 1.0, &by_outcome),
    ] {
        let mut counts: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for row in named(exact(), table).iter() {
            if let Some(people) = people(&row, share, of, everybody) {
                counts.entry(key(&row, names)).or_default().push(people);
            }
        }
        pairs += are_apart(table, &counts);
    }
    for table in ["threshold_accuracy", "cutoff_accuracy"] {
        let mut counts: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for row in named(exact(), table).iter() {
            let people = match row.text("measure") {
                "sensitivity" | "specificity" => people(&row, "value", "n", 1.0),
                // Everybody beyond.
                "ppv" => row.real("n"),
                _ => None,
            };
            let names = [&by_outcome[..], &["measure"]].concat();
            if let Some(people) = people {
                counts.entry(key(&row, &names)).or_default().push(people);
            }
        }
        pairs += are_apart(table, &counts);
    }
    assert!(pairs > 1000, "{pairs}");
}

/// Of 300 people "nobody with the outcome" says of each that it has it not.
#[test]
fn nobody_is_told_of_no_group() {
    let mut reasons = 0;
    for table in files().iter().filter(|table| table.name != "participant_flow") {
        let counts: Vec<&str> = table
            .columns
            .iter()
            .filter(|column| column.kind == Kind::Integer && column.unit == "people")
            .map(|column| column.name)
            .collect();
        for row in table.iter() {
            for count in &counts {
                assert_ne!(row.whole(count), Some(0), "{}: {count}", table.name);
            }
            let why = if row.has("withheld") { row.text("withheld") } else { "" };
            reasons += usize::from(!why.is_empty());
            assert!(!why.contains("nobody") && !why.contains("everybody has"), "{}: {why}", table.name);
        }
    }
    assert!(reasons > 100, "{reasons}");
}

/// Of k people nobody is drawn in a share of e^−k of the resamples, and those have failed.
#[test]
fn failed_resamples_tell_no_hidden_count() {
    let mut seen = 0;
    for table in files().iter().filter(|table| table.position("replicates").is_some()) {
        for row in table.iter().filter(|row| row.has("n_with") && row.whole("n_with").is_none()) {
            seen += 1;
            assert_eq!(row.whole("replicates"), None, "{}", table.name);
        }
    }
    assert!(seen > 0);
}

#[test]
fn a_percentile_is_not_the_value_of_one_of_few_people() {
    let tables = files();
    let mut printed = 0;
    for table in ["percentiles", "reference_limits"].map(|name| named(tables, name)) {
        for row in table.iter().filter(|row| row.real("value").is_some()) {
            let Some((n, p)) = row.real("n").zip(row.real("percentile")) else { continue };
            printed += 1;
            // n is rounded to five; who has a lower percentile is one of those that it parts off.
            let most = n + 2.5;
            let beyond =
                if p > 50.0 { (most * (100.0 - p) / 100.0).floor() } else { (most * p / 100.0).ceil() };
            assert!(beyond >= LIMIT, "{}: percentile {p} of {n}", table.name);
        }
    }
    assert!(printed > 10, "{printed}");
}

#[test]
fn no_point_of_a_curve_is_the_least_or_the_most_value() {
    let tables = files();
    let points = named(tables, "roc_points");
    assert!(points.rows.len() > 20, "{}", points.rows.len());
    for row in points.iter() {
        let [found, passed] = ["sensitivity", "specificity"].map(|name| row.real(name).unwrap());
        assert!(![(1.0, 0.0), (0.0, 1.0)].contains(&(found, passed)), "{:?}", row.real("cutoff"));
    }
}
