//! What a claim's page says about its study: what is shared, what the run tested, what was asked afterwards.

use crate::analysis::claim::{Question, Side, Stated};
use crate::finished::Origin;
use crate::study::{Study, shared_ingredients};
use crate::table::number::significant;
use crate::table::{Table, csv, schema, small};

/// An outcome that contains an ingredient of the index agrees with it by construction.
pub fn remarks(study: &Study, question: &Question) -> Vec<String> {
    let Some(outcome) = question.outcome else { return Vec::new() };
    let (index, outcome) = (&study.indices[question.index], &study.outcomes[outcome]);
    let shared = shared_ingredients(index, outcome);
    let text = format!(
        "The outcome, {}, counts {}: measured in {}, or treatment for what is; part of their agreement is built in.",
        outcome.row.label,
        shared.join(", ").replace('_', " "),
        index.row.label
    );
    (!shared.is_empty()).then_some(text).into_iter().collect()
}

/// The finished run's own tests whether cutoffs differ between groups; none where they were not asked for or are gone.
pub fn tests_of_run(origin: &Origin) -> Option<Table> {
    let Origin::Run(folder) = origin else { return None };
    let shape = schema::shape("heterogeneity")?;
    csv::read(shape, &folder.join("tables").join("heterogeneity.csv")).ok()
}

/// What is left out of an answer about people who may not be shown in small counts.
pub fn small_counts(study: &Study) -> Option<String> {
    let limit = study.fewest_shown()?;
    Some(format!(
        "Counts of fewer than {limit} people, shares that stand for so few, and what would give them away are left out; {}.",
        small::rounding(limit)
    ))
}

/// Thresholds that the study does not state, or not with this side of the value itself.
pub fn asked(study: &Study, question: &Question) -> Vec<String> {
    let index = &study.indices[question.index];
    let sentence = |stated: &Stated| {
        let threshold = stated.threshold(question.index, index);
        let of_study =
            study.thresholds.iter().filter(|t| (t.index, t.value) == (threshold.index, threshold.value));
        let stricts: Vec<bool> = of_study.map(|t| t.strict).collect();
        let at = format!("{} {}", index.row.label, significant(stated.value, 6));
        match stricts.first() {
            _ if stricts.contains(&threshold.strict) => None,
            Some(strict) => Some(format!(
                "The study states {at} as “{}”; you asked “{}”, which puts people exactly there on the other side: asked \
                 afterwards, exploratory.",
                beyond(index.sign() > 0, *strict).words(),
                stated.side.words()
            )),
            None => Some(format!("The threshold {at} is not in the study: asked afterwards, exploratory.")),
        }
    };
    question.stated.iter().filter_map(sentence).collect()
}

/// The resistant side of a threshold as a study states it.
fn beyond(higher: bool, strict: bool) -> Side {
    match (higher, strict) {
        (true, false) => Side::AtLeast,
        (true, true) => Side::Above,
        (false, false) => Side::AtMost,
        (false, true) => Side::Below,
    }
}
