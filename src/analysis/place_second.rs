//! A second measurement of one person: what is known of that date, and whether it may be judged.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::place::{Person, PlaceError, label_of};
use super::place_age::{age, counted_on};
use super::place_alone::{self, Alone};
use super::place_assay::{INSULIN, same_assay};
use super::place_glucose;
use super::place_outcomes::{self, OutcomeMet};
use super::place_people::{self, Date, Standing, Unknown};
use super::place_withheld::{self, Reason};
use crate::cohort::Subject;
use crate::definitions::answer::{Answer, Given};
use crate::source;
use crate::study::Study;
use crate::table::number::significant;
use crate::tally::Tallies;

/// Answers that hold at a second date too; every ingredient of an index but these must be measured again.
pub(super) const LASTING: [&str; 3] = ["sex", "age", "ancestry"];
/// Numbers that are taken as at the first date, for groups and exclusions alone.
const TAKEN: [&str; 4] = ["age", "bmi", "waist", "fasting"];

/// Days of a month and of a week: a year has 365.25 days.
pub const DAYS_PER_MONTH: f64 = 365.25 / 12.0;
pub const DAYS_PER_WEEK: f64 = 7.0;

/// Months beyond which two dates are further apart than a comparison is usually made.
const UNUSUAL_MONTHS: f64 = 120.0;

/// What was measured of the same person later.
#[derive(Debug, Clone, Default)]
pub struct Again {
    pub answers: Vec<Answer>,
    /// Quantities that are said to be unknown then: not taken from the first date.
    pub unknown: Vec<String>,
    /// After the first measurement.
    pub months: f64,
    /// The insulin assay.
    pub assay: AssayThen,
    /// Whether the factor of insulin in pmol/L was taken because nobody knows it.
    pub factor_unknown: bool,
}

/// What is said of the insulin assay at a second date.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum AssayThen {
    /// Nothing: it is taken to be that of the first.
    #[default]
    AsFirst,
    Unknown,
    Named(String),
}

impl Again {
    /// Whether a quantity is said to be unknown then; surveys ask for pregnancy twice.
    fn leaves_open(&self, quantity: &str) -> bool {
        let asked = if quantity == "pregnant_reported" { "pregnant" } else { quantity };
        self.unknown.iter().any(|name| name == asked)
    }

    /// Whether an answer of the first date may hold then, too: it is not said to be unknown, and whoever takes insulin now
    /// no longer answers no to drugs that lower blood sugar.
    fn leaves_as_it_was(&self, quantity: &str) -> bool {
        let treated = self.answers.iter().any(|a| a.quantity == "insulin_treated");
        !(self.leaves_open(quantity) || treated && quantity == "glucose_drug")
    }
}

impl AssayThen {
    /// The assay at the second date, where it is known.
    fn name(&self, first: Option<&String>) -> Option<String> {
        match self {
            Self::AsFirst => first.cloned(),
            Self::Unknown => None,
            Self::Named(name) => Some(name.clone()),
        }
    }
}

/// How the second measurement stands to the study's people.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Second {
    pub months: f64,
    /// The age then, in years, where it is counted on from the first date.
    pub age: Option<f64>,
    /// Reasons for which a change is not judged.
    pub outside: Vec<String>,
    /// The insulin assays of the two dates, where they differ: no change of insulin is judged then.
    pub assays_differ: Option<String>,
    /// That insulin is below the limit of detection at either date: no change of it is judged then.
    pub below_detection: Option<String>,
    /// The insulin assay at the second date, where it is known.
    pub assay: Option<String>,
    /// Whether the assay is not stated for one of the two dates, or for both.
    pub assay_in_doubt: bool,
    /// That two values of glucose in different ranges differ by no more than chance.
    pub glucose: Option<String>,
    /// Reasons of which it is not known whether they apply at the second date.
    pub unknown: Vec<Unknown>,
    /// What was not given for the second date and is taken as at the first.
    pub taken: Vec<String>,
    /// What is not given then alone although the study has groups by it.
    pub not_grouped: Vec<String>,
    /// That the insulin assay is not stated then alone.
    pub assay_not_stated: Option<String>,
    /// Remarks on the second values.
    pub cautions: Vec<String>,
    /// Ranges in which the second values lie.
    pub alone: Vec<Alone>,
    /// The study's outcomes then: by the second values, and by those of the first where none were given again.
    pub outcomes: Vec<OutcomeMet>,
    /// Measurements of the first date by which the first of these that counts items is answered.
    pub outcomes_with: Vec<String>,
}

/// The second answers, laid out once.
pub(super) struct Later<'a> {
    pub second: Second,
    pub subject: Subject,
    /// Why indices made of some quantities mean nothing of the person then.
    pub withheld: Vec<Reason>,
    /// Whether nobody knows the factor of insulin then.
    pub factor_unknown: bool,
    /// The values measured again, with what lasts.
    pub row: DataFrame,
    pub answers: Vec<Answer>,
    pub study: &'a Study,
}

impl<'a> Later<'a> {
    /// Puts the second answers to the same questions as the first.
    pub fn new(
        (study, tallies): (&'a Study, &Tallies),
        person: &Person,
        first: &Standing,
    ) -> Result<Option<Self>, PlaceError> {
        let Some(again) = &person.second else { return Ok(None) };
        let answers = &again.answers;
        let before = counted_on(&person.answers, again)?;
        let measured = joined(answers, &before, &|a| LASTING.contains(&a.quantity.as_str()));
        let all = joined(answers, &before, &|a| is_taken(a) && again.leaves_as_it_was(&a.quantity));
        if let Some(why) = place_alone::contradiction(&all) {
            return Err(PlaceError::Contradiction(format!("the second measurement: {why}")));
        }
        let row = source::person(&study.quantities, &all)?;
        let subject = Subject::new(study, &tallies.plan, &row)?;
        let assay = again.assay.name(person.assay.as_ref());
        let factor_unknown = again.factor_unknown;
        let later = Person { answers: all, assay: assay.clone(), factor_unknown, ..Person::default() };
        let date = Date { row: &row, second: true };
        let mut standing = place_people::standing(study, &later, &subject, date)?;
        let withheld = place_withheld::reasons(&later.answers, &row)?;
        place_withheld::leave_out(&mut standing, &withheld);
        place_people::compare(&mut standing, study, (&later.answers, &subject));
        let taken = later.answers.iter().filter(|a| answers.iter().all(|own| own.quantity != a.quantity));
        let taken =
            taken.filter(|a| !LASTING.contains(&a.quantity.as_str()) && a.quantity != "pregnant_reported");
        let mut taken: Vec<String> = taken.map(|a| label_of(study, &a.quantity)).collect();
        if again.assay == AssayThen::AsFirst && person.assay.is_some() {
            taken.push("insulin assay".to_owned());
        }
        let new = new_of(&standing.cautions, &first.cautions);
        let alone = place_alone::alone(study, &later.answers, &row)?;
        let (outcomes, outcomes_with) = outcomes_then(study, again, &before)?;
        let second = Second {
            months: again.months,
            age: age(&later.answers).filter(|_| age(answers).is_none()),
            outside: outside(first, &standing, &alone),
            assays_differ: assays_differ(person.assay.as_ref(), assay.as_ref()),
            below_detection: below_detection(&person.answers, answers),
            assay_in_doubt: person.assay.is_none() || assay.is_none(),
            glucose: place_glucose::within_chance(study, (&person.answers, answers))?,
            assay,
            unknown: standing.unknown.clone(),
            taken,
            not_grouped: new_of(&standing.not_grouped, &first.not_grouped),
            assay_not_stated: standing.assay_not_stated.filter(|_| first.assay_not_stated.is_none()),
            cautions: new.into_iter().chain(remarks(person, again)).collect(),
            alone,
            outcomes,
            outcomes_with,
        };
        let row = source::person(&study.quantities, &measured)?;
        Ok(Some(Self { second, subject, withheld, factor_unknown, row, answers: measured, study }))
    }
}

/// The study's outcomes at the second date, and the measurements of the first by which the counted one is answered.
fn outcomes_then(
    study: &Study,
    again: &Again,
    before: &[Answer],
) -> Result<(Vec<OutcomeMet>, Vec<String>), PlaceError> {
    let all = joined(&again.answers, before, &|a| again.leaves_as_it_was(&a.quantity));
    let row = source::person(&study.quantities, &all)?;
    let outcomes = place_outcomes::outcomes(study, &all, &row)?;
    let counted = outcomes.iter().find(|outcome| outcome.given > 0);
    let counted = study.outcomes.iter().find(|o| counted.is_some_and(|found| found.outcome == o.row.name));
    let of_first = |a: &&Answer| {
        matches!(a.given, Given::Number { .. })
            && !LASTING.contains(&a.quantity.as_str())
            && again.answers.iter().all(|own| own.quantity != a.quantity)
            && counted.is_some_and(|outcome| outcome.ingredients.contains(&a.quantity))
    };
    let with = all.iter().filter(of_first).map(|a| label_of(study, &a.quantity)).collect();
    Ok((outcomes, with))
}

/// What is said of the second date alone.
fn new_of(second: &[String], first: &[String]) -> Vec<String> {
    second.iter().filter(|said| !first.contains(said)).cloned().collect()
}

/// The insulin assays of the two dates, where both are said and are not the same.
fn assays_differ(first: Option<&String>, second: Option<&String>) -> Option<String> {
    let (first, second) = (first?, second?);
    let same = same_assay(first, second) || same_assay(second, first);
    (!same).then(|| format!("the insulin assays of the two dates differ ({first}, then {second})"))
}

/// At which dates insulin is below the limit of detection, so that nobody knows by how much it changed.
fn below_detection(first: &[Answer], second: &[Answer]) -> Option<String> {
    let is = |answers: &[Answer]| answers.iter().any(|a| a.quantity == INSULIN && a.below.is_some());
    let date = match (is(first), is(second)) {
        (false, false) => return None,
        (true, false) => "the first date",
        (false, true) => "the second date",
        (true, true) => "both dates",
    };
    Some(format!("insulin is below the limit of detection at {date}"))
}

/// What must be known of the second date beside its values.
fn remarks(person: &Person, again: &Again) -> Vec<String> {
    let mut remarks = Vec::new();
    if again.months > UNUSUAL_MONTHS {
        remarks.push(format!(
            "{} months between the two dates: unusual, check the value",
            significant(again.months, 6)
        ));
    }
    let doubt = |date: &str| format!("insulin assay not stated for the {date} date: it may be another");
    match (&person.assay, &again.assay) {
        (None, AssayThen::Named(_)) => remarks.push(doubt("first")),
        (Some(_), AssayThen::Unknown) => remarks.push(doubt("second")),
        _ => {}
    }
    remarks
}

/// Why a change is not judged: either date is outside the study's people, or the second values come before any index.
fn outside(first: &Standing, second: &Standing, alone: &[Alone]) -> Vec<String> {
    let mut reasons = Vec::new();
    if !first.inside() {
        reasons.push(format!(
            "at the first date the person is outside the study's people: {}",
            first.outside.join("; ")
        ));
    }
    if second.inside() {
        let before = |a: &&Alone| a.urgent || a.caution;
        reasons.extend(alone.iter().filter(before).map(|a| format!("second date: {}", a.words)));
    } else {
        reasons.push(format!(
            "at the second date the person is outside the study's people: {}",
            second.outside.join("; ")
        ));
    }
    reasons
}

/// Answers of the second date, then those of the first that are kept and were not given again.
fn joined(second: &[Answer], first: &[Answer], kept: &dyn Fn(&Answer) -> bool) -> Vec<Answer> {
    let again = |a: &&Answer| second.iter().all(|own| own.quantity != a.quantity);
    second.iter().chain(first.iter().filter(|a| kept(a)).filter(again)).cloned().collect()
}

/// Everything that is not a measurement of the day.
fn is_taken(answer: &Answer) -> bool {
    !matches!(answer.given, Given::Number { .. }) || TAKEN.contains(&answer.quantity.as_str())
}
