//! Text files with a header line and comma- or tab-separated cells, plain or compressed with gzip.

use std::fs::File;
use std::io::{BufRead, BufReader, Cursor};
use std::path::Path;

use flate2::read::MultiGzDecoder;

use super::SourceError;
use super::above::{TWO_BYTES, is_two_bytes, title};
use super::newlines::Newlines;
use super::quotes::Shape;
use super::raw::{Places, RawTable};
use super::rows::{Part, Rows, Text, broken, not_to_its_end, read_cells};
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

/// Reads cells as text; what is a number is decided where it is used. A byte order mark is skipped by the CSV reader.
pub(super) fn read(path: &Path, part: Part<'_>, form: Form) -> Result<RawTable, SourceError> {
    let mut input = open(path, form)?;
    let stated = take_separator_line(path, &mut input)?;
    let before = u32::from(stated.is_some());
    let start = input.fill_buf().map_err(|e| unreadable(path, &e))?;
    if let Some(words) = title(start, form.separator.or(stated), before) {
        return Err(SourceError::file(path, words));
    }
    let separator = form.separator.or(stated).unwrap_or_else(|| separator(start));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .terminator(csv::Terminator::Any(b'\n'))
        .flexible(true)
        .from_reader(Newlines::new(input));
    let header = reader.headers().map_err(|e| broken(path, &e, before))?.clone();
    let names: Vec<String> = header.iter().map(clean).collect();
    let text = Text { path, before, names: &names, shape: Shape { separator, columns: names.len() } };
    if let Some(fault) = text.quote_fault(&header, &reader) {
        return Err(SourceError::file(path, fault));
    }
    check_header(path, &names)?;
    let Rows { columns, lines, empty } = read_cells(&text, &mut reader, part)?;
    Ok(RawTable {
        file: path.display().to_string(),
        rows: lines.len(),
        names,
        columns,
        places: Places::Lines(lines),
        decimal_comma: form.decimal_comma,
        stated_separator: stated.map(char::from),
        empty_lines: empty,
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

/// All that is left of a file.
fn whole(path: &Path, input: &mut Box<dyn BufRead>) -> Result<Vec<u8>, SourceError> {
    let mut bytes = Vec::new();
    input.read_to_end(&mut bytes).map_err(|e| not_to_its_end(path, &e))?;
    Ok(bytes)
}

/// The text of a file as UTF-8.
fn open(path: &Path, form: Form) -> Result<Box<dyn BufRead>, SourceError> {
    let mut plain = unzipped(path)?;
    if is_two_bytes(plain.fill_buf().map_err(|e| unreadable(path, &e))?) {
        return Err(SourceError::file(path, TWO_BYTES));
    }
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
    if let Some(problem) = nameless(names) {
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

/// Words for a header in which several columns have no name.
fn nameless(names: &[String]) -> Option<String> {
    let without = names.iter().enumerate().filter(|(_, name)| name.is_empty()).map(|(at, _)| at + 1);
    match without.collect::<Vec<_>>().as_slice() {
        [] | [_] => None,
        all if all.len() == names.len() => Some(
            "line 1: no column has a name; take out empty lines above the line of column names".to_owned(),
        ),
        [one, other, ..] => Some(format!(
            "line 1: columns {one} and {other} have no name; name them, or take them out where they are empty"
        )),
    }
}

fn unreadable(path: &Path, error: &std::io::Error) -> SourceError {
    SourceError::file(path, format!("cannot be read: {error}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::raw::Cells;

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

    #[test]
    fn a_quotation_mark_that_is_not_closed_is_refused_with_its_line() {
        let all = Part { wanted: None, rows: usize::MAX };
        let refused = |text: &str| {
            let (_folder, path) = file(text);
            read(&path, all, Form::default()).expect_err(text).to_string()
        };
        let open = "not closed before the end of the file";
        for (text, line, words) in [
            ("id,g,i,note\n1,90,5,\"a\n2,95,8,b\n3,99,12,c\"\n4,91,6,d\n", "line 2:", "down to line 4;"),
            ("id,g,i,note\r\n1,90,5,a\r\n\r\n2,95,8,\"b\r\n3,99,12,c\r\n", "line 4:", open),
            ("id,g,i,note\n1,90,5,a\n2,95,8,\"b", "line 3:", open),
            ("id,note,g,i\n1,\"a,90,5\n2,\"b\",95,8\n", "line 2:", "down to line 3;"),
            ("id,\"note,g,i\n1,a,90,5\n", "line 1:", open),
            ("id,g,i,\"note\n1,90,5,a\n2,95,8,b\"\n", "line 1:", "down to line 3;"),
            ("sep=,\nid,note\n1,\"a\n", "line 3:", open),
        ] {
            let error = refused(text);
            assert!(error.contains(line) && error.contains(words), "{text:?}: {error}");
        }
        let both = refused("id,g\n1,2,3\n4,\"5\n6,7\n");
        assert!(
            both.contains("line 2: 3 cells found") && both.contains("line 3: a quotation mark"),
            "{both}"
        );
        // Beyond the rows that are looked at, nothing is judged.
        let (_folder, path) = file("id,note\n1,a\n2,\"b\n");
        assert_eq!(read(&path, Part { wanted: None, rows: 1 }, Form::default()).expect("a row").rows, 1);
    }

    #[test]
    fn cells_of_several_lines_are_read_and_their_lines_counted() {
        let all = Part { wanted: None, rows: usize::MAX };
        for text in [
            "id,\"glucose\n(mg/dL)\",note\n1,90,\"two\nlines, a comma\n\"\n2,95,\"\"\"quoted\"\"\"\n",
            "id,\"glucose\n(mg/dL)\",note\n1,90,\"two\nlines, a comma\n\"\n2,95,\"\"\"quoted\"\"\"\n\n\n",
            "id,\"glucose\n(mg/dL)\",note\n1,90,\"two\nlines, a comma\n\"\n2,95,\"\"\"quoted\"\"\"",
        ] {
            let (_folder, path) = file(text);
            let table = read(&path, all, Form::default()).expect("a table");
            assert_eq!((table.rows, table.place(0), table.place(1)), (2, "line 3".into(), "line 6".into()));
            let Cells::Texts(notes) = &table.columns[2].1 else { panic!("text") };
            assert_eq!(notes.get(1), Some("\"quoted\""), "{text:?}");
        }
        let (_folder, path) = file("");
        assert!(read(&path, all, Form::default()).expect_err("no header").to_string().contains("is empty"));
    }
}
