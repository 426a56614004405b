//! A look at the first rows of a table, to guess what its columns mean.

use std::path::Path;

use super::dates::is_date;
use super::raw::{Cells, RawTable};
use super::{SourceError, file};
use crate::study::Seen;

/// Rows that are looked at.
const ROWS: usize = 2_000;
/// What a cell begins with that gives a limit in place of a value.
const BELOW: &str = "<";
/// A column with more distinct values than this has no codes.
const MOST_CODES: usize = 12;

/// What the first rows of a file show.
#[derive(Debug, Clone, PartialEq)]
pub struct Peek {
    /// The columns in their order.
    pub columns: Vec<Seen>,
    /// What parts the columns, where a study has to say it.
    pub separator: Option<char>,
    pub decimal_comma: bool,
    /// Whether its text is Windows-1252 and no UTF-8.
    pub windows_1252: bool,
}

/// A look at the first rows of a file.
pub fn peek(path: &Path) -> Result<Peek, SourceError> {
    let (table, form) = file::first(path, ROWS)?;
    if table.rows == 0 {
        return Err(SourceError::file(path, "has no rows: below its header line nobody stands"));
    }
    let columns = table.columns.iter().map(|(name, _)| seen(&table, name)).collect::<Result<_, _>>()?;
    let separator = form.separator.map(char::from);
    Ok(Peek { columns, separator, decimal_comma: form.decimal_comma, windows_1252: form.windows_1252 })
}

fn seen(table: &RawTable, name: &str) -> Result<Seen, SourceError> {
    let cells = table.columns.iter().find(|(column, _)| column == name).map(|(_, cells)| cells);
    let mut numbers: Vec<f64> = match cells {
        Some(Cells::Numbers(numbers)) => numbers.iter().flatten().collect(),
        Some(Cells::Texts(texts)) => {
            texts.iter().flatten().filter_map(|text| table.number(text.trim())).collect()
        }
        None => Vec::new(),
    };
    let texts = table.texts(name, &[])?;
    let present = texts.iter().flatten().count();
    let below = texts
        .iter()
        .flatten()
        .filter(|text| text.strip_prefix(BELOW).is_some_and(|limit| table.number(limit.trim()).is_some()));
    let below = below.count();
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
    let is_number = present > 0 && (numbers.len() + below) * 10 >= present * 8;
    let days: Vec<&str> = texts.iter().flatten().filter(|text| is_date(text)).collect();
    let day = days.first().filter(|_| days.len() * 10 >= present * 8).map(|day| (*day).to_owned());
    numbers.sort_by(f64::total_cmp);
    let middle = numbers.get(numbers.len() / 2).copied().filter(|_| is_number);
    let coded = values.len() <= MOST_CODES;
    values.sort();
    let values = if coded { values } else { Vec::new() };
    let (below, empty) = (is_number && below > 0, present == 0);
    Ok(Seen { name: name.to_owned(), values, middle, all_differ, below, day, empty })
}
