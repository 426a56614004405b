//! Which row of one run is which row of another: told by what a row is about, not by where it stands.

use std::collections::{HashMap, VecDeque};

use csv::StringRecord;

use super::sort::Sort;
use super::tables::Grid;
use crate::table::{Kind, schema};

/// Texts that a run finds out, or that say how a number came about, besides conclusions and remarks.
const FOUND: [&str; 22] = [
    "unit",
    "stated",
    "scale",
    "knots",
    "value_interval",
    "twins",
    "built_in",
    "left_out",
    "smallest_group",
    "largest_group",
    "smallest_choice",
    "largest_choice",
    "base",
    "base_choices",
    "moved",
    "first_cycle",
    "last_cycle",
    "methods",
    "matches",
    "derived_rule",
    "derived_rule_is",
    "derived_population",
];

/// Rows that both runs have, as positions in each, and how many only one has.
pub(super) struct Matched {
    pub pairs: Vec<(usize, usize)>,
    pub only_then: usize,
    pub only_now: usize,
}

/// Pairs rows that are about the same; of several such, the first with the first.
pub(super) fn matched(table: &str, old: &Grid, new: &Grid) -> Matched {
    let both = |column: &&str| new.header.iter().any(|other| other == *column);
    let columns: Vec<&str> =
        old.header.iter().filter(both).filter(|column| identifies(table, column, &old.header)).collect();
    let mut waiting: HashMap<Vec<&str>, VecDeque<usize>> = HashMap::new();
    for (row, key) in keys(new, &columns).into_iter().enumerate() {
        waiting.entry(key).or_default().push_back(row);
    }
    let mut pairs = Vec::new();
    for (row, key) in keys(old, &columns).into_iter().enumerate() {
        let other = waiting.get_mut(&key).and_then(VecDeque::pop_front);
        pairs.extend(other.map(|other| (row, other)));
    }
    let (only_then, only_now) = (old.rows.len() - pairs.len(), new.rows.len() - pairs.len());
    Matched { pairs, only_then, only_now }
}

/// What each row is about.
fn keys<'g>(grid: &'g Grid, columns: &[&str]) -> Vec<Vec<&'g str>> {
    let places: Vec<usize> = columns.iter().filter_map(|column| grid.place(column)).collect();
    grid.rows.iter().map(|row| places.iter().map(|place| &row[*place]).collect()).collect()
}

/// Whether a column says what a row is about: texts that are no result, and the numbers that a row is asked for.
pub(super) fn identifies(table: &str, column: &str, header: &StringRecord) -> bool {
    let has = |name: &str| header.iter().any(|other| other == name);
    match column {
        "threshold" | "threshold_probability" => true,
        // Beside a share it is where the threshold sits.
        "percentile" => !has("share_beyond"),
        // Of a bin it is the mean of its people.
        "x" => !has("from"),
        "cutoff" => table == "roc_points",
        "index" => table != "which_index",
        _ => {
            let shape = schema::shape(table);
            let known = shape.and_then(|shape| shape.columns.iter().find(|known| known.name == column));
            known.is_some_and(|known| known.kind == Kind::Text)
                && !FOUND.contains(&column)
                && !Sort::of(table, column).is_words()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_names_a_row_where_it_was_asked_for() {
        let header = |text: &str| StringRecord::from(text.split(',').collect::<Vec<_>>());
        let asked = header("index,percentile,value");
        let found = header("index,threshold,share_beyond,percentile");
        assert!(identifies("percentiles", "percentile", &asked));
        assert!(!identifies("percentiles", "value", &asked));
        assert!(!identifies("threshold_shares", "percentile", &found));
        assert!(identifies("threshold_shares", "threshold", &found));
        assert!(!identifies("percentiles", "withheld", &asked));
        assert!(!identifies("which_index", "index", &asked));
    }
}
