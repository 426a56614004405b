//! From a study file as written to a checked study.

use std::path::{Path, PathBuf};

use super::complete::complete;
use super::error::{StudyError, Text};
use super::file::{At, FEWEST_CELL, StudyFile, USUAL_CELL};
use super::percent::written_as_shares;
use super::{OutcomeItem, Study, StudyIndex, StudyOutcome, Unsaid};
use super::{
    check_rows, checks, cohort, curves, define, groups, mixture, needs, output, own_outcome, published,
    resampling, rules, samples, sensitivity, sources, standardize, thresholds,
};
use crate::definitions::{DefinitionError, Definitions, Outcome};

/// One bit each in 63.
pub(super) const MOST_FLAGS: usize = 63;
/// Two bits each in 63.
const MOST_OUTCOMES: usize = 31;

/// Resolves every name, checks every number, and writes the study out with all defaults.
pub(super) fn check(mut file: StudyFile, text: Text<'_>, folder: &Path) -> Result<Study, StudyError> {
    let definitions = define::definitions(&file, text)?;
    let unsaid = Unsaid { public: file.public.is_none() };
    let public = *file.public.get_or_insert(true);
    complete(&mut file, text)?;
    numbers(&file, text)?;
    let indices = indices(&file, &definitions, text)?;
    let exclusions = cohort::exclusions(&file, &definitions, text)?;
    let (variables, groupings) = groups::groupings(&file, &definitions, text)?;
    let outcomes = outcomes(&file.analysis.outcomes, &definitions, text)?;
    let known = curves::Known {
        indices: &indices,
        outcomes: &outcomes,
        variables: &variables,
        groupings: &groupings,
    };
    let curves = curves::curves(&file, &known, text)?;
    standardize::complete(&mut file, &variables, &groupings);
    let references = cohort::references(&file, &definitions, text)?;
    let standardisation = standardize::standardisation(&file, (&variables, &groupings, &references), text)?;
    let sources = sources::sources(&file, &definitions, text)?;
    let resampling = resampling::resampling(&file, &sources, text)?;
    let mut study = Study {
        title: file.title.clone(),
        question: file.question.clone(),
        folder: folder.to_owned(),
        data_folders: file.data.iter().map(PathBuf::from).collect(),
        sources,
        samples: samples::samples(&file.source),
        exclusions,
        outcomes,
        curves,
        sensitivity: None,
        mixture: mixture::mixture(&file, text)?,
        published: published::published(&file, text)?,
        output: output::output(&file.output, text)?,
        references,
        standardisation,
        variables,
        groupings,
        percentiles: file.analysis.percentiles.get_ref().iter().map(|percent| percent / 100.0).collect(),
        rules: rules::rules(&file.analysis.rules, text)?,
        thresholds: thresholds::thresholds(&file.analysis.threshold, &indices, text)?,
        indices,
        resampling,
        checks: checks::checks(&file.check, text)?,
        confidence: *file.confidence.get_ref(),
        lonely_psu: file.lonely_psu,
        withhold: file.unreliable,
        public,
        unsaid,
        minimum_cell: *file.minimum_cell.get_ref(),
        resolved_toml: String::new(),
        quantities: definitions.quantities.clone(),
    };
    study.sensitivity = sensitivity::sensitivity(&mut file, &study, &definitions, text)?;
    study.resolved_toml = written_out(&file);
    as_a_whole(&study, &definitions, &file, text)?;
    Ok(study)
}

/// What no part of a study shows alone.
fn as_a_whole(
    study: &Study,
    definitions: &Definitions,
    file: &StudyFile,
    text: Text<'_>,
) -> Result<(), StudyError> {
    bits(study, file, text)?;
    needs::check(study, definitions, file, text)?;
    check_rows::check(study, file, text)
}

/// A person's flags are kept in one whole number of 63 bits.
fn bits(study: &Study, file: &StudyFile, text: Text<'_>) -> Result<(), StudyError> {
    let flags = study.exclusions.len() + study.references.len();
    if flags > MOST_FLAGS {
        let problem = format!("at most {MOST_FLAGS} exclusions and reference groups together, found {flags}");
        return Err(text.problem(file.cohort.exclude.last().map_or(0..0, At::span), problem));
    }
    Ok(())
}

/// The study with all defaults, as TOML.
fn written_out(file: &StudyFile) -> String {
    toml::to_string(file).expect("a study that was read from TOML can be written as TOML")
}

/// Numbers that must lie in a range.
fn numbers(file: &StudyFile, text: Text<'_>) -> Result<(), StudyError> {
    let confidence = *file.confidence.get_ref();
    if !(confidence > 0.0 && confidence < 1.0) {
        let problem = format!("confidence must lie between 0 and 1 (0.95 for 95 %), found {confidence}");
        return Err(text.problem(file.confidence.span(), problem));
    }
    if file.public != Some(false) && *file.minimum_cell.get_ref() != USUAL_CELL {
        let problem = "minimum_cell has no effect without public = false: add that, and smaller cells are withheld and \
                       sums kept out of the output; or leave minimum_cell out";
        return Err(text.problem(file.minimum_cell.span(), problem));
    }
    if *file.minimum_cell.get_ref() < FEWEST_CELL {
        let problem = format!(
            "minimum_cell is the fewest people that are shown, and must be {FEWEST_CELL} or more (or left out, for {USUAL_CELL}): \
             counts are rounded to half of it, which would round nothing"
        );
        return Err(text.problem(file.minimum_cell.span(), problem));
    }
    let percentiles = &file.analysis.percentiles;
    let inside = |percent: &f64| *percent > 0.0 && *percent < 100.0;
    let increasing = percentiles.get_ref().windows(2).all(|pair| pair[0] < pair[1]);
    if !percentiles.get_ref().iter().all(inside) || !increasing {
        let problem = "percentiles must be increasing numbers between 0 and 100, such as [50, 75, 90, 95]";
        return Err(text.problem(percentiles.span(), problem));
    }
    match written_as_shares(percentiles.get_ref()) {
        Some(problem) => Err(text.problem(percentiles.span(), problem)),
        None => Ok(()),
    }
}

fn indices(
    file: &StudyFile,
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Vec<StudyIndex>, StudyError> {
    let names = &file.analysis.indices;
    if names.get_ref().is_empty() {
        let problem = "indices is empty: name at least one index, such as \"homa_ir\" (cutspan list indices)";
        return Err(text.problem(names.span(), problem));
    }
    distinct(names.get_ref(), text)?;
    names.get_ref().iter().map(|name| index(name, definitions, text)).collect()
}

fn index(name: &At<String>, definitions: &Definitions, text: Text<'_>) -> Result<StudyIndex, StudyError> {
    let known = definitions.indices.iter().map(|row| row.name.as_str());
    let row = definitions
        .indices
        .iter()
        .find(|row| row.name == *name.get_ref())
        .ok_or_else(|| text.unknown("index", name, known))?;
    let ingredients = definitions
        .ingredients(&row.name, &row.sql())
        .map_err(|error| text.definition(name.span(), error))?;
    let subsample = definitions.subsample(&ingredients);
    Ok(StudyIndex { row: row.clone(), ingredients, subsample })
}

/// The outcomes of a list of names; as many as two bits each allow.
pub(super) fn outcomes(
    names: &[At<String>],
    definitions: &Definitions,
    text: Text<'_>,
) -> Result<Vec<StudyOutcome>, StudyError> {
    distinct(names, text)?;
    if let Some(one_too_many) = names.get(MOST_OUTCOMES) {
        let problem = format!("at most {MOST_OUTCOMES} outcomes, found {}", names.len());
        return Err(text.problem(one_too_many.span(), problem));
    }
    names.iter().map(|name| outcome(name, definitions, text)).collect()
}

fn outcome(name: &At<String>, definitions: &Definitions, text: Text<'_>) -> Result<StudyOutcome, StudyError> {
    let row = definitions
        .outcomes
        .iter()
        .find(|row| row.name == *name.get_ref())
        .ok_or_else(|| own_outcome::unknown(name, definitions, text))?;
    let at = |error| text.definition(name.span(), error);
    let sql = definitions.outcome_sql(row).map_err(at)?;
    let ingredients = definitions.ingredients(&row.name, &sql).map_err(at)?;
    let subsample = definitions.subsample(&ingredients);
    let items = items(row, definitions).map_err(at)?;
    let row = Outcome { label: definitions.label(&row.label), ..row.clone() };
    Ok(StudyOutcome { row, sql, ingredients, subsample, items })
}

/// The conditions an outcome asks for and those it counts, each with its own SQL.
fn items(outcome: &Outcome, definitions: &Definitions) -> Result<Vec<OutcomeItem>, DefinitionError> {
    let required = outcome.required.iter().map(|name| (name, true));
    let named = required.chain(outcome.items.iter().map(|name| (name, false)));
    let rows = named.filter_map(|(name, required)| {
        Some((definitions.outcomes.iter().find(|row| row.name == *name)?, required))
    });
    rows.map(|(row, required)| {
        let sql = definitions.outcome_sql(row)?;
        let label = definitions.label(&row.label);
        let (source, standing) = (row.source.clone(), row.standing);
        Ok(OutcomeItem { name: row.name.clone(), label, sql, source, standing, required })
    })
    .collect()
}

/// A list names each thing once.
pub(super) fn distinct(names: &[At<String>], text: Text<'_>) -> Result<(), StudyError> {
    for (position, name) in names.iter().enumerate() {
        if names[..position].contains(name) {
            return Err(text.problem(name.span(), format!("\"{}\" is named twice", name.get_ref())));
        }
    }
    Ok(())
}
