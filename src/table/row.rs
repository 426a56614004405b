//! Rows filled and read by column name.

use super::{Cell, Table, TableError};

/// One row of a table, read by column name.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    cells: &'a [Cell],
}

impl<'a> Row<'a> {
    pub(super) fn new(table: &'a Table, cells: &'a [Cell]) -> Self {
        Self { table, cells }
    }

    /// The cell of a column.
    ///
    /// # Panics
    ///
    /// If the table has no such column: column names are constants of the program, so this is a
    /// slip of the pen that the first test to draw the table meets.
    #[must_use]
    pub fn cell(&self, column: &str) -> &'a Cell {
        match self.table.position(column) {
            Some(position) => &self.cells[position],
            None => panic!("table {} has no column {column}", self.table.name),
        }
    }

    /// The name of the table that it stands in.
    #[must_use]
    pub fn table_name(&self) -> &'static str {
        self.table.name
    }

    /// Whether the table has this column.
    #[must_use]
    pub fn has(&self, column: &str) -> bool {
        self.table.position(column).is_some()
    }

    /// The text of a column, empty when missing.
    #[must_use]
    pub fn text(&self, column: &str) -> &'a str {
        match self.cell(column) {
            Cell::Text(value) => value,
            _ => "",
        }
    }

    /// The number in a real or whole column.
    #[must_use]
    pub fn real(&self, column: &str) -> Option<f64> {
        match self.cell(column) {
            Cell::Real(value) => Some(*value),
            Cell::Integer(value) => Some(*value as f64),
            _ => None,
        }
    }

    #[must_use]
    pub fn whole(&self, column: &str) -> Option<i64> {
        match self.cell(column) {
            Cell::Integer(value) => Some(*value),
            _ => None,
        }
    }

    /// The number in a column, unless the row's estimate is withheld.
    #[must_use]
    pub fn shown(&self, column: &str) -> Option<f64> {
        if self.text("withheld").is_empty() { self.real(column) } else { None }
    }
}

/// A row under construction; see [`Table::row`].
#[derive(Debug)]
pub struct RowBuilder<'a> {
    table: &'a mut Table,
    cells: Vec<Cell>,
    unknown: Option<String>,
}

impl<'a> RowBuilder<'a> {
    pub(super) fn new(table: &'a mut Table) -> Self {
        let cells = vec![Cell::Missing; table.columns.len()];
        Self { table, cells, unknown: None }
    }

    #[must_use]
    pub fn set(mut self, column: &str, cell: Cell) -> Self {
        match self.table.position(column) {
            Some(position) => self.cells[position] = cell,
            None => self.unknown = Some(column.to_owned()),
        }
        self
    }

    #[must_use]
    pub fn text(self, column: &str, value: impl Into<String>) -> Self {
        self.set(column, Cell::text(value))
    }

    #[must_use]
    pub fn real(self, column: &str, value: Option<f64>) -> Self {
        self.set(column, Cell::real(value))
    }

    #[must_use]
    pub fn whole(self, column: &str, value: Option<i64>) -> Self {
        self.set(column, Cell::integer(value))
    }

    /// Checks the row and adds it to the table.
    pub fn done(self) -> Result<(), TableError> {
        if let Some(column) = self.unknown {
            let known: Vec<&str> = self.table.columns.iter().map(|c| c.name).collect();
            return Err(TableError::Unknown { table: self.table.name, column, known: known.join(", ") });
        }
        self.table.push(self.cells)
    }
}
