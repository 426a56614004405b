//! A look at the first rows of a table, to guess what its columns mean.

use std::path::Path;

use super::raw::{Cells, RawTable, parse_number};
use super::{SourceError, file};
use crate::study::Seen;

/// Rows that are looked at.
const ROWS: usize = 2_000;
/// A column with more distinct values than this has no codes.
const MOST_CODES: usize = 12;

/// The columns of a file in their order, with the values of its first rows.
pub fn peek(path: &Path) -> Result<Vec<Seen>, SourceError> {
    let table = file::first(path, ROWS)?;
    table.columns.iter().map(|(name, _)| seen(&table, name)).collect()
}

fn seen(table: &RawTable, name: &str) -> Result<Seen, SourceError> {
    let cells = table.columns.iter().find(|(column, _)| column == name).map(|(_, cells)| cells);
    let mut numbers: Vec<f64> = match cells {
        Some(Cells::Numbers(numbers)) => numbers.iter().flatten().collect(),
        Some(Cells::Texts(texts)) => texts.iter().flatten().filter_map(parse_number).collect(),
        None => Vec::new(),
    };
    let texts = table.texts(name, &[])?;
    let present = texts.iter().flatten().count();
    let mut values: Vec<String> = Vec::new();
    for text in texts.iter().flatten() {
        if !values.iter().any(|known| known == text) {
            values.push(text.to_owned());
        }
        if values.len() > MOST_CODES {
            break;
        }
    }
    let all_differ = present > MOST_CODES && {
        let distinct: std::collections::BTreeSet<&str> = texts.iter().flatten().collect();
        distinct.len() == table.rows
    };
    // A few texts that mean missing do not make a column of numbers one of words.
    let is_number = present > 0 && numbers.len() * 10 >= present * 8;
    numbers.sort_by(f64::total_cmp);
    let middle = numbers.get(numbers.len() / 2).copied().filter(|_| is_number);
    let coded = values.len() <= MOST_CODES;
    values.sort();
    Ok(Seen { name: name.to_owned(), values: if coded { values } else { Vec::new() }, middle, all_differ })
}
