//! How many of the numbers that a study states were found, and which were not.

use std::fmt;

use serde::Serialize;

use super::view::View;
use crate::table::{Row, Table};

/// The page's section on stated numbers.
#[derive(Debug, Serialize)]
pub(super) struct Section {
    stated: String,
    /// Whether the table is shown at once: when it is short, or something in it does not hold.
    open: bool,
    view: View,
    sources: Vec<SourceLine>,
}

/// A source, and the checks that rest on it.
#[derive(Debug, Serialize)]
struct SourceLine {
    checks: String,
    source: String,
}

pub(super) fn section(tables: &[Table], view: Option<View>) -> Option<Section> {
    let (stated, view) = (stated_checks(tables)?, view?.without_empty_columns());
    Some(Section {
        open: view.open || !stated.failed.is_empty(),
        stated: stated.to_string(),
        view,
        sources: tables.iter().find(|table| table.name == "checks").map(sources).unwrap_or_default(),
    })
}

/// Every source once, with the runs of checks that rest on it: `1–8, 12`.
fn sources(table: &Table) -> Vec<SourceLine> {
    let mut by_source: Vec<(&str, Vec<(i64, i64)>)> = Vec::new();
    for row in table.iter() {
        let (source, check) = (row.text("source"), row.whole("check").unwrap_or_default());
        match by_source.iter_mut().find(|(known, _)| *known == source) {
            None => by_source.push((source, vec![(check, check)])),
            Some((_, runs)) => match runs.last_mut() {
                Some((_, last)) if *last + 1 == check => *last = check,
                _ => runs.push((check, check)),
            },
        }
    }
    let run = |(first, last): &(i64, i64)| {
        if first == last { first.to_string() } else { format!("{first}–{last}") }
    };
    let line = |(source, runs): (&str, Vec<(i64, i64)>)| SourceLine {
        checks: runs.iter().map(run).collect::<Vec<_>>().join(", "),
        source: source.to_owned(),
    };
    by_source.into_iter().map(line).collect()
}

/// The numbers that a study states, counted, with a line for each that was not found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedChecks {
    pub held: usize,
    pub all: usize,
    pub failed: Vec<String>,
}

impl fmt::Display for StatedChecks {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (check, hold) = match (self.all, self.held) {
            (1, 1) => ("check", "holds"),
            (1, _) => ("check", "hold"),
            (_, 1) => ("checks", "holds"),
            _ => ("checks", "hold"),
        };
        write!(f, "{} of {} stated {check} {hold}", self.held, self.all)
    }
}

/// Counts the rows of the table of checks; `None` for a study that states none.
#[must_use]
pub fn stated_checks(tables: &[Table]) -> Option<StatedChecks> {
    let table = tables.iter().find(|table| table.name == "checks" && !table.rows.is_empty())?;
    let failed: Vec<String> =
        table.iter().filter(|row| row.text("held") != "yes").map(|r| line(&r)).collect();
    Some(StatedChecks { held: table.rows.len() - failed.len(), all: table.rows.len(), failed })
}

fn line(row: &Row<'_>) -> String {
    let check = row.whole("check").unwrap_or_default();
    let place = [row.text("table"), row.text("column")].join(".");
    let above = match row.text("greater_than") {
        "" => String::new(),
        other => format!(" greater than {other}"),
    };
    format!(
        "check {check} does not hold: {place} where {}{above}: {}",
        row.text("where"),
        row.text("why_not")
    )
}
