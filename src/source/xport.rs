//! SAS transport files, version 5 and 8: the form in which the national survey is released.

use std::fs::File;
use std::path::Path;

use encoding_rs::{UTF_8, WINDOWS_1252};
use polars::prelude::{ChunkedArray, NewChunkedArray};
use sas_xport::sas::SasVariableType;
use sas_xport::sas::xport::{XportDataset, XportError, XportReader, XportValue};

use super::SourceError;
use super::raw::{Cells, Places, RawTable};

/// Every part of a transport file is padded to whole blocks of this many bytes.
const BLOCK: u64 = 80;

type Dataset = XportDataset<std::io::BufReader<File>>;

/// Reads the first table of a transport file. IBM zero is exactly 0; every missing value, special ones
/// (`.A` to `.Z`, `._`) included, is null, and so is an empty text.
pub(super) fn read(path: &Path, wanted: Option<&[&str]>) -> Result<RawTable, SourceError> {
    let broken = |e: &XportError| SourceError::file(path, format!("not a readable SAS transport file: {e}"));
    let file = File::open(path).map_err(|e| SourceError::file(path, e.to_string()))?;
    let size = file.metadata().map_err(|e| SourceError::file(path, e.to_string()))?.len();
    if size % BLOCK != 0 {
        let message = format!(
            "truncated: {size} bytes is not a multiple of {BLOCK}, as in every whole SAS transport file; get the file again"
        );
        return Err(SourceError::file(path, message));
    }
    let mut options = XportReader::options();
    options.encoding(UTF_8).add_fallback_encoding(WINDOWS_1252);
    let reader = options.from_file(file).map_err(|e| broken(&e))?;
    let dataset = reader.next_dataset().map_err(|e| broken(&e))?;
    let mut dataset =
        dataset.ok_or_else(|| SourceError::file(path, "a SAS transport file without a table"))?;
    let (table, stated) = read_records(path, &mut dataset, wanted)?;
    if stated.is_some_and(|n| n != table.rows as u64) {
        let message = format!(
            "truncated: {} rows found, {} stated; get the file again",
            table.rows,
            stated.unwrap_or(0)
        );
        return Err(SourceError::file(path, message));
    }
    if dataset.next_dataset().map_err(|e| broken(&e))?.is_some() {
        return Err(SourceError::file(path, "holds several tables; one table in a file is expected"));
    }
    Ok(table)
}

enum Cellar {
    Numbers(Vec<Option<f64>>),
    Texts(Vec<Option<String>>),
}

fn read_records(
    path: &Path,
    dataset: &mut Dataset,
    wanted: Option<&[&str]>,
) -> Result<(RawTable, Option<u64>), SourceError> {
    let stated = dataset.schema().record_count();
    let names = dataset.schema().variables().iter().map(|v| v.full_name().to_owned()).collect();
    let variables = dataset.schema().variables().iter().enumerate();
    let mut columns: Vec<(usize, String, Cellar)> = variables
        .filter(|(_, v)| wanted.is_none_or(|w| w.contains(&v.full_name())))
        .map(|(at, v)| (at, v.full_name().to_owned(), empty(v.value_type())))
        .collect();
    let broken =
        |e: XportError, row: usize| SourceError::file(path, format!("row {row}: {e}; get the file again"));
    let mut rows = 0;
    while let Some(record) = dataset.next_lazy_record().map_err(|e| broken(e, rows + 1))? {
        rows += 1;
        for (at, _, cells) in &mut columns {
            let value = record.get(*at).transpose().map_err(|e| broken(e, rows))?;
            push(cells, value);
        }
    }
    let columns = columns.into_iter().map(|(_, name, cells)| (name.clone(), finish(&name, cells))).collect();
    let file = path.display().to_string();
    Ok((RawTable { file, rows, names, columns, places: Places::Rows }, stated))
}

fn empty(kind: SasVariableType) -> Cellar {
    match kind {
        SasVariableType::Numeric => Cellar::Numbers(Vec::new()),
        SasVariableType::Character => Cellar::Texts(Vec::new()),
    }
}

fn push(cells: &mut Cellar, value: Option<XportValue<'_>>) {
    match (cells, value) {
        (Cellar::Numbers(cells), Some(XportValue::Number(x))) => cells.push(x.is_finite().then_some(x)),
        (Cellar::Numbers(cells), _) => cells.push(None),
        (Cellar::Texts(cells), Some(XportValue::Character(text))) => {
            cells.push((!text.is_empty()).then(|| text.into_owned()));
        }
        (Cellar::Texts(cells), _) => cells.push(None),
    }
}

fn finish(name: &str, cells: Cellar) -> Cells {
    match cells {
        Cellar::Numbers(cells) => {
            Cells::Numbers(ChunkedArray::from_iter_options(name.into(), cells.into_iter()))
        }
        Cellar::Texts(cells) => Cells::Texts(ChunkedArray::from_iter_options(name.into(), cells.into_iter())),
    }
}
