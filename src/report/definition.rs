//! Formulas, methods and sources as the page prints them.

use serde::Serialize;

use super::interval_words::{estimate, interval};
use crate::analysis::comparisons_made;
use crate::definitions::Standing;
use crate::table::{Row, Table};

/// A definition as it was run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefinitionRow {
    /// Heading it stands under: `Indices`, `Outcomes`, `Exclusions`, `Groups`, `Reference groups` …
    pub kind: &'static str,
    pub name: String,
    pub label: String,
    /// Formula as run, or the rule in words.
    pub formula: String,
    /// `1` for a pure number, empty where there is no unit.
    pub unit: String,
    pub source: String,
    pub standing: Standing,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Line {
    name: String,
    label: String,
    formula: String,
    unit: String,
    source: String,
    standing: &'static str,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Kind {
    heading: &'static str,
    lines: Vec<Line>,
}

pub(super) fn by_kind(rows: &[DefinitionRow]) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    for row in rows {
        match kinds.iter_mut().find(|kind| kind.heading == row.kind) {
            Some(kind) => kind.lines.push(line(row)),
            None => kinds.push(Kind { heading: row.kind, lines: vec![line(row)] }),
        }
    }
    kinds
}

fn line(row: &DefinitionRow) -> Line {
    Line {
        name: row.name.clone(),
        label: row.label.clone(),
        formula: row.formula.clone(),
        unit: if row.unit == "1" { "no unit".to_owned() } else { row.unit.clone() },
        source: row.source.clone(),
        standing: standing(row.standing),
    }
}

fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Published => "published",
        Standing::CommonPractice => "common practice",
        Standing::FromMemory => "from memory of the source, not read again",
        Standing::Study => "stated by this study",
    }
}

/// Every source once, in alphabetical order.
pub(super) fn sources(rows: &[DefinitionRow]) -> Vec<&str> {
    let mut sources: Vec<&str> =
        rows.iter().map(|row| row.source.as_str()).filter(|source| !source.is_empty()).collect();
    sources.sort_unstable();
    sources.dedup();
    sources
}

/// How the estimates of one table were made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Method {
    table: &'static str,
    estimates: Vec<String>,
    intervals: Vec<String>,
}

/// Definitions of estimates and kinds of intervals, as they stand in the rows.
pub(super) fn methods(tables: &[Table]) -> Vec<Method> {
    tables
        .iter()
        .map(|table| Method {
            table: table.title,
            estimates: in_words(&distinct(table, method_of), estimate),
            intervals: in_words(&distinct(table, Row::printed_interval), interval),
        })
        .filter(|method| !method.intervals.is_empty() || !method.estimates.is_empty())
        .collect()
}

fn in_words(names: &[&str], words: fn(&str) -> &str) -> Vec<String> {
    names.iter().map(|name| words(name).to_owned()).collect()
}

fn method_of<'a>(row: &Row<'a>) -> Option<&'a str> {
    (row.has("method") && !row.text("method").is_empty()).then(|| row.text("method"))
}

fn distinct<'a>(table: &'a Table, of: fn(&Row<'a>) -> Option<&'a str>) -> Vec<&'a str> {
    let mut found: Vec<&str> = Vec::new();
    for text in table.iter().filter_map(|row| of(&row)) {
        if !found.contains(&text) {
            found.push(text);
        }
    }
    found
}

/// How many estimates there are, so that a striking one can be weighed against their number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Comparisons {
    study: usize,
    tool: usize,
    differences: usize,
    withheld: usize,
}

pub(super) fn comparisons(tables: &[Table]) -> Comparisons {
    let count = |column: &str, test: fn(&str) -> bool| {
        tables
            .iter()
            .filter(|table| table.position(column).is_some())
            .flat_map(Table::iter)
            .filter(|row| test(row.text(column)))
            .count()
    };
    Comparisons {
        study: count("stated", |stated| stated == "study"),
        tool: count("stated", |stated| stated == "tool"),
        differences: tables
            .iter()
            .filter(|table| table.name == "cutoff_differences")
            .map(comparisons_made)
            .sum(),
        withheld: count("withheld", |reason| !reason.is_empty()),
    }
}
