//! Small counts of people who may not be shown in small counts: counts below a limit, shares that stand for
//! so few, and enough beside them that they cannot be worked out by subtracting.
//!
//! It is one pass over the finished tables, before anything is drawn or written from them, so that chart,
//! page and file agree. What it does not do: compare tables with each other, or with what is known
//! from elsewhere.

mod claim;
mod curve;
mod flow;
mod hidden;
mod partition;

use super::schema::{SHARE_MEASURES, ShareColumn, shares_of};
use super::{Cell, Kind, Table};

use hidden::Hidden;

pub use curve::Spacing;

/// How the remark on a row begins whose counts are left out.
pub const LEFT_OUT: &str = "counts that would show fewer than";

/// Why a number is not printed that stands for enough people itself.
pub const BESIDE: &str = "left out so that a small count beside it cannot be worked out";

/// What was left out of the tables.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LeftOut {
    /// Counts below the limit.
    pub counts: usize,
    /// Counts from which those could be worked out.
    pub beside: usize,
    /// Shares that stand for fewer people than the limit, or for a count that is left out.
    pub shares: usize,
}

/// Empties every count of 1 to `limit` − 1 people, what gives it away, and shares that stand for so few.
pub fn leave_out(tables: &mut [Table], limit: i64) -> LeftOut {
    let mut all = LeftOut::default();
    for table in tables {
        let one = if table.name == "participant_flow" {
            flow::leave_out(table, limit)
        } else {
            of_table(table, limit)
        };
        all.counts += one.counts;
        all.beside += one.beside;
        all.shares += one.shares;
    }
    all
}

/// Text of the column that says why a number is not printed.
#[must_use]
pub fn reason(limit: i64) -> String {
    format!("fewer than {limit} people")
}

/// The same for a share: of people who are on one side of a threshold, or whose label changes.
fn reason_of(share: &ShareColumn, limit: i64) -> String {
    match share.column {
        "reclassified" => format!("{} would change", reason(limit)),
        _ => format!("stands for {}", reason(limit)),
    }
}

fn of_table(table: &mut Table, limit: i64) -> LeftOut {
    let hidden = Hidden::find(table, limit);
    let shares = small_shares(table, &hidden, limit);
    for (row, share) in &shares {
        let why = if few(table, (*row, share), limit) {
            reason_of(share, limit)
        } else {
            beside(&hidden, *row, limit)
        };
        empty_share(table, *row, share, why);
    }
    for row in 0..table.rows.len() {
        if hidden.any(row) {
            empty_counts(table, &hidden, row, limit);
        }
        // Where n is not printed, neither is what tells it.
        if table.position("n").is_some_and(|at| table.rows[row][at] == Cell::Missing) {
            empty_what_tells_n(table, row);
        }
    }
    let more = match table.name {
        curve::ALONG_THRESHOLDS => curve::leave_out(table, limit),
        claim::CLAIM => claim::leave_out(table, limit),
        _ => 0,
    };
    LeftOut { counts: hidden.small, beside: hidden.all() - hidden.small, shares: shares.len() + more }
}

/// The shares that give a small count away.
fn small_shares(table: &Table, hidden: &Hidden, limit: i64) -> Vec<(usize, &'static ShareColumn)> {
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
fn is_share(table: &Table, row: usize) -> bool {
    let measure = |column: &str| match table.position(column).map(|at| &table.rows[row][at]) {
        Some(Cell::Text(measure)) => Some(measure.as_str()),
        _ => None,
    };
    let by_method = (table.name == "assay_routes").then_some("method");
    let said = measure(by_method.unwrap_or("measure"));
    if table.name == claim::CLAIM && said == Some("percentile") {
        return true;
    }
    // In the table of who is in the sample only medians are no shares.
    let median = table.name == "sample" && measure("level") == Some("median");
    !median && said.is_none_or(|measure| SHARE_MEASURES.contains(&measure))
}

/// Whether the count that a share stands for is left out.
fn gives_away(table: &Table, hidden: &Hidden, (row, share): (usize, &ShareColumn)) -> bool {
    let printed = real(table, row, share.column).is_some();
    printed && [share.counted, Some(share.of)].into_iter().flatten().any(|column| hidden.is(row, column))
}

/// Whether a share, or what is left of it, stands for fewer people than the limit.
fn few(table: &Table, (row, share): (usize, &ShareColumn), limit: i64) -> bool {
    let Some((value, people)) = real(table, row, share.column).zip(real(table, row, share.of)) else {
        return false;
    };
    let percent = is_percent(table, share.column)
        || table.name == "standardised_values"
        || matches!(share.table, "assay_routes" | "trend_cycles" | claim::CLAIM);
    stands_for_few(if percent { value / 100.0 } else { value }, people, limit)
}

/// Whether a column is in per cent, and not in parts of one.
fn is_percent(table: &Table, column: &str) -> bool {
    table.columns.iter().any(|known| known.name == column && known.unit == "%")
}

/// Whether a share of people, or its complement, is of more than nobody and fewer than `limit` of them.
#[must_use]
pub fn stands_for_few(share: f64, people: f64, limit: i64) -> bool {
    let counts = [share * people, (1.0 - share) * people];
    counts.iter().any(|count| (0.5..limit as f64 - 0.5).contains(count))
}

fn real(table: &Table, row: usize, column: &str) -> Option<f64> {
    match table.position(column).map(|at| &table.rows[row][at]) {
        Some(Cell::Real(value)) => Some(*value),
        Some(Cell::Integer(value)) => Some(*value as f64),
        _ => None,
    }
}

/// Why a share is left out that stands for enough people: its row has a small count, or only one beside it has.
fn beside(hidden: &Hidden, row: usize, limit: i64) -> String {
    if hidden.any_small(row) { format!("stands for fewer than {limit} people") } else { BESIDE.to_owned() }
}

fn empty_share(table: &mut Table, row: usize, share: &ShareColumn, why: String) {
    for column in share.with.iter().chain([&share.column]) {
        empty(table, row, column);
    }
    if let Some(at) = table.position(share.reason)
        && table.rows[row][at] == Cell::Missing
    {
        table.rows[row][at] = Cell::text(why);
    }
}

/// Empties what says how many people a row has, whatever it says of them.
fn empty_what_tells_n(table: &mut Table, row: usize) {
    let in_people = |c: &&super::Column| c.kind == Kind::Real && c.unit == "people";
    let columns: Vec<&str> = table.columns.iter().filter(in_people).map(|c| c.name).collect();
    for column in columns.into_iter().chain(["df"]) {
        empty(table, row, column);
    }
}

/// Empties the hidden counts of a row and what else tells how many people it has.
fn empty_counts(table: &mut Table, hidden: &Hidden, row: usize, limit: i64) {
    let counts: Vec<&'static str> = hidden.columns(row).collect();
    for column in &counts {
        empty(table, row, column);
    }
    // Where people are drawn one by one the degrees of freedom are their number less one.
    empty(table, row, "df");
    let Some(at) = table.position("notices") else { return };
    let said = if hidden.any_small(row) {
        format!("{LEFT_OUT} {limit} people are left out")
    } else {
        format!("counts are {BESIDE}")
    };
    table.rows[row][at] = match &table.rows[row][at] {
        Cell::Text(before) => Cell::text(format!("{before}; {said}")),
        _ => Cell::text(said),
    };
}

fn empty(table: &mut Table, row: usize, column: &str) {
    if let Some(at) = table.position(column) {
        table.rows[row][at] = Cell::Missing;
    }
}
