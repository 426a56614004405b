//! Whether the study's people include a person: its exclusions, its assay, and what is not known.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::{Person, PlaceError};
use super::place_assay;
use crate::cohort::{Subject, answer};
use crate::definitions::answer::Answer;
use crate::definitions::{Exclusion, Quantity, columns_read, exclusions};
use crate::study::Study;

/// Asked of everybody, whatever the study excludes: with them an index of fasting insulin means something else.
const ALWAYS: [&str; 3] = ["not_fasted_8_to_24_hours", "insulin_treated", "pregnant"];

/// How a person stands to the people of a study.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Standing {
    /// Reasons for which the study's people do not include the person.
    pub outside: Vec<String>,
    /// Reasons of which it is not known whether they apply, with the values that would tell.
    pub unknown: Vec<Unknown>,
    /// What else must be known before a number is read.
    pub cautions: Vec<String>,
    /// Insulin assays of the study's sources.
    pub assays: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unknown {
    pub reason: String,
    /// Quantities that were not given.
    pub needs: Vec<String>,
}

impl Standing {
    /// Whether percentiles and cutoffs may be given.
    #[must_use]
    pub fn inside(&self) -> bool {
        self.outside.is_empty()
    }
}

/// Puts the study's exclusions and those that always matter to a person.
pub(super) fn standing(
    study: &Study,
    person: &Person,
    subject: &Subject,
    (row, invented): (&DataFrame, bool),
) -> Result<Standing, PlaceError> {
    let mut standing = Standing { assays: place_assay::assays(study), ..Standing::default() };
    if person.factor_unknown {
        standing.cautions.push(
            "insulin factor not known: 6.00 is taken; what the other factor gives stands beside it"
                .to_owned(),
        );
    }
    if invented {
        standing
            .cautions
            .push("the study's people are invented: nothing here says anything of a real person".to_owned());
    }
    for (exclusion, answer) in study.exclusions.iter().zip(&subject.exclusions) {
        standing.weigh(exclusion, *answer, (study, person));
    }
    for exclusion in exclusions().iter().filter(|e| ALWAYS.contains(&e.name.as_str())) {
        if study.exclusions.iter().all(|own| own.formula != exclusion.formula) {
            standing.weigh(exclusion, answer(row, exclusion)?, (study, person));
        }
    }
    standing.cautions.extend(place_assay::caution(study, person, (&standing.assays, row))?);
    standing.cautions.extend(
        person
            .answers
            .iter()
            .filter_map(|answer| answer.doubt(study.quantities.iter().find(|q| q.name == answer.quantity)?)),
    );
    let unknown = study.variables.iter().zip(&subject.levels).filter(|(_, level)| level.is_none());
    let labels: Vec<&str> = unknown.map(|(variable, _)| variable.label.as_str()).collect();
    if standing.inside() && !labels.is_empty() {
        let words = format!("group not known: {}; not compared within it", labels.join("; "));
        standing.cautions.push(words);
    }
    Ok(standing)
}

impl Standing {
    fn weigh(&mut self, exclusion: &Exclusion, answer: Option<bool>, (study, person): (&Study, &Person)) {
        let needs = || {
            let columns = columns_read(&exclusion.name, &exclusion.formula).unwrap_or_default();
            unanswered(&quantities_of(study, &columns), &person.answers)
        };
        match answer {
            Some(false) => {}
            Some(true) => self.outside.push(exclusion.label.clone()),
            None if exclusion.unknown_excludes => self.outside.push(format!(
                "{} (people of whom this is unknown were left out; not given: {})",
                exclusion.label,
                needs().join(", ")
            )),
            None => self.unknown.push(Unknown { reason: exclusion.label.clone(), needs: needs() }),
        }
    }
}

/// The quantities that fill some columns.
fn quantities_of(study: &Study, columns: &[String]) -> Vec<String> {
    let fills = |q: &&Quantity| q.columns().iter().any(|c| columns.contains(c));
    study.quantities.iter().filter(fills).map(|q| q.name.clone()).collect()
}

/// Which of some quantities a person did not answer.
pub(super) fn unanswered(quantities: &[String], answers: &[Answer]) -> Vec<String> {
    let open = quantities.iter().filter(|name| answers.iter().all(|answer| answer.quantity != **name));
    open.cloned().collect()
}
