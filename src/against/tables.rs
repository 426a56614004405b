//! Two folders of CSV tables, cell by cell.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result, ensure};
use csv::StringRecord;

use super::extent::{Cell, Extent};
use super::rows::{Matched, matched};
use super::sort::{Scale, newly_apart, scale};
use super::words::row_in_words;

/// A table that is not the same in both runs.
#[derive(Debug, Clone, PartialEq)]
pub struct TableChange {
    pub table: String,
    /// Cells that differ among those both have.
    pub cells: usize,
    /// Cells that both have.
    pub compared: usize,
    /// What kinds of cells differ.
    pub extent: Extent,
    /// The first number that differs, or the first cell when no number does.
    pub first: Option<Difference>,
    /// What differs in the shape of the table: absent, other columns, rows that one run has alone.
    pub shape: Option<String>,
}

impl TableChange {
    fn none(name: &str) -> Self {
        let (table, extent) = (name.to_owned(), Extent::default());
        Self { table, cells: 0, compared: 0, extent, first: None, shape: None }
    }
}

/// One cell that differs.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Line in the CSV file of the earlier run.
    pub line: usize,
    /// The row by what it is about.
    pub row: String,
    pub column: String,
    pub before: String,
    pub after: String,
    /// (after − before) / scale, when both are numbers and there is a scale.
    pub relative: Option<f64>,
    /// Against what the change is measured.
    pub scale: Option<Scale>,
}

/// Compares the tables of two folders; returns how many are equal to the byte, and the others.
pub(super) fn compare(before: &Path, after: &Path) -> Result<(usize, Vec<TableChange>)> {
    let names: BTreeSet<String> = names(before)?.into_iter().chain(names(after)?).collect();
    let mut same = 0;
    let mut changed = Vec::new();
    for name in names {
        let file = |folder: &Path| folder.join(format!("{name}.csv"));
        match change(&name, &file(before), &file(after))? {
            None => same += 1,
            Some(change) => changed.push(change),
        }
    }
    ensure!(same + changed.len() > 0, "{}: no tables (*.csv) to compare", before.display());
    Ok((same, changed))
}

/// Names of the CSV tables of a folder; none when the folder is gone.
fn names(folder: &Path) -> Result<Vec<String>> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let entries = fs::read_dir(folder).with_context(|| format!("{}: cannot be read", folder.display()))?;
    let csv = |path: &Path| path.extension().is_some_and(|ending| ending == "csv");
    let paths = entries.flatten().map(|entry| entry.path()).filter(|path| csv(path));
    Ok(paths.filter_map(|path| Some(path.file_stem()?.to_string_lossy().into_owned())).collect())
}

fn change(name: &str, before: &Path, after: &Path) -> Result<Option<TableChange>> {
    let only = |shape: &str| TableChange { shape: Some(shape.to_owned()), ..TableChange::none(name) };
    if !before.is_file() {
        return Ok(Some(only("made now, missing in the earlier run")));
    }
    if !after.is_file() {
        return Ok(Some(only("in the earlier run, not made now")));
    }
    let bytes = |file: &Path| fs::read(file).with_context(|| format!("{}: cannot be read", file.display()));
    let (old, new) = (bytes(before)?, bytes(after)?);
    if old == new {
        return Ok(None);
    }
    let Ok(old) = Grid::read(&old) else {
        return Ok(Some(only("the earlier file is no longer a CSV table")));
    };
    let new = Grid::read(&new).with_context(|| format!("{}: not a CSV table", after.display()))?;
    Ok(Some(cells(name, &old, &new)))
}

/// A CSV file as texts.
pub(super) struct Grid {
    pub header: StringRecord,
    pub rows: Vec<StringRecord>,
}

impl Grid {
    pub(super) fn read(bytes: &[u8]) -> Result<Self, csv::Error> {
        let mut reader = csv::Reader::from_reader(bytes);
        let header = reader.headers()?.clone();
        Ok(Self { header, rows: reader.records().collect::<Result<_, _>>()? })
    }

    /// A file, when it is there and a table.
    pub(super) fn of_file(file: &Path) -> Option<Self> {
        Self::read(&fs::read(file).ok()?).ok()
    }

    /// Where a column stands.
    pub(super) fn place(&self, column: &str) -> Option<usize> {
        self.header.iter().position(|other| other == column)
    }

    pub(super) fn cell<'r>(&self, row: &'r StringRecord, column: &str) -> Option<&'r str> {
        row.get(self.place(column)?)
    }

    /// A cell with a number.
    fn number(&self, row: &StringRecord, column: &str) -> Option<f64> {
        self.cell(row, column)?.parse().ok()
    }
}

/// Compares what two grids have in common and says how their shapes differ.
fn cells(name: &str, old: &Grid, new: &Grid) -> TableChange {
    let matched = matched(name, old, new);
    let places: Vec<Option<usize>> = old.header.iter().map(|heading| new.place(heading)).collect();
    let mut change = TableChange::none(name);
    let (mut first, mut first_number) = (None, None);
    for &(row, other) in &matched.pairs {
        let (then, now) = (&old.rows[row], &new.rows[other]);
        let number = |column: &str| old.number(then, column);
        change.extent.take_apart(newly_apart(&number, &|column| new.number(now, column)));
        for (column, heading) in old.header.iter().enumerate() {
            let Some(place) = places[column] else { continue };
            let (before, after) = (&then[column], &now[place]);
            change.compared += 1;
            if before == after {
                continue;
            }
            change.cells += 1;
            let cell =
                Cell { table: name, column: heading, before, after, scale: scale(name, heading, &number) };
            change.extent.take(cell);
            let is_number = before.parse::<f64>().is_ok() && after.parse::<f64>().is_ok();
            let wanted = if is_number { &mut first_number } else { &mut first };
            wanted.get_or_insert((row, cell));
        }
    }
    change.first = first_number.or(first).map(|(row, cell)| difference(name, old, row, cell));
    change.shape =
        shape(old, new, &matched).or_else(|| (change.cells == 0).then(|| reordered(old, new).to_owned()));
    change
}

/// A cell that differs, with the row of the earlier run that it stands in.
fn difference(table: &str, old: &Grid, row: usize, cell: Cell<'_>) -> Difference {
    Difference {
        // The header is line 1, and no cell of a table spans lines.
        line: row + 2,
        row: row_in_words(table, &old.header, &old.rows[row]),
        column: cell.column.to_owned(),
        before: cell.before.to_owned(),
        after: cell.after.to_owned(),
        relative: cell.relative(),
        scale: cell.scale,
    }
}

/// Columns and rows that one run has alone.
fn shape(old: &Grid, new: &Grid, matched: &Matched) -> Option<String> {
    let mut said = Vec::new();
    if old.header != new.header {
        let lost: Vec<&str> = old.header.iter().filter(|h| !new.header.iter().any(|o| o == *h)).collect();
        let won: Vec<&str> = new.header.iter().filter(|h| !old.header.iter().any(|o| o == *h)).collect();
        said.push(format!("other columns (only then: {}; only now: {})", list(&lost), list(&won)));
    }
    let Matched { only_then, only_now, .. } = matched;
    if only_then + only_now > 0 {
        let rows = if *only_then == 1 { "row" } else { "rows" };
        said.push(format!("{only_then} {rows} only then, {only_now} only now"));
    }
    (!said.is_empty()).then(|| said.join("; "))
}

/// What differs when no cell and no row does.
fn reordered(old: &Grid, new: &Grid) -> &'static str {
    if old.rows == new.rows {
        "the same cells in other bytes (line ends or quotes)"
    } else {
        "the same rows in another order"
    }
}

fn list(names: &[&str]) -> String {
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn compared(old: &str, new: &str) -> TableChange {
        let grid = |text: &str| Grid::read(text.as_bytes()).expect("a table");
        cells("percentiles", &grid(old), &grid(new))
    }

    #[test]
    fn the_first_number_leads_and_every_cell_counts() {
        let old = "index,percentile,value,withheld\nhoma_ir,50,2,\nhoma_ir,75,4,\n";
        let got = compared(old, "index,percentile,value,withheld\nhoma_ir,50,2,few\nhoma_ir,75,5,\n");
        let first = got.first.expect("a difference");
        assert_eq!((got.cells, got.compared, got.shape), (2, 8, None));
        assert_eq!((first.line, first.column.as_str(), first.relative), (3, "value", Some(0.25)));
        assert_eq!((first.row.as_str(), first.before.as_str()), ("index homa_ir, percentile 75", "4"));
    }

    #[test]
    fn a_percentile_more_is_rows_more_and_no_other_number() {
        let old = "index,group,percentile,value\nhoma_ir,a,50,2\nhoma_ir,a,90,4\nhoma_ir,b,90,6\n";
        let more =
            "index,group,percentile,value\nhoma_ir,a,50,2\nhoma_ir,a,75,3\nhoma_ir,a,90,4\nhoma_ir,b,90,6\n";
        let got = compared(old, more);
        assert_eq!((got.cells, got.compared, got.first), (0, 12, None));
        assert_eq!(got.shape.as_deref(), Some("0 rows only then, 1 only now"));
        let got = compared(old, &more.replace(",b,90,6", ",b,90,7"));
        let first = got.first.expect("a difference");
        assert_eq!((first.line, first.row.as_str()), (4, "index homa_ir, group b, percentile 90"));
        assert_eq!((first.before.as_str(), first.after.as_str()), ("6", "7"));
    }

    #[test]
    fn rows_about_the_same_are_matched_in_their_order() {
        let got = compared("index,value\na,1\na,2\n", "index,value\na,1\na,3\na,4\n");
        let first = got.first.expect("a difference");
        assert_eq!((got.cells, first.before.as_str(), first.after.as_str()), (1, "2", "3"));
        assert_eq!(got.shape.as_deref(), Some("0 rows only then, 1 only now"));
    }

    #[test]
    fn ends_are_measured_by_the_width_and_crossing_no_difference_is_counted() {
        let old = "index,difference,lower,upper\na,0.2,0,0.4\nb,0.2,0.1,0.3\n";
        let got = compared(old, "index,difference,lower,upper\na,0.2,0.01,0.4\nb,0.2,-0.1,0.3\n");
        let first = got.first.expect("a difference");
        assert_eq!((first.column.as_str(), first.relative), ("lower", Some(0.01 / 0.4)));
        assert_eq!((got.extent.newly_apart, got.extent.no_longer_apart, got.extent.ends), (1, 1, 2));
    }

    #[test]
    fn other_rows_columns_and_bytes_are_said() {
        let old = "index,value\na,1\nb,2\n";
        let shape = |new: &str| compared(old, new).shape.expect("another shape");
        assert_eq!(shape("index,value\na,1\n"), "1 row only then, 0 only now");
        assert_eq!(shape("index,value\nb,2\na,1\n"), "the same rows in another order");
        assert!(shape("index,values\na,1\nb,2\n").contains("only then: value; only now: values"));
        assert!(shape("index,value\r\na,1\r\nb,2\r\n").contains("other bytes"));
        let from_nothing = compared("index,value\na,0\n", "index,value\na,1\n").first.expect("a difference");
        assert_eq!(from_nothing.relative, None);
    }
}
