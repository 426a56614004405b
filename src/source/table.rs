//! A table with a column map of the study's own.

use std::collections::BTreeMap;
use std::path::Path;

use polars::prelude::{BooleanChunked, Column, DataFrame, DataType, Float64Chunked, IntoColumn};
use polars::prelude::{ChunkedArray, NewChunkedArray, Scalar, StringChunked};

use super::below;
use super::columns::{Values, columns};
use super::delimited::Form;
use super::error::Problems;
use super::join::{Joined, join};
use super::raw::{Measured, RawTable, parse_number};
use super::units::doubtful_unit;
use super::unlikely::unlikely_values;
use super::{FileRecord, Loaded, SourceError, constant_column, file, replicate_weights, weight_column};
use crate::definitions::{ColumnKind, Quantity, Subsample};
use crate::notice::Notice;
use crate::study::{MappedColumn, TableSource};

/// Reads the files of the source (relative to `folder`), joins them and maps their columns; everything that is wrong
/// is told in one error. `shown`: whether remarks may name the values of single people.
pub(super) fn read(
    source: &TableSource,
    quantities: &[Quantity],
    folder: &Path,
    shown: bool,
) -> Result<Loaded, SourceError> {
    let mut problems = Problems::default();
    let (tables, files) = read_files(source, folder, &mut problems)?;
    let joined = join(&source.name, tables, (&source.id, source.allow_unmatched), &mut problems)?;
    let mut notices = Vec::new();
    let mut all = person_columns(source, &joined);
    let mut detection = Vec::new();
    for quantity in quantities {
        let Some(mapped) = source.columns.iter().find(|m| m.quantity == quantity.name) else { continue };
        let Some(values) = problems.keep(values(source, &joined, quantity, mapped)) else { continue };
        notices.extend(problems.keep(doubtful_unit(source, quantity, mapped, &values)).flatten());
        let judged = unlikely_values(source, &joined, (quantity, mapped, &values), shown);
        notices.extend(problems.keep(judged).flatten());
        notices.extend(below::missing_notice(source, &joined, mapped));
        all.extend(columns(quantity, &values));
        let Values::Number { below, .. } = &values else { continue };
        if let Some(read) = below::limit(source, quantity, mapped, below) {
            notices.push(below::notice(source, mapped, (&read, below), shown));
            all.extend(below::marks(source, quantities, &read, &values));
            detection.push(read);
        }
    }
    let weight = problems.keep(weight(source, &joined, &mut notices)).flatten();
    let weights = if weight.is_some() { vec![Subsample::Interview] } else { Vec::new() };
    all.extend(weight);
    let replicates = problems.keep(replicate_weights::read(source, &joined)).flatten();
    notices.extend(replicates.as_ref().map(|r| r.notice.clone()));
    let design = match &replicates {
        Some(replicates) => vec![
            constant_column("stratum", &source.name, joined.ids.len()),
            Column::new("psu".into(), &replicates.unit_of_person),
        ],
        None => problems.keep(design(source, &joined)).unwrap_or_default(),
    };
    problems.finish()?;
    let has_design = !design.is_empty();
    all.extend(design);
    let frame = DataFrame::new(joined.ids.len(), all).map_err(|e| SourceError::table(&source.name, e))?;
    let replicate_factors = replicates.map_or_else(BTreeMap::new, |r| r.factors);
    let flow = joined.flow;
    Ok(Loaded { frame, weights, has_design, replicate_factors, files, flow, notices, detection })
}

/// The tables of the source; an error when one cannot be read or holds nobody.
fn read_files(
    source: &TableSource,
    folder: &Path,
    problems: &mut Problems,
) -> Result<(Vec<RawTable>, Vec<FileRecord>), SourceError> {
    let wanted = wanted(source);
    let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
    let form = Form {
        separator: source.separator.and_then(|c| u8::try_from(c).ok()),
        decimal_comma: source.decimal_comma,
    };
    let (mut tables, mut files) = (Vec::new(), Vec::new());
    for path in &source.files {
        let path = folder.join(path);
        let read = file::read(&path, &source.name, Some(&wanted), form);
        let Some((table, record)) = problems.keep(read) else { continue };
        if table.rows == 0 {
            problems.add(SourceError::file(&path, "has no rows: below its header line nobody stands"));
        }
        tables.push(table);
        files.push(record);
    }
    std::mem::take(problems).finish()?;
    if tables.is_empty() {
        return Err(SourceError::source(&source.name, "no files are listed; name at least one"));
    }
    Ok((tables, files))
}

fn wanted(source: &TableSource) -> Vec<String> {
    let design = [&source.weight, &source.stratum, &source.psu].into_iter().flatten();
    let mapped = source.columns.iter().map(|m| &m.column);
    let replicates = source.replicate_weights.iter().flat_map(replicate_weights::wanted);
    design.chain(mapped).chain([&source.id]).cloned().chain(replicates).collect()
}

fn person_columns(source: &TableSource, joined: &Joined) -> Vec<Column> {
    let people = joined.ids.len();
    let ids = joined.ids.iter().map(|id| format!("{}/{id}", source.name));
    let person: StringChunked = ChunkedArray::from_iter_values("person".into(), ids);
    vec![
        person.into_column(),
        constant_column("source", &source.name, people),
        constant_column("survey", &source.name, people),
        Column::new_scalar("cycle".into(), Scalar::null(DataType::String), people),
    ]
}

fn values(
    source: &TableSource,
    joined: &Joined,
    quantity: &Quantity,
    mapped: &MappedColumn,
) -> Result<Values, SourceError> {
    match quantity.kind {
        ColumnKind::Number => {
            let unit = unit(source, quantity, mapped)?;
            let mark = mapped.below_detection.as_deref();
            let Measured { values, below } =
                joined.measured(&mapped.column, &missing(source, mapped), mark)?;
            Ok(Values::Number { values, unit, chosen: mapped.factor, below })
        }
        ColumnKind::Category => Ok(Values::Category(labels(source, joined, quantity, mapped)?)),
        ColumnKind::YesNo => {
            let labels = labels(source, joined, quantity, mapped)?;
            let cells = labels.iter().map(|label| label.map(|l| l == YES));
            Ok(Values::YesNo(BooleanChunked::from_iter_options("".into(), cells)))
        }
    }
}

/// Texts that mean missing in one column.
pub(super) fn missing(source: &TableSource, mapped: &MappedColumn) -> Vec<String> {
    [source.missing.as_slice(), &mapped.missing].concat()
}

/// Position of the unit the column is in.
fn unit(source: &TableSource, quantity: &Quantity, mapped: &MappedColumn) -> Result<usize, SourceError> {
    let known = || quantity.units.iter().map(|u| u.unit.as_str()).collect::<Vec<_>>().join(", ");
    let fault = |words: String| {
        SourceError::source(
            &source.name,
            format!("{} from column `{}`: {words}", quantity.name, mapped.column),
        )
    };
    let position = match &mapped.unit {
        Some(unit) => quantity.units.iter().position(|u| u.unit == *unit),
        None if quantity.units.len() == 1 => Some(0),
        None => None,
    };
    let position = position.ok_or_else(|| {
        let found = mapped.unit.as_deref().unwrap_or("no unit");
        fault(format!("found {found}, expected one of the units {}", known()))
    })?;
    let choices = &quantity.units[position].choices;
    if !choices.is_empty() && mapped.factor.is_none() {
        return Err(fault(format!(
            "factors {choices:?} are both in print for this unit; name one with factor = …"
        )));
    }
    Ok(position)
}

const YES: &str = "yes";
/// Texts of a yes/no column that need no code.
const PLAIN_ANSWERS: &[(&str, &str)] = &[("yes", YES), ("no", "no"), ("true", YES), ("false", "no")];

/// Labels of a coded or plain text column. A text that has no label is an error that lists the known ones.
fn labels(
    source: &TableSource,
    joined: &Joined,
    quantity: &Quantity,
    mapped: &MappedColumn,
) -> Result<StringChunked, SourceError> {
    check_labels(source, quantity, mapped)?;
    let cells = joined.texts(&mapped.column, &missing(source, mapped))?;
    let codes: Vec<(&str, &str)> = if mapped.codes.is_empty() && quantity.kind == ColumnKind::YesNo {
        PLAIN_ANSWERS.to_vec()
    } else if mapped.codes.is_empty() {
        quantity.levels.iter().map(|level| (level.as_str(), level.as_str())).collect()
    } else {
        mapped.codes.iter().map(|(code, label)| (code.as_str(), label.as_str())).collect()
    };
    if codes.is_empty() {
        return Ok(cells);
    }
    let mut unknown: Vec<(usize, String)> = Vec::new();
    let labels = cells.iter().enumerate().map(|(person, cell)| {
        let text = cell?;
        let label = codes.iter().find(|(code, _)| same_code(code, text)).map(|(_, label)| *label);
        if label.is_none() {
            unknown.push((person, text.to_owned()));
        }
        label
    });
    let labels: Vec<Option<&str>> = labels.collect();
    if !unknown.is_empty() {
        let known: Vec<String> = codes.iter().map(|(code, label)| format!("{code} ({label})")).collect();
        let expected = format!("one of the codes {}; add it to `codes` or to `missing`", known.join(", "));
        return Err(joined.cells_error(&mapped.column, &unknown, &expected));
    }
    Ok(StringChunked::from_iter_options("".into(), labels.into_iter()))
}

/// Codes may lead only to `yes` and `no`, or to the levels that formulas know.
fn check_labels(source: &TableSource, quantity: &Quantity, mapped: &MappedColumn) -> Result<(), SourceError> {
    let plain = [YES, "no"].map(str::to_owned);
    let known: &[String] = if quantity.kind == ColumnKind::YesNo { &plain } else { &quantity.levels };
    let wrong = mapped.codes.iter().find(|(_, label)| !known.is_empty() && !known.contains(label));
    wrong.map_or(Ok(()), |(code, label)| {
        let message = format!(
            "{} from column `{}`: code `{code}` stands for `{label}`, expected one of {}",
            quantity.name,
            mapped.column,
            known.join(", ")
        );
        Err(SourceError::source(&source.name, message))
    })
}

/// Whether a cell is a code: the same text, the same number (`1` and `1.0`), or yes/no in another case.
fn same_code(code: &str, text: &str) -> bool {
    code == text
        || parse_number(code).is_some_and(|x| parse_number(text) == Some(x))
        || (PLAIN_ANSWERS.iter().any(|(plain, _)| *plain == code) && code.eq_ignore_ascii_case(text))
}

fn weight(
    source: &TableSource,
    joined: &Joined,
    notices: &mut Vec<Notice>,
) -> Result<Option<Column>, SourceError> {
    let Some(column) = &source.weight else { return Ok(None) };
    let cells: Float64Chunked = joined.numbers(column, &source.missing)?;
    let negative =
        cells.iter().enumerate().filter_map(|(i, w)| w.filter(|w| *w < 0.0).map(|w| (i, w.to_string())));
    let negative: Vec<(usize, String)> = negative.collect();
    if !negative.is_empty() {
        return Err(joined.cells_error(column, &negative, "a weight of 0 or more"));
    }
    let without = cells.null_count();
    if without > 0 {
        let message =
            format!("{without} people have no weight in column `{column}` and count in no weighted number");
        notices.push(Notice::caution("weight_missing", source.name.as_str(), message));
    }
    Ok(Some(cells.with_name(weight_column(Subsample::Interview).into()).into_column()))
}

/// Stratum and PSU of everybody. PSUs without strata lie in one stratum; strata without PSUs hold people.
fn design(source: &TableSource, joined: &Joined) -> Result<Vec<Column>, SourceError> {
    let texts = |column: &String, name: &str| {
        let cells = joined.texts(column, &source.missing)?;
        let empty = cells.iter().enumerate().filter(|(_, cell)| cell.is_none());
        let empty: Vec<(usize, String)> = empty.map(|(person, _)| (person, String::new())).collect();
        if !empty.is_empty() {
            return Err(joined.cells_error(column, &empty, &format!("a {name} for every person")));
        }
        Ok(cells.with_name(name.into()).into_column())
    };
    let people = joined.ids.len();
    match (&source.stratum, &source.psu) {
        (None, None) => Ok(Vec::new()),
        (Some(stratum), Some(psu)) => Ok(vec![texts(stratum, "stratum")?, texts(psu, "psu")?]),
        (None, Some(psu)) => Ok(vec![constant_column("stratum", &source.name, people), texts(psu, "psu")?]),
        (Some(stratum), None) => Ok(vec![texts(stratum, "stratum")?, texts(&source.id, "psu")?]),
    }
}
