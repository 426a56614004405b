//! Words for what differs.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use csv::StringRecord;

use super::Comparison;
use super::extent::{CUTOFF, Extent};
use super::rows::identifies;
use super::tables::{Difference, TableChange};
use crate::output::RESOLVED;
use crate::table::number::significant;
use crate::table::schema;

/// Columns that a reader need not see to know the row.
const NOT_SAID: [&str; 2] = ["frame", "strict"];

/// What a row is about: its naming columns with their values.
pub(super) fn row_in_words(table: &str, header: &StringRecord, row: &StringRecord) -> String {
    let naming = |name: &str| identifies(table, name, header) && !NOT_SAID.contains(&name);
    let parts = header.iter().zip(row).filter(|(name, value)| naming(name) && !value.is_empty());
    parts.map(|(name, value)| format!("{name} {value}")).collect::<Vec<_>>().join(", ")
}

/// The first line in which the two resolved studies differ.
pub(super) fn first_line_that_differs(out: &Path, again: &Path) -> Result<Option<String>> {
    let read = |folder: &Path| {
        let file = folder.join(RESOLVED);
        fs::read_to_string(&file).with_context(|| format!("{}: cannot be read", file.display()))
    };
    let (before, after) = (read(out)?, read(again)?);
    let longest = before.lines().count().max(after.lines().count());
    let (mut old, mut new) = (before.lines(), after.lines());
    for line in 1..=longest {
        let (a, b) = (old.next().unwrap_or("(nothing)"), new.next().unwrap_or("(nothing)"));
        if a != b {
            return Ok(Some(format!("study, line {line} with all defaults written out: {a} then, {b} now")));
        }
    }
    Ok(None)
}

pub(super) fn not_found(file: &Path, source: &str, bases: &[PathBuf]) -> String {
    let mut tried: Vec<String> = Vec::new();
    for base in bases.iter().map(|base| base.display().to_string()) {
        if !tried.contains(&base) {
            tried.push(base);
        }
    }
    format!(
        "{}: the file of {source} is in none of {}; a saved study does not know where it lay, so name the folder of the \
         file with --data, or give the study file too",
        file.display(),
        tried.join(", ")
    )
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_equal() {
            writeln!(f, "all {} tables are the same, to the byte", self.same)?;
        } else {
            let all = self.same + self.changed.len();
            writeln!(f, "{} of {all} tables differ", self.changed.len())?;
            if self.changed.iter().any(|change| change.compared > 0) {
                write!(f, "In the rows that both runs have:\n{}", self.matters())?;
            }
            let first = |change: &&TableChange| change.first.as_ref().is_some_and(|d| d.relative.is_some());
            if let Some(change) = self.changed.iter().find(first).or(self.changed.first()) {
                write!(f, "{}", First(change))?;
            }
            if let Some(said) = &self.main_cutoff {
                writeln!(f, "{said}")?;
            }
            writeln!(f, "By table:")?;
            for change in &self.changed {
                writeln!(f, "  {}: {}", change.table, extent(change))?;
            }
        }
        if !self.circumstances.is_empty() {
            writeln!(f, "What differs between the two runs:")?;
        } else if !self.is_equal() {
            writeln!(f, "Study, seed, program version and input files are the same in both runs.")?;
        }
        self.circumstances.iter().try_for_each(|said| writeln!(f, "  {said}"))
    }
}

impl Comparison {
    /// How much it matters, in the rows that both runs have.
    fn matters(&self) -> Extent {
        let mut all = Extent::default();
        let results = self.changed.iter().filter(|change| change.table != "notices");
        results.for_each(|change| all.add(&change.extent));
        all
    }
}

/// How much of a table differs.
fn extent(change: &TableChange) -> String {
    let by = change.extent.most().map_or(String::new(), |most| format!(", {most}{}", unmoved(change)));
    let cells =
        (change.cells > 0).then(|| format!("{} of {} cells differ{by}", change.cells, change.compared));
    cells.into_iter().chain(change.shape.clone()).collect::<Vec<_>>().join("; ")
}

/// Of a table of cutoffs in which something else changed: that they stay.
fn unmoved(change: &TableChange) -> &'static str {
    let holds = schema::shape(&change.table)
        .is_some_and(|shape| shape.columns.iter().any(|column| column.name == CUTOFF));
    if holds && change.extent.no_cutoff_moved() { "; no cutoff moved" } else { "" }
}

/// The first difference, in a paragraph.
struct First<'a>(&'a TableChange);

impl fmt::Display for First<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Some(Difference { line, row, column, before, after, relative, scale }) = &self.0.first else {
            return Ok(());
        };
        let text = |value: &str| if value.is_empty() { "(empty)".to_owned() } else { value.to_owned() };
        writeln!(f, "first: table {}, line {line} ({row})", self.0.table)?;
        let of = scale.map_or("", |scale| scale.named);
        let apart = relative.map_or(String::new(), |share| format!(" ({} %{of})", signed(100.0 * share)));
        writeln!(f, "       {column}: {} then, {} now{apart}", text(before), text(after))
    }
}

fn signed(percent: f64) -> String {
    let sign = if percent > 0.0 { "+" } else { "" };
    format!("{sign}{}", significant(percent, 3))
}
