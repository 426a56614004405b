//! Two values of fasting glucose that lie in different ranges although they hardly differ.

use super::place::PlaceError;
use super::place_change::CONFIDENCE;
use crate::definitions::answer::{Answer, Given};
use crate::definitions::variation::variation;
use crate::stats::change::reference_change;
use crate::stats::place::Variation;
use crate::study::Study;
use crate::table::number::fixed;

const GLUCOSE: &str = "glucose";

/// That the change is within day-to-day variation, where it is; the two dates in order.
pub(super) fn within_chance(
    study: &Study,
    (first, second): (&[Answer], &[Answer]),
) -> Result<Option<String>, PlaceError> {
    let (Some((one, one_words)), Some((two, two_words)), Some(used)) =
        (value(study, first), value(study, second), variation(GLUCOSE))
    else {
        return Ok(None);
    };
    let variation = Variation { within_person: used.within_person, analytical: used.analytical };
    let limits = reference_change(variation, CONFIDENCE);
    let limits = limits.map_err(|why| PlaceError::Variation(why.to_string()))?;
    let by = two / one - 1.0;
    let reach = if by < 0.0 { limits.fall } else { limits.rise };
    let sign = if by < 0.0 { "−" } else { "+" };
    Ok((by.abs() <= reach).then(|| {
        format!(
            "glucose {one_words} → {two_words} is within day-to-day variation (which reaches {sign}{} %, from memory): so \
             small a difference does not show that anything changed",
            fixed(100.0 * reach, 0)
        )
    }))
}

/// Glucose in its first unit, and as it was given.
fn value(study: &Study, answers: &[Answer]) -> Option<(f64, String)> {
    let answer = answers.iter().find(|answer| answer.quantity == GLUCOSE)?;
    let quantity = study.quantities.iter().find(|q| q.name == GLUCOSE)?;
    let Given::Number { value, unit, factor } = &answer.given else { return None };
    Some((quantity.units[*unit].to_first(*value, *factor), answer.in_words(quantity)))
}
