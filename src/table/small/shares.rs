//! Shares of people: which of them give a small count away, and why they are left out.

use super::hidden::Hidden;
use super::{BESIDE, crossed, empty, real, reason_of_share};
use crate::table::schema::{SHARE_MEASURES, ShareColumn, everybody, shares_of};
use crate::table::{Cell, Table};

/// The shares that give a small count away.
pub(super) fn small_shares(table: &Table, hidden: &Hidden, limit: i64) -> Vec<(usize, &'static ShareColumn)> {
    let mut found = Vec::new();
    for share in shares_of(table.name) {
        for row in 0..table.rows.len() {
            if is_share(table, row)
                && (gives_away(table, hidden, (row, share)) || few(table, (row, share), limit))
            {
                found.push((row, share));
            }
        }
    }
    found
}

/// Whether the value of a row is a share, in a table whose rows say what they measure.
pub(super) fn is_share(table: &Table, row: usize) -> bool {
    let by_method = (table.name == "assay_routes").then_some("method");
    let said = measured(table, row, by_method.unwrap_or("measure"));
    if table.name == crossed::CLAIM && said == Some("percentile") {
        return true;
    }
    // In the table of who is in the sample only medians are no shares.
    let median = table.name == "sample" && measured(table, row, "level") == Some("median");
    !median && said.is_none_or(|measure| SHARE_MEASURES.contains(&measure))
}

/// What a row measures, or by what, as a column says.
pub(super) fn measured<'t>(table: &'t Table, row: usize, column: &str) -> Option<&'t str> {
    match table.position(column).map(|at| &table.rows[row][at]) {
        Some(Cell::Text(measure)) => Some(measure),
        _ => None,
    }
}

/// Whether the count that a share stands for is left out.
fn gives_away(table: &Table, hidden: &Hidden, (row, share): (usize, &ShareColumn)) -> bool {
    let printed = real(table, row, share.column).is_some();
    printed && [share.counted, Some(share.of)].into_iter().flatten().any(|column| hidden.is(row, column))
}

/// Whether a share, or what is left of it, stands for fewer people than the limit.
pub(super) fn few(table: &Table, (row, share): (usize, &ShareColumn), limit: i64) -> bool {
    let Some((value, people)) = real(table, row, share.column).zip(real(table, row, share.of)) else {
        return false;
    };
    !of_a_pair(table, (row, share), value)
        && stands_for_few(value / whole(table, share.column), people, limit)
}

/// Whether a share is 0 because another of its row is not: people cross a cutoff that moves in one direction only.
fn of_a_pair(table: &Table, (row, share): (usize, &ShareColumn), value: f64) -> bool {
    let other = |column: &&&str| shares_of(table.name).any(|known| known.column == **column);
    value == 0.0 && share.with.iter().filter(other).any(|column| real(table, row, column) > Some(0.0))
}

/// What a share of everybody is in a column: 100 in per cent, else 1.
pub(super) fn whole(table: &Table, column: &str) -> f64 {
    let unit = table.columns.iter().find(|known| known.name == column).map_or("", |known| known.unit);
    everybody(table.name, unit)
}

/// Whether a share of people, or its complement, is of fewer than `limit` of them; nobody is as few as a few.
#[must_use]
pub fn stands_for_few(share: f64, people: f64, limit: i64) -> bool {
    let counts = [share * people, (1.0 - share) * people];
    counts.iter().any(|count| *count < limit as f64 - 0.5)
}

/// Why a share is left out that stands for enough people: it is of few, or a count beside it is small.
pub(super) fn beside(hidden: &Hidden, (row, share): (usize, &ShareColumn), limit: i64) -> String {
    let mut own = [share.counted, Some(share.of)].into_iter().flatten();
    let few = hidden.of_few(row) || own.any(|column| hidden.small_at(row, column));
    if few { reason_of_share(limit) } else { BESIDE.to_owned() }
}

pub(super) fn empty_share(table: &mut Table, row: usize, share: &ShareColumn, why: String) {
    for column in share.with.iter().chain([&share.column]) {
        empty(table, row, column);
    }
    if let Some(at) = table.position(share.reason)
        && table.rows[row][at] == Cell::Missing
    {
        table.rows[row][at] = Cell::text(why);
    }
}

/// Empties the number of a row that says what it measures, whether that is a share or not.
pub(super) fn empty_value(table: &mut Table, row: usize, why: String) {
    if let Some(share) = shares_of(table.name).find(|share| share.column == "value") {
        empty_share(table, row, share, why);
    }
}
