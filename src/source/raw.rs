//! A file as it was read: named columns of numbers or text, before anything is known of their meaning.

use polars::prelude::{ChunkedArray, Float64Chunked, NewChunkedArray, StringChunked};

use super::SourceError;
use super::dates::is_date;
use super::error::{FoundCell, Problems};
use super::slip::Slip;

/// The cells of one column.
#[derive(Debug, Clone)]
pub(super) enum Cells {
    Numbers(Float64Chunked),
    Texts(StringChunked),
}

/// Where a row stands in its file, for messages.
#[derive(Debug, Clone)]
pub(super) enum Places {
    /// The nth record.
    Rows,
    /// The line of a text file on which the row begins.
    Lines(Vec<u32>),
}

/// A table with the columns that were asked for.
#[derive(Debug, Clone)]
pub(super) struct RawTable {
    /// Path as given, for messages.
    pub file: String,
    pub rows: usize,
    /// Names of all columns of the file, for messages.
    pub names: Vec<String>,
    pub columns: Vec<(String, Cells)>,
    pub places: Places,
    /// Whether decimals follow a comma in cells of text.
    pub decimal_comma: bool,
    /// What a first line such as `sep=;` says that parts the columns; the line is no row.
    pub stated_separator: Option<char>,
    /// Lines in whose cells nothing stands; they are no rows.
    pub empty_lines: Vec<u32>,
}

/// A column of numbers, and which of them were given as below a limit.
#[derive(Debug, Clone)]
pub(super) struct Measured {
    pub values: Float64Chunked,
    /// Position and limit of every cell that is given as below one; its value here is the limit / √2.
    pub below: Vec<(usize, f64)>,
}

impl RawTable {
    /// A table of a file that has rows and no lines.
    pub fn of_rows(file: String, rows: usize, names: Vec<String>, columns: Vec<(String, Cells)>) -> Self {
        let (decimal_comma, stated_separator, empty_lines) = (false, None, Vec::new());
        Self {
            file,
            rows,
            names,
            columns,
            places: Places::Rows,
            decimal_comma,
            stated_separator,
            empty_lines,
        }
    }

    /// Where a row stands: `line 17` or `row 16`.
    pub fn place(&self, row: usize) -> String {
        match &self.places {
            Places::Rows => format!("row {}", row + 1),
            Places::Lines(lines) => format!("line {}", lines[row]),
        }
    }

    /// Words for lines in whose cells nothing stands.
    pub fn empty_rows(&self) -> Option<String> {
        const SHOWN: usize = 5;
        let lines: Vec<String> = self.empty_lines.iter().take(SHOWN).map(u32::to_string).collect();
        let lines = lines.join(", ");
        match self.empty_lines.len() {
            0 => None,
            1 => Some(format!("an empty row is left out, line {lines}: no cell of it holds anything")),
            all => {
                let more = if all > SHOWN { " …" } else { "" };
                Some(format!(
                    "{all} empty rows are left out, lines {lines}{more}: no cell of them holds anything"
                ))
            }
        }
    }

    pub fn cell_error(&self, row: usize, column: &str, found: &str, expected: &str) -> SourceError {
        SourceError::Cell {
            file: self.file.clone(),
            place: self.place(row),
            column: column.to_owned(),
            found: found.to_owned(),
            expected: expected.to_owned(),
        }
    }

    /// An error about several cells of a column, each with its row and what was found there.
    pub fn cells_error(&self, column: &str, found: &[(usize, String)], expected: &str) -> SourceError {
        if let [(row, found)] = found {
            return self.cell_error(*row, column, found, expected);
        }
        let cell =
            |(row, found): &(usize, String)| FoundCell { place: self.place(*row), found: found.clone() };
        SourceError::Cells {
            file: self.file.clone(),
            column: column.to_owned(),
            expected: expected.to_owned(),
            found: found.iter().map(cell).collect(),
            count: found.len(),
        }
    }

    /// Whether the column was read.
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|(name, _)| name == column)
    }

    pub fn cells(&self, column: &str) -> Result<&Cells, SourceError> {
        let found = self.columns.iter().find(|(name, _)| name == column);
        found.map(|(_, cells)| cells).ok_or_else(|| SourceError::Columns {
            file: self.file.clone(),
            columns: vec![column.to_owned()],
            known: self.names.join(", "),
        })
    }

    /// The column as numbers; an empty cell or one of the `missing` texts is null, any other text an error.
    pub fn numbers(&self, column: &str, missing: &[String]) -> Result<Float64Chunked, SourceError> {
        Ok(self.measured(column, missing, None)?.values)
    }

    /// The same, where a text that begins with `mark` gives the limit below which the value lies.
    pub fn measured(
        &self,
        column: &str,
        missing: &[String],
        mark: Option<&str>,
    ) -> Result<Measured, SourceError> {
        let texts = match self.cells(column)? {
            Cells::Numbers(numbers) => {
                let values = present_numbers(numbers, missing);
                self.refuse_infinite(column, &values)?;
                return Ok(Measured { values, below: Vec::new() });
            }
            Cells::Texts(texts) => texts,
        };
        let codes = self.codes(missing);
        let mut faults: Vec<(Slip, Vec<(usize, String)>)> = Vec::new();
        let mut below = Vec::new();
        let values = texts.iter().enumerate().map(|(row, cell)| {
            let text = present(cell, missing)?;
            let limit = mark.and_then(|mark| self.number(text.strip_prefix(mark)?.trim()));
            if let Some(limit) = limit.filter(|limit| *limit > 0.0) {
                below.push((row, limit));
                return Some(limit / std::f64::consts::SQRT_2);
            }
            let number = self.number(text);
            if number.is_some_and(|x| codes.contains(&x)) {
                return None;
            }
            if number.is_none() {
                let slip = self.slip(text);
                match faults.iter_mut().find(|(kind, _)| *kind == slip) {
                    Some((_, rows)) => rows.push((row, text.to_owned())),
                    None => faults.push((slip, vec![(row, text.to_owned())])),
                }
            }
            number
        });
        let values: Vec<Option<f64>> = values.collect();
        let mut problems = Problems::default();
        for (slip, rows) in &faults {
            problems.add(self.cells_error(column, rows, &slip.expected(rows)));
        }
        problems.finish()?;
        Ok(Measured { values: ChunkedArray::from_iter_options(column.into(), values.into_iter()), below })
    }

    /// The numbers among texts that mean missing: `99` stands for `99.0` too.
    fn codes(&self, missing: &[String]) -> Vec<f64> {
        missing.iter().filter_map(|text| self.number(text)).collect()
    }

    /// An error where a number is infinite, as a file of numbers may hold one.
    fn refuse_infinite(&self, column: &str, values: &Float64Chunked) -> Result<(), SourceError> {
        let infinite = values.iter().enumerate().filter_map(|(row, cell)| Some((row, cell?)));
        let infinite = infinite.filter(|(_, x)| x.is_infinite()).map(|(row, x)| (row, x.to_string()));
        let infinite: Vec<(usize, String)> = infinite.collect();
        if infinite.is_empty() {
            return Ok(());
        }
        Err(self.cells_error(column, &infinite, "a finite number, or an empty cell"))
    }

    /// How many cells have decimals after a comma, and after a point.
    pub fn decimals(&self) -> (usize, usize) {
        let texts = self.columns.iter().filter_map(|(_, cells)| match cells {
            Cells::Texts(texts) => Some(texts),
            Cells::Numbers(_) => None,
        });
        let cells = || texts.clone().flat_map(|texts| texts.iter().flatten().map(str::trim));
        let with = |mark: char| {
            let is_decimal =
                |text: &&str| text.contains(mark) && parse_number(&text.replacen(mark, ".", 1)).is_some();
            cells().filter(is_decimal).count()
        };
        (with(','), with('.'))
    }

    /// A number as this file writes it.
    pub fn number(&self, text: &str) -> Option<f64> {
        if !self.decimal_comma {
            return parse_number(text);
        }
        // A point would be one of thousands, and nobody can tell: no number.
        if text.contains('.') { None } else { parse_number(&text.replacen(',', ".", 1)) }
    }

    fn slip(&self, text: &str) -> Slip {
        let after = text.strip_prefix(['<', '≤']).map(str::trim);
        match text.split_once(',') {
            _ if is_date(text) => Slip::Date,
            _ if after.is_some_and(|limit| self.number(limit).is_some()) => Slip::Below,
            _ if self.decimal_comma && text.contains('.') && is_figures(text) => Slip::Point,
            Some((whole, part)) if parse_number(&format!("{whole}.{part}")).is_some() => Slip::Comma,
            _ => Slip::Word,
        }
    }

    /// The column as text; whole numbers are written without a decimal point.
    pub fn texts(&self, column: &str, missing: &[String]) -> Result<StringChunked, SourceError> {
        let name = column.into();
        Ok(match self.cells(column)? {
            Cells::Numbers(numbers) => {
                let numbers = present_numbers(numbers, missing);
                ChunkedArray::from_iter_options(name, numbers.iter().map(|cell| cell.map(|x| x.to_string())))
            }
            Cells::Texts(texts) => {
                let codes = self.codes(missing);
                let is_code =
                    |text: &str| !codes.is_empty() && self.number(text).is_some_and(|x| codes.contains(&x));
                let kept = texts.iter().map(|cell| present(cell, missing).filter(|text| !is_code(text)));
                ChunkedArray::from_iter_options(name, kept)
            }
        })
    }
}

/// Numbers, without those that stand for a missing value.
fn present_numbers(numbers: &Float64Chunked, missing: &[String]) -> Float64Chunked {
    let codes: Vec<f64> = missing.iter().filter_map(|text| parse_number(text)).collect();
    numbers.iter().map(|cell| cell.filter(|x| !codes.contains(x))).collect()
}

/// The cell without surrounding blanks, unless it is empty or stands for a missing value.
fn present<'a>(cell: Option<&'a str>, missing: &[String]) -> Option<&'a str> {
    cell.map(str::trim).filter(|text| !text.is_empty() && !missing.iter().any(|m| m == text))
}

/// Whether a text holds nothing but figures and what stands between them.
fn is_figures(text: &str) -> bool {
    text.chars().all(|c| c.is_ascii_digit() || ".,+-".contains(c))
}

/// A finite decimal number; `nan`, `inf` and decimal commas are none.
pub(super) fn parse_number(text: &str) -> Option<f64> {
    let digits = text.trim_start_matches(['+', '-']);
    let starts = digits.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    text.parse::<f64>().ok().filter(|x| starts && x.is_finite())
}

/// Whether a column is among those wanted (all when `None`): by name, or by a beginning followed by a star.
pub(super) fn is_wanted(wanted: Option<&[&str]>, name: &str) -> bool {
    let one =
        |w: &&str| *w == name || w.strip_suffix('*').is_some_and(|beginning| name.starts_with(beginning));
    wanted.is_none_or(|wanted| wanted.iter().any(one))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(cells: &[&str]) -> RawTable {
        let texts = StringChunked::from_iter_options("x".into(), cells.iter().map(|c| Some(*c)));
        let lines = (2..).take(cells.len()).collect();
        RawTable {
            file: "cohort.csv".to_owned(),
            rows: cells.len(),
            names: vec!["x".to_owned()],
            columns: vec![("x".to_owned(), Cells::Texts(texts))],
            places: Places::Lines(lines),
            decimal_comma: false,
            stated_separator: None,
            empty_lines: Vec::new(),
        }
    }

    #[test]
    fn numbers_are_strict() {
        let missing = ["NA".to_owned(), "-9".to_owned()];
        let got = table(&["1.5", " 2 ", "", "NA", "-9", "1e3", "0"]).numbers("x", &missing).unwrap();
        let expected = [Some(1.5), Some(2.0), None, None, None, Some(1000.0), Some(0.0)];
        assert_eq!(got.iter().collect::<Vec<_>>(), expected);
        for bad in ["5,6", "nan", "inf", "<2", "1 2", "0x10", "1e999"] {
            let error = table(&["1", bad]).numbers("x", &missing).unwrap_err().to_string();
            assert!(error.contains("line 3") && error.contains(bad), "{error}");
        }
    }

    /// A table of one column of numbers.
    fn number_table(cells: &[Option<f64>]) -> RawTable {
        let numbers = Cells::Numbers(cells.iter().copied().collect());
        RawTable {
            columns: vec![("x".to_owned(), numbers)],
            places: Places::Rows,
            ..table(&vec![""; cells.len()])
        }
    }

    #[test]
    fn a_number_that_means_missing_is_known_however_it_is_written() {
        let missing = ["99".to_owned(), "-9".to_owned(), "NA".to_owned()];
        let expected = [None, None, None, Some(9.0), Some(990.0)];
        let texts = table(&["99.0", "-9.00", "NA", "9", "990"]);
        assert_eq!(texts.numbers("x", &missing).unwrap().iter().collect::<Vec<_>>(), expected);
        let german = RawTable { decimal_comma: true, ..table(&["99,0", "-9,00", "NA", "9", "990,0"]) };
        assert_eq!(german.numbers("x", &missing).unwrap().iter().collect::<Vec<_>>(), expected);
        let numbers = number_table(&[Some(99.0), Some(-9.0), None, Some(9.0), Some(990.0)]);
        assert_eq!(numbers.numbers("x", &missing).unwrap().iter().collect::<Vec<_>>(), expected);
        // As labels, too.
        let labels = [None, None, None, Some("9"), Some("990")];
        assert_eq!(texts.texts("x", &missing).unwrap().iter().collect::<Vec<_>>(), labels);
        assert_eq!(
            numbers.texts("x", &["99.0".to_owned(), "-9.0".to_owned()]).unwrap().iter().collect::<Vec<_>>(),
            labels
        );
        assert_eq!(table(&["099", "1"]).texts("x", &[]).unwrap().get(0), Some("099"), "nothing is listed");
        // A limit of the same number is none.
        let below = table(&["99.0", "<99"]).measured("x", &missing, Some("<")).unwrap();
        assert_eq!((below.below.len(), below.values.get(0)), (1, None));
    }

    #[test]
    fn an_infinite_number_is_refused_with_its_row() {
        let error =
            number_table(&[Some(1.0), Some(f64::INFINITY)]).numbers("x", &[]).unwrap_err().to_string();
        assert!(error.contains("row 2, column `x`: found `inf`, expected a finite number"), "{error}");
    }

    #[test]
    fn every_cell_that_is_no_number_is_told_at_once_by_kind() {
        let error = table(&["1", "low", "5,6", "high", "<2"]).numbers("x", &[]).unwrap_err().to_string();
        let lines: Vec<&str> = error.lines().collect();
        assert_eq!(lines.len(), 4, "{error}");
        assert!(lines[1].contains("in 2 rows `low` (line 3), `high` (line 5)"), "{error}");
        assert!(lines[2].contains("line 4") && lines[2].contains("5.6"), "{error}");
        assert!(lines[3].contains("line 6") && lines[3].contains("below_detection = \"<\""), "{error}");
        let many: Vec<String> = (0..25).map(|i| format!("w{i}")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        let error = table(&many).numbers("x", &[]).unwrap_err().to_string();
        assert!(error.contains("in 25 rows") && error.contains("`w19` (line 21) and 5 more"), "{error}");
    }

    /// hand: 2 / √2 = √2
    #[test]
    fn a_cell_below_a_limit_is_filled_with_the_limit_over_root_two() {
        let got = table(&["4", "<2", "< 2", ""]).measured("x", &[], Some("<")).unwrap();
        assert_eq!(got.below, [(1, 2.0), (2, 2.0)]);
        assert!((got.values.get(1).unwrap() - std::f64::consts::SQRT_2).abs() < 1e-6);
        assert_eq!((got.values.get(0), got.values.get(3)), (Some(4.0), None));
        assert!(table(&["<"]).measured("x", &[], Some("<")).is_err());
    }

    #[test]
    fn a_decimal_comma_is_read_where_it_is_stated() {
        let german = RawTable { decimal_comma: true, ..table(&["5,6", "7", "<0,5"]) };
        let got = german.measured("x", &[], Some("<")).unwrap();
        assert_eq!((got.values.get(0), got.values.get(1), got.below[0].1), (Some(5.6), Some(7.0), 0.5));
        let mixed = RawTable { decimal_comma: true, ..table(&["1.234"]) };
        assert!(mixed.numbers("x", &[]).unwrap_err().to_string().contains("follow a comma"));
    }

    #[test]
    fn an_absent_column_lists_the_present_ones() {
        let error = table(&["1"]).numbers("y", &[]).unwrap_err().to_string();
        assert_eq!(error, "cohort.csv: no column `y`; its columns are: x");
    }
}
