//! Answers of a person that follow from others.

use std::borrow::Cow;

use super::place::Person;
use super::place_people::takes_insulin;
use crate::definitions::answer::{Answer, Given};

/// Whether drugs for raised glucose are taken, insulin among them.
const GLUCOSE_DRUG: &str = "glucose_drug";

/// A person with what follows from the answers of each date: whoever takes insulin takes a drug for raised glucose.
pub(super) fn with_implied(person: &Person) -> Cow<'_, Person> {
    let then = person.second.as_ref().and_then(|second| implied(&second.answers));
    let first = implied(&person.answers);
    if first.is_none() && then.is_none() {
        return Cow::Borrowed(person);
    }
    let mut person = person.clone();
    person.answers.extend(first);
    if let Some(second) = &mut person.second {
        second.answers.extend(then);
    }
    Cow::Owned(person)
}

fn implied(answers: &[Answer]) -> Option<Answer> {
    let open = answers.iter().all(|answer| answer.quantity != GLUCOSE_DRUG);
    (open && takes_insulin(answers)).then(|| Answer {
        quantity: GLUCOSE_DRUG.to_owned(),
        given: Given::YesNo(true),
        below: None,
    })
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::analysis::Again;
    use crate::definitions::quantity::quantity;

    pub(in crate::analysis) fn answers(written: &[(&str, &str)]) -> Vec<Answer> {
        let read = |(name, value): &(&str, &str)| {
            Answer::read(quantity(name).expect("built in"), value, None).expect("readable")
        };
        written.iter().map(read).collect()
    }

    #[test]
    fn whoever_takes_insulin_takes_a_drug_for_raised_glucose() {
        let drug = |answers: &[Answer]| {
            answers.iter().find(|answer| answer.quantity == GLUCOSE_DRUG).map(|answer| answer.given.clone())
        };
        let of = |first: &[(&str, &str)], second: &[(&str, &str)]| {
            let second = Again { answers: answers(second), ..Again::default() };
            let person = Person { answers: answers(first), second: Some(second), ..Person::default() };
            let person = with_implied(&person).into_owned();
            (drug(&person.answers), person.second.and_then(|second| drug(&second.answers)))
        };
        let (yes, no) = (Some(Given::YesNo(true)), Some(Given::YesNo(false)));
        assert_eq!(of(&[("insulin_treated", "yes")], &[]), (yes.clone(), None));
        assert_eq!(of(&[("insulin_treated", "no")], &[("insulin_treated", "yes")]), (None, yes));
        // What is answered stands, and is said to contradict elsewhere.
        assert_eq!(of(&[("insulin_treated", "yes"), ("glucose_drug", "no")], &[]), (no, None));
    }
}
