//! How many of the numbers that a study states were found, and which were not.

use std::fmt;

use crate::table::{Row, Table};

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
