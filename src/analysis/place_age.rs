//! The age of a person at a second date: counted on from the first by the months between them.

use super::place::PlaceError;
use super::place_second::Again;
use crate::definitions::answer::{Answer, Given};
use crate::definitions::plausible::plausible;
use crate::table::number::significant;

const AGE: &str = "age";
const MONTHS: f64 = 12.0;
/// Years by which two stated ages may be further apart than the months between them: ages are stated in whole years.
const APART: f64 = 1.5;
/// Digits of an age.
const DIGITS: usize = 3;

/// The age that is answered, in years.
pub(super) fn age(answers: &[Answer]) -> Option<f64> {
    let answer = answers.iter().find(|answer| answer.quantity == AGE)?;
    if let Given::Number { value, .. } = answer.given { Some(value) } else { None }
}

/// The first answers with the age that the months between the two dates make; an age stated for the second date must
/// fit it.
pub(super) fn counted_on(first: &[Answer], again: &Again) -> Result<Vec<Answer>, PlaceError> {
    let Some(before) = age(first) else { return Ok(first.to_vec()) };
    let then = before + again.months / MONTHS;
    let years = |age: f64| significant(age, DIGITS);
    let later = format!("{} months after an age of {}", significant(again.months, DIGITS + 1), years(before));
    if let Some(stated) = age(&again.answers).filter(|stated| (stated - then).abs() > APART) {
        return Err(PlaceError::Contradiction(format!(
            "the second measurement: an age of {}, {later} ({} is expected)",
            years(stated),
            years(then)
        )));
    }
    if plausible(AGE).is_some_and(|row| then > row.possible.1) {
        return Err(PlaceError::Contradiction(format!("the second measurement: {later}")));
    }
    let mut answers = first.to_vec();
    for answer in answers.iter_mut().filter(|answer| answer.quantity == AGE) {
        if let Given::Number { value, .. } = &mut answer.given {
            *value = then;
        }
    }
    Ok(answers)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    fn years(written: &str) -> Vec<Answer> {
        vec![Answer::read(quantity(AGE).expect("built in"), written, None).expect("readable")]
    }

    fn then(months: f64, stated: Option<&str>) -> Result<Option<f64>, PlaceError> {
        let again = Again { months, answers: stated.map(years).unwrap_or_default(), ..Again::default() };
        counted_on(&years("59"), &again).map(|answers| age(&answers))
    }

    #[test]
    fn the_age_goes_on_with_the_months() {
        // hand: 59 + 18 / 12 = 60.5; 59 + 300 / 12 = 84.
        assert_eq!(then(18.0, None).ok(), Some(Some(60.5)));
        assert_eq!(then(300.0, None).ok(), Some(Some(84.0)));
        assert!(then(900.0, None).is_err(), "134 years");
        assert_eq!(counted_on(&[], &Again { months: 6.0, ..Again::default() }).ok(), Some(Vec::new()));
    }

    #[test]
    fn an_age_that_the_months_do_not_make_is_refused() {
        assert!(
            then(6.0, Some("59")).is_ok() && then(6.0, Some("60")).is_ok() && then(6.0, Some("61")).is_ok()
        );
        let refused = then(6.0, Some("30")).expect_err("30 years younger").to_string();
        assert!(
            refused.contains("an age of 30, 6 months after an age of 59 (59.5 is expected)"),
            "{refused}"
        );
        assert!(then(300.0, Some("59")).is_err());
    }
}
