//! Where the data come from: cycles of a known survey, and tables with a column map.

use std::path::PathBuf;

use super::column_names::called_otherwise;
use super::error::{StudyError, Text};
use super::file::{At, ColumnFile, ReplicateWeightsFile, SourceFile, StudyFile};
use super::{MappedColumn, ReplicateColumns, Source, TableSource, invented, needs};
use crate::definitions::answer::same_unit;
use crate::definitions::{ColumnKind, Definitions, Quantity, UnitRow, survey};

pub(super) fn sources(
    file: &StudyFile,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Vec<Source>, StudyError> {
    let mut sources: Vec<Source> = Vec::new();
    for written in &file.source {
        let source = if written.get_ref().survey.get_ref() == "table" {
            Source::Table(table(written, definitions, text)?)
        } else {
            known_survey(written, text)?
        };
        if let (Source::Table(table), Some(name)) = (&source, &written.get_ref().name)
            && sources.iter().any(|other| matches!(other, Source::Table(other) if other.name == table.name))
        {
            return Err(text.problem(name.span(), format!("another source is named \"{}\"", table.name)));
        }
        sources.push(source);
    }
    Ok(sources)
}

/// A cycle of a survey whose files and codes the program knows.
pub(super) fn known_survey(written: &At<SourceFile>, text: Text<'_>) -> Result<Source, StudyError> {
    let source = written.get_ref();
    let survey = source.survey.get_ref();
    let Some(cycles) = survey::cycles(survey) else {
        return Err(text.unknown("survey", &source.survey, survey::SURVEYS.iter().copied().chain(["table"])));
    };
    let Some(cycle) = &source.cycle else {
        let problem = format!("name the cycle of {survey}: one of {}", cycles.join(", "));
        return Err(text.problem(written.span(), problem));
    };
    if !cycles.contains(cycle.get_ref()) {
        return Err(text.unknown("cycle", cycle, cycles.iter().map(String::as_str)));
    }
    if let Some(key) = table_key(source) {
        let problem = format!("`{key}` belongs to a table of one's own; the files of {survey} are known");
        return Err(text.problem(written.span(), problem));
    }
    Ok(Source::Survey { survey: survey.clone(), cycle: cycle.get_ref().clone(), weight_share: share(source) })
}

/// A key of a named survey's source that only a table has.
fn table_key(source: &SourceFile) -> Option<&'static str> {
    let given = [
        ("name", source.name.is_some()),
        ("invented", source.invented.is_some()),
        ("files", source.files.is_some()),
        ("id", source.id.is_some()),
        ("weight", source.weight.is_some()),
        ("stratum", source.stratum.is_some()),
        ("psu", source.psu.is_some()),
        ("replicate_weights", source.replicate_weights.is_some()),
        ("separator", source.separator.is_some()),
        ("decimal", source.decimal.is_some()),
        ("encoding", source.encoding.is_some()),
        ("missing", source.missing.is_some()),
        ("allow_unmatched", source.allow_unmatched.is_some()),
        ("columns", !source.columns.is_empty()),
    ];
    given.into_iter().find(|(_, is_given)| *is_given).map(|(key, _)| key)
}

fn table(
    written: &At<SourceFile>,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<TableSource, StudyError> {
    let source = written.get_ref();
    let needs = |key: &str| text.problem(written.span(), format!("a table needs `{key}`"));
    let name = source.name.as_ref().ok_or_else(|| needs("name"))?;
    let files =
        source.files.as_ref().filter(|files| !files.get_ref().is_empty()).ok_or_else(|| needs("files"))?;
    let id = source.id.clone().ok_or_else(|| needs("id"))?;
    if source.cycle.is_some() {
        return Err(
            text.problem(written.span(), "a table has no `cycle`: put what tells it apart into its `name`")
        );
    }
    if source.stratum.is_some() && source.psu.is_none() {
        let problem =
            "a stratum without psu says nothing about the design: name the column of the sampling units too";
        return Err(text.problem(written.span(), problem));
    }
    if source.columns.is_empty() {
        return Err(needs("[source.columns]"));
    }
    let columns = source.columns.iter().map(|(quantity, column)| mapped(quantity, column, definitions, text));
    let columns = columns.collect::<Result<Vec<_>, StudyError>>()?;
    needs::read_once(written, &columns, text)?;
    Ok(TableSource {
        name: name.get_ref().clone(),
        invented: invented::invented(written, text)?,
        files: files.get_ref().iter().map(PathBuf::from).collect(),
        id,
        columns,
        weight: source.weight.clone(),
        stratum: source.stratum.clone(),
        psu: source.psu.clone(),
        replicate_weights: replicate_weights(source, text)?,
        separator: separator(source, text)?,
        decimal_comma: decimal_comma(source, text)?,
        windows_1252: windows_1252(source, text)?,
        missing: source.missing.clone().unwrap_or_default(),
        allow_unmatched: source.allow_unmatched.unwrap_or(false),
        weight_share: share(source),
    })
}

/// Characters that may part the columns of a text file.
const SEPARATORS: [&str; 4] = [",", ";", "\t", "|"];
/// What decimals may follow.
const DECIMALS: [&str; 2] = [".", ","];
/// How a text file may be written.
const ENCODINGS: [&str; 2] = ["utf-8", "windows-1252"];

fn separator(source: &SourceFile, text: Text<'_>) -> Result<Option<char>, StudyError> {
    let Some(written) = &source.separator else { return Ok(None) };
    if !SEPARATORS.contains(&written.get_ref().as_str()) {
        return Err(text.unknown("separator", written, [",", ";", "\\t", "|"]));
    }
    Ok(written.get_ref().chars().next())
}

fn decimal_comma(source: &SourceFile, text: Text<'_>) -> Result<bool, StudyError> {
    let Some(written) = &source.decimal else { return Ok(false) };
    if !DECIMALS.contains(&written.get_ref().as_str()) {
        return Err(text.unknown("decimal", written, DECIMALS));
    }
    Ok(written.get_ref() == ",")
}

fn windows_1252(source: &SourceFile, text: Text<'_>) -> Result<bool, StudyError> {
    let Some(written) = &source.encoding else { return Ok(false) };
    match ENCODINGS.iter().position(|known| known.eq_ignore_ascii_case(written.get_ref())) {
        Some(place) => Ok(place == 1),
        None => Err(text.unknown("encoding", written, ENCODINGS)),
    }
}

/// The columns of replicate weights, which stand for the whole design.
fn replicate_weights(source: &SourceFile, text: Text<'_>) -> Result<Option<ReplicateColumns>, StudyError> {
    let Some(written) = &source.replicate_weights else { return Ok(None) };
    let refuse = |problem: &str| Err(text.problem(written.span(), problem));
    if source.weight.is_none() {
        return refuse("replicate weights vary a weight: name its column under `weight` too");
    }
    if source.stratum.is_some() || source.psu.is_some() {
        return refuse(
            "replicate weights stand for strata and PSUs: leave out stratum and psu, or leave out replicate_weights",
        );
    }
    match written.get_ref() {
        ReplicateWeightsFile::Pattern(pattern) => match pattern.strip_suffix('*') {
            Some(beginning) if !beginning.is_empty() && !beginning.contains('*') => {
                Ok(Some(ReplicateColumns::Beginning(beginning.to_owned())))
            }
            _ => refuse("expected how the names begin and a star, such as \"rw_*\", or a list of columns"),
        },
        ReplicateWeightsFile::List(names) => {
            let twice = names.iter().enumerate().any(|(at, name)| names[..at].contains(name));
            if names.len() < 2 || twice {
                return refuse("expected at least two columns, each named once");
            }
            Ok(Some(ReplicateColumns::Named(names.clone())))
        }
    }
}

fn share(source: &SourceFile) -> f64 {
    source.share.as_ref().map_or(1.0, |share| *share.get_ref())
}

/// How a column that nothing is known of comes to be read.
const OWN_QUANTITY: &str = "What is not among them needs a row of its own: [[define.quantity]] with name, label, kind \
                            (number, yes_no or category) and subsample = \"interview\"";

fn mapped(
    name: &At<String>,
    column: &At<ColumnFile>,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<MappedColumn, StudyError> {
    let known = definitions.quantities.iter().map(|quantity| quantity.name.as_str());
    let quantity =
        definitions.quantities.iter().find(|quantity| quantity.name == *name.get_ref()).ok_or_else(|| {
            match called_otherwise(name.get_ref()) {
                Some(meant) => {
                    text.problem(name.span(), format!("\"{}\" is called \"{meant}\" here", name.get_ref()))
                }
                None => text.unknown_or_own("quantity", name, known, OWN_QUANTITY),
            }
        })?;
    let written = column.get_ref();
    let (unit, factor) = match quantity.kind {
        ColumnKind::Number => unit(quantity, column, text)?,
        ColumnKind::YesNo | ColumnKind::Category => {
            if written.unit.is_some() || written.factor.is_some() || written.below_detection.is_some() {
                let problem = format!(
                    "{} is not a number: it has codes, no unit and no limit of detection",
                    quantity.name
                );
                return Err(text.problem(column.span(), problem));
            }
            (None, None)
        }
    };
    codes(quantity, column, text)?;
    Ok(MappedColumn {
        quantity: quantity.name.clone(),
        column: written.column.clone(),
        unit,
        factor,
        codes: written.codes.iter().map(|(code, label)| (code.clone(), label.get_ref().clone())).collect(),
        missing: written.missing.clone(),
        below_detection: below_detection(written, text)?,
        assay: written.assay.clone(),
        unit_checked: written.unit_checked.unwrap_or(false),
        empty: false,
    })
}

/// What cells below a limit of detection begin with.
fn below_detection(column: &ColumnFile, text: Text<'_>) -> Result<Option<String>, StudyError> {
    let Some(written) = &column.below_detection else { return Ok(None) };
    let mark = written.get_ref().trim();
    if mark.is_empty() || mark.chars().any(|c| c.is_ascii_digit()) {
        let problem =
            "below_detection is what such cells begin with, before the limit: \"<\" for cells like <2";
        return Err(text.problem(written.span(), problem));
    }
    Ok(Some(mark.to_owned()))
}

/// The unit of a number and, where factors in print disagree, the one chosen.
fn unit(
    quantity: &Quantity,
    column: &At<ColumnFile>,
    text: Text<'_>,
) -> Result<(Option<String>, Option<f64>), StudyError> {
    let units = || quantity.units.iter().map(|unit| unit.unit.as_str());
    let written = column.get_ref();
    let Some(name) = &written.unit else {
        let problem =
            format!("{} needs a unit: one of {}", quantity.name, units().collect::<Vec<_>>().join(", "));
        return Err(text.problem(column.span(), problem));
    };
    let unit: &UnitRow = quantity
        .units
        .iter()
        .find(|unit| same_unit(&unit.unit, name.get_ref()))
        .ok_or_else(|| text.unknown("unit", name, units()))?;
    Ok((Some(unit.unit.clone()), factor(quantity, unit, column, text)?))
}

/// The factor of a unit for which several are in print; none for any other unit.
fn factor(
    quantity: &Quantity,
    unit: &UnitRow,
    column: &At<ColumnFile>,
    text: Text<'_>,
) -> Result<Option<f64>, StudyError> {
    let choices: Vec<String> = unit.choices.iter().map(ToString::to_string).collect();
    let choices = choices.join(" or ");
    match (&column.get_ref().factor, unit.choices.is_empty()) {
        (None, true) => Ok(None),
        (Some(factor), true) => {
            let problem = format!("the factor of {} is known: leave `factor` out", unit.unit);
            Err(text.problem(factor.span(), problem))
        }
        (None, false) => {
            let problem = format!(
                "{} in {} needs a factor, because those in print disagree: add factor = {choices}",
                quantity.name, unit.unit
            );
            Err(text.problem(column.span(), problem))
        }
        (Some(factor), false) if unit.choices.contains(factor.get_ref()) => Ok(Some(*factor.get_ref())),
        (Some(factor), false) => {
            let problem =
                format!("the factor of {} must be {choices}, found {}", unit.unit, factor.get_ref());
            Err(text.problem(factor.span(), problem))
        }
    }
}

/// Codes stand only where there are labels, and lead to labels that formulas can match.
fn codes(quantity: &Quantity, column: &At<ColumnFile>, text: Text<'_>) -> Result<(), StudyError> {
    let labels: Vec<&str> = match quantity.kind {
        ColumnKind::Number if column.get_ref().codes.is_empty() => return Ok(()),
        ColumnKind::Number => {
            let problem =
                format!("{} is a number and has no codes: list missing ones under `missing`", quantity.name);
            return Err(text.problem(column.span(), problem));
        }
        ColumnKind::YesNo => vec!["yes", "no"],
        ColumnKind::Category => quantity.levels.iter().map(String::as_str).collect(),
    };
    let given = column.get_ref().codes.values();
    match given.into_iter().find(|label| !labels.is_empty() && !labels.contains(&label.get_ref().as_str())) {
        Some(label) => Err(text.unknown("label", label, labels)),
        None => Ok(()),
    }
}
