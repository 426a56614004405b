//! The study's outcomes, and the items they count, as far as one person's own values answer them.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::{PlaceError, label_of};
use super::place_alone::{fasted, holds};
use super::place_people::{quantities_of, unanswered};
use crate::definitions::answer::Answer;
use crate::definitions::{ColumnKind, Subsample, columns_read};
use crate::study::{OutcomeItem, Study, StudyOutcome};

/// An outcome of the study, as far as the person's own values answer it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct OutcomeMet {
    pub outcome: String,
    pub label: String,
    /// Whether the person meets it; `None` where the values given do not tell.
    pub met: Option<bool>,
    /// Items counted, those of which the values are given, and those that are met; 0 for a plain condition.
    pub items: usize,
    pub given: usize,
    pub yes: usize,
    /// Items that are met.
    pub which: Vec<String>,
    /// Items not met by value, which count as met if a drug for them is taken; that is not stated.
    pub by_drug: Vec<String>,
    /// The drugs of which it is not stated.
    pub drugs: Vec<String>,
    /// Quantities that were not given.
    pub needs: Vec<String>,
}

/// Which of the study's outcomes the person already meets. Of a sample taken without fasting none is said that counts what
/// is measured after a fast.
pub(super) fn outcomes(
    study: &Study,
    answers: &[Answer],
    row: &DataFrame,
) -> Result<Vec<OutcomeMet>, PlaceError> {
    let fed = fasted(answers, row)? == Some(false);
    let after_a_fast =
        |name: &String| study.quantities.iter().any(|q| q.name == *name && q.subsample == Subsample::Fasting);
    let said = |outcome: &&StudyOutcome| !(fed && outcome.ingredients.iter().any(after_a_fast));
    study.outcomes.iter().filter(said).map(|outcome| outcome_met(study, outcome, answers, row)).collect()
}

fn outcome_met(
    study: &Study,
    outcome: &StudyOutcome,
    answers: &[Answer],
    row: &DataFrame,
) -> Result<OutcomeMet, PlaceError> {
    let needs = unanswered(&outcome.ingredients, answers);
    let mut met = OutcomeMet {
        outcome: outcome.row.name.clone(),
        label: outcome.row.label.clone(),
        met: holds(row, &outcome.row.name, &outcome.sql)?,
        needs: needs.iter().map(|name| label_of(study, name)).collect(),
        ..OutcomeMet::default()
    };
    for item in outcome.items.iter().filter(|item| !item.required) {
        met.items += 1;
        let answer = holds(row, &item.name, &item.sql)?;
        let drugs = if answer.is_none() { open_drugs(study, item, answers) } else { Vec::new() };
        met.given += usize::from(answer.is_some() || !drugs.is_empty());
        if answer == Some(true) {
            met.which.push(item.label.clone());
        }
        if !drugs.is_empty() {
            met.by_drug.push(item.label.clone());
        }
        met.drugs.extend(drugs);
    }
    met.yes = met.which.len();
    met.drugs.dedup();
    Ok(met)
}

/// The drugs on which alone an unanswered item depends; none where a measurement of it is not given.
fn open_drugs(study: &Study, item: &OutcomeItem, answers: &[Answer]) -> Vec<String> {
    let columns = columns_read(&item.name, &item.sql).unwrap_or_default();
    let open = unanswered(&quantities_of(study, &columns), answers);
    let is_drug =
        |name: &String| study.quantities.iter().any(|q| q.name == *name && q.kind == ColumnKind::YesNo);
    if open.iter().all(is_drug) { open } else { Vec::new() }
}
