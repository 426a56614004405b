//! What can go wrong with a table.

use std::path::PathBuf;

/// Why a table could not be filled, written or read.
#[derive(Debug, thiserror::Error)]
pub enum TableError {
    #[error("table {table}: a row has {found} cells, expected {expected}, one for each column")]
    Length { table: &'static str, found: usize, expected: usize },
    #[error("table {table}, column {column}: the cell {found} is of another kind than the column")]
    Kind { table: &'static str, column: &'static str, found: String },
    #[error(
        "table {table}, column {column}: {value} is not a number that can be printed; leave the cell missing"
    )]
    NotFinite { table: &'static str, column: &'static str, value: f64 },
    #[error("table {table} has no column {column}; it has {known}")]
    Unknown { table: &'static str, column: String, known: String },
    #[error("{path}, line 1: the columns are {found}, expected {expected}")]
    Header { path: PathBuf, found: String, expected: String },
    #[error("{path}, line {line}, column {column}: found {found:?}, expected {expected}")]
    Cell { path: PathBuf, line: u64, column: &'static str, found: String, expected: &'static str },
    #[error("{path}: cannot read or write the CSV")]
    Csv { path: PathBuf, source: ::csv::Error },
    #[error("{path}: cannot write the Parquet")]
    Parquet { path: PathBuf, source: polars::error::PolarsError },
    #[error("{path}: cannot write the file; check the folder and the free space")]
    File { path: PathBuf, source: std::io::Error },
    #[error("{path}: cannot describe the tables")]
    Package { path: PathBuf, source: serde_json::Error },
}
