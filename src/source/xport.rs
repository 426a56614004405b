//! SAS transport files, version 5 and 8: the form in which the national survey is released.

use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::Path;

use encoding_rs::{UTF_8, WINDOWS_1252};
use polars::prelude::{ChunkedArray, NewChunkedArray};
use sas_xport::sas::SasVariableType;
use sas_xport::sas::xport::{XportDataset, XportError, XportReader, XportValue};

use super::SourceError;
use super::raw::{Cells, RawTable, is_wanted};

/// Every part of a transport file is padded to whole blocks of this many bytes.
const BLOCK: u64 = 80;

/// How the block before the first row begins.
const BEFORE_ROWS: &[u8] = b"HEADER RECORD*******OBS";

type Dataset = XportDataset<BufReader<File>>;

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
    let width = dataset.schema().variables().iter().map(|v| u64::from(v.value_length())).sum();
    if dataset.next_dataset().map_err(|e| broken(&e))?.is_some() {
        return Err(SourceError::file(path, "holds several tables; one table in a file is expected"));
    }
    check_end(path, table.rows as u64, width)?;
    Ok(table)
}

/// Behind the last whole row there may be nothing but blanks; the reader does not look.
fn check_end(path: &Path, rows: u64, width: u64) -> Result<(), SourceError> {
    let unreadable = |e: std::io::Error| SourceError::file(path, format!("cannot be read: {e}"));
    let mut input = BufReader::new(File::open(path).map_err(unreadable)?);
    let mut block = [0; BLOCK as usize];
    let mut start = 0;
    while !block.starts_with(BEFORE_ROWS) {
        input.read_exact(&mut block).map_err(unreadable)?;
        start += BLOCK;
    }
    input.seek(SeekFrom::Start(start + rows * width)).map_err(unreadable)?;
    let mut end = Vec::new();
    input.read_to_end(&mut end).map_err(unreadable)?;
    if end.iter().all(|byte| *byte == b' ') {
        return Ok(());
    }
    Err(SourceError::file(path, format!("truncated in the middle of row {}; get the file again", rows + 1)))
}

enum Building {
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
    let mut columns: Vec<(usize, String, Building)> = variables
        .filter(|(_, v)| is_wanted(wanted, v.full_name()))
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
    Ok((RawTable::of_rows(file, rows, names, columns), stated))
}

fn empty(kind: SasVariableType) -> Building {
    match kind {
        SasVariableType::Numeric => Building::Numbers(Vec::new()),
        SasVariableType::Character => Building::Texts(Vec::new()),
    }
}

fn push(cells: &mut Building, value: Option<XportValue<'_>>) {
    match (cells, value) {
        (Building::Numbers(cells), Some(XportValue::Number(x))) => cells.push(x.is_finite().then_some(x)),
        (Building::Numbers(cells), _) => cells.push(None),
        (Building::Texts(cells), Some(XportValue::Character(text))) => {
            cells.push((!text.is_empty()).then(|| text.into_owned()));
        }
        (Building::Texts(cells), _) => cells.push(None),
    }
}

fn finish(name: &str, cells: Building) -> Cells {
    match cells {
        Building::Numbers(cells) => {
            Cells::Numbers(ChunkedArray::from_iter_options(name.into(), cells.into_iter()))
        }
        Building::Texts(cells) => {
            Cells::Texts(ChunkedArray::from_iter_options(name.into(), cells.into_iter()))
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;

    fn reference(name: &str) -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/xpt").join(name)
    }

    /// The cell as another reader prints it.
    fn printed(table: &RawTable, row: usize, column: &str) -> Option<String> {
        let cells = table.columns.iter().find(|(name, _)| name == column);
        match &cells.unwrap_or_else(|| panic!("no column {column}")).1 {
            Cells::Numbers(numbers) => numbers.get(row).map(|x| format!("{x:e}")),
            Cells::Texts(texts) => texts.get(row).map(str::to_owned),
        }
    }

    #[test]
    fn every_cell_equals_that_of_another_reader() {
        let text = std::fs::read_to_string(reference("expected.csv")).unwrap();
        assert!(text.lines().any(|line| line == "# tolerance: exact"));
        let mut compared = 0;
        for record in csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes()).records() {
            let record = record.unwrap();
            let table = read(&reference(&format!("{}.xpt", &record[0])), None).unwrap();
            assert_eq!(table.rows, 8);
            let row = record[1].parse::<usize>().unwrap() - 1;
            let expected = match record[3].parse::<f64>() {
                Ok(x) if &record[2] != "TEXT" => format!("{x:e}"),
                _ => record[3].to_owned(),
            };
            let expected = Some(expected).filter(|text| !text.is_empty());
            assert_eq!(printed(&table, row, &record[2]), expected, "{record:?}");
            compared += 1;
        }
        assert_eq!(compared, 3 * 8 * 5);
    }

    #[test]
    fn zero_is_exactly_zero_and_special_missings_are_missing() {
        let table = read(&reference("v5_special.xpt"), Some(&["ZERO", "MISSING"])).unwrap();
        assert_eq!(table.columns.len(), 2);
        let Cells::Numbers(zeros) = &table.columns[0].1 else { panic!("ZERO is numeric") };
        assert_eq!(zeros.iter().flatten().filter(|x| *x == 0.0).count(), 7);
        let Cells::Numbers(missing) = &table.columns[1].1 else { panic!("MISSING is numeric") };
        assert_eq!(missing.null_count(), 5);
    }

    #[test]
    fn a_truncated_file_is_an_error() {
        let error = read(&reference("truncated.xpt"), None).unwrap_err().to_string();
        assert!(error.contains("truncated.xpt: truncated: 1740 bytes"), "{error}");
        let whole = std::fs::read(reference("v5.xpt")).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let cut = |blocks: usize| {
            let path = folder.path().join("cut.xpt");
            std::fs::write(&path, &whole[..blocks * BLOCK as usize]).unwrap();
            read(&path, None).map(|table| table.rows).map_err(|e| e.to_string())
        };
        // hand: 18 blocks of headers, 8 rows of 42 bytes in 5 blocks; 80 bytes hold one row and 38 bytes of the next
        assert!((1..18).all(|blocks| cut(blocks).is_err()));
        assert!(cut(19).unwrap_err().contains("in the middle of row 2"));
        assert!((20..23).all(|blocks| cut(blocks).is_err()));
        assert_eq!(cut(23), Ok(8));
    }
}
