//! Which counts of a table are left out: the small ones, then as many beside them as it takes.

use std::collections::BTreeSet;

use super::partition::{self, Line};
use crate::table::{Cell, Kind, Table};

/// A count and the counts that add up to it. What they leave over counts as one more where `rest` is true.
struct Sum {
    whole: &'static str,
    parts: &'static [&'static str],
    rest: bool,
}

/// Sums within one row of any table that has their columns.
const SUMS: &[Sum] = &[
    Sum { whole: "n", parts: &["n_with", "n_without"], rest: false },
    Sum { whole: "n", parts: &["n_yes", "n_no", "n_unknown"], rest: false },
    Sum { whole: "n_item_unknown", parts: &["decided_yes", "decided_no", "undecided"], rest: false },
    Sum { whole: "n", parts: &["missing"], rest: true },
    Sum { whole: "n", parts: &["at_fill"], rest: true },
    Sum { whole: "n", parts: &["below_limit"], rest: true },
    Sum { whole: "n", parts: &["top_coded"], rest: true },
    Sum { whole: "read", parts: &["read_at_fill"], rest: true },
    Sum { whole: "people", parts: &["converted"], rest: true },
    Sum { whole: "people", parts: &["floored"], rest: true },
    Sum { whole: "people", parts: &["lost"], rest: true },
    Sum { whole: "n", parts: &["converted"], rest: true },
    Sum { whole: "n", parts: &["floored"], rest: true },
    Sum { whole: "n", parts: &["n_item_unknown"], rest: true },
];
/// Where a table does not print people without the outcome, they are the rest of its people.
const WITH_ALONE: Sum = Sum { whole: "n", parts: &["n_with"], rest: true };

/// A cell: row and column.
type Place = (usize, usize);

/// The counts that are left out.
pub(super) struct Hidden {
    names: Vec<&'static str>,
    /// For each row, what stands in each of its counts.
    counts: Vec<Vec<Option<i64>>>,
    places: BTreeSet<Place>,
    /// How many of them are small themselves.
    pub small: usize,
    /// Rows about few people.
    of_few: Vec<bool>,
    limit: i64,
}

impl Hidden {
    /// Hides every small count, and those of rows that are left out `elsewhere`, then goes over rows and groups until none can
    /// be worked out.
    pub(super) fn find(table: &Table, (of_few, elsewhere): (&[bool], &[bool]), limit: i64) -> Self {
        let is_count = |c: &&crate::table::Column| c.kind == Kind::Integer && c.unit == "people";
        let names: Vec<&'static str> = table.columns.iter().filter(is_count).map(|c| c.name).collect();
        let places: Vec<usize> = names.iter().filter_map(|name| table.position(name)).collect();
        let count = |row: &Vec<Cell>, at: &usize| match row[*at] {
            Cell::Integer(count) => Some(count),
            _ => None,
        };
        let counts: Vec<Vec<Option<i64>>> =
            table.rows.iter().map(|row| places.iter().map(|at| count(row, at)).collect()).collect();
        let of_few = of_few.to_vec();
        let mut found = Self { names, counts, places: BTreeSet::new(), of_few, small: 0, limit };
        found.hide_small();
        found.hide_rows(elsewhere);
        let lines = partition::lines(table);
        let mut before = usize::MAX;
        while before != found.places.len() {
            before = found.places.len();
            (0..found.counts.len()).for_each(|row| found.close_row(row));
            for line in &lines {
                (0..found.names.len()).for_each(|column| found.close_line(line, column));
            }
        }
        found
    }

    pub(super) fn any(&self, row: usize) -> bool {
        self.places.range((row, 0)..(row + 1, 0)).next().is_some()
    }

    /// Whether a count of the row is small itself.
    pub(super) fn any_small(&self, row: usize) -> bool {
        self.of_few[row] || self.counts[row].iter().flatten().any(|count| self.is_small(*count))
    }

    /// Whether a row is about few people.
    pub(super) fn of_few(&self, row: usize) -> bool {
        self.of_few[row]
    }

    /// Whether this count is small itself.
    pub(super) fn small_at(&self, row: usize, column: &str) -> bool {
        let at = self.names.iter().position(|name| *name == column);
        at.and_then(|at| self.counts[row][at]).is_some_and(|count| self.is_small(count))
    }

    pub(super) fn is(&self, row: usize, column: &str) -> bool {
        self.names.iter().position(|name| *name == column).is_some_and(|at| self.places.contains(&(row, at)))
    }

    pub(super) fn columns(&self, row: usize) -> impl Iterator<Item = &'static str> {
        self.places.range((row, 0)..(row + 1, 0)).map(|(_, column)| self.names[*column])
    }

    pub(super) fn all(&self) -> usize {
        self.places.len()
    }

    /// Nobody is as few as a few: a count of nobody tells of everybody that they are not among them.
    fn is_small(&self, count: i64) -> bool {
        (0..self.limit).contains(&count)
    }

    fn hide_small(&mut self) {
        for (row, counts) in self.counts.iter().enumerate() {
            for (column, count) in counts.iter().enumerate() {
                if count.is_some_and(|count| (0..self.limit).contains(&count)) {
                    self.places.insert((row, column));
                }
            }
        }
        self.small = self.places.len();
    }

    /// Hides every count of some rows.
    fn hide_rows(&mut self, rows: &[bool]) {
        for row in (0..rows.len()).filter(|row| rows[*row]) {
            let counted = (0..self.names.len()).filter(|column| self.counts[row][*column].is_some());
            self.places.extend(counted.map(|column| (row, column)));
        }
    }

    /// Hides what would give away a hidden count within a row.
    fn close_row(&mut self, row: usize) {
        let column = |name: &str| self.names.iter().position(|known| *known == name);
        if self.is(row, "n") {
            let rest = (0..self.names.len()).filter(|at| self.counts[row][*at].is_some());
            let rest: Vec<Place> = rest.map(|at| (row, at)).collect();
            self.places.extend(rest);
            return;
        }
        let alone = column("n_without").is_none().then_some(&WITH_ALONE);
        let sums: Vec<(usize, Vec<usize>, bool)> = SUMS
            .iter()
            .chain(alone)
            .filter_map(|sum| {
                let parts: Option<Vec<usize>> = sum.parts.iter().map(|part| column(part)).collect();
                Some((column(sum.whole)?, parts?, sum.rest))
            })
            .collect();
        for (whole, parts, rest) in sums {
            self.close_sum(row, whole, (&parts, rest));
        }
    }

    fn close_sum(&mut self, row: usize, whole: usize, (parts, rest): (&[usize], bool)) {
        let Some(total) = self.counts[row][whole].filter(|_| !self.places.contains(&(row, whole))) else {
            return;
        };
        let known: Vec<(Place, i64)> =
            parts.iter().filter_map(|at| Some(((row, *at), self.counts[row][*at]?))).collect();
        if known.len() < parts.len() {
            return;
        }
        let left = total - known.iter().map(|(_, count)| count).sum::<i64>();
        let (unprinted, people) = self.unprinted(&known);
        let tells = if rest { unprinted == 0 && self.is_small(left) } else { self.tell(unprinted, people) };
        if tells {
            self.hide_smallest(&known);
        }
    }

    /// Hides a second group where a single one of a population's groups is hidden, or too few people are in none.
    fn close_line(&mut self, line: &Line, column: usize) {
        let of = |row: &usize| self.counts[*row][column];
        let known: Vec<(Place, i64)> =
            line.groups.iter().filter_map(|row| Some(((*row, column), of(row)?))).collect();
        let missing = line.groups.len() - known.len();
        let (unprinted, people) = self.unprinted(&known);
        let total = line.whole.as_ref().and_then(of);
        let left = total.filter(|_| missing == 0).map(|all| all - known.iter().map(|(_, n)| n).sum::<i64>());
        // That nobody is in none is how groups are made, and hides no group of a variable.
        let in_none = left.filter(|left| (*left > 0 || line.nobody_is_few) && self.is_small(*left));
        let hidden = missing + unprinted + usize::from(in_none.is_some());
        // How many those are whose count is missing is not known: they may be many.
        let people = if missing > 0 { self.limit } else { people + in_none.unwrap_or(0) };
        // All groups together tell the people whom they split.
        let whole = line.whole.is_some_and(|row| self.places.contains(&(row, column)));
        let told =
            whole && hidden == usize::from(in_none.is_some()) && left.is_some_and(|left| left < self.limit);
        if told || self.tell(hidden, people) {
            self.hide_smallest(&known);
        }
    }

    /// How many of some counts are hidden, and of how many people together.
    fn unprinted(&self, known: &[(Place, i64)]) -> (usize, i64) {
        let hidden = known.iter().filter(|(place, _)| self.places.contains(place));
        hidden.fold((0, 0), |(counts, people), (_, n)| (counts + 1, people + n))
    }

    /// Whether what a sum leaves over tells the counts hidden in it: of one alone, or of people who are few together.
    fn tell(&self, hidden: usize, people: i64) -> bool {
        hidden == 1 || (hidden > 1 && self.is_small(people))
    }

    /// Hides the smallest count that is still printed.
    fn hide_smallest(&mut self, among: &[(Place, i64)]) {
        let printed = among.iter().filter(|(place, _)| !self.places.contains(place));
        if let Some((place, _)) = printed.min_by_key(|(_, n)| *n) {
            self.places.insert(*place);
        }
    }
}
