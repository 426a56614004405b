//! A file as it was read: named columns of numbers or text, before anything is known of their meaning.

use polars::prelude::{ChunkedArray, Float64Chunked, NewChunkedArray, StringChunked};

use super::SourceError;

/// The cells of one column.
#[derive(Debug, Clone)]
pub(super) enum Cells {
    Numbers(Float64Chunked),
    Texts(StringChunked),
}

/// Where a row stands in its file, for messages.
#[derive(Debug, Clone)]
pub(super) enum Places {
    /// The nth record.
    Rows,
    /// The line of a text file on which the row begins.
    Lines(Vec<u32>),
}

/// A table with the columns that were asked for.
#[derive(Debug, Clone)]
pub(super) struct RawTable {
    /// Path as given, for messages.
    pub file: String,
    pub rows: usize,
    /// Names of all columns of the file, for messages.
    pub names: Vec<String>,
    pub columns: Vec<(String, Cells)>,
    pub places: Places,
}

impl RawTable {
    /// Where a row stands: `line 17` or `row 16`.
    pub fn place(&self, row: usize) -> String {
        match &self.places {
            Places::Rows => format!("row {}", row + 1),
            Places::Lines(lines) => format!("line {}", lines[row]),
        }
    }

    pub fn cell_error(&self, row: usize, column: &str, found: &str, expected: &str) -> SourceError {
        SourceError::Cell {
            file: self.file.clone(),
            place: self.place(row),
            column: column.to_owned(),
            found: found.to_owned(),
            expected: expected.to_owned(),
        }
    }

    /// Whether the column was read.
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|(name, _)| name == column)
    }

    fn cells(&self, column: &str) -> Result<&Cells, SourceError> {
        let found = self.columns.iter().find(|(name, _)| name == column);
        found.map(|(_, cells)| cells).ok_or_else(|| SourceError::Column {
            file: self.file.clone(),
            column: column.to_owned(),
            known: self.names.join(", "),
        })
    }

    /// The column as numbers; an empty cell or one of the `missing` texts is null, any other text an error.
    pub fn numbers(&self, column: &str, missing: &[String]) -> Result<Float64Chunked, SourceError> {
        let name = column.into();
        match self.cells(column)? {
            Cells::Numbers(numbers) => {
                let codes: Vec<f64> = missing.iter().filter_map(|text| parse_number(text)).collect();
                let kept = numbers.iter().map(|cell| cell.filter(|x| !codes.contains(x)));
                Ok(ChunkedArray::from_iter_options(name, kept))
            }
            Cells::Texts(texts) => {
                let cells = texts.iter().enumerate().map(|(row, cell)| {
                    let Some(text) = present(cell, missing) else { return Ok(None) };
                    let wrong = || self.cell_error(row, column, text, &expected_number(text));
                    parse_number(text).map(Some).ok_or_else(wrong)
                });
                let cells = cells.collect::<Result<Vec<_>, _>>()?;
                Ok(ChunkedArray::from_iter_options(name, cells.into_iter()))
            }
        }
    }

    /// The column as text; whole numbers are written without a decimal point.
    pub fn texts(&self, column: &str, missing: &[String]) -> Result<StringChunked, SourceError> {
        let name = column.into();
        Ok(match self.cells(column)? {
            Cells::Numbers(numbers) => {
                let cells = numbers.iter().map(|cell| cell.map(|x| x.to_string()));
                let kept = cells.map(|cell| cell.filter(|text| !missing.contains(text)));
                ChunkedArray::from_iter_options(name, kept)
            }
            Cells::Texts(texts) => {
                ChunkedArray::from_iter_options(name, texts.iter().map(|cell| present(cell, missing)))
            }
        })
    }
}

/// The cell without surrounding blanks, unless it is empty or stands for a missing value.
fn present<'a>(cell: Option<&'a str>, missing: &[String]) -> Option<&'a str> {
    cell.map(str::trim).filter(|text| !text.is_empty() && !missing.iter().any(|m| m == text))
}

/// What stands in place of a text that is no number.
fn expected_number(text: &str) -> String {
    match text.split_once(',') {
        Some((whole, part)) if parse_number(&format!("{whole}.{part}")).is_some() => {
            format!("decimals after a point: {whole}.{part}")
        }
        _ => "a number with a decimal point, or an empty cell; texts that mean missing are listed under `missing`"
            .to_owned(),
    }
}

/// A finite decimal number; `nan`, `inf` and decimal commas are none.
pub(super) fn parse_number(text: &str) -> Option<f64> {
    let digits = text.trim_start_matches(['+', '-']);
    let starts = digits.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    text.parse::<f64>().ok().filter(|x| starts && x.is_finite())
}

/// Whether a column is among those wanted (all when `None`): by name, or by a beginning followed by a star.
pub(super) fn is_wanted(wanted: Option<&[&str]>, name: &str) -> bool {
    let one =
        |w: &&str| *w == name || w.strip_suffix('*').is_some_and(|beginning| name.starts_with(beginning));
    wanted.is_none_or(|wanted| wanted.iter().any(one))
}

pub(super) fn hexadecimal(bytes: &[u8]) -> String {
    let digit = |nibble: u8| char::from_digit(u32::from(nibble), 16).unwrap_or_default();
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(cells: &[&str]) -> RawTable {
        let texts = StringChunked::from_iter_options("x".into(), cells.iter().map(|c| Some(*c)));
        let lines = (2..).take(cells.len()).collect();
        RawTable {
            file: "cohort.csv".to_owned(),
            rows: cells.len(),
            names: vec!["x".to_owned()],
            columns: vec![("x".to_owned(), Cells::Texts(texts))],
            places: Places::Lines(lines),
        }
    }

    #[test]
    fn numbers_are_strict() {
        let missing = ["NA".to_owned(), "-9".to_owned()];
        let got = table(&["1.5", " 2 ", "", "NA", "-9", "1e3", "0"]).numbers("x", &missing).unwrap();
        let expected = [Some(1.5), Some(2.0), None, None, None, Some(1000.0), Some(0.0)];
        assert_eq!(got.iter().collect::<Vec<_>>(), expected);
        for bad in ["5,6", "nan", "inf", "<2", "1 2", "0x10", "1e999"] {
            let error = table(&["1", bad]).numbers("x", &missing).unwrap_err().to_string();
            assert!(error.contains("line 3") && error.contains(bad), "{error}");
        }
    }

    #[test]
    fn an_absent_column_lists_the_present_ones() {
        let error = table(&["1"]).numbers("y", &[]).unwrap_err().to_string();
        assert_eq!(error, "cohort.csv: no column `y`; its columns are: x");
    }
}
