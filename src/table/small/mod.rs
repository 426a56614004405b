//! Small counts of people who may not be shown in small counts: counts below a limit, shares that stand for
//! so few, and enough beside them that they cannot be worked out by subtracting.
//!
//! It is one pass over the finished tables, before anything is drawn or written from them, so that chart,
//! page and file agree. What may be shown is rounded last. What it does not do: compare tables with each
//! other, but for groups that the table of the sample leaves out, or with what is known from elsewhere.

mod along;
mod as_counts;
mod bins;
mod coarse;
mod crossed;
mod few;
mod flow;
mod hidden;
mod partition;
mod reasons;
mod replicates;
mod sampled;
mod spacing;
mod told;
mod weighted;

use super::schema::{DEGREES, SHARE_MEASURES, ShareColumn, everybody, shares_of};
use super::{Cell, Kind, Table};

use as_counts::People;
use few::Few;
use hidden::Hidden;
use sampled::Sampled;
use spacing::Spacing;

pub use along::too_near;
pub use coarse::{rounded, rounding, step};
pub use told::told;

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

impl LeftOut {
    fn add(&mut self, more: Self) {
        self.counts += more.counts;
        self.beside += more.beside;
        self.shares += more.shares;
    }
}

/// Empties every count of 0 to `limit` − 1 people, what gives it away, and shares that stand for so few; then rounds what
/// is left, each share to one of rounded counts.
pub fn leave_out(tables: &mut [Table], limit: i64) -> LeftOut {
    let people = People::find(tables);
    let left_out = hide(tables, limit);
    as_counts::coarsen(tables, &people, limit);
    round(tables, limit);
    left_out
}

/// Empties them, and rounds nothing.
pub fn hide(tables: &mut [Table], limit: i64) -> LeftOut {
    let few = Few::find(tables, limit);
    let mut all = LeftOut::default();
    let nowhere = Sampled::default();
    for table in tables.iter_mut().filter(|table| table.name == sampled::SAMPLE) {
        all.add(hide_one(table, (&few, &nowhere), limit));
    }
    let sampled = Sampled::find(tables, limit);
    for table in tables.iter_mut().filter(|table| table.name != sampled::SAMPLE) {
        all.add(hide_one(table, (&few, &sampled), limit));
    }
    all
}

fn hide_one(table: &mut Table, (few, sampled): (&Few, &Sampled), limit: i64) -> LeftOut {
    let left_out = match table.name {
        "participant_flow" => flow::leave_out(table, limit),
        bins::DISTRIBUTIONS => LeftOut { shares: bins::leave_out(table), ..LeftOut::default() },
        _ => of_table(table, (&few.rows(table), &sampled.rows(table)), limit),
    };
    replicates::leave_out(table);
    left_out
}

/// Rounds counts, shares and values.
pub fn round(tables: &mut [Table], limit: i64) {
    for table in tables {
        coarse::round(table, limit);
    }
}

/// Text of the column that says why a number is not printed.
#[must_use]
pub fn reason(limit: i64) -> String {
    format!("fewer than {limit} people")
}

/// The same for a share.
#[must_use]
pub fn reason_of_share(limit: i64) -> String {
    format!("stands for or leaves out {}", reason(limit))
}

/// Goes over a table until no count is left out that the others would tell. `of_few`: which rows are about so few people
/// that nothing is said of them; `elsewhere`: which are about people whose count another table leaves out.
fn of_table(table: &mut Table, (of_few, elsewhere): (&[bool], &[bool]), limit: i64) -> LeftOut {
    let mut all = LeftOut::default();
    loop {
        let one = counts_and_shares(table, (of_few, elsewhere), limit);
        let near = along::leave_out(table, limit);
        all.add(LeftOut { shares: one.shares + near, ..one });
        if near == 0 {
            return all;
        }
    }
}

fn counts_and_shares(table: &mut Table, (of_few, elsewhere): (&[bool], &[bool]), limit: i64) -> LeftOut {
    let hidden = Hidden::find(table, (of_few, elsewhere), limit);
    let shares = small_shares(table, &hidden, limit);
    for (row, share) in &shares {
        let why = if few(table, (*row, share), limit) {
            reason_of_share(limit)
        } else {
            beside(&hidden, (*row, share), limit)
        };
        empty_share(table, *row, share, why);
    }
    for (row, of_few) in of_few.iter().enumerate() {
        if hidden.any(row) {
            empty_counts(table, &hidden, row, limit);
        }
        // Where n is not printed, neither is what tells it.
        if table.position("n").is_some_and(|at| table.rows[row][at] == Cell::Missing) {
            empty_what_tells_n(table, row);
        }
        empty_few_degrees(table, row, limit);
        reasons::say_few(table, row, *of_few, limit);
    }
    let more = crossed::leave_out(table, limit);
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
fn measured<'t>(table: &'t Table, row: usize, column: &str) -> Option<&'t str> {
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
fn few(table: &Table, (row, share): (usize, &ShareColumn), limit: i64) -> bool {
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
fn whole(table: &Table, column: &str) -> f64 {
    let unit = table.columns.iter().find(|known| known.name == column).map_or("", |known| known.unit);
    everybody(table.name, unit)
}

/// Whether a share of people, or its complement, is of fewer than `limit` of them; nobody is as few as a few.
#[must_use]
pub fn stands_for_few(share: f64, people: f64, limit: i64) -> bool {
    let counts = [share * people, (1.0 - share) * people];
    counts.iter().any(|count| *count < limit as f64 - 0.5)
}

fn real(table: &Table, row: usize, column: &str) -> Option<f64> {
    match table.position(column).map(|at| &table.rows[row][at]) {
        Some(Cell::Real(value)) => Some(*value),
        Some(Cell::Integer(value)) => Some(*value as f64),
        _ => None,
    }
}

/// Why a share is left out that stands for enough people: it is of few, or a count beside it is small.
fn beside(hidden: &Hidden, (row, share): (usize, &ShareColumn), limit: i64) -> String {
    let mut own = [share.counted, Some(share.of)].into_iter().flatten();
    let few = hidden.of_few(row) || own.any(|column| hidden.small_at(row, column));
    if few { reason_of_share(limit) } else { BESIDE.to_owned() }
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

/// Empties the number of a row that says what it measures, whether that is a share or not.
fn empty_value(table: &mut Table, row: usize, why: String) {
    if let Some(share) = shares_of(table.name).find(|share| share.column == "value") {
        empty_share(table, row, share, why);
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

/// Empties degrees of freedom that are few: where people are drawn one by one they are their number less one.
fn empty_few_degrees(table: &mut Table, row: usize, limit: i64) {
    for column in DEGREES {
        if real(table, row, column).is_some_and(|df| df + 1.0 < limit as f64) {
            empty(table, row, column);
        }
    }
}

/// Empties the hidden counts of a row and what else tells how many people it has.
fn empty_counts(table: &mut Table, hidden: &Hidden, row: usize, limit: i64) {
    let counts: Vec<&'static str> = hidden.columns(row).collect();
    for column in &counts {
        empty(table, row, column);
    }
    // Degrees of freedom tell how many they are.
    empty(table, row, "df");
    let Some(at) = table.position("notices") else { return };
    let said = if hidden.any_small(row) {
        format!("{LEFT_OUT} {limit} people are left out")
    } else {
        format!("counts are {BESIDE}")
    };
    table.rows[row][at] = match &table.rows[row][at] {
        Cell::Text(before) if before.contains(&said) => return,
        Cell::Text(before) => Cell::text(format!("{before}; {said}")),
        _ => Cell::text(said),
    };
}

fn empty(table: &mut Table, row: usize, column: &str) {
    if let Some(at) = table.position(column) {
        table.rows[row][at] = Cell::Missing;
    }
}
