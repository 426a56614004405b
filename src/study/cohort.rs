//! Who is studied: the age range, requirements and exclusions in order; reference groups.

use super::Reference;
use super::check::distinct;
use super::error::{StudyError, Text};
use super::file::{AgeFile, At, CohortFile, StudyFile};
use crate::definitions::{Definitions, Exclusion, Standing, sql_number};

/// Name of the step that the age range makes, which is the first.
pub const OUTSIDE_AGE: &str = "outside_age_range";

/// The steps that leave people out, in the order age, requirements, exclusions.
pub(super) fn exclusions(
    file: &StudyFile,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Vec<Exclusion>, StudyError> {
    let cohort = &file.cohort;
    distinct(&cohort.require, text)?;
    distinct(&cohort.exclude, text)?;
    let mut steps = Vec::new();
    if let Some(age) = &cohort.age {
        steps.push(outside_age(age, text)?);
    }
    for name in &cohort.require {
        steps.push(requirement(name, definitions, text)?);
    }
    for name in &cohort.exclude {
        steps.push(exclusion(name, definitions, text)?);
    }
    Ok(steps)
}

/// The study file with another list of exclusions.
pub(super) fn with_exclude(file: &StudyFile, exclude: Vec<At<String>>) -> StudyFile {
    StudyFile { cohort: CohortFile { exclude, ..file.cohort.clone() }, ..file.clone() }
}

/// The named reference groups. Somebody belongs when known to have none of the conditions, so an
/// unknown answer keeps a person out.
pub(super) fn references(
    file: &StudyFile,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Vec<Reference>, StudyError> {
    let names: Vec<At<String>> =
        file.analysis.reference.iter().map(|reference| reference.get_ref().name.clone()).collect();
    distinct(&names, text)?;
    let mut groups = Vec::new();
    for written in &file.analysis.reference {
        let reference = written.get_ref();
        let name = reference.name.get_ref();
        if reference.without.is_empty() {
            let problem =
                format!("the reference group \"{name}\" leaves nobody out: say what its people are without");
            return Err(text.problem(written.span(), problem));
        }
        if name == "cohort" {
            let problem =
                "\"cohort\" is the name of everybody studied: choose another for this reference group";
            return Err(text.problem(reference.name.span(), problem));
        }
        distinct(&reference.without, text)?;
        let without = reference
            .without
            .iter()
            .map(|name| Ok(Exclusion { unknown_excludes: true, ..exclusion(name, definitions, text)? }));
        groups.push(Reference {
            name: name.clone(),
            label: reference.label.clone().unwrap_or_default(),
            without: without.collect::<Result<_, StudyError>>()?,
        });
    }
    Ok(groups)
}

/// The exclusion of that name, or the people who have the outcome of that name.
fn exclusion(name: &At<String>, definitions: &Definitions, text: Text<'_>) -> Result<Exclusion, StudyError> {
    let wanted = name.get_ref();
    if let Some(row) = definitions.exclusions.iter().find(|row| row.name == *wanted) {
        let formula = definitions.with_waist_limits(&row.formula);
        return Ok(Exclusion { label: definitions.label(&row.label), formula, ..row.clone() });
    }
    if let Some(row) = definitions.outcomes.iter().find(|row| row.name == *wanted) {
        let formula = definitions.outcome_sql(row).map_err(|error| text.definition(name.span(), error))?;
        return Ok(Exclusion {
            name: row.name.clone(),
            label: definitions.label(&row.label),
            formula,
            unknown_excludes: false,
            source: row.source.clone(),
            standing: row.standing,
            note: row.note.clone(),
        });
    }
    let rows = definitions.exclusions.iter().map(|row| row.name.as_str());
    let outcomes = definitions.outcomes.iter().map(|row| row.name.as_str());
    Err(text.unknown("exclusion or outcome", name, rows.chain(outcomes)))
}

/// A condition that people must be known to meet: `fasted_8_to_24_hours` is the opposite of the
/// exclusion `not_fasted_8_to_24_hours`; any exclusion or outcome may be required too.
fn requirement(
    name: &At<String>,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Exclusion, StudyError> {
    let opposite = At::new(name.span(), format!("not_{}", name.get_ref()));
    if let Ok(row) = exclusion(&opposite, definitions, text) {
        return Ok(Exclusion { unknown_excludes: true, label: format!("{}, or unknown", row.label), ..row });
    }
    let row = exclusion(name, definitions, text)?;
    Ok(Exclusion {
        name: opposite.into_inner(),
        label: format!("not known to be: {}", row.label),
        formula: format!("NOT ({})", row.formula),
        unknown_excludes: true,
        ..row
    })
}

/// The age range as the first step.
fn outside_age(age: &At<AgeFile>, text: Text<'_>) -> Result<Exclusion, StudyError> {
    let limits = age.get_ref();
    let years = |value: f64| value.is_finite() && (0.0..=150.0).contains(&value);
    let (words, formula) = match (limits.from, limits.below) {
        (Some(from), None) if years(from) => {
            (format!("under {from} years"), format!("age_years < {}", sql_number(from)))
        }
        (None, Some(below)) if years(below) => {
            (format!("{below} years and over"), format!("age_years >= {}", sql_number(below)))
        }
        (Some(from), Some(below)) if years(from) && years(below) && from < below => (
            format!("under {from} or {below} years and over"),
            format!("age_years < {} OR age_years >= {}", sql_number(from), sql_number(below)),
        ),
        _ => {
            let problem = "age takes years, `from` and `below` or one of them, from less than below: { from = 20, below = 80 }";
            return Err(text.problem(age.span(), problem));
        }
    };
    Ok(Exclusion {
        name: OUTSIDE_AGE.to_owned(),
        label: format!("{words}, or age unknown"),
        formula,
        unknown_excludes: true,
        source: "age range of the study".to_owned(),
        standing: Standing::Study,
        note: String::new(),
    })
}
