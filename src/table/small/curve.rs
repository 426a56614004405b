//! Shares along thresholds: two neighbours that differ by few people would show how few lie between them.

use std::collections::BTreeMap;

use super::{empty, is_percent, real, reason};
use crate::table::schema::{ShareColumn, shares_of};
use crate::table::{Cell, Table};

/// The table whose rows run along thresholds.
pub(super) const ALONG_THRESHOLDS: &str = "threshold_grid";
/// Texts that say which curve a row belongs to; its people beyond a threshold are the same whatever the outcome.
const KEYS: [&str; 7] = ["survey", "frame", "index", "outcome", "population", "grouping", "group"];
/// Shares of everybody, whose points stand by themselves; those with the outcome and those without together make
/// up everybody, so a point of theirs stands where both do, among the points of everybody.
const EVERYBODY: [&str; 1] = ["share_beyond"];
const BY_OUTCOME: [&str; 2] = ["sensitivity", "specificity"];
/// People between a fixed cutoff and the threshold: they differ as everybody beyond does.
const FROM_CUTOFF: &str = "reclassified";

/// Whether two shares of so many people differ by nobody or by at least `limit` of them.
fn far_enough(one: f64, other: f64, people: f64, limit: i64) -> bool {
    !(0.5..limit as f64 - 0.5).contains(&((one - other).abs() * people))
}

/// Walks along a curve and keeps the points that differ from the last one kept by nobody or by enough people.
#[derive(Debug)]
pub struct Spacing {
    limit: i64,
    last: Vec<Option<f64>>,
}

impl Spacing {
    #[must_use]
    pub fn of(limit: i64) -> Self {
        Self { limit, last: Vec::new() }
    }

    /// Whether the next point is kept, by its shares, each with the people that it is a share of; a share that is
    /// not known keeps no point away.
    pub fn keeps(&mut self, shares: &[Option<(f64, f64)>]) -> bool {
        self.last.resize(shares.len(), None);
        let far = |(here, last): (&Option<(f64, f64)>, &Option<f64>)| match (here, last) {
            (Some((share, people)), Some(last)) => far_enough(*share, *last, *people, self.limit),
            _ => true,
        };
        let kept = shares.iter().zip(&self.last).all(far);
        if kept {
            let known = |(last, here): (&mut Option<f64>, &Option<(f64, f64)>)| {
                *last = here.map(|(share, _)| share).or(*last);
            };
            self.last.iter_mut().zip(shares).for_each(known);
        }
        kept
    }
}

/// Leaves out the points of each curve that are too near the last one kept; how many shares that empties.
pub(super) fn leave_out(table: &mut Table, limit: i64) -> usize {
    let shares: Vec<&ShareColumn> = shares_of(table.name).collect();
    let mut emptied = 0;
    for rows in curves(table) {
        let beyond = kept(table, (&rows, &shares), &EVERYBODY, limit);
        let by_outcome = kept(table, (&beyond, &shares), &BY_OUTCOME, limit);
        for row in &rows {
            for share in &shares {
                let stands = match share.column {
                    column if BY_OUTCOME.contains(&column) => &by_outcome,
                    column if EVERYBODY.contains(&column) || column == FROM_CUTOFF => &beyond,
                    _ => &rows,
                };
                if !stands.contains(row) && real(table, *row, share.column).is_some() {
                    leave_point_out(table, (*row, share), limit);
                    emptied += 1;
                }
            }
        }
    }
    emptied
}

/// The rows of each curve, threshold after threshold.
fn curves(table: &Table) -> Vec<Vec<usize>> {
    let mut found: BTreeMap<Vec<&str>, Vec<usize>> = BTreeMap::new();
    for (at, row) in table.iter().enumerate() {
        found.entry(KEYS.map(|key| row.text(key)).to_vec()).or_default().push(at);
    }
    found.into_values().collect()
}

/// Of some rows those that may stand side by side by the shares of some columns.
fn kept(
    table: &Table,
    (rows, shares): (&[usize], &[&ShareColumn]),
    columns: &[&str],
    limit: i64,
) -> Vec<usize> {
    let mut spacing = Spacing::of(limit);
    let of = |row: usize, share: &ShareColumn| {
        let per = if is_percent(table, share.column) { 100.0 } else { 1.0 };
        let shown = real(table, row, share.column).filter(|_| columns.contains(&share.column));
        Some((shown? / per, real(table, row, share.of)?))
    };
    let keeps = |row: &&usize| {
        let here: Vec<Option<(f64, f64)>> = shares.iter().map(|share| of(**row, share)).collect();
        spacing.keeps(&here)
    };
    rows.iter().filter(keeps).copied().collect()
}

fn leave_point_out(table: &mut Table, (row, share): (usize, &ShareColumn), limit: i64) {
    for column in share.with.iter().chain([&share.column]) {
        empty(table, row, column);
    }
    if let Some(at) = table.position(share.reason) {
        table.rows[row][at] =
            Cell::text(format!("{} between it and the last threshold shown", reason(limit)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    /// People beyond, with the outcome beyond and without it short of each threshold, of 200, 50 and 150.
    fn grid(points: &[[f64; 3]]) -> Table {
        let mut table = Table::new(schema::shape(ALONG_THRESHOLDS).expect("a table"));
        for (at, [beyond, with, without]) in points.iter().enumerate() {
            let row = table.row().text("index", "homa_ir").text("outcome", "o").text("group", "everybody");
            let row = row.real("threshold", Some(at as f64)).whole("n", Some(200));
            let row = row.whole("n_with", Some(50)).whole("n_without", Some(150));
            let row = row.real("share_beyond", Some(beyond / 2.0)).real("share_lower", Some(0.0));
            let row = row.real("sensitivity", Some(with / 50.0)).real("specificity", Some(without / 150.0));
            row.real("reclassified", Some(beyond / 2.0 - 10.0)).done().expect("a row");
        }
        table
    }

    #[test]
    fn a_point_stands_where_nobody_or_enough_people_lie_before_it() {
        // Beyond: 100, 95 (5 fewer), 90 (10 fewer), 90, 70. With and without: the third differs by 5 and 5.
        let points = [
            [100.0, 40.0, 90.0],
            [95.0, 39.0, 94.0],
            [90.0, 35.0, 95.0],
            [90.0, 35.0, 95.0],
            [70.0, 30.0, 110.0],
        ];
        let mut table = grid(&points);
        let emptied = leave_out(&mut table, 10);
        let shown = |column: &str| table.iter().map(|row| row.real(column).is_some()).collect::<Vec<_>>();
        assert_eq!(shown("share_beyond"), [true, false, true, true, true]);
        assert_eq!(shown("share_lower"), shown("share_beyond"));
        assert_eq!(shown("reclassified"), shown("share_beyond"));
        assert_eq!(shown("sensitivity"), [true, false, false, false, true]);
        assert_eq!(shown("specificity"), shown("sensitivity"));
        assert_eq!(emptied, 2 + 2 * 3);
        let second = table.iter().nth(1).expect("a row");
        assert_eq!(
            second.text("share_withheld"),
            "fewer than 10 people between it and the last threshold shown"
        );
        assert!(table.iter().next().expect("a row").text("share_withheld").is_empty());
    }

    #[test]
    fn nobody_and_enough_are_far_enough() {
        let of = |people: f64| far_enough(0.5, 0.5 + people / 200.0, 200.0, 10);
        assert_eq!([0.0, 1.0, 9.0, 10.0, 11.0].map(of), [true, false, false, true, true]);
    }
}
