//! Tables as Parquet (zstd), for readers that want types and speed.

use std::fs::File;
use std::path::Path;

use polars::prelude::{Column as Series, DataFrame};
use polars_io::parquet::write::{ParquetCompression, ParquetWriter};

use super::{Cell, Kind, Table, TableError};

/// Writes the table to `path`; a missing cell is null.
pub fn write(table: &Table, path: &Path) -> Result<(), TableError> {
    let fault = |source| TableError::Parquet { path: path.to_owned(), source };
    let mut frame = frame(table).map_err(fault)?;
    let file = File::create(path).map_err(|source| TableError::File { path: path.to_owned(), source })?;
    ParquetWriter::new(file)
        .with_compression(ParquetCompression::Zstd(None))
        .finish(&mut frame)
        .map_err(fault)?;
    Ok(())
}

/// The table as a polars frame.
pub fn frame(table: &Table) -> Result<DataFrame, polars::error::PolarsError> {
    let series = (0..table.columns.len()).map(|position| column(table, position)).collect();
    DataFrame::new(table.rows.len(), series)
}

fn column(table: &Table, position: usize) -> Series {
    let name = table.columns[position].name.into();
    let cells = table.rows.iter().map(|row| &row[position]);
    match table.columns[position].kind {
        Kind::Text => Series::new(name, cells.map(text).collect::<Vec<_>>()),
        Kind::Integer => Series::new(name, cells.map(whole).collect::<Vec<_>>()),
        Kind::Real => Series::new(name, cells.map(real).collect::<Vec<_>>()),
    }
}

fn text(cell: &Cell) -> Option<&str> {
    match cell {
        Cell::Text(value) => Some(value),
        _ => None,
    }
}

fn whole(cell: &Cell) -> Option<i64> {
    match cell {
        Cell::Integer(value) => Some(*value),
        _ => None,
    }
}

fn real(cell: &Cell) -> Option<f64> {
    match cell {
        Cell::Real(value) => Some(*value),
        _ => None,
    }
}
