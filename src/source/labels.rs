//! Labels of coded or plain text columns: levels of a category, yes and no.

use polars::prelude::{NewChunkedArray, StringChunked};

use super::SourceError;
use super::join::Joined;
use super::raw::parse_number;
use super::slip::no_value;
use super::table::missing;
use crate::definitions::{ColumnKind, Quantity, plain_answer};
use crate::study::{MappedColumn, TableSource, is_control};

pub(super) const YES: &str = "yes";
const NO: &str = "no";

/// Labels of a coded or plain text column. A text that has no label is an error that lists the known ones.
pub(super) fn labels(
    source: &TableSource,
    joined: &Joined,
    quantity: &Quantity,
    mapped: &MappedColumn,
) -> Result<StringChunked, SourceError> {
    check_labels(source, quantity, mapped)?;
    let cells = joined.texts(&mapped.column, &missing(source, mapped))?;
    let words = mapped.codes.is_empty() && quantity.kind == ColumnKind::YesNo;
    let codes: Vec<(&str, &str)> = if mapped.codes.is_empty() {
        quantity.levels.iter().map(|level| (level.as_str(), level.as_str())).collect()
    } else {
        mapped.codes.iter().map(|(code, label)| (code.as_str(), label.as_str())).collect()
    };
    if codes.is_empty() && !words {
        refuse_control(joined, mapped, &cells)?;
        return Ok(cells);
    }
    let label_of = |text: &str| {
        if words {
            return plain_answer(text).map(|yes| if yes { YES } else { NO });
        }
        codes.iter().find(|(code, _)| same_code(code, text)).map(|(_, label)| *label)
    };
    let labels: Vec<Option<&str>> = cells.iter().map(|cell| label_of(cell?)).collect();
    let unknown = cells.iter().zip(&labels).enumerate();
    let unknown = unknown.filter_map(|(person, (cell, label))| {
        cell.filter(|_| label.is_none()).map(|text| (person, text.to_owned()))
    });
    let unknown: Vec<(usize, String)> = unknown.collect();
    if unknown.is_empty() {
        return Ok(StringChunked::from_iter_options("".into(), labels.into_iter()));
    }
    let expected = if words {
        "a word for yes or no; say what other texts stand for, as in codes = { \"1\" = \"yes\", \"2\" = \"no\" }".to_owned()
    } else {
        let known: Vec<String> = codes.iter().map(|(code, label)| format!("{code} ({label})")).collect();
        format!("one of the codes {}; say under `codes` what it stands for", known.join(", "))
    };
    Err(joined.cells_error(&mapped.column, &unknown, &(expected + &no_value(&unknown))))
}

/// Levels as they stand in a table become words of tables, pages and drawings.
fn refuse_control(joined: &Joined, mapped: &MappedColumn, cells: &StringChunked) -> Result<(), SourceError> {
    let with = cells.iter().enumerate().filter_map(|(person, cell)| {
        let text = cell.filter(|text| text.contains(is_control))?;
        Some((person, text.escape_debug().to_string()))
    });
    let found: Vec<(usize, String)> = with.collect();
    let expected = "a text without control characters: take them out, or give each text its label in `codes`";
    if found.is_empty() { Ok(()) } else { Err(joined.cells_error(&mapped.column, &found, expected)) }
}

/// Codes may lead only to `yes` and `no`, or to the levels that formulas know.
fn check_labels(source: &TableSource, quantity: &Quantity, mapped: &MappedColumn) -> Result<(), SourceError> {
    let plain = [YES, NO].map(str::to_owned);
    let known: &[String] = if quantity.kind == ColumnKind::YesNo { &plain } else { &quantity.levels };
    let wrong = mapped.codes.iter().find(|(_, label)| !known.is_empty() && !known.contains(label));
    wrong.map_or(Ok(()), |(code, label)| {
        let message = format!(
            "{} from column `{}`: code `{code}` stands for `{label}`, expected one of {}",
            quantity.name,
            mapped.column,
            known.join(", ")
        );
        Err(SourceError::source(&source.name, message))
    })
}

/// Whether a cell is a code: the same text, the same number (`1` and `1.0`), or a word for yes or no in another case.
fn same_code(code: &str, text: &str) -> bool {
    code == text
        || parse_number(code).is_some_and(|x| parse_number(text) == Some(x))
        || (plain_answer(code).is_some() && code.to_lowercase() == text.to_lowercase())
}
