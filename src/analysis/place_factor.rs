//! Insulin in pmol/L has two factors in print: what the index would be by the other one.

use serde::Serialize;

use super::context::Context;
use super::place::{Person, PlaceError, PlacedIndex};
use super::place_cutoffs::{self, Cutoff};
use super::place_rank;
use super::place_usual::Chances;
use crate::cohort::{Subject, evaluate};
use crate::definitions::answer::{Answer, Given};
use crate::source;
use crate::study::{Study, Threshold};

/// An index by the factor that was not stated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherFactor {
    pub factor: f64,
    /// Whether nobody knows which of the two the laboratory uses.
    pub unknown: bool,
    pub value: f64,
    /// Percentile among everybody, where it is printed.
    pub percentile: Option<f64>,
    /// The cutoffs that answer first, put to this value.
    pub cutoffs: Vec<Cutoff>,
}

/// The answers with the other factor of their unit, and that factor; `None` where no unit has two.
pub(super) fn swapped(study: &Study, answers: &[Answer]) -> Option<(Vec<Answer>, f64)> {
    let mut other = None;
    let mut all = answers.to_vec();
    for answer in &mut all {
        let Some(quantity) = study.quantities.iter().find(|q| q.name == answer.quantity) else { continue };
        if let Given::Number { unit, factor: Some(factor), .. } = &mut answer.given {
            let choices = &quantity.units[*unit].choices;
            if let Some(choice) = choices.iter().find(|choice| *choice != factor) {
                *factor = *choice;
                other = Some(*choice);
            }
        }
    }
    other.map(|factor| (all, factor))
}

/// The value of an index by the other factor, where insulin is one of its ingredients.
pub(super) fn other(
    (context, study): (Option<&Context>, &Study),
    (subject, person): (&Subject, &Person),
    (index, placed): (usize, &PlacedIndex),
) -> Result<Option<OtherFactor>, PlaceError> {
    let Some((answers, factor)) = swapped(study, &person.answers) else { return Ok(None) };
    let row = &study.indices[index].row;
    let found = evaluate(&source::person(&study.quantities, &answers)?, &row.name, &row.sql())?;
    let Some(value) = found.filter(|found| row.step(*found) != row.step(placed.value)) else {
        return Ok(None);
    };
    let mut other =
        OtherFactor { factor, unknown: person.factor_unknown, value, percentile: None, cutoffs: Vec::new() };
    if let Some(context) = context {
        let at = Threshold { index, value, strict: false, source: "the other factor".to_owned() };
        other.percentile = place_rank::ranks(context, subject, &at)?.first().and_then(|rank| rank.percentile);
        let chances = Chances::new(context, subject, (index, value), placed.variation.as_ref());
        other.cutoffs = place_cutoffs::put_to((context, index), &placed.cutoffs, value, chances.as_ref());
    }
    Ok(Some(other))
}
