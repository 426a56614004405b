//! Parquet files.

use std::fs::File;
use std::path::Path;

use polars::prelude::{Column, DataFrame, DataType, PolarsError};
use polars_io::SerReader;
use polars_io::parquet::read::ParquetReader;

use super::SourceError;
use super::exact::FIRST_INEXACT;
use super::raw::{Cells, RawTable, is_wanted};

/// Reads the wanted columns that the file has (all when `None`). Numbers of any width become f64, a NaN
/// becomes null, and yes/no columns become the texts `true` and `false`. Whole numbers that f64 does not hold
/// exactly, as long ids are, become texts.
pub(super) fn read(path: &Path, wanted: Option<&[&str]>) -> Result<RawTable, SourceError> {
    first(path, wanted, usize::MAX)
}

/// Reads the first rows alone.
pub(super) fn first(path: &Path, wanted: Option<&[&str]>, most: usize) -> Result<RawTable, SourceError> {
    let broken = |e: PolarsError| SourceError::file(path, format!("not a readable Parquet file: {e}"));
    let file = File::open(path).map_err(|e| SourceError::file(path, format!("cannot be read: {e}")))?;
    let mut reader = ParquetReader::new(file);
    let schema = reader.schema().map_err(broken)?;
    let names: Vec<String> = schema.iter_names().map(ToString::to_string).collect();
    let kept = names.iter().filter(|n| is_wanted(wanted, n)).cloned().collect();
    let slice = (most < usize::MAX).then_some((0, most));
    let frame = reader.with_columns(Some(kept)).with_slice(slice).finish().map_err(broken)?;
    table(path, &frame, names)
}

/// A table of cells from a frame; `names` are all columns of the file, read or not.
pub(super) fn table(path: &Path, frame: &DataFrame, names: Vec<String>) -> Result<RawTable, SourceError> {
    let cells = |column: &Column| cells(path, column).map(|cells| (column.name().to_string(), cells));
    let columns = frame.columns().iter().map(cells).collect::<Result<Vec<_>, _>>()?;
    let (file, rows) = (path.display().to_string(), frame.height());
    Ok(RawTable::of_rows(file, rows, names, columns))
}

fn cells(path: &Path, column: &Column) -> Result<Cells, SourceError> {
    let kind = column.dtype();
    let wrong = |e: PolarsError| SourceError::file(path, format!("column `{}`: {e}", column.name()));
    let texts = || {
        let texts = column.cast(&DataType::String).map_err(wrong)?;
        Ok(Cells::Texts(texts.str().map_err(wrong)?.clone()))
    };
    if kind.is_primitive_numeric() {
        let numbers = column.cast(&DataType::Float64).map_err(wrong)?;
        let numbers = numbers.f64().map_err(wrong)?;
        if !kind.is_integer() || numbers.iter().flatten().all(|x| x.abs() < FIRST_INEXACT) {
            return Ok(Cells::Numbers(numbers.iter().map(|cell| cell.filter(|x| !x.is_nan())).collect()));
        }
    }
    match kind {
        _ if kind.is_integer() => texts(),
        DataType::String | DataType::Boolean | DataType::Null => texts(),
        other => Err(SourceError::file(
            path,
            format!("column `{}` has type {other}; numbers, text and true/false are read", column.name()),
        )),
    }
}

#[cfg(test)]
mod tests {
    use polars::prelude::{NamedFrom, Series};

    use super::*;

    /// hand: 2⁶⁰ = 1152921504606846976, and f64 holds every 256th whole number there.
    #[test]
    fn whole_numbers_of_more_digits_than_a_fraction_holds_become_texts() {
        let column = |numbers: &[i64]| Column::from(Series::new("id".into(), numbers));
        let read = |numbers: &[i64]| cells(Path::new("t.parquet"), &column(numbers)).expect("cells");
        let Cells::Texts(texts) = read(&[(1 << 60) + 1, (1 << 60) + 2, 5, -7]) else { panic!("texts") };
        let expected = ["1152921504606846977", "1152921504606846978", "5", "-7"];
        assert_eq!(texts.iter().flatten().collect::<Vec<_>>(), expected);
        assert!(matches!(read(&[(1 << 53) - 1, 5]), Cells::Numbers(_)));
        let large = Column::from(Series::new("x".into(), [1e18, 1.5]));
        assert!(matches!(cells(Path::new("t.parquet"), &large), Ok(Cells::Numbers(_))), "a measurement");
    }
}
