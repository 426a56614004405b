//! The study's outcomes, and the items they count, as far as one person's own values answer them.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::{PlaceError, label_of};
use super::place_alone::{fasted, holds};
use super::place_cutoffs::Cutoff;
use super::place_people::{quantities_of, unanswered};
use crate::definitions::answer::Answer;
use crate::definitions::{ColumnKind, Subsample, columns_read};
use crate::source;
use crate::study::{OUTSIDE_AGE, OutcomeItem, Study, StudyOutcome};

const PREGNANT: &str = "pregnant";

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
    /// Items that are met only if the sample was taken fasting, of which nothing is said; not among those that are met.
    pub if_fasting: Vec<String>,
    /// Whether `met` is said of a sample taken fasting, of which nothing is said.
    pub met_if_fasting: bool,
    /// Items not met by value, which count as met if a drug for them is taken; that is not stated.
    pub by_drug: Vec<String>,
    /// The drugs of which it is not stated.
    pub drugs: Vec<String>,
    /// Quantities that were not given.
    pub needs: Vec<String>,
}

/// Which of the study's outcomes the person already meets. Of a sample taken without fasting none is said that counts what
/// is measured after a fast; of somebody of another age than the study's, or pregnant, none at all: they are defined for
/// others.
pub(super) fn outcomes(
    study: &Study,
    answers: &[Answer],
    row: &DataFrame,
) -> Result<Vec<OutcomeMet>, PlaceError> {
    if is_of_others(study, row)? {
        return Ok(Vec::new());
    }
    let fasted = fasted(answers, row)?;
    let fed = fasted == Some(false);
    let said = |outcome: &&StudyOutcome| !(fed && rests_on_a_fast(study, &outcome.ingredients));
    let plain = if fasted.is_none() { Some(without_fasting(study, answers)?) } else { None };
    let met = |outcome| outcome_met(study, outcome, answers, (row, plain.as_ref()));
    study.outcomes.iter().filter(said).map(met).collect()
}

/// Marks the cutoffs of outcomes that the person already meets: they predict nothing more.
pub(super) fn mark_met(outcomes: &[OutcomeMet], cutoffs: &mut [Cutoff]) {
    for cutoff in cutoffs {
        let met = |of: &OutcomeMet| of.outcome == cutoff.outcome && of.met == Some(true);
        cutoff.already_met = outcomes.iter().any(met);
    }
}

/// Whether any of some quantities is measured after a fast.
pub(super) fn rests_on_a_fast(study: &Study, names: &[String]) -> bool {
    names.iter().any(|name| is_after_a_fast(study, name))
}

/// Whether a quantity is measured after a fast.
fn is_after_a_fast(study: &Study, name: &str) -> bool {
    study.quantities.iter().any(|q| q.name == name && q.subsample == Subsample::Fasting)
}

/// The answers that say the same whether the person fasted or not.
fn without_fasting(study: &Study, answers: &[Answer]) -> Result<DataFrame, PlaceError> {
    let rest = answers.iter().filter(|answer| !is_after_a_fast(study, &answer.quantity));
    Ok(source::person(&study.quantities, &rest.cloned().collect::<Vec<_>>())?)
}

/// Whether the person's age is none of the study's, or pregnancy is stated.
fn is_of_others(study: &Study, row: &DataFrame) -> Result<bool, PlaceError> {
    let asked = |name: &str| study.quantities.iter().any(|quantity| quantity.name == name);
    let age = study.exclusions.iter().find(|exclusion| exclusion.name == OUTSIDE_AGE);
    let other_age = age.map(|age| holds(row, &age.name, &age.formula)).transpose()?.flatten();
    let pregnant = asked(PREGNANT).then(|| holds(row, PREGNANT, PREGNANT)).transpose()?.flatten();
    Ok([other_age, pregnant].contains(&Some(true)))
}

/// `plain` is what is known whether the person fasted or not, where that is not said.
fn outcome_met(
    study: &Study,
    outcome: &StudyOutcome,
    answers: &[Answer],
    (row, plain): (&DataFrame, Option<&DataFrame>),
) -> Result<OutcomeMet, PlaceError> {
    let needs = unanswered(&outcome.ingredients, answers);
    let rests_on_fasting = |name: &str, sql: &str, answer: Option<bool>| -> Result<bool, PlaceError> {
        let Some(plain) = plain.filter(|_| answer.is_some()) else { return Ok(false) };
        Ok(holds(plain, name, sql)? != answer)
    };
    let answer = holds(row, &outcome.row.name, &outcome.sql)?;
    let mut met = OutcomeMet {
        outcome: outcome.row.name.clone(),
        label: outcome.row.label.clone(),
        met: answer,
        met_if_fasting: rests_on_fasting(&outcome.row.name, &outcome.sql, answer)?,
        needs: needs.iter().map(|name| label_of(study, name)).collect(),
        ..OutcomeMet::default()
    };
    for item in outcome.items.iter().filter(|item| !item.required) {
        met.items += 1;
        let answer = holds(row, &item.name, &item.sql)?;
        let drugs = if answer.is_none() { open_drugs(study, item, answers) } else { Vec::new() };
        met.given += usize::from(answer.is_some() || !drugs.is_empty());
        if answer == Some(true) {
            let if_fasting = rests_on_fasting(&item.name, &item.sql, answer)?;
            let list = if if_fasting { &mut met.if_fasting } else { &mut met.which };
            list.push(item.label.clone());
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cutoffs_of_an_outcome_that_is_met_are_marked() {
        let outcome = |name: &str, met| OutcomeMet { outcome: name.to_owned(), met, ..OutcomeMet::default() };
        let cutoff = |name: &str| Cutoff { outcome: name.to_owned(), ..Cutoff::default() };
        let mut cutoffs = [cutoff("syndrome"), cutoff("a1c"), cutoff("other")];
        mark_met(
            &[outcome("syndrome", None), outcome("a1c", Some(true)), outcome("other", Some(false))],
            &mut cutoffs,
        );
        assert_eq!(cutoffs.map(|cutoff| cutoff.already_met), [false, true, false]);
    }
}
