//! Numbers printed elsewhere that the run must meet: `[[check]]`.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::error::{StudyError, Text};
use super::file::At;
use crate::table::{Column, Kind, Shape, number, schema};

/// Tables that are made after the checks.
const LATER: [&str; 2] = ["checks", "notices"];

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckFile {
    pub table: At<String>,
    pub column: At<String>,
    #[serde(rename = "where", default, skip_serializing_if = "BTreeMap::is_empty")]
    pub picks: PicksFile,
    pub expected: Option<At<f64>>,
    pub within: Option<At<f64>>,
    pub relative: Option<At<f64>>,
    pub between: Option<At<[f64; 2]>>,
    pub greater_than: Option<OtherRowFile>,
    pub source: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// Another row of the same table: as the check's own, but for these columns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OtherRowFile {
    #[serde(rename = "where")]
    pub picks: PicksFile,
}

pub(super) type PicksFile = BTreeMap<At<String>, At<Wanted>>;

/// What a column of the wanted row holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "expected a text in quotation marks, or a number without")]
pub enum Wanted {
    Number(f64),
    Text(String),
}

/// A cell of a table of results, and what it should hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    pub table: Shape,
    pub column: &'static str,
    /// Conditions that pick the row.
    pub picks: Vec<Pick>,
    pub expectation: Expectation,
    pub source: String,
    pub note: String,
}

/// A condition on a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Pick {
    pub column: &'static str,
    pub wanted: Wanted,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Expectation {
    /// Between two ends, both included.
    Between { expected: Option<f64>, lower: f64, upper: f64 },
    /// Above the same column of the row that these pick.
    Above(Vec<Pick>),
}

impl fmt::Display for Pick {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.wanted {
            Wanted::Number(value) => write!(f, "{} = {}", self.column, number::full(*value)),
            Wanted::Text(text) => write!(f, "{} = {text}", self.column),
        }
    }
}

/// Conditions in words.
#[must_use]
pub fn row_in_words(picks: &[Pick]) -> String {
    picks.iter().map(Pick::to_string).collect::<Vec<_>>().join(", ")
}

/// Resolves the names and checks the numbers of every `[[check]]`.
pub(super) fn checks(written: &[At<CheckFile>], text: Text<'_>) -> Result<Vec<Check>, StudyError> {
    written.iter().map(|one| check(one, text)).collect()
}

fn check(written: &At<CheckFile>, text: Text<'_>) -> Result<Check, StudyError> {
    let file = written.get_ref();
    let known = || schema::tables().filter(|shape| !LATER.contains(&shape.name));
    let table = known()
        .find(|shape| shape.name == *file.table.get_ref())
        .ok_or_else(|| text.unknown("table of results", &file.table, known().map(|shape| shape.name)))?;
    let column = column(table, &file.column, text)?;
    if column.kind == Kind::Text {
        let problem =
            format!("{} of {} holds text: a check compares a column of numbers", column.name, table.name);
        return Err(text.problem(file.column.span(), problem));
    }
    if file.source.trim().is_empty() {
        return Err(text.problem(written.span(), "say in `source` where the number of this check is printed"));
    }
    let picks = picks(table, &file.picks, text)?;
    let expectation = match &file.greater_than {
        Some(other) => above(written, (&picks, other), table, text)?,
        None => between(written, text)?,
    };
    let (source, note) = (file.source.clone(), file.note.clone());
    Ok(Check { table, column: column.name, picks, expectation, source, note })
}

fn column(table: Shape, name: &At<String>, text: Text<'_>) -> Result<&'static Column, StudyError> {
    let known = table.columns.iter().map(|column| column.name);
    let found = table.columns.iter().find(|column| column.name == *name.get_ref());
    found.ok_or_else(|| text.unknown("column of this check's table", name, known))
}

fn picks(table: Shape, written: &PicksFile, text: Text<'_>) -> Result<Vec<Pick>, StudyError> {
    let one = |(name, wanted): (&At<String>, &At<Wanted>)| {
        let column = column(table, name, text)?;
        let (is_text, wants_text) = (column.kind == Kind::Text, matches!(wanted.get_ref(), Wanted::Text(_)));
        if is_text != wants_text {
            let problem = format!(
                "{} of {} holds {}",
                column.name,
                table.name,
                otherwise(column.name, wanted.get_ref())
            );
            return Err(text.problem(wanted.span(), problem));
        }
        Ok(Pick { column: column.name, wanted: wanted.get_ref().clone() })
    };
    written.iter().map(one).collect()
}

/// What a column holds instead of what was written.
fn otherwise(column: &str, wanted: &Wanted) -> String {
    match wanted {
        Wanted::Number(value) => {
            format!("text, found {0}: write it in quotation marks, {column} = \"{0}\"", number::full(*value))
        }
        Wanted::Text(text) if text.parse::<f64>().is_ok() => {
            format!("a number, found \"{text}\": write it without quotation marks, {column} = {text}")
        }
        Wanted::Text(text) => format!("a number, found the text \"{text}\""),
    }
}

/// The other row of an ordering: the check's own conditions, some of them replaced.
fn above(
    written: &At<CheckFile>,
    (own, other): (&[Pick], &OtherRowFile),
    table: Shape,
    text: Text<'_>,
) -> Result<Expectation, StudyError> {
    let file = written.get_ref();
    if file.expected.is_some() || file.within.is_some() || file.relative.is_some() || file.between.is_some() {
        let problem = "greater_than compares two rows: leave expected, within, relative and between out";
        return Err(text.problem(written.span(), problem));
    }
    let mut rest = picks(table, &other.picks, text)?;
    let kept = own.iter().filter(|pick| rest.iter().all(|other| other.column != pick.column)).cloned();
    let mut all: Vec<Pick> = kept.collect();
    all.append(&mut rest);
    if own.iter().all(|pick| all.contains(pick)) && all.len() == own.len() {
        let problem = "greater_than picks the row of the check itself: name a column in which they differ";
        return Err(text.problem(written.span(), problem));
    }
    Ok(Expectation::Above(all))
}

fn between(written: &At<CheckFile>, text: Text<'_>) -> Result<Expectation, StudyError> {
    let file = written.get_ref();
    let stated = [&file.within, &file.relative].into_iter().flatten().next();
    let count = usize::from(file.within.is_some())
        + usize::from(file.relative.is_some())
        + usize::from(file.between.is_some());
    if count != 1 {
        let problem = "a check needs one of within (an absolute tolerance), relative (a share of expected), \
                       between (two ends) and greater_than (another row)";
        return Err(text.problem(written.span(), problem));
    }
    let expected = file.expected.as_ref().map(|value| *value.get_ref());
    if let Some(ends) = &file.between {
        let [lower, upper] = *ends.get_ref();
        if !(lower.is_finite() && upper.is_finite() && lower <= upper) {
            let problem = format!("between takes two numbers in order, found {lower} and {upper}");
            return Err(text.problem(ends.span(), problem));
        }
        return Ok(Expectation::Between { expected, lower, upper });
    }
    let (Some(value), Some(tolerance)) = (expected.filter(|value| value.is_finite()), stated) else {
        return Err(text.problem(written.span(), "within and relative need `expected`, a number"));
    };
    let size = *tolerance.get_ref();
    if !(size >= 0.0 && size.is_finite()) {
        return Err(text.problem(tolerance.span(), format!("a tolerance must be 0 or more, found {size}")));
    }
    let reach = if file.relative.is_some() { size * value.abs() } else { size };
    Ok(Expectation::Between { expected, lower: value - reach, upper: value + reach })
}
