//! Result tables: typed columns with a unit and a meaning, written as CSV and Parquet and described
//! in `datapackage.json`. Charts and the report read these tables and nothing else.

pub mod csv;
pub mod digest;
pub mod directions;
mod error;
pub mod estimate;
pub mod number;
pub mod package;
pub mod parquet;
mod printed;
pub mod range;
pub mod reasons;
mod row;
pub mod schema;
pub mod small;
pub mod verdicts;

pub use error::TableError;
pub use row::{Row, RowBuilder};

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

/// Name, title and columns of a table before it has rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shape {
    pub name: &'static str,
    pub title: &'static str,
    pub columns: &'static [Column],
}

impl Cell {
    /// A text; an empty one is missing, as CSV cannot tell the two apart.
    #[must_use]
    pub fn text(value: impl Into<String>) -> Self {
        let value = value.into();
        if value.is_empty() { Self::Missing } else { Self::Text(value) }
    }

    /// A number that may be missing. A `NaN` or an infinity is refused when the row is pushed.
    #[must_use]
    pub fn real(value: Option<f64>) -> Self {
        value.map_or(Self::Missing, Self::Real)
    }

    /// A whole number that may be missing.
    #[must_use]
    pub fn integer(value: Option<i64>) -> Self {
        value.map_or(Self::Missing, Self::Integer)
    }

    fn fits(&self, kind: Kind) -> bool {
        matches!(
            (self, kind),
            (Self::Missing, _)
                | (Self::Text(_), Kind::Text)
                | (Self::Integer(_), Kind::Integer)
                | (Self::Real(_), Kind::Real)
        )
    }
}

impl Table {
    #[must_use]
    pub fn new(shape: Shape) -> Self {
        Self { name: shape.name, title: shape.title, columns: shape.columns, rows: Vec::new() }
    }

    /// Adds a row after checking its length, the kind of every cell and that numbers are finite.
    pub fn push(&mut self, row: Vec<Cell>) -> Result<(), TableError> {
        if row.len() != self.columns.len() {
            return Err(TableError::Length {
                table: self.name,
                found: row.len(),
                expected: self.columns.len(),
            });
        }
        for (cell, column) in row.iter().zip(self.columns) {
            if !cell.fits(column.kind) {
                return Err(TableError::Kind {
                    table: self.name,
                    column: column.name,
                    found: format!("{cell:?}"),
                });
            }
            if let Cell::Real(value) = cell
                && !value.is_finite()
            {
                return Err(TableError::NotFinite { table: self.name, column: column.name, value: *value });
            }
        }
        self.rows.push(row);
        Ok(())
    }

    /// Starts a row that is filled by column name; columns not named stay missing.
    pub fn row(&mut self) -> RowBuilder<'_> {
        RowBuilder::new(self)
    }

    /// The rows, each read by column name.
    pub fn iter(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row::new(self, cells))
    }

    /// One row by its place.
    #[must_use]
    pub fn at(&self, row: usize) -> Option<Row<'_>> {
        self.rows.get(row).map(|cells| Row::new(self, cells))
    }

    #[must_use]
    pub fn position(&self, column: &str) -> Option<usize> {
        self.columns.iter().position(|c| c.name == column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flow() -> Table {
        Table::new(schema::shape("participant_flow").unwrap())
    }

    #[test]
    fn a_row_of_the_wrong_length_kind_or_size_is_refused() {
        let mut table = flow();
        assert!(matches!(
            table.push(vec![Cell::Missing]),
            Err(TableError::Length { found: 1, expected: 6, .. })
        ));
        let mut cells = vec![Cell::Missing; 6];
        cells[1] = Cell::Real(1.0);
        assert!(matches!(table.push(cells), Err(TableError::Kind { column: "order", .. })));
        let mut sample = Table::new(schema::shape("sample").unwrap());
        let nan = sample.row().real("value", Some(f64::NAN)).done();
        assert!(matches!(nan, Err(TableError::NotFinite { column: "value", .. })));
        assert!(table.rows.is_empty() && sample.rows.is_empty());
    }

    #[test]
    fn a_row_is_written_and_read_by_name() {
        let mut table = flow();
        table.row().text("step", "asked").whole("people", Some(12)).done().unwrap();
        let row = table.iter().next().unwrap();
        assert_eq!((row.text("step"), row.whole("people"), row.whole("left_out")), ("asked", Some(12), None));
        assert!(matches!(table.row().text("steps", "x").done(), Err(TableError::Unknown { .. })));
    }

    #[test]
    fn every_shape_has_a_name_of_its_own_and_described_columns() {
        let mut names: Vec<&str> = schema::tables().map(|shape| shape.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), schema::tables().count());
        for shape in schema::tables() {
            for column in shape.columns {
                assert!(!column.meaning.is_empty(), "{}.{}", shape.name, column.name);
                assert_eq!(
                    column.unit.is_empty(),
                    column.kind == Kind::Text,
                    "{}.{}",
                    shape.name,
                    column.name
                );
                let same = shape.columns.iter().filter(|c| c.name == column.name).count();
                assert_eq!(same, 1, "{}.{}", shape.name, column.name);
            }
        }
    }
}
