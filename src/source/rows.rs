//! The rows of a text file, and what is wrong with them.

use std::io::Read;
use std::path::Path;

use polars::prelude::{ChunkedArray, NewChunkedArray};

use super::error::Problems;
use super::newlines::Newlines;
use super::quotes::{Behind, Shape};
use super::raw::{Cells, is_wanted};
use super::{SourceError, quotes};

/// Which rows and columns of a file are read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part<'a> {
    /// All columns when `None`.
    pub wanted: Option<&'a [&'a str]>,
    /// So many rows at most.
    pub rows: usize,
}

/// Columns that are read, by name.
pub(super) type Columns = Vec<(String, Cells)>;

/// A text file whose header line was read.
pub(super) struct Text<'a> {
    pub path: &'a Path,
    /// So many lines stand before the header line.
    pub before: u32,
    pub names: &'a [String],
    pub shape: Shape,
}

impl Text<'_> {
    /// The line in which the reader stands.
    fn line<R: Read>(&self, reader: &csv::Reader<Newlines<R>>) -> u32 {
        self.before + reader.position().line() as u32
    }

    /// Words for a quotation mark in the record just read that takes in more than its cell.
    pub fn quote_fault<R: Read>(
        &self,
        record: &csv::StringRecord,
        reader: &csv::Reader<Newlines<R>>,
    ) -> Option<String> {
        let open = !record.is_empty() && reader.get_ref().is_all(reader.position().byte());
        quotes::fault(record, self.shape, Behind { line: self.line(reader), open })
    }
}

/// The rows of a text file.
pub(super) struct Rows {
    pub columns: Columns,
    /// The line on which each begins.
    pub lines: Vec<u32>,
    /// Lines between them in whose cells nothing stands: they are no rows.
    pub empty: Vec<u32>,
}

/// The cells of the rows, without rows in which nothing stands.
pub(super) fn read_cells<R: Read>(
    text: &Text<'_>,
    reader: &mut csv::Reader<Newlines<R>>,
    part: Part<'_>,
) -> Result<Rows, SourceError> {
    let (path, names) = (text.path, text.names);
    let mut problems = Problems::default();
    let kept = names.iter().enumerate().filter(|(_, n)| is_wanted(part.wanted, n));
    let mut columns: Vec<(usize, Vec<Option<String>>)> = kept.map(|(at, _)| (at, Vec::new())).collect();
    let (mut lines, mut empty, mut ragged) = (Vec::new(), Vec::new(), Vec::new());
    let mut record = csv::StringRecord::new();
    while lines.len() < part.rows
        && reader.read_record(&mut record).map_err(|e| broken(path, &e, text.before))?
    {
        if let Some(fault) = text.quote_fault(&record, reader) {
            problems.add(SourceError::file(path, fault));
            break;
        }
        // Every line ends in a line feed: the reader stands in the line after the record.
        let within: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
        let line = text.line(reader) - 1 - within as u32;
        if record.iter().all(|cell| cell.trim().is_empty()) {
            empty.push(line);
            continue;
        }
        if record.len() != names.len() {
            ragged.push((line, record.len()));
        }
        lines.push(line);
        for (at, cells) in &mut columns {
            cells.push(record.get(*at).filter(|cell| !cell.is_empty()).map(str::to_owned));
        }
    }
    if !ragged.is_empty() {
        problems.add(SourceError::file(path, unequal(&ragged, names.len())));
    }
    problems.finish()?;
    let columns = columns.into_iter().map(|(at, cells)| {
        let name = &names[at];
        (name.clone(), Cells::Texts(ChunkedArray::from_iter_options(name.as_str().into(), cells.into_iter())))
    });
    Ok(Rows { columns: columns.collect(), lines, empty })
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

pub(super) fn not_to_its_end(path: &Path, error: &std::io::Error) -> SourceError {
    SourceError::file(path, format!("cannot be read to its end: {error}; get the file again"))
}

/// Words for the errors of the CSV reader, with the line on which they happened.
pub(super) fn broken(path: &Path, error: &csv::Error, before: u32) -> SourceError {
    let line = error.position().map_or(String::new(), |p| format!("line {}: ", p.line() + u64::from(before)));
    let what = match error.kind() {
        csv::ErrorKind::Utf8 { .. } => {
            "not UTF-8 text; save the file as UTF-8, or add encoding = \"windows-1252\" to its \
                                        [[source]] where an older program wrote it"
                .to_owned()
        }
        csv::ErrorKind::Io(e) => return not_to_its_end(path, e),
        _ => error.to_string(),
    };
    SourceError::file(path, format!("{line}{what}"))
}
