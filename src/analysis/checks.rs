//! Cells of the finished tables against what the study states of them.

use super::{AnalysisError, tabulate};
use crate::study::{Check, Expectation, Pick, Study, Wanted, is_called, row_in_words};
use crate::table::number::significant;
use crate::table::{Cell, Kind, Row, Table};

/// A printed number and its tolerance are decimals, whose binary sum may miss a decimal by a little;
/// twelve digits are written to files.
const DECIMAL_DUST: f64 = 1e-11;
/// Digits of a number in a sentence.
const DIGITS: usize = 6;
/// Values listed in a message.
const MOST_LISTED: usize = 12;

/// Columns that hold crossings.
const CROSSED: [&str; 2] = ["grouping", "group"];
/// Numbers that a row is asked for.
const ASKED: [&str; 4] = ["percentile", "threshold", "threshold_probability", "x"];

/// What became of a check.
#[derive(Debug, Default)]
struct Outcome {
    found: Option<f64>,
    lower: Option<f64>,
    why_not: Option<String>,
}

/// Every check of a study beside what the run found.
pub fn table(study: &Study, tables: &[Table]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("checks");
    for (position, check) in study.checks.iter().enumerate() {
        let outcome = outcome(check, tables);
        let (expected, lower, upper, other) = match &check.expectation {
            Expectation::Between { expected, lower, upper } => {
                (*expected, Some(*lower), Some(*upper), String::new())
            }
            Expectation::Above(other) => (None, outcome.lower, None, row_in_words(other)),
        };
        table
            .row()
            .whole("check", Some(position as i64 + 1))
            .text("table", check.table.name)
            .text("column", check.column)
            .text("where", row_in_words(&check.picks))
            .text("greater_than", other)
            .real("found", outcome.found)
            .real("expected", expected)
            .real("lower", lower)
            .real("upper", upper)
            .text("held", if outcome.why_not.is_none() { "yes" } else { "no" })
            .text("why_not", outcome.why_not.unwrap_or_default())
            .text("source", &*check.source)
            .text("note", &*check.note)
            .done()?;
    }
    Ok(table)
}

fn outcome(check: &Check, tables: &[Table]) -> Outcome {
    let found = match value(check, &check.picks, tables) {
        Ok(found) => found,
        Err(why) => return Outcome { why_not: Some(why), ..Outcome::default() },
    };
    let (lower, why_not) = match &check.expectation {
        Expectation::Between { lower, upper, .. } => {
            (Some(*lower), (!inside(found, *lower, *upper)).then(|| outside(found, *lower, *upper)))
        }
        Expectation::Above(picks) => match value(check, picks, tables) {
            Ok(other) => (Some(other), (found <= other).then(|| not_above(found, other))),
            Err(why) => (None, Some(format!("the other row: {why}"))),
        },
    };
    Outcome { found: Some(found), lower, why_not }
}

fn inside(found: f64, lower: f64, upper: f64) -> bool {
    let dust = DECIMAL_DUST * lower.abs().max(upper.abs());
    found >= lower - dust && found <= upper + dust
}

fn outside(found: f64, lower: f64, upper: f64) -> String {
    let [found, lower, upper] = [found, lower, upper].map(|value| significant(value, DIGITS));
    format!("found {found}, outside {lower} to {upper}")
}

fn not_above(found: f64, other: f64) -> String {
    let [found, other] = [found, other].map(|value| significant(value, DIGITS));
    format!("found {found}, not above {other}")
}

/// The number in the column of the one row that the conditions pick, or why there is none.
fn value(check: &Check, picks: &[Pick], tables: &[Table]) -> Result<f64, String> {
    let table = tables
        .iter()
        .find(|table| table.name == check.table.name)
        .ok_or_else(|| format!("this run has no table {}", check.table.name))?;
    let rows: Vec<Row<'_>> = table.iter().filter(|row| fits(row, picks)).collect();
    let [row] = rows.as_slice() else {
        return Err(if rows.is_empty() { nothing(table, picks) } else { several(table, &rows) });
    };
    let withheld = if row.has("withheld") { row.text("withheld") } else { "" };
    let is_count = check.table.columns.iter().any(|c| c.name == check.column && c.kind == Kind::Integer);
    match row.real(check.column) {
        Some(value) if withheld.is_empty() || is_count => Ok(value),
        _ if withheld.is_empty() => Err(format!("{} of this row is empty", check.column)),
        _ => Err(format!("withheld: {withheld}")),
    }
}

fn fits(row: &Row<'_>, picks: &[Pick]) -> bool {
    picks.iter().all(|pick| match &pick.wanted {
        Wanted::Text(text) if CROSSED.contains(&pick.column) => is_called(row.text(pick.column), text),
        Wanted::Text(text) => row.text(pick.column) == text,
        Wanted::Number(wanted) => row.real(pick.column).is_some_and(|found| inside(found, *wanted, *wanted)),
    })
}

/// No row: which condition is to blame, and what it could have been.
fn nothing(table: &Table, picks: &[Pick]) -> String {
    let without = |skipped: usize| {
        let rest: Vec<Pick> =
            picks.iter().enumerate().filter(|(p, _)| *p != skipped).map(|(_, pick)| pick.clone()).collect();
        let column = picks[skipped].column;
        let rows: Vec<Row<'_>> = table.iter().filter(|row| fits(row, &rest)).collect();
        (!rows.is_empty()).then(|| format!("; with the rest, {}", values(&rows, column)))
    };
    let blame = (0..picks.len()).find_map(without).unwrap_or_default();
    format!(
        "none of the {} rows of {} matches{blame}. Its columns: {}",
        table.rows.len(),
        table.name,
        columns(table)
    )
}

/// Too many rows: in which columns they differ that say what a row is about; failing these, in which at all.
fn several(table: &Table, rows: &[Row<'_>]) -> String {
    let differs = |name: &str| rows.iter().any(|row| row.cell(name) != rows[0].cell(name));
    let differing = || {
        let columns = table.columns.iter().filter(|c| c.name != "withheld" && c.name != "notices");
        columns.filter(|column| differs(column.name))
    };
    let about = differing().filter(|c| c.kind == Kind::Text || ASKED.contains(&c.name));
    let mut telling: Vec<String> = about.map(|column| values(rows, column.name)).collect();
    if telling.is_empty() {
        telling.extend(differing().map(|column| values(rows, column.name)));
    }
    format!(
        "{} rows of {} match: add to `where` until one is left. They differ in: {}. Its columns: {}",
        rows.len(),
        table.name,
        telling.join("; "),
        columns(table)
    )
}

fn columns(table: &Table) -> String {
    table.columns.iter().map(|column| column.name).collect::<Vec<_>>().join(", ")
}

/// `group is female, male`.
fn values(rows: &[Row<'_>], column: &str) -> String {
    let mut known: Vec<String> = Vec::new();
    for row in rows {
        let text = match row.cell(column) {
            Cell::Missing => "empty".to_owned(),
            Cell::Text(text) => text.clone(),
            Cell::Integer(value) => value.to_string(),
            Cell::Real(value) => significant(*value, DIGITS),
        };
        if !known.contains(&text) {
            known.push(text);
        }
    }
    let more = if known.len() > MOST_LISTED { ", …" } else { "" };
    known.truncate(MOST_LISTED);
    format!("{column} is {}{more}", known.join(", "))
}
