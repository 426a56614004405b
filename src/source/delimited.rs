//! Text files with a header line and comma- or tab-separated cells, plain or compressed with gzip.

use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

use flate2::read::MultiGzDecoder;
use polars::prelude::{ChunkedArray, NewChunkedArray};

use super::SourceError;
use super::newlines::Newlines;
use super::raw::{Cells, Places, RawTable, is_wanted};

const GZIP_MAGIC: [u8; 2] = [0x1f, 0x8b];

/// How a text file is written, as far as that is stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Form {
    /// Without one, a tab when the header line has tabs and no commas, else a comma.
    pub separator: Option<u8>,
    pub decimal_comma: bool,
}

/// Which rows and columns of a file are read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part<'a> {
    /// All columns when `None`.
    pub wanted: Option<&'a [&'a str]>,
    /// So many rows at most.
    pub rows: usize,
}

/// Reads cells as text; what is a number is decided where it is used. A byte order mark is skipped by the CSV reader.
pub(super) fn read(path: &Path, part: Part<'_>, form: Form) -> Result<RawTable, SourceError> {
    let mut input = open(path)?;
    let header = input.fill_buf().map_err(|e| unreadable(path, &e))?;
    let separator = form.separator.unwrap_or_else(|| separator(header));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .terminator(csv::Terminator::Any(b'\n'))
        .flexible(true)
        .from_reader(Newlines::new(input));
    let names: Vec<String> = reader.headers().map_err(|e| broken(path, &e))?.iter().map(clean).collect();
    check_header(path, &names)?;
    let (rows, columns, lines) = read_cells(path, &mut reader, &names, part)?;
    let (file, places) = (path.display().to_string(), Places::Lines(lines));
    Ok(RawTable { file, rows, names, columns, places, decimal_comma: form.decimal_comma })
}

fn separator(start: &[u8]) -> u8 {
    let header = start.split(|b| matches!(b, b'\n' | b'\r')).next().unwrap_or_default();
    if header.contains(&b'\t') && !header.contains(&b',') { b'\t' } else { b',' }
}

/// The form that the first line and the cells of a file speak for: columns parted by semicolons, decimals after a comma.
pub(super) fn recognise(path: &Path, rows: usize) -> Result<Form, SourceError> {
    let mut input = open(path)?;
    let start = input.fill_buf().map_err(|e| unreadable(path, &e))?;
    let header = start.split(|b| matches!(b, b'\n' | b'\r')).next().unwrap_or_default();
    let header = String::from_utf8_lossy(header);
    let semicolons = header.matches(';').count() > header.matches(',').count() && !header.contains('\t');
    let form = Form { separator: semicolons.then_some(b';'), decimal_comma: false };
    let table = read(path, Part { wanted: None, rows }, form)?;
    let (commas, points) = table.decimals();
    Ok(Form { decimal_comma: commas > points, ..form })
}

type Columns = Vec<(String, Cells)>;

fn read_cells<R: Read>(
    path: &Path,
    reader: &mut csv::Reader<R>,
    names: &[String],
    part: Part<'_>,
) -> Result<(usize, Columns, Vec<u32>), SourceError> {
    let kept = names.iter().enumerate().filter(|(_, n)| is_wanted(part.wanted, n));
    let mut columns: Vec<(usize, Vec<Option<String>>)> = kept.map(|(at, _)| (at, Vec::new())).collect();
    let (mut lines, mut ragged) = (Vec::new(), Vec::new());
    let mut record = csv::StringRecord::new();
    while lines.len() < part.rows && reader.read_record(&mut record).map_err(|e| broken(path, &e))? {
        // Every line ends in a line feed: the reader stands in the line after the record.
        let within: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
        let line = reader.position().line() as u32 - 1 - within as u32;
        if record.len() != names.len() {
            ragged.push((line, record.len()));
        }
        lines.push(line);
        for (at, cells) in &mut columns {
            cells.push(record.get(*at).filter(|cell| !cell.is_empty()).map(str::to_owned));
        }
    }
    if !ragged.is_empty() {
        return Err(SourceError::file(path, unequal(&ragged, names.len())));
    }
    let columns = columns.into_iter().map(|(at, cells)| {
        let name = &names[at];
        (name.clone(), Cells::Texts(ChunkedArray::from_iter_options(name.as_str().into(), cells.into_iter())))
    });
    Ok((lines.len(), columns.collect(), lines))
}

/// Words for lines, each with its number of cells, that have not as many as the header line.
fn unequal(ragged: &[(u32, usize)], expected: usize) -> String {
    const SHOWN: usize = 20;
    let each = ragged.iter().take(SHOWN).map(|(line, found)| format!("line {line}: {found} cells found"));
    let more = if ragged.len() > SHOWN {
        format!(" and {} more lines", ragged.len() - SHOWN)
    } else {
        String::new()
    };
    let advice = if ragged.iter().any(|(_, found)| *found > expected) {
        "; a cell that contains the separator, such as 5,6, stands in quotation marks"
    } else {
        ""
    };
    let each = each.collect::<Vec<_>>().join(", ");
    format!("{each}{more}, {expected} expected as in the header line{advice}")
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
        let problem = "line 1: the columns are separated by semicolons, expected commas or tabs: add separator = \";\" \
                       to the [[source]] of the study (and decimal = \",\" where decimals follow a comma), or save the \
                       table with commas";
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
        csv::ErrorKind::Utf8 { .. } => "not UTF-8 text; save the file as UTF-8".to_owned(),
        csv::ErrorKind::Io(e) => format!("cannot be read to its end: {e}; get the file again"),
        _ => error.to_string(),
    };
    SourceError::file(path, format!("{line}{what}"))
}
