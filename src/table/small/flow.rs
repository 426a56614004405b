//! The participant flow: a count at a step is left out where subtracting it from another would show few people.

use super::{LeftOut, reason};
use crate::table::schema::EACH_INDEX;
use crate::table::{Cell, Table};

/// Steps that follow on each other, each with the people left.
struct Chain {
    rows: Vec<usize>,
}

pub(super) fn leave_out(table: &mut Table, limit: i64) -> LeftOut {
    let small = |count: i64| (1..limit).contains(&count);
    let mut left_out = LeftOut::default();
    let mut printed: Option<i64> = None;
    for chain in chains(table) {
        let shown = if chain.apart(table) {
            chain
                .rows
                .iter()
                .filter(|row| !printed.is_some_and(|all| small(all - people(table, **row))))
                .copied()
                .collect()
        } else {
            chain.shown(table, &small)
        };
        for (position, row) in chain.rows.iter().enumerate() {
            let here = shown.contains(row);
            let before = chain.apart(table) || position == 0 || shown.contains(&chain.rows[position - 1]);
            hide(table, *row, (here, before), limit, &mut left_out);
        }
        printed = chain.rows.last().map(|row| people(table, *row)).filter(|n| *n >= 0);
    }
    left_out
}

impl Chain {
    /// Whether every step starts from the same people.
    fn apart(&self, table: &Table) -> bool {
        self.rows.first().is_some_and(|row| source(table, *row).ends_with(EACH_INDEX))
    }

    /// The steps whose people are printed: the last, then backwards those far enough from the next printed one.
    fn shown(&self, table: &Table, small: &dyn Fn(i64) -> bool) -> Vec<usize> {
        let mut shown: Vec<usize> = Vec::new();
        for row in self.rows.iter().rev() {
            let n = people(table, *row);
            let next = shown.last().map(|next| people(table, *next));
            if !small(n) && !next.is_some_and(|next| small(n - next)) {
                shown.push(*row);
            }
        }
        shown
    }
}

/// Empties what may not be printed at a step, and says why.
fn hide(table: &mut Table, row: usize, (here, before): (bool, bool), limit: i64, left_out: &mut LeftOut) {
    let few = left(table, row);
    let few_left = (1..limit).contains(&few);
    let keep_left = !few_left && (few == 0 || (here && before));
    for (column, keep) in [("people", here), ("left_out", keep_left)] {
        if let Some(at) = table.position(column).filter(|_| !keep) {
            table.rows[row][at] = Cell::Missing;
            left_out.beside += 1;
        }
    }
    if few_left {
        left_out.counts += 1;
        left_out.beside -= 1;
    }
    if let Some(at) = table.position("withheld").filter(|_| !(here && keep_left)) {
        let why = if few_left {
            format!("{} left out", reason(limit))
        } else {
            "would show a step of so few".to_owned()
        };
        table.rows[row][at] = Cell::text(why);
    }
}

/// Runs of rows of one source whose people do not grow.
fn chains(table: &Table) -> Vec<Chain> {
    let mut chains: Vec<Chain> = Vec::new();
    for row in 0..table.rows.len() {
        let follows = row > 0
            && source(table, row) == source(table, row - 1)
            && (source(table, row).ends_with(EACH_INDEX) || people(table, row) <= people(table, row - 1));
        match chains.last_mut().filter(|_| follows) {
            Some(chain) => chain.rows.push(row),
            None => chains.push(Chain { rows: vec![row] }),
        }
    }
    chains
}

fn source(table: &Table, row: usize) -> String {
    match table.position("source").map(|at| &table.rows[row][at]) {
        Some(Cell::Text(source)) => source.clone(),
        _ => String::new(),
    }
}

fn people(table: &Table, row: usize) -> i64 {
    count(table, row, "people")
}

fn left(table: &Table, row: usize) -> i64 {
    count(table, row, "left_out").max(0)
}

/// A count, or −1 where there is none.
fn count(table: &Table, row: usize, column: &str) -> i64 {
    match table.position(column).map(|at| &table.rows[row][at]) {
        Some(Cell::Integer(count)) => *count,
        _ => -1,
    }
}
