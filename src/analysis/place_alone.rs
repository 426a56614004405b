//! What a person's values say without any index: ranges of single measurements, and answers that cannot both be true.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::PlaceError;
use super::place_low_insulin::beside_raised_glucose;
use super::place_people::ADULT;
use crate::cohort::evaluate;
use crate::definitions::alarm::{Alarm, When, alarms};
use crate::definitions::answer::{Answer, Given};
use crate::definitions::{Quantity, Standing};
use crate::study::Study;
use crate::table::number::significant;

/// How the label of a quantity starts that is measured after a fast.
pub(super) const FASTING: &str = "fasting ";
/// The quantity that says how long ago the last meal was.
pub(super) const FASTED: &str = "fasting";
const GLUCOSE: &str = "glucose";
/// What to do about a glucose to act on in pregnancy.
const ASK_NOW: &str = "ask the obstetric team now";
/// Answers that say that diabetes is known or treated.
const KNOWN_DIABETES: [&str; 4] = ["diagnosed_diabetes", "glucose_drug", "diabetes_pills", "insulin_treated"];
/// In cm; the smallest waist of an adult in the national survey's releases of 2001 to 2020 is 55.5.
const SMALLEST_WAIST: f64 = 50.0;
const INCH: f64 = 2.54;
/// Digits of an age in a message.
const DIGITS: usize = 3;

/// A measurement in a range that matters whatever the index says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Alone {
    pub quantity: String,
    /// The measurement and its range, with its source.
    pub words: String,
    /// Whether it comes before any index.
    pub urgent: bool,
    /// Whether an index no longer says of this person what it says of others.
    pub caution: bool,
    /// Whether there is nothing to act on: said where two dates stand side by side.
    pub quiet: bool,
}

/// What decides which ranges are a person's.
#[derive(Debug, Clone, Copy)]
struct State {
    /// Whether the last meal was as long ago as fasting asks; `None` where it is not said.
    fasted: Option<bool>,
    pregnant: bool,
    /// Whether diabetes is known or treated.
    known: bool,
}

impl State {
    fn of(answers: &[Answer], row: &DataFrame) -> Result<Self, PlaceError> {
        Ok(Self {
            fasted: fasted(answers, row)?,
            pregnant: pregnant(answers),
            known: KNOWN_DIABETES.iter().any(|name| is_yes(answers, name)),
        })
    }

    fn is_of(self, when: When) -> bool {
        match when {
            When::Always => true,
            When::Fasted => self.fasted != Some(false) && !self.pregnant,
            When::FastedPregnant => self.fasted != Some(false) && self.pregnant,
            When::NotFasted => self.fasted == Some(false),
        }
    }

    /// A measurement in a range of the person.
    fn said(self, alarm: &Alarm, measured: &str) -> Alone {
        let standing = if alarm.standing == Standing::Published { "published" } else { "limit from memory" };
        let of_fasting = matches!(alarm.when, When::Fasted | When::FastedPregnant);
        let condition = if of_fasting && self.fasted.is_none() { ", if taken fasting," } else { "" };
        // Low or very high while pregnant: whoever cares for the pregnancy is told, beside what holds for everybody.
        let without_fast = alarm.when == When::NotFasted;
        let obstetric = self.pregnant && alarm.quantity == GLUCOSE;
        let obstetric = obstetric && (without_fast || alarm.urgent && alarm.when == When::Always);
        let ask = obstetric.then_some(ASK_NOW);
        let then: Vec<&str> =
            Some(&*alarm.then).filter(|then| !then.is_empty()).into_iter().chain(ask).collect();
        let then =
            if then.is_empty() { String::new() } else { format!(": {} (common practice)", then.join("; ")) };
        Alone {
            quantity: alarm.quantity.clone(),
            words: format!("{measured} is{condition} {} by {} ({standing}){then}", alarm.words, alarm.source),
            urgent: alarm.urgent || obstetric,
            caution: alarm.doubtful,
            quiet: alarm.quiet,
        }
    }
}

/// The ranges in which the measurements lie.
pub(super) fn alone(study: &Study, answers: &[Answer], row: &DataFrame) -> Result<Vec<Alone>, PlaceError> {
    let state = State::of(answers, row)?;
    let (mut found, mut unsaid) = (Vec::new(), Vec::new());
    for alarm in alarms() {
        let Some((answer, quantity)) = answered(&study.quantities, answers, &alarm.quantity) else {
            continue;
        };
        if !state.is_of(alarm.when) || holds(row, &alarm.words, &alarm.formula)? != Some(true) {
            continue;
        }
        let measured = format!("{} {}", as_taken(&quantity.label, state.fasted), answer.in_words(quantity));
        if alarm.diagnostic && state.known {
            unsaid.push((measured, alarm));
        } else {
            found.push(state.said(alarm, &measured));
        }
    }
    // Whoever is to be acted on does not wait for another sample, and needs no word on other ranges.
    let acted_on = found.iter().any(|alone| alone.urgent && alone.quantity == GLUCOSE);
    let other = without_a_fast(study, answers, state).filter(|_| !acted_on);
    found.extend(with_known_diabetes(&unsaid, state));
    found.extend(other);
    found.extend(beside_raised_glucose(study, (answers, row), state.fasted)?);
    Ok(found)
}

/// What stands in place of ranges that classify people whose diabetes is neither known nor treated.
fn with_known_diabetes(unsaid: &[(String, &Alarm)], state: State) -> Option<Alone> {
    let (_, first) = unsaid.first()?;
    let urgent = state.pregnant && unsaid.iter().any(|(_, alarm)| alarm.urgent);
    let obstetric = match (state.pregnant, urgent) {
        (false, _) => "",
        (true, false) => "; in pregnancy the obstetric team sets them and judges it",
        (true, true) => "; in pregnancy they are lower: ask the obstetric team now",
    };
    let measured: Vec<&str> = unsaid.iter().map(|(measured, _)| measured.as_str()).collect();
    Some(Alone {
        quantity: first.quantity.clone(),
        words: format!(
            "{}: diagnostic ranges do not apply under treatment or with known diabetes; the goals agreed for this person do \
             (common practice){obstetric}",
            measured.join(", ")
        ),
        urgent,
        caution: unsaid.iter().any(|(_, alarm)| alarm.doubtful),
        quiet: unsaid.iter().all(|(_, alarm)| alarm.quiet),
    })
}

/// The label of a quantity without the fast, unless the person is known to have fasted.
pub(super) fn as_taken(label: &str, fasted: Option<bool>) -> &str {
    if fasted == Some(true) { label } else { label.trim_start_matches(FASTING) }
}

/// Whether the last meal was as long ago as fasting asks; `None` where it is not said.
pub(super) fn fasted(answers: &[Answer], row: &DataFrame) -> Result<Option<bool>, PlaceError> {
    let said = answers.iter().any(|answer| answer.quantity == FASTED);
    if said { holds(row, "fasting", "fasting_hours >= 8.0 AND fasting_hours < 24.0") } else { Ok(None) }
}

/// Whether pregnancy is stated.
pub(super) fn pregnant(answers: &[Answer]) -> bool {
    ["pregnant", "pregnant_reported"].iter().any(|name| is_yes(answers, name))
}

fn is_yes(answers: &[Answer], name: &str) -> bool {
    answers.iter().any(|answer| answer.quantity == name && answer.given == Given::YesNo(true))
}

/// What stands in place of the ranges of fasting glucose where nobody fasted.
fn without_a_fast(study: &Study, answers: &[Answer], state: State) -> Option<Alone> {
    let (answer, quantity) = answered(&study.quantities, answers, GLUCOSE)?;
    if state.fasted != Some(false) {
        return None;
    }
    let then = if state.pregnant {
        "; pregnancy has limits of its own, of which this program knows none: the obstetric team judges it, by local guidance"
    } else {
        ", and an index needs a sample taken after one"
    };
    let words = format!(
        "plasma glucose {} was not taken after a fast of 8 to under 24 hours: ranges of fasting glucose do not apply{then}",
        answer.in_words(quantity)
    );
    Some(Alone { quantity: quantity.name.clone(), words, urgent: false, caution: true, quiet: false })
}

pub(super) fn answered<'a>(
    quantities: &'a [Quantity],
    answers: &'a [Answer],
    name: &str,
) -> Option<(&'a Answer, &'a Quantity)> {
    let answer = answers.iter().find(|answer| answer.quantity == name)?;
    Some((answer, quantities.iter().find(|quantity| quantity.name == name)?))
}

/// Whether a condition holds for the person: yes, no or unknown.
pub(super) fn holds(row: &DataFrame, what: &str, sql: &str) -> Result<Option<bool>, PlaceError> {
    Ok(evaluate(row, what, sql)?.map(|answer| answer != 0.0))
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
