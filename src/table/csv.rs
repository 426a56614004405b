//! Tables as CSV (RFC 4180, UTF-8, `.` as decimal sign, lines end in LF, a missing cell is empty).

use std::borrow::Cow;
use std::path::Path;

use super::{Cell, Column, Kind, Shape, Table, TableError, number};

/// The table as CSV text.
#[must_use]
pub fn to_text(table: &Table) -> String {
    let mut out = String::new();
    push_line(&mut out, table.columns.iter().map(|column| Cow::Borrowed(column.name)));
    for row in &table.rows {
        push_line(&mut out, row.iter().map(cell_text));
    }
    out
}

/// Reads back a table of the given shape.
///
/// # Errors
///
/// If the file cannot be read, its header is not the shape's, or a cell is not of its column's kind.
pub fn read(shape: Shape, path: &Path) -> Result<Table, TableError> {
    let fault = |source| TableError::Csv { path: path.to_owned(), source };
    let mut reader = ::csv::ReaderBuilder::new().from_path(path).map_err(fault)?;
    check_header(shape.columns, reader.headers().map_err(fault)?, path)?;
    let mut table = Table::new(shape);
    for record in reader.records() {
        let record = record.map_err(fault)?;
        let line = record.position().map_or(0, ::csv::Position::line);
        let cells = shape
            .columns
            .iter()
            .zip(&record)
            .map(|(column, text)| {
                parse(column, text).map_err(|expected| bad_cell(path, line, column, text, expected))
            })
            .collect::<Result<Vec<Cell>, TableError>>()?;
        table.push(cells)?;
    }
    Ok(table)
}

fn bad_cell(path: &Path, line: u64, column: &Column, text: &str, expected: &'static str) -> TableError {
    TableError::Cell { path: path.to_owned(), line, column: column.name, found: text.to_owned(), expected }
}

fn check_header(columns: &[Column], header: &::csv::StringRecord, path: &Path) -> Result<(), TableError> {
    let expected: Vec<&str> = columns.iter().map(|column| column.name).collect();
    if header.iter().eq(expected.iter().copied()) {
        return Ok(());
    }
    let found: Vec<&str> = header.iter().collect();
    Err(TableError::Header { path: path.to_owned(), found: found.join(", "), expected: expected.join(", ") })
}

fn parse(column: &Column, text: &str) -> Result<Cell, &'static str> {
    if text.is_empty() {
        return Ok(Cell::Missing);
    }
    match column.kind {
        Kind::Text => Ok(Cell::Text(text.to_owned())),
        Kind::Integer => text.parse().map(Cell::Integer).map_err(|_| "a whole number or nothing"),
        Kind::Real => match text.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(Cell::Real(value)),
            _ => Err("a number or nothing"),
        },
    }
}

fn cell_text(cell: &Cell) -> Cow<'_, str> {
    match cell {
        Cell::Missing => Cow::Borrowed(""),
        Cell::Text(value) => Cow::Borrowed(value),
        Cell::Integer(value) => Cow::Owned(value.to_string()),
        Cell::Real(value) => Cow::Owned(number::full(*value)),
    }
}

fn push_line<'a>(out: &mut String, fields: impl Iterator<Item = Cow<'a, str>>) {
    for (position, field) in fields.enumerate() {
        if position > 0 {
            out.push(',');
        }
        if field.contains([',', '"', '\n', '\r']) {
            out.push('"');
            out.push_str(&field.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(&field);
        }
    }
    out.push('\n');
}
