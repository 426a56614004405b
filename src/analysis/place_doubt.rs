//! A measurement that few people have: what its index would be if it was meant in another unit.

use serde::Serialize;

use super::place::PlaceError;
use super::place_alone::answered;
use crate::cohort::evaluate;
use crate::definitions::Quantity;
use crate::definitions::answer::{Answer, Given};
use crate::definitions::plausible::{Likelihood, plausible};
use crate::source;
use crate::study::{Study, StudyIndex};
use crate::table::number::reading;

/// Digits of what stands in for a value below a limit.
const FILLED: usize = 3;

/// A measurement of an index that may be a slip.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Doubt {
    /// What was measured: `insulin`.
    pub measured: String,
    /// The measurement as it was given: `insulin 59 uU/mL`.
    pub given: String,
    /// Whether it is below a limit of detection, and a number stands in for it.
    pub stands_in: bool,
    /// That limit, with its unit, and the index if the measurement were at it.
    pub below: Option<String>,
    pub at_limit: Option<f64>,
    /// The unit in which the number would be usual, where there is one, and the index by it.
    pub unit: Option<String>,
    pub value: Option<f64>,
}

/// The first ingredient of an index that is in doubt.
pub(super) fn doubt(
    study: &Study,
    index: &StudyIndex,
    answers: &[Answer],
) -> Result<Option<Doubt>, PlaceError> {
    let given = index.ingredients.iter().filter_map(|name| answered(&study.quantities, answers, name));
    let Some((answer, quantity)) = given.into_iter().find(|(answer, q)| answer.doubt(q).is_some()) else {
        return Ok(None);
    };
    let name = quantity.name.replace('_', " ");
    let mut doubt = Doubt {
        given: format!("{name} {}", as_taken(answer, quantity)),
        measured: name,
        stands_in: answer.below.is_some(),
        below: None,
        at_limit: None,
        unit: None,
        value: None,
    };
    if let Some((unit, meant)) = read_otherwise(answer, quantity) {
        doubt.value = with_answer(study, index, (answers, meant))?;
        doubt.unit = Some(unit);
    }
    if let Some((below, limit)) = at_limit(answer, quantity) {
        doubt.at_limit = with_answer(study, index, (answers, limit))?;
        doubt.below = Some(below);
    }
    Ok(Some(doubt))
}

/// An index with another answer in place of the one given.
fn with_answer(
    study: &Study,
    index: &StudyIndex,
    (answers, other): (&[Answer], Answer),
) -> Result<Option<f64>, PlaceError> {
    let mut all = answers.to_vec();
    all.retain(|answer| answer.quantity != other.quantity);
    all.push(other);
    let row = source::person(&study.quantities, &all)?;
    Ok(evaluate(&row, &index.row.name, &index.row.sql())?)
}

/// The limit below which a measurement is known to be, in words and as if it were measured.
fn at_limit(answer: &Answer, quantity: &Quantity) -> Option<(String, Answer)> {
    let (limit, Given::Number { unit, factor, .. }) = (answer.below?, &answer.given) else { return None };
    let words = format!("{limit} {}", quantity.units[*unit].unit);
    let given = Given::Number { value: limit, unit: *unit, factor: *factor };
    Some((words, Answer { quantity: answer.quantity.clone(), given, below: None }))
}

/// A number with its unit, or what stands in for one below a limit of detection.
fn as_taken(answer: &Answer, quantity: &Quantity) -> String {
    match (&answer.given, answer.below) {
        (Given::Number { value, unit, .. }, Some(limit)) => {
            let unit = &quantity.units[*unit].unit;
            format!(
                "{} {unit}, a guess that stands in for below detection (<{limit}),",
                reading(*value, FILLED)
            )
        }
        _ => answer.in_words(quantity),
    }
}

/// The same number in another unit, where it is a usual one there.
fn read_otherwise(answer: &Answer, quantity: &Quantity) -> Option<(String, Answer)> {
    let Given::Number { value, unit, .. } = answer.given else { return None };
    if answer.below.is_some() {
        return None;
    }
    let bounds = plausible(&quantity.name)?;
    let others = (0..quantity.units.len()).filter(|other| *other != unit);
    let usual = |at: &usize| bounds.judge(quantity.units[*at].to_first(value, None)) == Likelihood::Usual;
    let at = others.into_iter().find(usual)?;
    let factor = quantity.units[at].choices.first().copied();
    let given = Given::Number { value, unit: at, factor };
    let meant = Answer { quantity: answer.quantity.clone(), given, below: None };
    Some((quantity.units[at].unit.clone(), meant))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    #[test]
    fn a_number_that_is_usual_in_another_unit_is_read_in_it() {
        let insulin = quantity("insulin").expect("built in");
        let read = |written: &str, factor| {
            let answer = Answer::read(insulin, written, factor).expect("readable");
            read_otherwise(&answer, insulin).map(|(unit, _)| unit)
        };
        assert_eq!(read("59uU/mL", None).as_deref(), Some("pmol/L"));
        assert_eq!(read("9.8pmol/L", Some(6.0)).as_deref(), Some("uU/mL"));
        // What stands in for a value below a limit is no number that somebody wrote.
        assert_eq!(read("<59pmol/L", Some(6.0)), None);
        let below = Answer::read(insulin, "<2uU/mL", None).expect("readable");
        assert_eq!(read_otherwise(&below, insulin), None);
        assert_eq!(as_taken(&below, insulin), "1.41 uU/mL, a guess that stands in for below detection (<2),");
        let (words, limit) = at_limit(&below, insulin).expect("a limit");
        let Given::Number { value, .. } = limit.given else { panic!("a number") };
        assert_eq!((words.as_str(), value, limit.below), ("2 uU/mL", 2.0, None));
        // 0.5 pmol/L are 0.08 uU/mL, and 0.5 uU/mL is as rare.
        assert_eq!(read("0.5uU/mL", None), None);
    }
}
