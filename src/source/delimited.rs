//! Text files with a header line and comma- or tab-separated cells, plain or compressed with gzip.

use std::fs::File;
use std::io::{BufRead, BufReader, Cursor, Read};
use std::path::Path;

use flate2::read::MultiGzDecoder;
use polars::prelude::{ChunkedArray, NewChunkedArray};

use super::SourceError;
use super::newlines::Newlines;
use super::raw::{Cells, Places, RawTable, is_wanted};
use super::western::{as_utf8, is_western};

const GZIP_MAGIC: [u8; 2] = [0x1f, 0x8b];

/// How a text file is written, as far as that is stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Form {
    /// Without one, a tab when the header line has tabs and no commas, else a comma.
    pub separator: Option<u8>,
    pub decimal_comma: bool,
    /// One byte a letter, as older programs write; else UTF-8.
    pub windows_1252: bool,
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
    let mut input = open(path, form)?;
    let stated = take_separator_line(path, &mut input)?;
    let header = input.fill_buf().map_err(|e| unreadable(path, &e))?;
    let separator = form.separator.or(stated).unwrap_or_else(|| separator(header));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .terminator(csv::Terminator::Any(b'\n'))
        .flexible(true)
        .from_reader(Newlines::new(input));
    let before = u32::from(stated.is_some());
    let names: Vec<String> =
        reader.headers().map_err(|e| broken(path, &e, before))?.iter().map(clean).collect();
    check_header(path, &names)?;
    let (rows, columns, lines) = read_cells((path, before), &mut reader, &names, part)?;
    Ok(RawTable {
        file: path.display().to_string(),
        rows,
        names,
        columns,
        places: Places::Lines(lines),
        decimal_comma: form.decimal_comma,
        stated_separator: stated.map(char::from),
    })
}

/// What parts the columns by a first line of its own, `sep=;`, as spreadsheet programs write it. The line is taken off.
fn take_separator_line(path: &Path, input: &mut Box<dyn BufRead>) -> Result<Option<u8>, SourceError> {
    let start = input.fill_buf().map_err(|e| unreadable(path, &e))?;
    let Some(end) = start.iter().position(|b| matches!(b, b'\n' | b'\r')) else { return Ok(None) };
    let Some(separator) = separator_of(&start[..end]) else { return Ok(None) };
    let line_end = if start[end..].starts_with(b"\r\n") { 2 } else { 1 };
    input.consume(end + line_end);
    Ok(Some(separator))
}

fn separator_of(line: &[u8]) -> Option<u8> {
    let line = line.strip_prefix(b"\xef\xbb\xbf").unwrap_or(line);
    let bare = line.strip_prefix(b"\"").and_then(|line| line.strip_suffix(b"\"")).unwrap_or(line);
    match bare {
        [s, e, p, b'=', separator] if [*s, *e, *p].eq_ignore_ascii_case(b"sep") => Some(*separator),
        _ => None,
    }
}

fn separator(start: &[u8]) -> u8 {
    let header = start.split(|b| matches!(b, b'\n' | b'\r')).next().unwrap_or_default();
    if header.contains(&b'\t') && !header.contains(&b',') { b'\t' } else { b',' }
}

/// The form that the first line and the cells of a file speak for: columns parted by semicolons, decimals after a comma.
pub(super) fn recognise(path: &Path, rows: usize) -> Result<Form, SourceError> {
    let plain = Form::default();
    let windows_1252 = is_western(&whole(path, &mut open(path, plain)?)?);
    let mut input = open(path, Form { windows_1252, ..plain })?;
    let stated = take_separator_line(path, &mut input)?;
    let start = input.fill_buf().map_err(|e| unreadable(path, &e))?;
    let header = start.split(|b| matches!(b, b'\n' | b'\r')).next().unwrap_or_default();
    let header = String::from_utf8_lossy(header);
    let semicolons = header.matches(';').count() > header.matches(',').count() && !header.contains('\t');
    let form = Form { separator: stated.or(semicolons.then_some(b';')), windows_1252, ..plain };
    let table = read(path, Part { wanted: None, rows }, form)?;
    let (commas, points) = table.decimals();
    Ok(Form { decimal_comma: commas > points, ..form })
}

type Columns = Vec<(String, Cells)>;

/// The cells of the rows; `before` lines of the file stand before its header line.
fn read_cells<R: Read>(
    (path, before): (&Path, u32),
    reader: &mut csv::Reader<R>,
    names: &[String],
    part: Part<'_>,
) -> Result<(usize, Columns, Vec<u32>), SourceError> {
    let kept = names.iter().enumerate().filter(|(_, n)| is_wanted(part.wanted, n));
    let mut columns: Vec<(usize, Vec<Option<String>>)> = kept.map(|(at, _)| (at, Vec::new())).collect();
    let (mut lines, mut ragged) = (Vec::new(), Vec::new());
    let mut record = csv::StringRecord::new();
    while lines.len() < part.rows && reader.read_record(&mut record).map_err(|e| broken(path, &e, before))? {
        // Every line ends in a line feed: the reader stands in the line after the record.
        let within: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
        let line = before + reader.position().line() as u32 - 1 - within as u32;
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

/// All that is left of a file.
fn whole(path: &Path, input: &mut Box<dyn BufRead>) -> Result<Vec<u8>, SourceError> {
    let mut bytes = Vec::new();
    input.read_to_end(&mut bytes).map_err(|e| not_to_its_end(path, &e))?;
    Ok(bytes)
}

/// The text of a file as UTF-8.
fn open(path: &Path, form: Form) -> Result<Box<dyn BufRead>, SourceError> {
    let mut plain = unzipped(path)?;
    if !form.windows_1252 {
        return Ok(plain);
    }
    let bytes = as_utf8(whole(path, &mut plain)?).map_err(|line| {
        SourceError::file(path, format!("line {line}: not Windows-1252 text; save the file as UTF-8"))
    })?;
    Ok(Box::new(Cursor::new(bytes)))
}

fn unzipped(path: &Path) -> Result<Box<dyn BufRead>, SourceError> {
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

fn not_to_its_end(path: &Path, error: &std::io::Error) -> SourceError {
    SourceError::file(path, format!("cannot be read to its end: {error}; get the file again"))
}

/// Words for the errors of the CSV reader, with the line on which they happened.
fn broken(path: &Path, error: &csv::Error, before: u32) -> SourceError {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn file(text: &str) -> (tempfile::TempDir, std::path::PathBuf) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("t.csv");
        std::fs::write(&path, text).expect("a file");
        (folder, path)
    }

    #[test]
    fn a_first_line_that_states_the_separator_is_no_row() {
        let all = Part { wanted: None, rows: usize::MAX };
        for text in ["sep=;\na;b\n1;2\n", "\u{feff}SEP=;\r\na;b\r\n1;2\r\n", "\"sep=;\"\ra;b\r1;2\r"] {
            let (_folder, path) = file(text);
            let table = read(&path, all, Form::default()).expect("a table");
            assert_eq!(
                (table.names.clone(), table.rows),
                (vec!["a".to_owned(), "b".to_owned()], 1),
                "{text:?}"
            );
            assert_eq!(
                (table.place(0), table.stated_separator),
                ("line 3".to_owned(), Some(';')),
                "{text:?}"
            );
            assert_eq!(recognise(&path, 10).expect("a form").separator, Some(b';'), "{text:?}");
        }
        let (_folder, path) = file("sep=;\na|b\n1|2\n");
        let own = Form { separator: Some(b'|'), ..Form::default() };
        assert_eq!(read(&path, all, own).expect("the study's own separator").names, ["a", "b"]);
        let (_folder, path) = file("sep,b\n1,2\n");
        assert_eq!(read(&path, all, Form::default()).expect("a column called sep").names, ["sep", "b"]);
        let (_folder, path) = file("sep=,\na,b\n1,2\n1,2,3\n");
        let error = read(&path, all, Form::default()).expect_err("a cell too many").to_string();
        assert!(error.contains("line 4: 3 cells found"), "{error}");
    }
}
