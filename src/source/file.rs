//! One file, whatever its format: recognised, hashed, read.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use super::delimited::Form;
use super::raw::RawTable;
use super::rows::Part;
use super::{FileRecord, SourceError, delimited, parquet, xport};
use crate::table::digest::sha256_of_file;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Format {
    Xport,
    Delimited,
    Parquet,
    #[cfg(feature = "statistical-files")]
    Statistical,
}

const XPORT_MAGIC: &[u8] = b"HEADER RECORD*******LIB";
const PARQUET_MAGIC: &[u8] = b"PAR1";
const TEXT_EXTENSIONS: &[&str] = &["csv", "tsv", "tab", "txt", "gz"];
const STATISTICAL_EXTENSIONS: &[&str] = &["dta", "sav", "zsav", "sas7bdat"];
const WORKBOOK_EXTENSIONS: &[&str] = &["xlsx", "xlsm", "xls", "ods"];

/// Reads the wanted columns (all when `None`) and records what the file was; `form` is that of its cells of text.
pub(super) fn read(
    path: &Path,
    source: &str,
    wanted: Option<&[&str]>,
    form: Form,
) -> Result<(RawTable, FileRecord), SourceError> {
    let mut record = record(path, source)?;
    let table = match format(path)? {
        Format::Xport => xport::read(path, wanted)?,
        Format::Delimited => delimited::read(path, Part { wanted, rows: usize::MAX }, form)?,
        Format::Parquet => parquet::read(path, wanted)?,
        #[cfg(feature = "statistical-files")]
        Format::Statistical => super::statistical::read(path, &extension(path), wanted)?,
    };
    let table = RawTable { decimal_comma: form.decimal_comma, ..table };
    record.rows = table.rows;
    (record.columns, record.columns_read) = (table.names.len(), table.columns.len());
    Ok((table, record))
}

/// Reads all columns of the first rows, and recognises the form of their cells of text; a format that cannot stop is
/// read to its end.
pub(super) fn first(path: &Path, rows: usize) -> Result<(RawTable, Form), SourceError> {
    let table = match format(path)? {
        Format::Xport => xport::read(path, None)?,
        Format::Delimited => {
            let form = delimited::recognise(path, rows)?;
            return Ok((delimited::read(path, Part { wanted: None, rows }, form)?, form));
        }
        Format::Parquet => parquet::first(path, None, rows)?,
        #[cfg(feature = "statistical-files")]
        Format::Statistical => super::statistical::read(path, &extension(path), None)?,
    };
    let (commas, points) = table.decimals();
    let form = Form { decimal_comma: commas > points, ..Form::default() };
    Ok((RawTable { decimal_comma: form.decimal_comma, ..table }, form))
}

/// Format by the first bytes, by the extension where text has no such mark.
fn format(path: &Path) -> Result<Format, SourceError> {
    let mut start = Vec::new();
    let file = File::open(path).map_err(|e| SourceError::file(path, format!("cannot be read: {e}")))?;
    file.take(80)
        .read_to_end(&mut start)
        .map_err(|e| SourceError::file(path, format!("cannot be read: {e}")))?;
    if start.starts_with(XPORT_MAGIC) {
        return Ok(Format::Xport);
    }
    if start.starts_with(PARQUET_MAGIC) {
        return Ok(Format::Parquet);
    }
    let extension = extension(path);
    if STATISTICAL_EXTENSIONS.contains(&extension.as_str()) {
        return statistical(path);
    }
    if TEXT_EXTENSIONS.contains(&extension.as_str()) {
        return Ok(Format::Delimited);
    }
    let found = if WORKBOOK_EXTENSIONS.contains(&extension.as_str()) {
        "a workbook of a spreadsheet program; save the sheet as CSV"
    } else if start.trim_ascii_start().starts_with(b"<") {
        "a web page, most likely saved in place of the file; get the file again"
    } else if start.is_empty() {
        "an empty file; get the file again"
    } else {
        "neither a SAS transport file nor a Parquet file, and its extension is none of csv, tsv, tab, txt, gz"
    };
    Err(SourceError::file(path, format!("this is {found}")))
}

fn extension(path: &Path) -> String {
    path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}

#[cfg(feature = "statistical-files")]
#[expect(clippy::unnecessary_wraps, reason = "without the feature this is an error")]
fn statistical(_path: &Path) -> Result<Format, SourceError> {
    Ok(Format::Statistical)
}

#[cfg(not(feature = "statistical-files"))]
fn statistical(path: &Path) -> Result<Format, SourceError> {
    let advice = "Stata, SPSS and SAS data files are read by a program built with \
                  `cargo build --release --features statistical-files`; or save the table as CSV";
    Err(SourceError::file(path, advice))
}

fn record(path: &Path, source: &str) -> Result<FileRecord, SourceError> {
    let (sha256, bytes) =
        sha256_of_file(path).map_err(|e| SourceError::file(path, format!("cannot be read: {e}")))?;
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    Ok(FileRecord { name, source: source.to_owned(), bytes, sha256, rows: 0, columns: 0, columns_read: 0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_recorded_with_its_size_and_hash() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("abc.csv");
        std::fs::write(&path, "abc").unwrap();
        let record = record(&path, "test").unwrap();
        // published: the first example of FIPS 180-4
        assert_eq!(record.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!((record.name.as_str(), record.bytes), ("abc.csv", 3));
    }
}
