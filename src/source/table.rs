//! A table with a column map of the study's own.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use polars::prelude::{BooleanChunked, Column, DataFrame, DataType, Float64Chunked, IntoColumn};
use polars::prelude::{ChunkedArray, NewChunkedArray, Scalar, StringChunked};

use super::below;
use super::columns::{Values, columns};
use super::delimited::Form;
use super::error::Problems;
use super::join::{Joined, join};
use super::labels::{YES, labels};
use super::raw::{Measured, RawTable};
use super::units::doubtful_unit;
use super::unlikely::unlikely_values;
use super::{
    FileRecord, Loaded, SourceError, constant_column, file, filled, rare_labels, replicate_weights,
    weight_column,
};
use crate::definitions::{ColumnKind, Quantity, Subsample};
use crate::notice::Notice;
use crate::study::{Birth, MappedColumn, Study, TableSource, age_by_hand, is_birth};
use crate::table::small;

/// Reads the files of the source (relative to the study's folder, else from one of `folders`), joins them and maps their
/// columns; everything that is wrong is told in one error. `fewest`: the fewest people that remarks may count, and then
/// no single person's value is named either.
pub(super) fn read(
    source: &TableSource,
    study: &Study,
    folders: &[PathBuf],
    fewest: Option<i64>,
) -> Result<Loaded, SourceError> {
    let quantities = &study.quantities;
    let mut problems = Problems::default();
    let mut notices = Vec::new();
    let (tables, files) = read_files(source, (&study.folder, folders), &mut problems, &mut notices)?;
    let joined = join(&source.name, tables, (&source.id, source.allow_unmatched), &mut problems)?;
    let mut all = person_columns(source, &joined);
    let mut detection = Vec::new();
    for quantity in quantities {
        let Some(mapped) = source.columns.iter().find(|m| m.quantity == quantity.name) else { continue };
        let Some(values) = problems.keep(values(source, &joined, quantity, mapped)) else { continue };
        notices.extend(problems.keep(doubtful_unit(source, quantity, mapped, (&values, fewest))).flatten());
        let judged = unlikely_values(source, &joined, (quantity, mapped, &values), fewest.is_none());
        notices.extend(problems.keep(judged).flatten());
        notices.extend(rare_labels::notices(
            (study, source),
            &joined,
            (quantity, mapped, &values),
            fewest.is_none(),
        ));
        notices.extend(below::missing_notice(source, &joined, mapped));
        notices.extend(filled::notice(source, &joined, mapped, (&values, fewest)));
        all.extend(columns(quantity, &values));
        let Values::Number { below, .. } = &values else { continue };
        if let Some(read) = below::limit(source, quantity, mapped, below) {
            problems.keep(below::refuse_most(study, source, (quantity, mapped), (values.present(), below)));
            notices.push(below::notice(source, mapped, (&read, below), (values.present(), fewest)));
            all.extend(below::marks(source, quantities, &read, &values));
            detection.push(read);
        }
    }
    notices.extend(born(source, &joined));
    let weight = problems.keep(weight(source, &joined, (&mut notices, fewest))).flatten();
    let weights = if weight.is_some() { vec![Subsample::Interview] } else { Vec::new() };
    all.extend(weight);
    let replicates = problems.keep(replicate_weights::read(source, &joined, fewest)).flatten();
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
    (folder, folders): (&Path, &[PathBuf]),
    problems: &mut Problems,
    notices: &mut Vec<Notice>,
) -> Result<(Vec<RawTable>, Vec<FileRecord>), SourceError> {
    let wanted = wanted(source);
    let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
    let form = Form {
        separator: source.separator.and_then(|c| u8::try_from(c).ok()),
        decimal_comma: source.decimal_comma,
        windows_1252: source.windows_1252,
    };
    let (mut tables, mut files) = (Vec::new(), Vec::new());
    for path in &source.files {
        let path = place(folder, path, folders);
        if !path.exists() {
            problems.add(absent(&path, folders));
            continue;
        }
        let read = file::read(&path, &source.name, Some(&wanted), form);
        let Some((table, record)) = problems.keep(read) else { continue };
        if table.rows == 0 {
            problems.add(SourceError::file(&path, "has no rows: below its header line nobody stands"));
        }
        notices.extend(left_out(&table).map(|(kind, message)| {
            Notice::note(kind, source.name.as_str(), format!("{}: {message}", record.name))
        }));
        tables.push(table);
        files.push(record);
    }
    std::mem::take(problems).finish()?;
    if tables.is_empty() {
        return Err(SourceError::source(&source.name, "no files are listed; name at least one"));
    }
    Ok((tables, files))
}

/// Lines of a file that are no rows, in words.
fn left_out(table: &RawTable) -> impl Iterator<Item = (&'static str, String)> {
    let separator = table.stated_separator.map(|separator| {
        (
            "separator_line",
            format!("its first line, sep={separator}, is left out; it is no header and no row"),
        )
    });
    separator.into_iter().chain(table.empty_rows().map(|words| ("empty_rows", words)))
}

/// Where a file is: where the study names it; else below one of the folders, by that path or by its bare name.
fn place(folder: &Path, file: &Path, folders: &[PathBuf]) -> PathBuf {
    let named = folder.join(file);
    if named.is_file() {
        return named;
    }
    let bare = file.file_name().map_or(file, Path::new);
    let others = folders.iter().flat_map(|other| [other.join(file), other.join(bare)]);
    others.into_iter().find(|path| path.is_file()).unwrap_or(named)
}

/// An error about a file that is in none of the places.
fn absent(path: &Path, folders: &[PathBuf]) -> SourceError {
    let others: Vec<String> = folders.iter().map(|folder| folder.display().to_string()).collect();
    let looked =
        if others.is_empty() { String::new() } else { format!(", nor is it in {}", others.join(", ")) };
    let message = format!("cannot be read: no such file{looked}; name the folder that holds it with --data");
    SourceError::file(path, message)
}

/// A note where no age is read and a column seems to hold when people were born.
fn born(source: &TableSource, joined: &Joined) -> Option<Notice> {
    let has_age = source.columns.iter().any(|mapped| mapped.quantity == "age");
    let column = joined.names().find(|name| is_birth(name)).filter(|_| !has_age)?;
    let birth = Birth { column: column.to_owned(), visit: None };
    let message = format!("nobody's age is known; {}", age_by_hand(Some(&birth)));
    Some(Notice::note("age_not_read", source.name.as_str(), message))
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

fn weight(
    source: &TableSource,
    joined: &Joined,
    (notices, fewest): (&mut Vec<Notice>, Option<i64>),
) -> Result<Option<Column>, SourceError> {
    let Some(column) = &source.weight else { return Ok(None) };
    let cells: Float64Chunked = joined.numbers(column, &source.missing)?;
    let negative =
        cells.iter().enumerate().filter_map(|(i, w)| w.filter(|w| *w < 0.0).map(|w| (i, w.to_string())));
    let negative: Vec<(usize, String)> = negative.collect();
    if !negative.is_empty() {
        return Err(joined.cells_error(column, &negative, "a weight of 0 or more"));
    }
    if !cells.iter().flatten().any(|w| w > 0.0) {
        let message = format!(
            "nobody has a weight above 0 in column `{column}`: weighted, nobody would count. Correct the column, or leave \
             `weight` out if the table has none"
        );
        return Err(SourceError::source(&source.name, message));
    }
    let without = cells.null_count();
    if without > 0 {
        let message = format!(
            "no weight in column `{column}` for {}: whoever has none counts in no weighted number",
            small::told(without as i64, fewest)
        );
        notices.push(Notice::caution("weight_missing", source.name.as_str(), message));
    }
    Ok(Some(cells.with_name(weight_column(Subsample::Interview).into()).into_column()))
}

/// Stratum and PSU of everybody. PSUs without strata lie in one stratum.
fn design(source: &TableSource, joined: &Joined) -> Result<Vec<Column>, SourceError> {
    let texts = |column: &String, name: &str| {
        let cells = joined.texts(column, &source.missing)?;
        let empty = cells.iter().enumerate().filter(|(_, cell)| cell.is_none());
        let empty: Vec<(usize, String)> = empty.map(|(person, _)| (person, String::new())).collect();
        if !empty.is_empty() {
            return Err(joined.cells_error(
                column,
                &empty,
                &format!("a {name} for every person (a text listed under `missing` is none)"),
            ));
        }
        Ok(cells.with_name(name.into()).into_column())
    };
    let Some(psu) = &source.psu else { return Ok(Vec::new()) };
    let stratum = match &source.stratum {
        Some(stratum) => texts(stratum, "stratum")?,
        None => constant_column("stratum", &source.name, joined.ids.len()),
    };
    Ok(vec![stratum, texts(psu, "psu")?])
}
