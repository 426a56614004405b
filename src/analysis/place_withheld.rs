//! Values of a person that mean nothing as an index of insulin resistance, whatever people the study has.

use polars::prelude::DataFrame;

use super::place::PlaceError;
use super::place_alone::{fasted, holds, pregnant};
use super::place_people::{Standing, TAKES_INSULIN, takes_insulin};
use crate::definitions::answer::Answer;
use crate::study::StudyIndex;

/// Why indices made of some quantities are withheld.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Reason {
    ingredients: &'static [&'static str],
    pub why: &'static str,
    /// What keeps the person out of the comparison, where the study's exclusions do not say it.
    pub outside: Option<&'static str>,
}

impl Reason {
    /// Whether it is one for this index.
    pub fn is_of(&self, index: &StudyIndex) -> bool {
        index.ingredients.iter().any(|name| self.ingredients.contains(&name.as_str()))
    }
}

/// A range of glucose at which insulin does not stand to it as in other people. Limits in the unit that was reported.
const GLUCOSE: [(&str, Reason); 2] = [
    (
        "COALESCE(glucose_reported_mg_dl < 70.0, glucose_reported_mmol_l < 3.9)",
        Reason {
            ingredients: &["glucose", "insulin"],
            why: "glucose is below 70 mg/dL (3.9 mmol/L), with which insulin needs an explanation of its own",
            outside: Some("glucose below 70 mg/dL (3.9 mmol/L)"),
        },
    ),
    (
        "COALESCE(glucose_reported_mg_dl >= 200.0, glucose_reported_mmol_l >= 11.1)",
        Reason {
            ingredients: &["glucose", "insulin"],
            why: "glucose is 200 mg/dL (11.1 mmol/L) or more, at which insulin may be low because too little is made \
                  (common practice)",
            outside: Some("glucose of 200 mg/dL (11.1 mmol/L) or more"),
        },
    ),
];

/// Adds what keeps a person out of the comparison, where the study's exclusions do not.
pub(super) fn leave_out(standing: &mut Standing, reasons: &[Reason]) {
    if standing.inside() {
        standing.outside.extend(reasons.iter().filter_map(|reason| reason.outside).map(str::to_owned));
    }
}

/// The reasons that hold for a person, the weightiest first.
pub(super) fn reasons(answers: &[Answer], row: &DataFrame) -> Result<Vec<Reason>, PlaceError> {
    let mut found = Vec::new();
    if takes_insulin(answers) {
        found.push(Reason { ingredients: &["insulin"], why: TAKES_INSULIN, outside: None });
    }
    if pregnant(answers) {
        found.push(Reason {
            ingredients: &["glucose", "insulin", "triglycerides", "hdl", "bmi", "waist"],
            why: "the person is pregnant: insulin resistance rises in pregnancy, and no index of other people is to be read \
                  then (common practice)",
            outside: None,
        });
    }
    if fasted(answers, row)? == Some(false) {
        found.push(Reason {
            ingredients: &["glucose", "insulin", "triglycerides"],
            why: "the sample was not taken after a fast of 8 to under 24 hours",
            outside: None,
        });
    }
    if answers.iter().any(|answer| answer.quantity == "glucose") {
        for (formula, reason) in GLUCOSE {
            if holds(row, "glucose", formula)? == Some(true) {
                found.push(reason);
            }
        }
    }
    Ok(found)
}
