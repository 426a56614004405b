//! Which thresholds a person's value passes: the study's own, and cutoffs in print.

use serde::Serialize;

use super::context::Context;
use super::place_rank::{self, Rank};
use super::{AnalysisError, thresholds as shares};
use crate::cohort::Subject;
use crate::definitions::Stage;
use crate::definitions::answer::{Answer, Given};
use crate::definitions::overlay::{ANY, People, Sex};
use crate::study::{Study, StudyIndex, Threshold};
use crate::table::Row;

/// A threshold that the study states.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThresholdMark {
    pub value: f64,
    pub strict: bool,
    pub source: String,
    pub passed: bool,
    /// The same by the other factor of insulin, where nobody knows which holds.
    pub passed_by_other: Option<bool>,
    /// Where the threshold itself lies in the person's groups of the cohort.
    pub ranks: Vec<Rank>,
}

/// Whether a threshold that the study states is passed at a second date.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PassedThen {
    pub threshold: f64,
    pub strict: bool,
    pub passed: bool,
    /// The same by the other factor of insulin, where nobody knows which holds.
    pub passed_by_other: Option<bool>,
    /// Where the threshold itself lies in the person's groups of the cohort then.
    pub ranks: Vec<Rank>,
}

/// The value that does in one group what a stated threshold does in everybody.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Equivalent {
    pub threshold: f64,
    pub grouping: String,
    pub group: String,
    pub n: i64,
    pub equivalent: Option<f64>,
    pub passed: Option<bool>,
    pub withheld: String,
}

/// A cutoff in print, for another population.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PublishedMark {
    pub value: f64,
    pub passed: bool,
    /// The same by the other factor of insulin, where nobody knows which holds.
    pub passed_by_other: Option<bool>,
    /// The value is the cutoff and the source does not say to which side that belongs.
    pub at: bool,
    pub country: String,
    pub population: String,
    pub sex: String,
    pub n: u32,
    pub rule: String,
    pub outcome: String,
    pub source: String,
    pub note: String,
    /// How the printed number was written in the index's form; empty when it is as printed.
    pub conversion: String,
    /// Whether the cutoff is for the person's sex, age and BMI, as far as they are given, and for no stage of life.
    pub matches: bool,
    /// The stage of life that the cutoff is for, where it is for the person but for that, which nobody is asked.
    pub of_stage: &'static str,
}

/// Whether a value is at or beyond a limit in the order of resistance (beyond it, if strict).
pub(super) fn passes(index: &StudyIndex, value: f64, limit: f64, strict: bool) -> bool {
    let step = |x: f64| index.sign() * index.row.step(x);
    if strict { step(value) > step(limit) } else { step(value) >= step(limit) }
}

/// The study's own thresholds.
pub(super) fn thresholds(
    context: &Context,
    subject: &Subject,
    (index, value): (usize, f64),
) -> Result<Vec<ThresholdMark>, AnalysisError> {
    let study = context.study;
    let own = study.thresholds.iter().filter(|t| t.index == index);
    own.map(|threshold| {
        let ranks = in_cohort(context, subject, threshold)?;
        Ok(ThresholdMark {
            value: threshold.value,
            strict: threshold.strict,
            source: threshold.source.clone(),
            passed: passes(&study.indices[index], value, threshold.value, threshold.strict),
            passed_by_other: None,
            ranks,
        })
    })
    .collect()
}

/// Where a threshold lies in a person's groups of the cohort.
fn in_cohort(
    context: &Context,
    subject: &Subject,
    threshold: &Threshold,
) -> Result<Vec<Rank>, AnalysisError> {
    let mut ranks = place_rank::ranks(context, subject, threshold)?;
    ranks.retain(|rank| rank.population == context.populations[0].name);
    Ok(ranks)
}

/// The study's own thresholds put to a second value, and to that by the other factor of insulin.
pub(super) fn passed_then(
    context: &Context,
    subject: &Subject,
    (index, value): (usize, f64),
    other: Option<f64>,
) -> Result<Vec<PassedThen>, AnalysisError> {
    let study = context.study;
    let own = study.thresholds.iter().filter(|t| t.index == index);
    own.map(|threshold| {
        let passed = |value: f64| passes(&study.indices[index], value, threshold.value, threshold.strict);
        Ok(PassedThen {
            threshold: threshold.value,
            strict: threshold.strict,
            passed: passed(value),
            passed_by_other: other.map(passed),
            ranks: in_cohort(context, subject, threshold)?,
        })
    })
    .collect()
}

/// The same percentile as each stated threshold, in the person's groups.
pub(super) fn equivalents(
    context: &Context,
    subject: &Subject,
    (index, value): (usize, f64),
) -> Result<Vec<Equivalent>, AnalysisError> {
    let study = context.study;
    let row = &study.indices[index];
    let groups: Vec<usize> =
        (0..context.groups.len()).filter(|&g| context.groups[g].holds(&subject.levels)).collect();
    let mut all = Vec::new();
    for threshold in study.thresholds.iter().filter(|t| t.index == index) {
        let table = shares::equal_percentiles(context, threshold)?;
        let rows: Vec<Row<'_>> = table.iter().collect();
        all.extend(groups.iter().filter(|g| **g > 0).filter_map(|&g| rows.get(g)).map(|found| {
            let equivalent = found.real("equivalent");
            Equivalent {
                threshold: threshold.value,
                grouping: found.text("grouping").to_owned(),
                group: found.text("group").to_owned(),
                n: found.whole("n").unwrap_or_default(),
                equivalent,
                passed: equivalent.map(|limit| passes(row, value, limit, threshold.strict)),
                withheld: found.text("withheld").to_owned(),
            }
        }));
    }
    Ok(all)
}

/// Cutoffs in print that the study lays over an index, for both sexes or the person's.
pub(super) fn published(
    study: &Study,
    index: &StudyIndex,
    value: f64,
    answers: &[Answer],
) -> Vec<PublishedMark> {
    let person = person(answers);
    let laid = study.published.laid_over(&index.row.name).into_iter();
    let laid = laid.filter(|laid| laid.row.of_sex(person.sex)).filter_map(|laid| Some((laid.value()?, laid)));
    let mut marks: Vec<PublishedMark> = laid
        .map(|(limit, laid)| PublishedMark {
            value: limit,
            passed: passes(index, value, limit, laid.row.strict == Some(true)),
            passed_by_other: None,
            at: laid.row.strict.is_none() && index.row.step(value) == index.row.step(limit),
            country: laid.row.country.clone(),
            population: laid.row.population.clone(),
            sex: laid.row.sex.clone(),
            n: laid.row.n,
            rule: laid.row.rule.clone(),
            outcome: laid.row.outcome.clone(),
            source: laid.row.source.clone(),
            note: laid.row.note.clone(),
            conversion: laid.conversion().to_owned(),
            matches: laid.row.matches(&person) && laid.row.stage.is_none(),
            of_stage: laid.row.stage.filter(|_| laid.row.matches(&person)).map_or("", Stage::words),
        })
        .collect();
    let sign = index.sign() as f64;
    marks.sort_by(|a, b| (sign * a.value).total_cmp(&(sign * b.value)));
    marks
}

/// Which of sex, age and BMI are given.
pub(super) fn matched_by(answers: &[Answer]) -> Vec<String> {
    let given = |name: &str| answers.iter().any(|answer| answer.quantity == name);
    let known = [("sex", "sex"), ("age", "age"), ("bmi", "BMI")].into_iter();
    known.filter(|(name, _)| given(name)).map(|(_, words)| words.to_owned()).collect()
}

/// What of a person a cutoff in print can be held against; what is not given may be anything.
fn person(answers: &[Answer]) -> People<'_> {
    let mut person = People { sex: Sex::Unknown, age: ANY, bmi: None };
    for answer in answers {
        match (answer.quantity.as_str(), &answer.given) {
            ("sex", Given::Label(label)) => person.sex = Sex::One(label),
            ("age", Given::Number { value, .. }) => person.age = (*value, *value),
            ("bmi", Given::Number { value, .. }) => person.bmi = Some((*value, *value)),
            _ => {}
        }
    }
    person
}
