//! Insulin in pmol/L has two factors in print: what the index would be by the other one.

use serde::Serialize;

use super::context::Context;
use super::place::{Person, PlaceError, PlacedIndex};
use super::place_cutoffs::{self, ByOther, Cutoff};
use super::place_marks::{passes, published};
use super::place_rank;
use super::place_usual::{Chances, VariationUsed};
use crate::cohort::{Subject, evaluate};
use crate::definitions::answer::{Answer, Given};
use crate::source;
use crate::study::{Study, Threshold};

/// An index by the factor that was not stated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherFactor {
    pub factor: f64,
    /// The one that was taken.
    pub taken: f64,
    /// Whether nobody knows which of the two the laboratory uses.
    pub unknown: bool,
    pub value: f64,
    /// Percentile among everybody, where it is printed.
    pub percentile: Option<f64>,
    /// The cutoffs that answer first, put to this value.
    pub cutoffs: Vec<Cutoff>,
}

/// A value by the other factor, and the two factors.
#[derive(Debug, Clone, Copy)]
pub(super) struct ByFactor {
    pub value: f64,
    pub taken: f64,
    pub factor: f64,
}

/// The answers with the other factor of their unit, the one taken and the other; `None` where no unit has two.
fn swapped(study: &Study, answers: &[Answer]) -> Option<(Vec<Answer>, f64, f64)> {
    let mut other = None;
    let mut all = answers.to_vec();
    for answer in &mut all {
        let Some(quantity) = study.quantities.iter().find(|q| q.name == answer.quantity) else { continue };
        if let Given::Number { unit, factor: Some(factor), .. } = &mut answer.given {
            let choices = &quantity.units[*unit].choices;
            if let Some(choice) = choices.iter().find(|choice| *choice != factor) {
                other = Some((*factor, *choice));
                *factor = *choice;
            }
        }
    }
    other.map(|(taken, factor)| (all, taken, factor))
}

/// An index of some answers by the other factor, where there is one.
pub(super) fn by_other(
    study: &Study,
    answers: &[Answer],
    index: usize,
) -> Result<Option<ByFactor>, PlaceError> {
    let Some((answers, taken, factor)) = swapped(study, answers) else { return Ok(None) };
    let row = &study.indices[index].row;
    let found = evaluate(&source::person(&study.quantities, &answers)?, &row.name, &row.sql())?;
    Ok(found.map(|value| ByFactor { value, taken, factor }))
}

/// Marks the cutoffs of which the other factor says otherwise than the one that was taken.
pub(super) fn mark(
    (context, subject): (&Context, &Subject),
    (index, other): (usize, ByFactor),
    used: Option<&VariationUsed>,
    cutoffs: &mut [Cutoff],
) {
    let chances = Chances::new(context, subject, (index, other.value), used);
    let mut by_other = cutoffs.to_vec();
    place_cutoffs::put((context, index), &mut by_other, other.value, chances.as_ref());
    for (cutoff, found) in cutoffs.iter_mut().zip(&by_other) {
        // Where a side is likely by both, the value itself is said to be on neither.
        let likely = ["beyond", "short"].contains(&cutoff.likely);
        let same = cutoff.likely == found.likely && (likely || cutoff.passed == found.passed);
        let ByFactor { taken, factor, .. } = other;
        let by_other = ByOther { taken, factor, likely: found.likely, passed: found.passed };
        cutoff.by_other = (!same).then_some(by_other);
    }
}

/// Marks what the first value is held against, where nobody knows which factor holds.
pub(super) fn mark_first(
    (context, subject): (&Context, &Subject),
    answers: &[Answer],
    (index, placed): (usize, &mut PlacedIndex),
) {
    let Some(other) = placed.other_factor.as_ref().filter(|other| other.unknown) else { return };
    let other = ByFactor { value: other.value, taken: other.taken, factor: other.factor };
    mark((context, subject), (index, other), placed.variation.as_ref(), &mut placed.cutoffs);
    let row = &context.study.indices[index];
    for mark in &mut placed.thresholds {
        mark.passed_by_other = Some(passes(row, other.value, mark.value, mark.strict));
    }
    // The same rows in the same order.
    let by_other = published(context.study, row, other.value, answers);
    for (mark, found) in placed.published.iter_mut().zip(by_other) {
        mark.passed_by_other = Some(found.passed);
    }
}

/// The value of an index by the other factor, where insulin is one of its ingredients.
pub(super) fn other(
    (context, study): (Option<&Context>, &Study),
    (subject, person): (&Subject, &Person),
    (index, placed): (usize, &PlacedIndex),
) -> Result<Option<OtherFactor>, PlaceError> {
    let row = &study.indices[index].row;
    let found = by_other(study, &person.answers, index)?;
    let found = found.filter(|found| row.step(found.value) != row.step(placed.value));
    let Some(found) = found else { return Ok(None) };
    let used = placed.variation.as_ref();
    let other = match context {
        None => bare(found),
        Some(context) => beside((context, subject), (index, found), (&placed.cutoffs, used))?,
    };
    Ok(Some(OtherFactor { unknown: person.factor_unknown, ..other }))
}

/// A value by the other factor beside the one that was taken: its percentile, and what the cutoffs say of it.
pub(super) fn beside(
    (context, subject): (&Context, &Subject),
    (index, found): (usize, ByFactor),
    (cutoffs, used): (&[Cutoff], Option<&VariationUsed>),
) -> Result<OtherFactor, PlaceError> {
    let value = found.value;
    let at = Threshold { index, value, strict: false, source: "the other factor".to_owned() };
    let percentile = place_rank::ranks(context, subject, &at)?.first().and_then(|rank| rank.percentile);
    let chances = Chances::new(context, subject, (index, value), used);
    let cutoffs = place_cutoffs::put_to((context, index), cutoffs, value, chances.as_ref());
    Ok(OtherFactor { percentile, cutoffs, ..bare(found) })
}

fn bare(found: ByFactor) -> OtherFactor {
    let ByFactor { value, taken, factor } = found;
    OtherFactor { factor, taken, unknown: false, value, percentile: None, cutoffs: Vec::new() }
}
