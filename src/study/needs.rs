//! Whether a table has the columns that the study reads.

use super::draft::UNKNOWN_COLUMN;
use super::error::{StudyError, Text};
use super::file::{At, SourceFile, StudyFile};
use super::treatment::{Untreated, untreated};
use super::{MappedColumn, Source, Split, Study, TableSource};
use crate::definitions::{Definitions, Exclusion, Outcome};

/// An index, an exclusion or a group whose quantities a table does not have is an error. An outcome
/// may lack some of them, because its answer can still be known from the rest; see `remarks`.
pub(super) fn check(
    study: &Study,
    definitions: &Definitions,
    file: &StudyFile,
    text: Text<'_>,
) -> Result<(), StudyError> {
    for source in &study.sources {
        let Source::Table(table) = source else { continue };
        for (index, name) in study.indices.iter().zip(file.analysis.indices.get_ref()) {
            all(table, "index", name, &index.ingredients, text)?;
        }
        for (outcome, name) in study.outcomes.iter().zip(&file.analysis.outcomes) {
            some(table, name, &outcome.ingredients, text)?;
            treatment(table, name, (&outcome.row, definitions), text)?;
        }
        let others = study.sensitivity.iter().flat_map(|section| &section.outcomes);
        let named = file.sensitivity.iter().filter_map(|section| section.outcomes.as_ref()).flatten();
        for (outcome, name) in others.zip(named) {
            some(table, name, &outcome.ingredients, text)?;
            treatment(table, name, (&outcome.row, definitions), text)?;
        }
        cohort(study, table, definitions, file, text)?;
        groups(study, table, definitions, file, text)?;
    }
    Ok(())
}

fn cohort(
    study: &Study,
    table: &TableSource,
    definitions: &Definitions,
    file: &StudyFile,
    text: Text<'_>,
) -> Result<(), StudyError> {
    let cohort = &file.cohort;
    let age = cohort.age.as_ref().map(|age| At::new(age.span(), "age".to_owned()));
    let names: Vec<&At<String>> = age.iter().chain(&cohort.require).chain(&cohort.exclude).collect();
    let here = |exclusion: &&Exclusion| !known_elsewhere(study, table, exclusion);
    for (exclusion, name) in study.exclusions.iter().zip(names).filter(|(exclusion, _)| here(exclusion)) {
        leaves_out(exclusion, name, table, definitions, text)?;
    }
    let sets = study.sensitivity.iter().flat_map(|section| section.exclusions.iter().skip(1));
    let written = file.sensitivity.iter().flat_map(|section| &section.exclusions);
    for (set, written) in sets.zip(written) {
        // The age range and the requirements are those of the cohort, checked above.
        let names = &written.get_ref().exclude;
        let own = set.exclusions.len() - names.len();
        let named = set.exclusions[own..].iter().zip(names);
        for (exclusion, name) in named.filter(|(exclusion, _)| here(exclusion)) {
            leaves_out(exclusion, name, table, definitions, text)?;
        }
    }
    for (reference, written) in study.references.iter().zip(&file.analysis.reference) {
        for (exclusion, name) in reference.without.iter().zip(&written.get_ref().without) {
            leaves_out(exclusion, name, table, definitions, text)?;
        }
    }
    Ok(())
}

/// Whether another sample of the study knows what an exclusion asks: then its people are left out there, and here,
/// where the answer is unknown, people stay in (a caution says so).
fn known_elsewhere(study: &Study, table: &TableSource, exclusion: &Exclusion) -> bool {
    let knows = |source: &Source| match source {
        Source::Survey { .. } => true,
        Source::Table(other) => {
            other.name != table.name
                && study.read_by(&exclusion.formula).iter().all(|quantity| has(other, quantity))
        }
    };
    study.samples.len() > 1 && !exclusion.unknown_excludes && study.sources.iter().any(knows)
}

fn leaves_out(
    exclusion: &Exclusion,
    name: &At<String>,
    table: &TableSource,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<(), StudyError> {
    let read = definitions
        .ingredients(&exclusion.name, &exclusion.formula)
        .map_err(|error| text.definition(name.span(), error))?;
    if definitions.outcomes.iter().any(|outcome| outcome.name == *name.get_ref()) {
        some(table, name, &read, text)
    } else {
        all(table, "exclusion", name, &without_marks(&read), text)
    }
}

/// The quantities without marks of values below detection where the value itself is read: a table may tell
/// such people by either.
fn without_marks(read: &[String]) -> Vec<String> {
    let is_mark = |name: &String| {
        name.strip_suffix("_below_detection").is_some_and(|own| read.iter().any(|other| other == own))
    };
    read.iter().filter(|name| !is_mark(name)).cloned().collect()
}

fn groups(
    study: &Study,
    table: &TableSource,
    definitions: &Definitions,
    file: &StudyFile,
    text: Text<'_>,
) -> Result<(), StudyError> {
    for (grouping, name) in study.groupings.iter().zip(&file.analysis.groups) {
        for &position in grouping {
            let variable = &study.variables[position];
            let sql = match &variable.split {
                Split::Bands { column, .. } => column,
                Split::Levels { sql, .. } => sql,
            };
            let read = definitions
                .ingredients(&variable.name, sql)
                .map_err(|error| text.definition(name.span(), error))?;
            all(table, "group", name, &read, text)?;
        }
    }
    Ok(())
}

fn has(table: &TableSource, quantity: &str) -> bool {
    table.columns.iter().any(|column| column.quantity == quantity)
}

/// Every quantity must be there.
fn all(
    table: &TableSource,
    what: &str,
    name: &At<String>,
    read: &[String],
    text: Text<'_>,
) -> Result<(), StudyError> {
    match read.iter().find(|quantity| !has(table, quantity)) {
        None => Ok(()),
        Some(quantity) => {
            let problem = format!(
                "the {what} \"{}\" reads {quantity}, for which the table \"{}\" names no column: add it under [source.columns], or leave the {what} out",
                name.get_ref(),
                table.name
            );
            Err(text.problem(name.span(), problem))
        }
    }
}

/// Somebody must be able to be known not to have the outcome, whose treatments the table may not know.
fn treatment(
    table: &TableSource,
    name: &At<String>,
    (outcome, definitions): (&Outcome, &Definitions),
    text: Text<'_>,
) -> Result<(), StudyError> {
    let untreated = untreated(outcome, definitions, &|quantity| has(table, quantity))
        .map_err(|error| text.definition(name.span(), error))?;
    let Some(Untreated { absent, instead }) = untreated else { return Ok(()) };
    let problem = format!(
        "nobody can be known not to have \"{}\": it counts treatment, and the table \"{}\" names no column for {}. Use \
         \"{instead}\", which counts what is measured alone; or add the column{} under [source.columns]",
        name.get_ref(),
        table.name,
        absent.join(", "),
        if absent.len() == 1 { "" } else { "s" }
    );
    Err(text.problem(name.span(), problem))
}

/// At least one measured or asked quantity must be there.
fn some(table: &TableSource, name: &At<String>, read: &[String], text: Text<'_>) -> Result<(), StudyError> {
    let mut asked = read.iter().filter(|quantity| *quantity != "sex" && *quantity != "age").peekable();
    if asked.peek().is_none() || asked.any(|quantity| has(table, quantity)) {
        return Ok(());
    }
    let (none, one) = match read {
        [_] => ("no column for it", "it"),
        _ => ("a column for none of them", "one of them"),
    };
    let problem = format!(
        "\"{}\" reads {}, and the table \"{}\" names {none}: add {one} under [source.columns], or leave \"{0}\" out",
        name.get_ref(),
        read.join(", "),
        table.name
    );
    Err(text.problem(name.span(), problem))
}

/// A column of numbers is one quantity; the answer to a question may tell two. Columns that a draft leaves to be named are
/// none yet.
pub(super) fn read_once(
    written: &At<SourceFile>,
    columns: &[MappedColumn],
    text: Text<'_>,
) -> Result<(), StudyError> {
    let named = |column: &&MappedColumn| column.unit.is_some() && column.column != UNKNOWN_COLUMN;
    let numbers: Vec<&MappedColumn> = columns.iter().filter(named).collect();
    for (position, column) in numbers.iter().enumerate() {
        if let Some(other) = numbers[..position].iter().find(|other| other.column == column.column) {
            let span = written.get_ref().columns.iter().find(|(name, _)| *name.get_ref() == column.quantity);
            let problem = format!(
                "{} and {} are both read from the column \"{}\": name the column of each, or leave one out",
                other.quantity, column.quantity, column.column
            );
            return Err(
                text.problem(span.map_or_else(|| written.span(), |(_, column)| column.span()), problem)
            );
        }
    }
    Ok(())
}
