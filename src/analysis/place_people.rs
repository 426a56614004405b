//! Whether the study's people include a person: its exclusions, its assay, and what is not known.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::{Person, PlaceError, label_of};
use crate::cohort::{Subject, answer};
use crate::definitions::answer::Answer;
use crate::definitions::survey::survey;
use crate::definitions::{Exclusion, Quantity, columns_read, exclusions};
use crate::study::{Source, Study};

/// Asked of everybody, whatever the study excludes: without them a fasting index means something else.
const ALWAYS: [&str; 2] = ["not_fasted_8_to_24_hours", "insulin_treated"];

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
    let mut standing = Standing { assays: assays(study), ..Standing::default() };
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
    standing.cautions.extend(assay_caution(study, person, &standing.assays));
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

/// Insulin assays of the sources, each once; empty where the study does not say.
fn assays(study: &Study) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for source in &study.sources {
        let assay = match source {
            Source::Survey { survey: name, cycle, .. } => {
                survey(name).and_then(|s| s.cycle(cycle).ok()).map(|cycle| &cycle.insulin_assay)
            }
            Source::Table(table) => table
                .columns
                .iter()
                .find(|column| column.quantity == "insulin")
                .and_then(|column| column.assay.as_ref()),
        };
        if let Some(assay) = assay.filter(|assay| !found.contains(assay)) {
            found.push(assay.clone());
        }
    }
    found
}

/// What must be said when insulin was measured by another method, or it is not known by which.
fn assay_caution(study: &Study, person: &Person, assays: &[String]) -> Option<String> {
    if person.answers.iter().all(|answer| answer.quantity != "insulin") {
        return None;
    }
    let measured = if assays.is_empty() {
        "the study does not say by which assay".to_owned()
    } else {
        format!("the study's by {}", assays.join(", "))
    };
    let insulin = label_of(study, "insulin");
    match &person.assay {
        None => Some(format!("{insulin}: assay not stated, {measured}; assays are not interchangeable")),
        Some(_) if assays.is_empty() => {
            Some(format!("{insulin}: {measured}; assays are not interchangeable"))
        }
        Some(own) if assays.iter().all(|assay| same_assay(own, assay)) => None,
        Some(own) => {
            Some(format!("{insulin}: measured by {own}, {measured}; assays are not interchangeable"))
        }
    }
}

/// Whether every word a person gives stands in the assay's name.
fn same_assay(own: &str, assay: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        let lower = text.to_lowercase();
        lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let (own, assay) = (words(own), words(assay));
    !own.is_empty() && own.iter().all(|word| assay.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_assay_is_known_by_its_words() {
        assert!(same_assay("Tosoh AIA-900", "Tosoh AIA-900, Missouri"));
        assert!(same_assay("tosoh", "Tosoh AIA-900, Missouri"));
        assert!(!same_assay("Mercodia", "Tosoh AIA-900, Missouri"));
        assert!(!same_assay("Tosoh AIA-2000", "Tosoh AIA-900, Missouri"));
        assert!(!same_assay("", "Tosoh AIA-900, Missouri"));
    }
}
