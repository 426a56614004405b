//! A second measurement of one person: whether it may be judged, and whether it differs by more than chance.

use polars::prelude::DataFrame;
use serde::Serialize;

use super::context::Context;
use super::place::{Person, PlaceError, PlacedIndex};
use super::place_alone::{self, Alone};
use super::place_assay::{INSULIN, same_assay};
use super::place_cutoffs::{self, Cutoff};
use super::place_factor;
use super::place_glucose;
use super::place_people::{self, Standing, TAKES_INSULIN, Unknown, takes_insulin, unanswered};
use super::place_rank::{self, Rank};
use super::place_usual::Chances;
use crate::cohort::{Subject, evaluate};
use crate::definitions::answer::{Answer, Given};
use crate::source;
use crate::stats::change::{reference_change, within_person_at};
use crate::stats::place::Variation;
use crate::study::{Study, StudyIndex, Threshold};
use crate::table::number::significant;
use crate::tally::Tallies;

/// Confidence of the reference change value, two-sided.
pub(super) const CONFIDENCE: f64 = 0.95;
/// Answers that hold at a second date too; every ingredient of an index but these must be measured again.
pub(super) const LASTING: [&str; 3] = ["sex", "age", "ancestry"];
/// Numbers that are taken as at the first date, for groups and exclusions alone.
const TAKEN: [&str; 4] = ["age", "bmi", "waist", "fasting"];

/// Months beyond which two dates are further apart than a comparison is usually made.
const UNUSUAL_MONTHS: f64 = 120.0;

/// What was measured of the same person later.
#[derive(Debug, Clone, Default)]
pub struct Again {
    pub answers: Vec<Answer>,
    /// After the first measurement.
    pub months: f64,
    /// The insulin assay.
    pub assay: AssayThen,
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
    /// Reasons for which a change is not judged.
    pub outside: Vec<String>,
    /// The insulin assays of the two dates, where they differ: no change of insulin is judged then.
    pub assays_differ: Option<String>,
    /// The insulin assay at the second date, where it is known.
    pub assay: Option<String>,
    /// Whether the assay is stated for one of the two dates alone, or said to be unknown at the second.
    pub assay_in_doubt: bool,
    /// That two values of glucose in different ranges differ by no more than chance.
    pub glucose: Option<String>,
    /// Reasons of which it is not known whether they apply at the second date.
    pub unknown: Vec<Unknown>,
    /// What was not given for the second date and is taken as at the first.
    pub taken: Vec<String>,
    /// Remarks on the second values.
    pub cautions: Vec<String>,
    /// Ranges in which the second values lie.
    pub alone: Vec<Alone>,
}

/// Two measurements of one index.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    pub first: f64,
    pub second: Option<f64>,
    pub months: f64,
    /// In percent of the first value; absent where it is not judged, as all that follows.
    pub change: Option<f64>,
    /// Largest rise and fall that chance alone explains, in percent.
    pub rise: Option<f64>,
    pub fall: Option<f64>,
    pub beyond_chance: Option<bool>,
    /// Whether the verdict holds only if both dates had one insulin assay, which is not known.
    pub if_same_assay: bool,
    /// The day-to-day variation, in percent, at which the verdict turns; none where no variation turns it.
    pub turns_at: Option<f64>,
    /// Where the second value lies in the person's groups.
    pub ranks: Vec<Rank>,
    /// The cutoffs that answer first, put to the second value.
    pub cutoffs: Vec<Cutoff>,
    pub why_not: String,
}

/// The second answers, laid out once.
pub(super) struct Later<'a> {
    pub second: Second,
    pub subject: Subject,
    /// Whether the person takes insulin then.
    treated: bool,
    /// The values measured again, with what lasts.
    row: DataFrame,
    answers: Vec<Answer>,
    study: &'a Study,
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
        let measured = joined(answers, &person.answers, &|a| LASTING.contains(&a.quantity.as_str()));
        // Whoever takes insulin now no longer answers no to drugs that lower blood sugar.
        let treated = answers.iter().any(|a| a.quantity == "insulin_treated");
        let kept = |a: &Answer| is_taken(a) && !(treated && a.quantity == "glucose_drug");
        let all = joined(answers, &person.answers, &kept);
        if let Some(why) = place_alone::contradiction(&all) {
            return Err(PlaceError::Contradiction(format!("the second measurement: {why}")));
        }
        let row = source::person(&study.quantities, &all)?;
        let subject = Subject::new(study, &tallies.plan, &row)?;
        let assay = again.assay.name(person.assay.as_ref());
        let later = Person { answers: all, assay: assay.clone(), ..Person::default() };
        let standing = place_people::standing(study, &later, &subject, (&row, false))?;
        let taken = later.answers.iter().filter(|a| answers.iter().all(|own| own.quantity != a.quantity));
        let taken =
            taken.filter(|a| !LASTING.contains(&a.quantity.as_str()) && a.quantity != "pregnant_reported");
        let mut taken: Vec<String> = taken.map(|a| super::place::label_of(study, &a.quantity)).collect();
        if again.assay == AssayThen::AsFirst && person.assay.is_some() {
            taken.push("insulin assay".to_owned());
        }
        let new = standing.cautions.iter().filter(|c| !first.cautions.contains(c)).cloned();
        let alone = place_alone::alone(study, &later.answers, &row)?;
        let second = Second {
            months: again.months,
            outside: outside(first, &standing, &alone),
            assays_differ: assays_differ(person.assay.as_ref(), assay.as_ref()),
            assay_in_doubt: again.assay == AssayThen::Unknown || person.assay.is_some() != assay.is_some(),
            glucose: place_glucose::within_chance(study, (&person.answers, answers))?,
            assay,
            unknown: standing.unknown.clone(),
            taken,
            cautions: new.chain(remarks(person, again)).collect(),
            alone,
        };
        let row = source::person(&study.quantities, &measured)?;
        let treated = takes_insulin(&later.answers);
        Ok(Some(Self { second, subject, treated, row, answers: measured, study }))
    }

    /// The second value of an index; `None` where its ingredients were not measured again.
    pub fn value(&self, index: &StudyIndex) -> Result<Option<f64>, PlaceError> {
        Ok(evaluate(&self.row, &index.row.name, &index.row.sql())?)
    }

    /// Whether the second value differs from the first by more than chance; without a variation, or where the
    /// change may not be judged, the two values alone.
    pub fn change(&self, index: &StudyIndex, placed: &PlacedIndex) -> Result<Change, PlaceError> {
        let (first, second) = (placed.value, self.value(index)?);
        let missing = unanswered(&index.ingredients, &self.answers);
        let unlike = self.second.assays_differ.as_ref();
        let unlike = unlike.filter(|_| index.ingredients.iter().any(|name| name == INSULIN));
        let judged = self.second.outside.is_empty() && unlike.is_none();
        let treated = placed.from_insulin && self.treated;
        let second = second.filter(|_| !treated);
        let why_not = if treated {
            format!("withheld, as {TAKES_INSULIN} then")
        } else if !missing.is_empty() {
            let labels = missing.iter().map(|name| super::place::label_of(self.study, name));
            format!("not given: {}", labels.collect::<Vec<_>>().join(", "))
        } else if second.is_none() {
            "its formula does not hold for these values".to_owned()
        } else if judged && placed.variation.is_none() {
            "how much it varies from day to day is not known; give --within-person-cv and --analytical-cv"
                .to_owned()
        } else {
            self.second.outside.iter().chain(unlike).cloned().collect::<Vec<_>>().join("; ")
        };
        let mut change = Change {
            first,
            second,
            months: self.second.months,
            change: None,
            rise: None,
            fall: None,
            beyond_chance: None,
            if_same_assay: placed.from_insulin && self.second.assay_in_doubt,
            turns_at: None,
            ranks: Vec::new(),
            cutoffs: Vec::new(),
            why_not,
        };
        if let (true, Some(second), Some(used)) = (judged, second, &placed.variation) {
            let variation = Variation { within_person: used.within_person, analytical: used.analytical };
            judge(&mut change, second / first, variation)?;
        }
        Ok(change)
    }
}

/// The second value of an index beside the first, and where it lies if it may be placed.
pub(super) fn changed(
    context: Option<&Context>,
    (later, first): (&Later, &Subject),
    person: &Person,
    (index, placed): (usize, &PlacedIndex),
) -> Result<Change, PlaceError> {
    let mut change = later.change(&later.study.indices[index], placed)?;
    let (Some(context), Some(value), true) = (context, change.second, later.second.outside.is_empty()) else {
        return Ok(change);
    };
    let subject = &later.subject;
    let at = Threshold { index, value, strict: false, source: "the second measurement".to_owned() };
    change.ranks = place_rank::ranks(context, subject, &at)?;
    let chances = Chances::new(context, subject, (index, value), placed.variation.as_ref());
    change.cutoffs = if subject.levels == first.levels {
        place_cutoffs::put_to((context, index), &placed.cutoffs, value, chances.as_ref())
    } else {
        let asked = (chances.as_ref(), person.grouping);
        place_cutoffs::leading(&place_cutoffs::cutoffs(context, subject, (index, value), asked)?)
    };
    if person.factor_unknown
        && let Some(other) = place_factor::by_other(later.study, &later.answers, index)?
    {
        let used = placed.variation.as_ref();
        place_factor::mark((context, subject), (index, other), used, &mut change.cutoffs);
    }
    Ok(change)
}

/// The insulin assays of the two dates, where both are said and are not the same.
fn assays_differ(first: Option<&String>, second: Option<&String>) -> Option<String> {
    let (first, second) = (first?, second?);
    let same = same_assay(first, second) || same_assay(second, first);
    (!same).then(|| format!("the insulin assays of the two dates differ ({first}, then {second})"))
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

/// Fills in the change and its limits; `ratio` is the second value by the first.
fn judge(change: &mut Change, ratio: f64, variation: Variation) -> Result<(), PlaceError> {
    let limits = reference_change(variation, CONFIDENCE);
    let limits = limits.map_err(|why| PlaceError::Variation(why.to_string()))?;
    let by = ratio - 1.0;
    change.change = Some(100.0 * by);
    change.rise = Some(100.0 * limits.rise);
    change.fall = Some(100.0 * limits.fall);
    change.beyond_chance = Some(by > limits.rise || by < -limits.fall);
    change.turns_at = within_person_at(ratio, variation.analytical, CONFIDENCE).ok().map(|cv| 100.0 * cv);
    Ok(())
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
