//! Result tables: typed columns with a unit and a meaning, written as CSV and Parquet and described
//! in `datapackage.json`. Charts and the report read these tables and nothing else.

pub mod schema;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Text,
    Integer,
    Real,
}

/// One column: its name, unit and meaning, printed in `datapackage.json`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    pub name: &'static str,
    pub kind: Kind,
    /// Unit of the numbers, `1` for a share or a pure number, empty for text, or `index unit` when
    /// the `unit` column of the same row names it.
    pub unit: &'static str,
    pub meaning: &'static str,
}

/// One cell. A number that could not be computed is `Missing`, never a stand-in value.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    Missing,
    Text(String),
    Integer(i64),
    Real(f64),
}

/// A table of results.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    pub name: &'static str,
    pub title: &'static str,
    pub columns: &'static [Column],
    pub rows: Vec<Vec<Cell>>,
}
