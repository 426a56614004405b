//! Thresholds that may be meant in another form or unit than the index has here: they get no verdict until that is said.

use super::claim::{Question, Stated};
use super::claim_estimate::{Estimate, people};
use super::context::Context;
use super::thresholds::percentile_of;
use crate::definitions::other_form::{Reading, explaining, itself, readings};
use crate::study::Study;

/// Why an estimate is not judged.
pub const IN_DOUBT: &str = "the threshold may be meant in another form or unit";

/// The share of everybody outside of which a value is unusual for a cohort: below 2.5 or above 97.5 %.
const OUTER: f64 = 0.025;

/// A threshold of which it is not said that it is meant in the index's own form and unit, and which hardly can be.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    pub stated: Stated,
    /// What it may be a number of, with its value in the index's own form.
    pub readings: Vec<Reading>,
    /// What is typed behind the number to say that it is meant as it stands.
    pub itself: String,
}

/// The doubt about each threshold; `range` is the cohort's, where it may be told.
pub(super) fn doubts(
    (study, context): (&Study, &Context),
    question: &Question,
    range: Option<(f64, f64)>,
) -> Vec<Option<Doubt>> {
    let row = &context.study.indices[question.index].row;
    let of_threshold = |(position, stated): (usize, &Stated)| {
        if question.is_meant(position) || is_of_study(study, question.index, stated.value) {
            return None;
        }
        let beyond = range.is_some_and(|(low, high)| !(low..=high).contains(&stated.value));
        let readings = match range {
            Some((low, high)) if beyond => {
                let mut readings = readings(row, stated.value);
                readings.retain(|reading| (low..=high).contains(&reading.own));
                readings
            }
            Some(_) if !is_outer(context, question, position) => Vec::new(),
            _ => explaining(row, stated.value),
        };
        (beyond || !readings.is_empty()).then(|| Doubt {
            stated: *stated,
            readings,
            itself: itself(row).to_owned(),
        })
    };
    question.stated.iter().enumerate().map(of_threshold).collect()
}

/// Whether the run's own study states the value, which was thought of when it was written.
fn is_of_study(study: &Study, index: usize, value: f64) -> bool {
    study.thresholds.iter().any(|threshold| (threshold.index, threshold.value) == (index, value))
}

/// Whether hardly anybody of the cohort, or nearly everybody, lies below a threshold.
fn is_outer(context: &Context, question: &Question, position: usize) -> bool {
    let everybody = people(context, question, (0, 0));
    let less = percentile_of(context, &context.study.thresholds[position], &everybody);
    less.is_some_and(|less| !(OUTER..=1.0 - OUTER).contains(&less))
}

/// The estimates as verdicts may use them: those of a threshold in doubt are taken away.
pub(super) fn without_doubted(estimates: &[Estimate], doubts: &[Option<Doubt>]) -> Vec<Estimate> {
    let judged = |estimate: &Estimate| {
        let mut estimate = estimate.clone();
        if doubts[estimate.threshold].is_some() && estimate.value.is_some() {
            estimate.withhold(IN_DOUBT);
        }
        estimate
    };
    estimates.iter().map(judged).collect()
}
