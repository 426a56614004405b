//! The participant flow: two counts that stand side by side differ by nobody or by enough people.

use super::{LeftOut, Spacing, reason};
use crate::table::schema::{EACH_INDEX, JOINED};
use crate::table::{Cell, Table};

/// Between the name of a sample and that of a source.
const OF_SAMPLE: &str = ": ";

/// Why a step is not printed that leaves enough people out itself.
const AROUND: &str = "would tell how few another step leaves out";

/// Steps that follow on each other: rows of one source whose people do not grow.
struct Chain {
    rows: Vec<usize>,
    source: String,
}

pub(super) fn leave_out(table: &mut Table, limit: i64) -> LeftOut {
    let mut left_out = LeftOut::default();
    let chains = chains(table);
    let mut shown = spaced(table, &chains, limit);
    for chain in chains.iter().filter(|chain| chain.apart()) {
        shown.extend(chain.rows.iter().filter(|row| stands_apart(table, **row, limit)));
    }
    for chain in &chains {
        for (position, row) in chain.rows.iter().enumerate() {
            let known = |row: &usize| shown.contains(row);
            let left = match left(table, *row) {
                // Of a file nobody is left out.
                0 if !chain.apart() && !chain.joined() => Left::Shown,
                left if left < limit => Left::Few,
                _ if known(row) && (chain.apart() || position == 0 || known(&chain.rows[position - 1])) => {
                    Left::Shown
                }
                _ => Left::Beside,
            };
            hide(table, *row, (known(row), left), limit, &mut left_out);
        }
    }
    left_out
}

impl Chain {
    /// Whether every step starts from the same people.
    fn apart(&self) -> bool {
        self.source.ends_with(EACH_INDEX)
    }

    /// Whether these are the steps of the joined cohort.
    fn joined(&self) -> bool {
        self.source.rsplit(OF_SAMPLE).next() == Some(JOINED)
    }

    /// The joined people before the first step.
    fn joined_before(&self, table: &Table) -> Option<i64> {
        self.rows.first().filter(|_| self.joined()).map(|row| people(table, *row) + left(table, *row))
    }

    /// The rows in the order in which they are to stay: of the joined cohort the last, then the first, then back from the
    /// last; of a file as they come.
    fn by_weight(&self) -> Vec<usize> {
        match self.rows.as_slice() {
            [first, between @ .., last] if self.joined() => {
                [last, first].into_iter().chain(between.iter().rev()).copied().collect()
            }
            rows => rows.to_vec(),
        }
    }
}

/// The steps whose people are printed, of all chains that are not apart. The joined people are known: the files that were
/// read tell them. A step that leaves nobody out is hidden as one that leaves few out.
fn spaced(table: &Table, chains: &[Chain], limit: i64) -> Vec<usize> {
    let mut spacing = Spacing::of(limit);
    for joined in chains.iter().filter_map(|chain| chain.joined_before(table)) {
        spacing.keeps(&[Some(joined as f64)]);
    }
    let (joined, files): (Vec<&Chain>, Vec<&Chain>) =
        chains.iter().filter(|chain| !chain.apart()).partition(|chain| chain.joined());
    let mut shown = Vec::new();
    for chain in joined.into_iter().chain(files) {
        let mut of_chain: Vec<i64> = chain.joined_before(table).into_iter().collect();
        for row in chain.by_weight() {
            let people = people(table, row);
            if people >= limit && !of_chain.contains(&people) && spacing.keeps(&[Some(people as f64)]) {
                of_chain.push(people);
                shown.push(row);
            }
        }
    }
    shown
}

/// Whether the people of a step that starts from the cohort may be printed: neither they nor those without are few.
fn stands_apart(table: &Table, row: usize, limit: i64) -> bool {
    ![people(table, row), left(table, row)].iter().any(|count| (0..limit).contains(count))
}

/// Whether the people whom a step leaves out may be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Left {
    Shown,
    /// They are few, or nobody.
    Few,
    /// They would tell a step beside it.
    Beside,
}

/// Empties what may not be printed at a step, and says why.
fn hide(table: &mut Table, row: usize, (here, left): (bool, Left), limit: i64, left_out: &mut LeftOut) {
    for (column, keep) in [("people", here), ("left_out", left == Left::Shown)] {
        if let Some(at) = table.position(column).filter(|_| !keep) {
            table.rows[row][at] = Cell::Missing;
            left_out.beside += 1;
        }
    }
    if left == Left::Few {
        left_out.counts += 1;
        left_out.beside -= 1;
    }
    if let Some(at) = table.position("withheld").filter(|_| !(here && left == Left::Shown)) {
        let why = if left == Left::Few { format!("{} left out", reason(limit)) } else { AROUND.to_owned() };
        table.rows[row][at] = Cell::text(why);
    }
}

fn chains(table: &Table) -> Vec<Chain> {
    let mut chains: Vec<Chain> = Vec::new();
    for row in 0..table.rows.len() {
        let source = source(table, row);
        let grows = row > 0 && people(table, row) > people(table, row - 1);
        let follows = |chain: &&mut Chain| chain.source == source && (chain.apart() || !grows);
        match chains.last_mut().filter(follows) {
            Some(chain) => chain.rows.push(row),
            None => chains.push(Chain { rows: vec![row], source }),
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
