//! Text files with a header line and comma- or tab-separated cells, plain or compressed with gzip.

use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

use flate2::read::MultiGzDecoder;
use polars::prelude::{ChunkedArray, NewChunkedArray};

use super::SourceError;
use super::raw::{Cells, Places, RawTable, is_wanted};

const GZIP_MAGIC: [u8; 2] = [0x1f, 0x8b];

/// Reads the wanted columns (all when `None`) as text; what is a number is decided where it is used.
/// A byte order mark is skipped by the CSV reader.
pub(super) fn read(path: &Path, wanted: Option<&[&str]>) -> Result<RawTable, SourceError> {
    first(path, wanted, usize::MAX)
}

/// Reads the first rows alone.
pub(super) fn first(path: &Path, wanted: Option<&[&str]>, most: usize) -> Result<RawTable, SourceError> {
    let mut input = open(path)?;
    let header = input.fill_buf().map_err(|e| unreadable(path, &e))?;
    let header = header.split(|b| *b == b'\n').next().unwrap_or_default();
    let delimiter = if header.contains(&b'\t') && !header.contains(&b',') { b'\t' } else { b',' };
    let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).from_reader(input);
    let names: Vec<String> = reader.headers().map_err(|e| broken(path, &e))?.iter().map(clean).collect();
    check_header(path, &names)?;
    let (rows, columns, lines) = read_cells(path, &mut reader, (&names, wanted), most)?;
    Ok(RawTable { file: path.display().to_string(), rows, names, columns, places: Places::Lines(lines) })
}

type Columns = Vec<(String, Cells)>;

fn read_cells<R: Read>(
    path: &Path,
    reader: &mut csv::Reader<R>,
    (names, wanted): (&[String], Option<&[&str]>),
    most: usize,
) -> Result<(usize, Columns, Vec<u32>), SourceError> {
    let kept = names.iter().enumerate().filter(|(_, n)| is_wanted(wanted, n));
    let mut columns: Vec<(usize, Vec<Option<String>>)> = kept.map(|(at, _)| (at, Vec::new())).collect();
    let mut lines = Vec::new();
    let mut record = csv::StringRecord::new();
    while lines.len() < most && reader.read_record(&mut record).map_err(|e| broken(path, &e))? {
        lines.push(record.position().map_or(0, |p| p.line() as u32));
        for (at, cells) in &mut columns {
            cells.push(record.get(*at).filter(|cell| !cell.is_empty()).map(str::to_owned));
        }
    }
    let columns = columns.into_iter().map(|(at, cells)| {
        let name = &names[at];
        (name.clone(), Cells::Texts(ChunkedArray::from_iter_options(name.as_str().into(), cells.into_iter())))
    });
    Ok((lines.len(), columns.collect(), lines))
}

fn open(path: &Path) -> Result<Box<dyn BufRead>, SourceError> {
    let file = File::open(path).map_err(|e| unreadable(path, &e))?;
    let mut plain = BufReader::new(file);
    let zipped = plain.fill_buf().map_err(|e| unreadable(path, &e))?.starts_with(&GZIP_MAGIC);
    Ok(if zipped { Box::new(BufReader::new(MultiGzDecoder::new(plain))) } else { Box::new(plain) })
}

fn clean(name: &str) -> String {
    name.trim().to_owned()
}

fn check_header(path: &Path, names: &[String]) -> Result<(), SourceError> {
    if names.is_empty() {
        return Err(SourceError::file(path, "is empty; a header line with column names is expected"));
    }
    if let [only] = names
        && only.contains(';')
    {
        let problem = "line 1: the columns are separated by semicolons, expected commas or tabs: save the table with \
                       commas, and with decimals after a point";
        return Err(SourceError::file(path, problem));
    }
    let twice = names.iter().enumerate().find(|(at, name)| names[..*at].contains(name));
    match twice {
        Some((at, name)) => Err(SourceError::file(
            path,
            format!("line 1: column name `{name}` stands twice (again as column {}); rename one", at + 1),
        )),
        None => Ok(()),
    }
}

fn unreadable(path: &Path, error: &std::io::Error) -> SourceError {
    SourceError::file(path, format!("cannot be read: {error}"))
}

/// Words for the errors of the CSV reader, with the line on which they happened.
fn broken(path: &Path, error: &csv::Error) -> SourceError {
    let line = error.position().map_or(String::new(), |p| format!("line {}: ", p.line()));
    let what = match error.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            format!("{len} cells found, {expected_len} expected as in the header line")
        }
        csv::ErrorKind::Utf8 { .. } => "not UTF-8 text; save the file as UTF-8".to_owned(),
        csv::ErrorKind::Io(e) => format!("cannot be read to its end: {e}; get the file again"),
        _ => error.to_string(),
    };
    SourceError::file(path, format!("{line}{what}"))
}
