//! Rows about people whose count is left out: no number about them is told, and one reason is.

use super::hidden::Hidden;
use super::unsaid::{FINDS_INDEX, SAMPLE, Unsaid};
use super::{BESIDE, LEFT_OUT, crossed, empty, reason};
use crate::table::schema::{Precision, precision};
use crate::table::{Cell, Kind, Table};

/// Columns that count the people of a row, or of whom it is compared with.
const COUNTED: [&str; 3] = ["n", "other_n", "n_other"];
/// Numbers of groups, choices and replicates: they belong to what is found.
const OF_FOUND: [&str; 8] =
    ["compared", "df1", "groups", "groups_left_out", "replicates", "replicates_failed", "shown", "within"];
/// Where on a curve or an axis something stands, as it was asked.
const PLACES: [&str; 4] = ["below", "from", "to", "x"];
/// Texts that say what is found.
const SAID: [&str; 14] = [
    "advice",
    "built_in",
    "conclusion",
    "interval",
    "knots",
    "largest_choice",
    "largest_group",
    "left_out",
    "lower_indices",
    "moved",
    "not_distinguishable",
    "smallest_choice",
    "smallest_group",
    "twins",
];
/// Points of a curve, which have no place for a reason.
const POINTS: &str = "roc_points";
/// A cutoff that is derived from another population than a row is about, and what is told of it.
const DERIVED: (&str, [&str; 4]) =
    ("derived_population", ["derived", "derived_lower", "derived_upper", "ratio"]);
const DERIVED_WITHHELD: &str = "derived_withheld";

/// Empties the rows whose people are left out, here or elsewhere.
pub(super) fn leave_out(
    table: &mut Table,
    hidden: &Hidden,
    (of_few, elsewhere): (&[bool], &[bool]),
    limit: i64,
) {
    let by_group = table.position("group").is_some() || table.name == SAMPLE;
    let measured: Vec<bool> = table.iter().map(|row| crossed::is_measured(table, &row)).collect();
    let of_blocks = crossed::without_people(table, hidden);
    for row in 0..table.rows.len() {
        let uncounted = by_group && COUNTED.iter().any(|column| hidden.is(row, column));
        let own = !measured[row] && (uncounted || of_few[row]);
        if own || elsewhere[row] || of_blocks.contains(&row) {
            say_nothing(table, row, &if of_few[row] { reason(limit) } else { BESIDE.to_owned() });
        }
    }
}

/// Takes out the points of curves of such people.
pub(super) fn leave_points_out(table: &mut Table, elsewhere: &[bool]) {
    if table.name == POINTS {
        let mut left_out = elsewhere.iter();
        table.rows.retain(|_| left_out.next() != Some(&true));
    }
}

/// Empties what is derived from such people of another population.
pub(super) fn leave_derived_out(table: &mut Table, unsaid: &Unsaid) {
    let (population, numbers) = DERIVED;
    if table.position(population).is_none() {
        return;
    }
    for (row, _) in unsaid.derived(table, population).iter().enumerate().filter(|(_, unsaid)| **unsaid) {
        for column in numbers {
            empty(table, row, column);
        }
        if let Some(at) = table.position(DERIVED_WITHHELD) {
            table.rows[row][at] = Cell::text(BESIDE);
        }
    }
}

fn say_nothing(table: &mut Table, row: usize, why: &str) {
    for (at, column) in table.columns.iter().enumerate() {
        let found = match column.kind {
            Kind::Text => SAID.contains(&column.name) || (table.name, column.name) == (FINDS_INDEX, "index"),
            _ => match precision(table.name, column) {
                Some(Precision::Stated) => OF_FOUND.contains(&column.name),
                Some(Precision::Digits(_)) => !PLACES.contains(&column.name),
                _ => true,
            },
        };
        let cell = &mut table.rows[row][at];
        if is_reason(column.name) {
            *cell = Cell::text(why);
        } else if column.name == "notices" {
            *cell = of_counts(cell);
        } else if found {
            *cell = Cell::Missing;
        }
    }
}

/// Of the remarks on a row those that its counts are left out.
fn of_counts(remarks: &Cell) -> Cell {
    let Cell::Text(said) = remarks else { return Cell::Missing };
    let of_counts = |one: &&str| one.contains(LEFT_OUT) || one.contains(BESIDE);
    Cell::text(said.split("; ").filter(of_counts).collect::<Vec<_>>().join("; "))
}

/// Whether a column says why something is not printed.
pub(super) fn is_reason(column: &str) -> bool {
    column == "withheld" || column.ends_with("_withheld")
}
