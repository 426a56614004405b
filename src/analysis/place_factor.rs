//! Insulin in pmol/L has two factors in print: what the index would be by the other one.

use serde::Serialize;

use super::context::Context;
use super::place::PlaceError;
use super::place_rank;
use crate::cohort::{Subject, evaluate};
use crate::definitions::answer::{Answer, Given};
use crate::source;
use crate::study::{Study, StudyIndex, Threshold};

/// An index by the factor that was not stated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherFactor {
    pub factor: f64,
    pub value: f64,
    /// Percentile among everybody, where it is printed.
    pub percentile: Option<f64>,
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
    (subject, answers): (&Subject, &[Answer]),
    (index, row, value): (usize, &StudyIndex, f64),
) -> Result<Option<OtherFactor>, PlaceError> {
    let Some((answers, factor)) = swapped(study, answers) else { return Ok(None) };
    let person = source::person(&study.quantities, &answers)?;
    let found = evaluate(&person, &row.row.name, &row.row.sql())?;
    let Some(found) = found.filter(|found| row.row.step(*found) != row.row.step(value)) else {
        return Ok(None);
    };
    let mut percentile = None;
    if let Some(context) = context {
        let at = Threshold { index, value: found, strict: false, source: "the other factor".to_owned() };
        percentile = place_rank::ranks(context, subject, &at)?.first().and_then(|rank| rank.percentile);
    }
    Ok(Some(OtherFactor { factor, value: found, percentile }))
}
