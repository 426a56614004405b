//! Answers on treatment and pregnancy: what they do to an index, and of whom they are asked.

use super::place_people::takes_insulin;
use crate::definitions::answer::{Answer, Given};

/// Answers that say that a drug for raised glucose is taken, and what that does to an index.
const DRUGS: [&str; 2] = ["glucose_drug", "diabetes_pills"];
pub(super) const TAKES_A_DRUG: &str = "the person takes a drug for raised glucose: it changes glucose and insulin themselves, and \
                                       with them the index, so that a value short of a cutoff may be the drug's doing (common \
                                       practice)";

/// Quantities that tell of a pregnancy.
const PREGNANCY: [&str; 2] = ["pregnant", "pregnant_reported"];
/// Age in years from which nobody is asked for one: the national survey's test is done on women under 60.
const NOT_ASKED_FROM: f64 = 60.0;

/// Whether somebody takes a drug for raised glucose that is not known to be insulin.
pub(super) fn is_drugged(answers: &[Answer]) -> bool {
    let yes = |a: &Answer| DRUGS.contains(&a.quantity.as_str()) && a.given == Given::YesNo(true);
    answers.iter().any(yes) && !takes_insulin(answers)
}

/// Whether all that is not known is a pregnancy, of somebody past the age at which it is asked for.
pub(super) fn no_longer_asked(answers: &[Answer], needs: &[String]) -> bool {
    let age = answers.iter().find(|answer| answer.quantity == "age");
    let past =
        age.is_some_and(|age| matches!(age.given, Given::Number { value, .. } if value >= NOT_ASKED_FROM));
    past && !needs.is_empty() && needs.iter().all(|name| PREGNANCY.contains(&name.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::place_implied::tests::answers;

    #[test]
    fn a_drug_is_remarked_unless_it_is_insulin() {
        assert!(is_drugged(&answers(&[("glucose_drug", "yes")])));
        assert!(!is_drugged(&answers(&[("glucose_drug", "no")])) && !is_drugged(&[]));
        assert!(!is_drugged(&answers(&[("glucose_drug", "yes"), ("insulin_treated", "yes")])));
    }

    #[test]
    fn a_pregnancy_is_asked_for_up_to_an_age() {
        let asked = |age: &str, needs: &[&str]| {
            let needs: Vec<String> = needs.iter().map(|&name| name.to_owned()).collect();
            !no_longer_asked(&answers(&[("age", age)]), &needs)
        };
        assert!(!asked("67", &["pregnant"]) && !asked("60", &["pregnant", "pregnant_reported"]));
        assert!(asked("59", &["pregnant"]) && asked("67", &["sex", "pregnant"]) && asked("67", &["a1c"]));
        assert!(!no_longer_asked(&[], &["pregnant".to_owned()]));
    }
}
