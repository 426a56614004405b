//! Small counts of people who may not be shown in small counts: counts below a limit, shares that stand for
//! so few, and enough beside them that they cannot be worked out by subtracting.
//!
//! It is one pass over the finished tables, before anything is drawn or written from them, so that chart,
//! page and file agree. Of people whose count is left out no estimate is told either, in any table. What may be
//! shown is rounded last. What it does not do: compare groups of several groupings with each other, or tables with what
//! is known from elsewhere.

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
mod shares;
mod silent;
mod spacing;
mod told;
mod unsaid;
mod weighted;

use super::schema::DEGREES;
use super::{Cell, Kind, Table};

use as_counts::People;
use few::Few;
use hidden::Hidden;
use shares::{beside, empty_share, empty_value, is_share, measured, small_shares, whole};
use spacing::Spacing;
use unsaid::{SAMPLE, Unsaid};

pub use along::too_near;
pub use coarse::{rounded, rounding, step};
pub use shares::stands_for_few;
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

/// Empties every count of 0 to `limit` − 1 people, what gives it away, shares that stand for so few, and every estimate
/// about people who are not counted; then rounds what is left, each share to one of rounded counts.
pub fn leave_out(tables: &mut [Table], limit: i64) -> LeftOut {
    hide_and_round(tables, &mut Unsaid::default(), limit)
}

/// The same of several samples, and then of tables that set them side by side: of whom any of them says nothing those say
/// nothing either.
pub fn leave_out_of_samples(
    samples: &mut [&mut Vec<Table>],
    across: &mut [Table],
    limit: i64,
) -> Vec<LeftOut> {
    let mut of_all = Unsaid::default();
    let mut left_out = Vec::new();
    for tables in samples {
        let mut unsaid = Unsaid::default();
        left_out.push(hide_and_round(tables, &mut unsaid, limit));
        of_all.add(unsaid);
    }
    hide_and_round(across, &mut of_all, limit);
    left_out
}

fn hide_and_round(tables: &mut [Table], unsaid: &mut Unsaid, limit: i64) -> LeftOut {
    let people = People::find(tables);
    let left_out = hide_beside(tables, unsaid, limit);
    as_counts::coarsen(tables, &people, limit);
    round(tables, limit);
    left_out
}

/// Empties them, and rounds nothing.
pub fn hide(tables: &mut [Table], limit: i64) -> LeftOut {
    hide_beside(tables, &mut Unsaid::default(), limit)
}

/// Empties them, and what is known to be said of nowhere, to which it adds.
fn hide_beside(tables: &mut [Table], unsaid: &mut Unsaid, limit: i64) -> LeftOut {
    let few = Few::find(tables, limit);
    let mut all = LeftOut::default();
    for table in tables.iter_mut().filter(|table| table.name == SAMPLE) {
        all.add(hide_one(table, (&few, &Unsaid::default()), limit));
    }
    unsaid.add(Unsaid::find(tables, &few, limit));
    for table in tables.iter_mut().filter(|table| table.name != SAMPLE) {
        all.add(hide_one(table, (&few, unsaid), limit));
    }
    all
}

fn hide_one(table: &mut Table, (few, unsaid): (&Few, &Unsaid), limit: i64) -> LeftOut {
    let elsewhere = unsaid.rows(table);
    let left_out = match table.name {
        "participant_flow" => flow::leave_out(table, limit),
        bins::DISTRIBUTIONS => LeftOut { shares: bins::leave_out(table, &elsewhere), ..LeftOut::default() },
        _ => of_table(table, (&few.rows(table), &elsewhere), limit),
    };
    silent::leave_points_out(table, &elsewhere);
    silent::leave_derived_out(table, unsaid);
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
        let why = if shares::few(table, (*row, share), limit) {
            reason_of_share(limit)
        } else {
            beside(&hidden, (*row, share), limit)
        };
        empty_share(table, *row, share, why);
    }
    silent::leave_out(table, &hidden, (of_few, elsewhere), limit);
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

fn real(table: &Table, row: usize, column: &str) -> Option<f64> {
    match table.position(column).map(|at| &table.rows[row][at]) {
        Some(Cell::Real(value)) => Some(*value),
        Some(Cell::Integer(value)) => Some(*value as f64),
        _ => None,
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

/// Empties degrees of freedom that are few: where people are drawn one by one they are their number less one, and one
/// digit of them would tell it.
fn empty_few_degrees(table: &mut Table, row: usize, limit: i64) {
    for column in DEGREES {
        if real(table, row, column).is_some_and(|df| df < limit as f64) {
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
