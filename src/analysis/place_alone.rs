//! What a person's values say without any index: ranges of single measurements, outcomes already met, and answers
//! that cannot both be true.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::{PlaceError, label_of};
use super::place_people::{ADULT, unanswered};
use crate::cohort::evaluate;
use crate::definitions::alarm::{OfIndex, When, alarms};
use crate::definitions::answer::{Answer, Given};
use crate::definitions::{Quantity, Standing};
use crate::study::{Study, StudyOutcome};
use crate::table::number::significant;

/// In cm; the smallest waist of an adult in the national survey's releases of 2001 to 2020 is 55.5.
const SMALLEST_WAIST: f64 = 50.0;
const INCH: f64 = 2.54;
/// Digits of an age in a message.
const DIGITS: usize = 3;

/// A measurement in a range that matters whatever the index says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[expect(clippy::struct_excessive_bools, reason = "independent answers, read by name")]
pub struct Alone {
    pub quantity: String,
    /// The measurement and its range, with its source.
    pub words: String,
    /// Whether it comes before any index.
    pub urgent: bool,
    /// Whether an index no longer says of this person what it says of others.
    pub caution: bool,
    /// Whether no index of the person is placed among other people.
    pub withhold: bool,
    /// Whether there is nothing to act on: said where two dates stand side by side.
    pub quiet: bool,
}

/// An outcome of the study, as far as the person's own values answer it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutcomeMet {
    pub outcome: String,
    pub label: String,
    /// Whether the person meets it; `None` where the values given do not tell.
    pub met: Option<bool>,
    /// Items counted, those that the values answer, and those that are met; 0 for a plain condition.
    pub items: usize,
    pub known: usize,
    pub yes: usize,
    /// Items that are met.
    pub which: Vec<String>,
    /// Quantities that were not given.
    pub needs: Vec<String>,
}

/// The ranges in which the measurements lie.
pub(super) fn alone(study: &Study, answers: &[Answer], row: &DataFrame) -> Result<Vec<Alone>, PlaceError> {
    let mut found = Vec::new();
    let (fasted, pregnant) = (fasted(answers, row)?, is_yes(answers, "pregnant"));
    for alarm in alarms() {
        let Some((answer, quantity)) = answered(&study.quantities, answers, &alarm.quantity) else {
            continue;
        };
        let applies = match alarm.when {
            When::Always => true,
            When::Fasted => fasted != Some(false) && !pregnant,
            When::NotFasted => fasted == Some(false),
        };
        if applies && holds(row, &alarm.words, &alarm.formula)? == Some(true) {
            let standing = if alarm.standing == Standing::Published { "published" } else { "from memory" };
            let unsaid = alarm.when == When::Fasted && fasted.is_none();
            let condition = if unsaid { ", if taken fasting," } else { "" };
            let fed = alarm.when == When::NotFasted;
            let label = if fed { quantity.label.trim_start_matches("fasting ") } else { &quantity.label };
            let words = format!(
                "{label} {} is{condition} {} by {} ({standing})",
                answer.in_words(quantity),
                alarm.words,
                alarm.source
            );
            found.push(Alone {
                quantity: alarm.quantity.clone(),
                words,
                urgent: alarm.urgent,
                caution: alarm.index == OfIndex::Doubtful,
                withhold: alarm.index == OfIndex::Withheld,
                quiet: alarm.quiet,
            });
        }
    }
    found.extend(ranges_that_do_not_apply(study, answers, (fasted, pregnant)));
    Ok(found)
}

/// Whether the last meal was as long ago as fasting asks; `None` where it is not said.
fn fasted(answers: &[Answer], row: &DataFrame) -> Result<Option<bool>, PlaceError> {
    let said = answers.iter().any(|answer| answer.quantity == "fasting");
    if said { holds(row, "fasting", "fasting_hours >= 8.0 AND fasting_hours < 24.0") } else { Ok(None) }
}

fn is_yes(answers: &[Answer], name: &str) -> bool {
    answers.iter().any(|answer| answer.quantity == name && answer.given == Given::YesNo(true))
}

/// What stands in place of the ranges of fasting glucose in pregnancy, or where nobody fasted.
fn ranges_that_do_not_apply(
    study: &Study,
    answers: &[Answer],
    (fasted, pregnant): (Option<bool>, bool),
) -> Option<Alone> {
    let (answer, quantity) = answered(&study.quantities, answers, "glucose")?;
    let why = if pregnant {
        "in pregnancy: the usual ranges do not apply; pregnancy has lower limits of its own, and local guidance for it comes \
         first"
    } else if fasted == Some(false) {
        "was not taken after a fast of 8 to under 24 hours: ranges of fasting glucose do not apply, and it has to be measured \
         again after fasting"
    } else {
        return None;
    };
    let words = format!("plasma glucose {} {why}", answer.in_words(quantity));
    let quantity = quantity.name.clone();
    Some(Alone { quantity, words, urgent: false, caution: true, withhold: false, quiet: false })
}

fn answered<'a>(
    quantities: &'a [Quantity],
    answers: &'a [Answer],
    name: &str,
) -> Option<(&'a Answer, &'a Quantity)> {
    let answer = answers.iter().find(|answer| answer.quantity == name)?;
    Some((answer, quantities.iter().find(|quantity| quantity.name == name)?))
}

/// Whether a condition holds for the person: yes, no or unknown.
fn holds(row: &DataFrame, what: &str, sql: &str) -> Result<Option<bool>, PlaceError> {
    Ok(evaluate(row, what, sql)?.map(|answer| answer != 0.0))
}

/// Which of the study's outcomes the person already meets.
pub(super) fn outcomes(
    study: &Study,
    answers: &[Answer],
    row: &DataFrame,
) -> Result<Vec<OutcomeMet>, PlaceError> {
    study.outcomes.iter().map(|outcome| outcome_met(study, outcome, answers, row)).collect()
}

fn outcome_met(
    study: &Study,
    outcome: &StudyOutcome,
    answers: &[Answer],
    row: &DataFrame,
) -> Result<OutcomeMet, PlaceError> {
    let mut items = Vec::new();
    for item in outcome.items.iter().filter(|item| !item.required) {
        items.push((item.label.clone(), holds(row, &item.name, &item.sql)?));
    }
    let yes: Vec<String> =
        items.iter().filter(|(_, answer)| *answer == Some(true)).map(|(label, _)| label.clone()).collect();
    let needs = unanswered(&outcome.ingredients, answers);
    Ok(OutcomeMet {
        outcome: outcome.row.name.clone(),
        label: outcome.row.label.clone(),
        met: holds(row, &outcome.row.name, &outcome.sql)?,
        items: items.len(),
        known: items.iter().filter(|(_, answer)| answer.is_some()).count(),
        yes: yes.len(),
        which: yes,
        needs: needs.iter().map(|name| label_of(study, name)).collect(),
    })
}

/// Two answers of one person that cannot both be true.
pub(super) fn contradiction(answers: &[Answer]) -> Option<String> {
    let given = |name: &str| answers.iter().find(|answer| answer.quantity == name).map(|a| &a.given);
    let yes = |name: &str, expected: bool| given(name) == Some(&Given::YesNo(expected));
    let male = matches!(given("sex"), Some(Given::Label(sex)) if sex == "male");
    if male && (yes("pregnant", true) || yes("pregnant_reported", true)) {
        return Some("sex is male and pregnant is yes".to_owned());
    }
    if yes("insulin_treated", true) && yes("glucose_drug", false) {
        return Some("takes insulin is yes and takes insulin or pills to lower blood sugar is no".to_owned());
    }
    if let Some(why) = waist_of_a_child(given("age"), given("waist")) {
        return Some(why);
    }
    match (given("systolic"), given("diastolic")) {
        (Some(Given::Number { value: above, .. }), Some(Given::Number { value: below, .. }))
            if above <= below =>
        {
            Some(format!("the systolic pressure, {above}, is not above the diastolic, {below}"))
        }
        _ => None,
    }
}

/// That an adult has a waist which is usual in inches.
fn waist_of_a_child(age: Option<&Given>, waist: Option<&Given>) -> Option<String> {
    let number = |given: Option<&Given>| match given {
        Some(Given::Number { value, .. }) => Some(*value),
        _ => None,
    };
    let (age, waist) = (number(age)?, number(waist)?);
    (age >= ADULT && waist < SMALLEST_WAIST).then(|| {
        format!(
            "an age of {} and a waist of {waist} cm (in inches, {waist}in, it would be {} cm)",
            significant(age, DIGITS),
            significant(waist * INCH, 2)
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    fn contradicts(written: &[(&str, &str)]) -> bool {
        let read = |(name, value): &(&str, &str)| {
            Answer::read(quantity(name).expect("built in"), value, None).expect("readable")
        };
        contradiction(&written.iter().map(read).collect::<Vec<_>>()).is_some()
    }

    #[test]
    fn answers_that_cannot_both_be_true_are_found() {
        assert!(contradicts(&[("sex", "male"), ("pregnant", "yes")]));
        assert!(!contradicts(&[("sex", "male"), ("pregnant", "no")]));
        assert!(!contradicts(&[("sex", "female"), ("pregnant", "yes")]));
        assert!(contradicts(&[("insulin_treated", "yes"), ("glucose_drug", "no")]));
        assert!(contradicts(&[("systolic", "80"), ("diastolic", "120")]));
        assert!(!contradicts(&[("systolic", "120"), ("diastolic", "80")]));
        assert!(contradicts(&[("age", "47"), ("waist", "39")]));
        assert!(
            !contradicts(&[("age", "47"), ("waist", "39in")])
                && !contradicts(&[("age", "5"), ("waist", "49")])
        );
    }
}
