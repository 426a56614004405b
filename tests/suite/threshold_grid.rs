//! The grid of thresholds: the same numbers as the tables of stated thresholds, and laws.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

use cutspan::analysis::Results;
use cutspan::pipeline;
use cutspan::study::{self, Study};
use cutspan::table::{Row, Table};

use crate::support::{assert_close, table};

/// Sums in another order differ in their last bits.
const ROUNDING: f64 = 1e-9;

fn demo() -> Study {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
    let mut study = study::load(&file).unwrap();
    study.resampling.replicates = 40;
    Study { curves: None, sensitivity: None, standardisation: None, ..study }
}

fn results() -> &'static Results {
    static RESULTS: OnceLock<Results> = OnceLock::new();
    RESULTS.get_or_init(|| pipeline::estimate(&demo(), &[]).unwrap())
}

fn same(one: &Row<'_>, other: &Row<'_>, columns: &[&str]) -> bool {
    columns.iter().all(|column| one.text(column) == other.text(column))
}

#[track_caller]
fn assert_same(got: Option<f64>, want: Option<f64>, what: &str) {
    match (got, want) {
        (Some(got), Some(want)) => assert_close(got, want, ROUNDING, what),
        (got, want) => assert_eq!(got, want, "{what}"),
    }
}

#[test]
fn a_stated_threshold_stands_in_the_grid_with_the_numbers_of_its_own_tables() {
    let grid = table(results(), "threshold_grid");
    let (mut shares, mut measures) = (0, 0);
    for want in table(results(), "threshold_shares").iter().filter(|row| row.text("population") == "cohort") {
        for got in grid.iter().filter(|row| same(row, &want, &["index", "grouping", "group"])) {
            if got.real("threshold") != want.real("threshold") {
                continue;
            }
            shares += 1;
            assert_eq!(got.whole("n"), want.whole("n"));
            assert_eq!(got.text("share_withheld"), want.text("withheld"));
            for (mine, theirs) in
                [("share_beyond", "share_beyond"), ("share_lower", "lower"), ("share_upper", "upper")]
            {
                assert_same(got.real(mine), want.real(theirs), want.text("group"));
            }
        }
    }
    for want in table(results(), "threshold_accuracy").iter() {
        let measure = want.text("measure");
        if !["sensitivity", "specificity"].contains(&measure) {
            continue;
        }
        let keys = ["index", "outcome", "grouping", "group"];
        let found = grid
            .iter()
            .find(|row| same(row, &want, &keys) && row.real("threshold") == want.real("threshold"));
        let got = found.unwrap();
        measures += 1;
        assert_eq!(got.text(&format!("{measure}_withheld")), want.text("withheld"));
        assert_same(got.real(measure), want.real("value"), want.text("group"));
        assert_same(got.real(&format!("{measure}_lower")), want.real("lower"), want.text("group"));
        assert_same(got.real(&format!("{measure}_upper")), want.real("upper"), want.text("group"));
    }
    assert!(shares > 60 && measures > 120, "{shares} {measures}");
}

/// The rows of each index, outcome and group, thresholds ascending.
fn lanes(grid: &Table) -> Vec<Vec<Row<'_>>> {
    let mut lanes: Vec<Vec<Row<'_>>> = Vec::new();
    for row in grid.iter() {
        let keys = ["index", "outcome", "grouping", "group"];
        match lanes.last_mut() {
            Some(lane) if same(&lane[0], &row, &keys) => lane.push(row),
            _ => lanes.push(vec![row]),
        }
    }
    lanes
}

#[test]
fn fewer_are_beyond_as_a_threshold_rises_and_labels_change_by_the_people_in_between() {
    let grid = table(results(), "threshold_grid");
    let (mut pairs, mut moves) = (0, 0);
    for lane in lanes(grid) {
        assert!(lane.len() <= 101 && lane.len() > 30, "{}", lane.len());
        for pair in lane.windows(2) {
            assert!(pair[0].real("threshold") < pair[1].real("threshold"));
            let fall = |column: &str| Some(pair[0].real(column)? - pair[1].real(column)?);
            for (column, sign) in [("share_beyond", 1.0), ("sensitivity", 1.0), ("specificity", -1.0)] {
                pairs += usize::from(fall(column).is_some());
                assert!(fall(column).is_none_or(|fall| fall * sign >= -ROUNDING), "{column}");
            }
        }
        // Share beyond the group's own cutoff, whichever threshold it is put together from.
        let at_cutoff = |row: &Row<'_>| {
            let moved = row.real("reclassified")?;
            let sign = match row.text("moved") {
                "newly_beyond" => -1.0,
                "no_longer_beyond" => 1.0,
                _ => 0.0,
            };
            Some(row.real("share_beyond")? + sign * moved)
        };
        let found: Vec<f64> = lane.iter().filter_map(at_cutoff).collect();
        moves += found.len();
        assert!(found.iter().all(|share| (share - found[0]).abs() < ROUNDING), "{found:?}");
    }
    assert!(pairs > 5000 && moves > 1000, "{pairs} {moves}");
}

#[test]
fn a_source_that_is_not_public_shows_no_small_count() {
    let mut study = demo();
    study.public = false;
    study.minimum_cell = 200;
    study.resampling.replicates = 10;
    let results = pipeline::estimate(&study, &[]).unwrap();
    let grid = table(&results, "threshold_grid");
    let (mut withheld, mut shown) = (0, 0);
    for row in grid.iter() {
        let share = row.real("share_beyond");
        withheld += usize::from(row.text("share_withheld").contains("fewer than 200 people"));
        // A weighted share stands in for the unweighted count: far below the minimum it cannot be shown.
        if let Some((n, share)) = row.real("n").zip(share) {
            shown += 1;
            assert!(n * share.min(100.0 - share) / 100.0 > 100.0, "{share} of {n}");
        }
    }
    assert!(withheld > 100 && shown > 100, "{withheld} {shown}");
}

/// Thresholds in print and those of the grid stand in two tables, of the same people.
#[test]
fn few_people_lie_between_no_two_thresholds_that_are_told_in_any_table() {
    let mut study = demo();
    study.public = false;
    study.minimum_cell = 200;
    study.resampling.replicates = 10;
    let results = pipeline::estimate(&study, &[]).unwrap();
    let about = |row: &Row<'_>| ["index", "grouping", "group"].map(|name| row.text(name).to_owned());
    let mut told: BTreeMap<[String; 3], BTreeMap<u64, (f64, f64)>> = BTreeMap::new();
    for name in ["threshold_shares", "threshold_grid", "published_cutoffs"] {
        let stated = |row: &Row<'_>| {
            row.text("population") == "cohort" && (name == "threshold_grid" || row.text("strict") == "no")
        };
        for row in table(&results, name).iter().filter(stated) {
            let shown = row.real("n").zip(row.real("share_beyond")).zip(row.real("threshold"));
            if let Some((point, threshold)) = shown {
                told.entry(about(&row)).or_default().insert(threshold.to_bits(), point);
            }
        }
    }
    let mut pairs = 0;
    for (group, points) in told {
        let mut beyond: Vec<f64> = points.values().map(|(n, share)| n * share / 100.0).collect();
        beyond.sort_by(f64::total_cmp);
        let most = points.values().map(|(n, _)| *n).fold(0.0, f64::max);
        for pair in beyond.windows(2) {
            pairs += 1;
            // 200 people; either end and all of them are rounded to 100, and then to whole per cent.
            assert!(pair[1] - pair[0] >= 49.0 - most / 100.0, "{group:?}: {pair:?} of {most}");
        }
    }
    assert!(pairs > 20, "{pairs}");
}
