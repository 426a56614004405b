//! A study's own rows beside the built-in ones.

use super::error::{StudyError, Text};
use super::file::{At, OutcomeFile, StudyFile};
use super::formula_types::{self, Gives};
use crate::definitions::{DefinitionError, Definitions, Outcome, waist_tables};

/// The built-in rows with the study's waist limits, and the study's own rows, all checked.
pub(super) fn definitions(file: &StudyFile, text: Text<'_>) -> Result<Definitions, StudyError> {
    let wanted = &file.analysis.waist_table;
    let waist = waist_tables()
        .iter()
        .find(|table| table.name == *wanted.get_ref())
        .ok_or_else(|| text.unknown("waist table", wanted, waist_tables().iter().map(|t| t.name.as_str())))?;
    let mut all = Definitions::built_in(waist);
    for row in &file.define.quantity {
        let checked = all.add_quantity(row.get_ref().clone());
        checked.map_err(|error| text.definition(row.span(), error))?;
    }
    for row in &file.define.index {
        all.add_index(row.get_ref().clone()).map_err(|error| text.definition(row.span(), error))?;
        let index = row.get_ref();
        gives(&all, row, (&index.name, &index.formula), Gives::Number, text)?;
        if let Some(condition) = &index.valid_if {
            gives(&all, row, (&index.name, condition), Gives::YesOrNo, text)?;
        }
    }
    for row in &file.define.outcome {
        let outcome = outcome(&all, row, text)?;
        let name = outcome.name.clone();
        let formula = outcome.formula.clone();
        all.add_outcome_and_alternatives(outcome).map_err(|error| text.definition(row.span(), error))?;
        // What is counted is checked where it is defined.
        if let Some(formula) = formula {
            gives(&all, row, (&name, &formula), Gives::YesOrNo, text)?;
        }
    }
    for row in &file.define.exclusion {
        let checked = all.add_exclusion(row.get_ref().clone());
        checked.map_err(|error| text.definition(row.span(), error))?;
        gives(&all, row, (&row.get_ref().name, &row.get_ref().formula), Gives::YesOrNo, text)?;
    }
    for row in &file.define.group {
        all.add_group(row.get_ref().clone()).map_err(|error| text.definition(row.span(), error))?;
        if let Some(formula) = &row.get_ref().formula {
            gives(&all, row, (&row.get_ref().name, formula), Gives::Level, text)?;
        }
    }
    Ok(all)
}

/// Whether a row's formula gives what is made of it.
fn gives<T>(
    all: &Definitions,
    row: &At<T>,
    (name, formula): (&str, &str),
    wanted: Gives,
    text: Text<'_>,
) -> Result<(), StudyError> {
    let sql = all.with_waist_limits(formula);
    let checked = formula_types::check(name, &sql, wanted, &all.quantities);
    checked.map_err(|error| text.definition(row.span(), error))
}

/// An outcome row; an index with a value becomes a condition on the index's formula.
fn outcome(all: &Definitions, row: &At<OutcomeFile>, text: Text<'_>) -> Result<Outcome, StudyError> {
    let written = row.get_ref();
    let formula = match (&written.index, written.value) {
        (None, None) => written.formula.clone(),
        (Some(name), Some(value))
            if value.is_finite() && written.formula.is_none() && written.items.is_empty() =>
        {
            let known = all.indices.iter().map(|index| index.name.as_str());
            let index = all
                .indices
                .iter()
                .find(|index| index.name == *name.get_ref())
                .ok_or_else(|| text.unknown("index", name, known))?;
            Some(index.beyond_sql(value, written.strict.unwrap_or(false)))
        }
        _ => {
            let problem = "index and value go together, without formula and items".to_owned();
            let error = DefinitionError::Row { row: written.name.clone(), problem };
            return Err(text.definition(row.span(), error));
        }
    };
    Ok(Outcome {
        name: written.name.clone(),
        label: written.label.clone(),
        formula,
        items: written.items.clone(),
        at_least: written.at_least,
        required: written.required.clone(),
        measured_alone: None,
        complete_case: false,
        source: written.source.clone(),
        standing: written.standing,
        note: written.note.clone(),
    })
}
