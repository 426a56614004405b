//! Shares along thresholds: two that differ by few people would show how few lie between their thresholds.

use std::collections::{BTreeMap, BTreeSet};

use super::crossed::{CLAIM, blocks};
use super::{Spacing, empty, empty_share, empty_value, real, reason, whole};
use crate::table::schema::{ShareColumn, shares_of};
use crate::table::{Row, Table};

/// The table whose rows run along thresholds.
const GRID: &str = "threshold_grid";
/// Tables of which a row is a threshold, with its shares in columns.
const WIDE: [&str; 3] = [GRID, "published_cutoffs", "threshold_shares"];
/// Texts that say whose shares they are; people beyond a threshold are the same whatever the outcome.
const KEYS: [&str; 6] = ["survey", "frame", "index", "population", "grouping", "group"];
const OUTCOME: &str = "outcome";
/// Shares of everybody, whose points stand by themselves; those with the outcome and those without together make
/// up everybody, so a point of theirs stands where both do, among the points of everybody.
const EVERYBODY: [&str; 1] = ["share_beyond"];
const BY_OUTCOME: [&str; 2] = ["sensitivity", "specificity"];
/// People between a group's own cutoff and the threshold: with the share beyond they tell that at the cutoff.
const FROM_CUTOFF: &str = "reclassified";
/// Why they are left out at every threshold.
const WITH_SHARE: &str =
    "left out, as with the share beyond it would tell the share at the group’s own cutoff";
/// Measures of everybody in a claim's table: on the stated side, beyond, and short of the threshold.
const OF_EVERYBODY: [&str; 3] = ["share_beyond", "share", "percentile"];

/// Leaves out the points that are too near another one; how many shares that empties.
pub(super) fn leave_out(table: &mut Table, limit: i64) -> usize {
    let mut emptied = if table.name == GRID { leave_moves_out(table) } else { 0 };
    if WIDE.contains(&table.name) {
        emptied += in_columns(table, limit);
    }
    let mut near: BTreeSet<usize> = BTreeSet::new();
    if table.name == CLAIM {
        near.extend(near_everybody(table, limit));
    }
    near.extend(near_by_outcome(table, limit));
    emptied + in_rows(table, &near, limit)
}

/// Why a share is not printed whose threshold is too near another one.
#[must_use]
pub fn too_near(limit: i64) -> String {
    format!("{} between it and another threshold shown", reason(limit))
}

/// People who move between threshold and cutoff are left out of the grid altogether.
fn leave_moves_out(table: &mut Table) -> usize {
    let Some(moved) = shares_of(GRID).find(|share| share.column == FROM_CUTOFF) else { return 0 };
    let printed = (0..table.rows.len()).filter(|row| real(table, *row, FROM_CUTOFF).is_some()).count();
    for row in 0..table.rows.len() {
        empty(table, row, moved.reason);
        empty_share(table, row, moved, WITH_SHARE.to_owned());
    }
    printed
}

/// Of a table with its shares in columns.
fn in_columns(table: &mut Table, limit: i64) -> usize {
    let everybody: BTreeSet<usize> =
        curves(table, &KEYS).iter().flat_map(|rows| kept(table, rows, &EVERYBODY, limit)).collect();
    let with_outcome = [&KEYS[..], &[OUTCOME]].concat();
    let among = |rows: &Vec<usize>| -> Vec<usize> {
        rows.iter().filter(|row| everybody.contains(row)).copied().collect()
    };
    let by_outcome: BTreeSet<usize> = curves(table, &with_outcome)
        .iter()
        .flat_map(|rows| kept(table, &among(rows), &BY_OUTCOME, limit))
        .collect();
    let mut emptied = 0;
    for (columns, stand) in [(&EVERYBODY[..], &everybody), (&BY_OUTCOME, &by_outcome)] {
        for share in shares_of(table.name).filter(|share| columns.contains(&share.column)) {
            for row in (0..table.rows.len()).filter(|row| !stand.contains(row)) {
                if real(table, row, share.column).is_some() {
                    empty_share(table, row, share, too_near(limit));
                    emptied += 1;
                }
            }
        }
    }
    emptied
}

/// The rows of each curve.
fn curves(table: &Table, keys: &[&str]) -> Vec<Vec<usize>> {
    let mut found: BTreeMap<Vec<&str>, Vec<usize>> = BTreeMap::new();
    for (at, row) in table.iter().enumerate() {
        let key = keys.iter().filter(|key| row.has(key)).map(|key| row.text(key)).collect();
        found.entry(key).or_default().push(at);
    }
    found.into_values().collect()
}

/// Of some rows those that may stand side by side by the shares of some columns.
fn kept(table: &Table, rows: &[usize], columns: &[&str], limit: i64) -> Vec<usize> {
    let shares: Vec<&ShareColumn> =
        shares_of(table.name).filter(|share| columns.contains(&share.column)).collect();
    let mut spacing = Spacing::of(limit);
    let people = |row: usize, share: &ShareColumn| {
        let part = real(table, row, share.column)? / whole(table, share.column);
        Some(part * real(table, row, share.of)?)
    };
    let keeps = |row: &&usize| {
        let here: Vec<Option<f64>> = shares.iter().map(|share| people(**row, share)).collect();
        spacing.keeps(&here)
    };
    rows.iter().filter(keeps).copied().collect()
}

/// Rows of a claim on everybody at thresholds that are too near another one.
fn near_everybody(table: &Table, limit: i64) -> Vec<usize> {
    let rows = || table.iter().enumerate().filter(|(_, row)| row.text("claim").is_empty());
    let curve = |row: &Row<'_>| KEYS.map(|key| row.text(key).to_owned());
    let point = |row: &Row<'_>| {
        (curve(row), row.real("threshold").unwrap_or_default().to_bits(), row.text("strict").to_owned())
    };
    let mut spaced: BTreeMap<[String; 6], Spacing> = BTreeMap::new();
    let mut near = BTreeSet::new();
    for (at, row) in rows().filter(|(_, row)| row.text("measure") == OF_EVERYBODY[0]) {
        let beyond = real(table, at, "value").map(|value| value / whole(table, "value"));
        let beyond = beyond.zip(real(table, at, "n")).map(|(share, people)| share * people);
        if !spaced.entry(curve(&row)).or_insert_with(|| Spacing::of(limit)).keeps(&[beyond]) {
            near.insert(point(&row));
        }
    }
    let of_everybody = |row: &Row<'_>| OF_EVERYBODY.contains(&row.text("measure"));
    rows().filter(|(_, row)| of_everybody(row) && near.contains(&point(row))).map(|(at, _)| at).collect()
}

/// Rows of blocks whose people with or without the outcome, or beyond, differ by few from those of another threshold, by
/// whichever of their measures that is told.
fn near_by_outcome(table: &Table, limit: i64) -> Vec<usize> {
    let mut spaced: BTreeMap<Vec<&str>, Spacing> = BTreeMap::new();
    let mut near = Vec::new();
    for (about, block) in blocks(table) {
        let spacing = spaced.entry(about).or_insert_with(|| Spacing::of(limit));
        if !spacing.keeps(&block.counts(table)) {
            near.extend(block.all());
        }
    }
    near
}

/// Empties such rows, and the counts of people on one side; how many numbers that are.
fn in_rows(table: &mut Table, near: &BTreeSet<usize>, limit: i64) -> usize {
    let sides: Vec<usize> =
        blocks(table).iter().flat_map(|(_, block)| block.of_sides().collect::<Vec<_>>()).collect();
    let mut emptied = 0;
    for row in near {
        if sides.contains(row) && real(table, *row, "n").is_some() {
            empty(table, *row, "n");
            empty(table, *row, "df");
            emptied += 1;
        }
        if real(table, *row, "value").is_some() {
            empty_value(table, *row, too_near(limit));
            emptied += 1;
        }
    }
    emptied
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;
    use crate::table::small::hide;

    const LIMIT: i64 = 10;
    const NEAR: &str = "fewer than 10 people between it and another threshold shown";

    /// People beyond, with the outcome beyond and without it short of each threshold, of 200, 50 and 150.
    fn wide(name: &str, points: &[[f64; 3]]) -> Table {
        let mut table = Table::new(schema::shape(name).expect(name));
        for (at, [beyond, with, without]) in points.iter().enumerate() {
            let row = table.row().text("index", "homa_ir").text("outcome", "o").text("group", "everybody");
            let row = row.real("threshold", Some(at as f64)).whole("n", Some(200));
            let row = row.whole("n_with", Some(50)).whole("n_without", Some(150));
            let row = row.real("share_beyond", Some(beyond / 2.0));
            let row = row.real("sensitivity", Some(with / 50.0)).real("specificity", Some(without / 150.0));
            let row = if name == GRID {
                row.real("share_lower", Some(0.0)).real("reclassified", Some(beyond / 2.0 - 10.0))
            } else {
                row.real("percentile", Some(100.0 - beyond / 2.0))
            };
            row.done().expect("a row");
        }
        table
    }

    fn shown(table: &Table, column: &str) -> Vec<bool> {
        table.iter().map(|row| row.real(column).is_some()).collect()
    }

    // Beyond: 100, 95 (5 fewer), 90 (10 fewer), 90, 70. With and without: the third differs by 5 and 5.
    const POINTS: [[f64; 3]; 5] = [
        [100.0, 40.0, 90.0],
        [95.0, 39.0, 94.0],
        [90.0, 35.0, 95.0],
        [90.0, 35.0, 95.0],
        [70.0, 30.0, 110.0],
    ];

    #[test]
    fn a_point_stands_where_nobody_or_enough_people_lie_before_it() {
        let mut table = wide(GRID, &POINTS);
        let emptied = leave_out(&mut table, LIMIT);
        assert_eq!(shown(&table, "share_beyond"), [true, false, true, true, true]);
        assert_eq!(shown(&table, "share_lower"), shown(&table, "share_beyond"));
        assert_eq!(shown(&table, "sensitivity"), [true, false, false, false, true]);
        assert_eq!(shown(&table, "specificity"), shown(&table, "sensitivity"));
        assert_eq!(emptied, 5 + 1 + 2 * 3);
        let said: Vec<&str> = table.iter().map(|row| row.text("share_withheld")).collect();
        assert_eq!(said, ["", NEAR, "", "", ""]);
    }

    /// The share beyond less the people who move is the share at the cutoff, at each threshold the same one.
    #[test]
    fn the_grid_tells_nobody_between_a_threshold_and_a_cutoff() {
        let mut table = wide(GRID, &POINTS);
        leave_out(&mut table, LIMIT);
        assert_eq!(shown(&table, "reclassified"), [false; 5]);
        assert!(table.iter().all(|row| row.text("reclassified_withheld") == WITH_SHARE));
    }

    #[test]
    fn cutoffs_in_print_are_thinned_by_the_same_rule_whatever_their_order() {
        let mut table = wide("published_cutoffs", &POINTS);
        table.rows.swap(0, 4);
        leave_out(&mut table, LIMIT);
        assert_eq!(shown(&table, "share_beyond"), [true, true, false, false, false], "70, 95, 90, 90, 100");
        assert_eq!(shown(&table, "percentile"), shown(&table, "share_beyond"));
        assert_eq!(shown(&table, "sensitivity"), [true, false, false, false, false]);
    }

    /// Two cutoffs by two rules: of 50 with the outcome 40 and 37 are found, of 150 without it 100 are passed over.
    fn rows(name: &str, found: [f64; 2]) -> Table {
        let mut table = Table::new(schema::shape(name).expect(name));
        for (at, found) in found.into_iter().enumerate() {
            for (measure, n, value) in [
                ("sensitivity", 50.0, found / 50.0),
                ("specificity", 150.0, 100.0 / 150.0),
                ("ppv", 50.0 + found, found / (50.0 + found)),
                ("npv", 150.0 - found, 100.0 / (150.0 - found)),
                ("lr_positive", 200.0, 3.0 * found / 50.0),
            ] {
                let row =
                    table.row().text("index", "homa_ir").text("outcome", "o").text("group", "everybody");
                let threshold = if name == "cutoff_accuracy" { "cutoff" } else { "threshold" };
                let row = row.text("measure", measure).real(threshold, Some(2.0 + at as f64));
                let percent = if name == CLAIM { 100.0 } else { 1.0 };
                row.whole("n", Some(n as i64)).real("value", Some(percent * value)).done().expect("a row");
            }
        }
        table
    }

    #[test]
    fn of_two_cutoffs_with_few_people_between_one_is_told() {
        for name in ["cutoff_accuracy", "threshold_accuracy", CLAIM] {
            let mut few = [rows(name, [37.0, 40.0])];
            hide(&mut few, LIMIT);
            assert_eq!(shown(&few[0], "value"), [vec![true; 5], vec![false; 5]].concat(), "{name}");
            let n: Vec<bool> = few[0].iter().map(|row| row.whole("n").is_some()).collect();
            assert_eq!(n[5..], [true, true, false, false, true], "people on one side tell it, too");
            assert_eq!(few[0].iter().last().expect("a row").text("withheld"), NEAR);
            let mut enough = [rows(name, [30.0, 40.0])];
            hide(&mut enough, LIMIT);
            assert_eq!(shown(&enough[0], "value"), [true; 10], "{name}");
        }
    }

    #[test]
    fn a_claim_of_two_thresholds_tells_one_where_few_lie_between() {
        let mut table = Table::new(schema::shape(CLAIM).expect("a table"));
        for (threshold, beyond) in [(2.0, 100.0), (2.1, 94.0), (3.0, 50.0)] {
            for (measure, people) in
                [("share", 200.0 - beyond), ("share_beyond", beyond), ("percentile", 200.0 - beyond)]
            {
                let row = table.row().text("index", "homa_ir").text("group", "everybody");
                let row = row.text("measure", measure).real("threshold", Some(threshold));
                let row = row.whole("n", Some(200)).real("value", Some(people / 2.0));
                row.real("population_number", Some(1e4 * people)).done().expect("a row");
            }
        }
        let mut tables = [table];
        hide(&mut tables, LIMIT);
        let wanted = [true, true, true, false, false, false, true, true, true];
        assert_eq!(shown(&tables[0], "value"), wanted);
        assert_eq!(shown(&tables[0], "population_number"), wanted);
    }
}
