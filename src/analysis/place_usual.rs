//! What one measurement says about the usual value, and whether two of them differ.

use serde::Serialize;

use super::context::{Context, resistance};
use super::place::{Person, PlaceError, PlacedIndex};
use super::place_marks::ThresholdMark;
use super::place_second::LASTING;
use super::select::values;
use crate::cohort::{Subject, evaluate};
use crate::definitions::answer::{Answer, Given};
use crate::definitions::{Standing, variation::variation};
use crate::source;
use crate::stats::StatError;
use crate::stats::place::{Group as Prior, Placement, Variation, place};
use crate::study::{Study, StudyIndex};
use crate::table::number::significant;

/// By how much an ingredient is moved to see how the index follows.
const NUDGE: f64 = 1.01;
/// Digits to which the variation of an index is known, and printed.
pub const WITHIN_DIGITS: usize = 3;
/// Digits to which that of its assay is known; it is printed to as many as the other, which shows these.
const ANALYTICAL_DIGITS: usize = 2;

/// The coefficients of variation of an index, as shares.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VariationUsed {
    pub within_person: f64,
    pub analytical: f64,
    /// Whether each was stated with the question.
    pub within_person_stated: bool,
    pub analytical_stated: bool,
    pub sources: Vec<String>,
}

/// The chance that the usual value is at least as resistant as a threshold.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Usual {
    pub threshold: f64,
    /// Which threshold this is, in words.
    pub of: String,
    pub grouping: String,
    /// The group whose distribution the value is pulled towards.
    pub group: String,
    pub group_n: i64,
    /// In percent; with the group's distribution before the measurement.
    pub probability: Option<f64>,
    /// In percent; with nothing known before the measurement.
    pub flat_probability: Option<f64>,
    /// Median of the usual value: it as probably lies above as below.
    pub usual: Option<f64>,
    /// How far the measurement counts against the group's mean.
    pub reliability: Option<f64>,
    pub why_not: String,
}

/// What turns one measurement into chances: the variation, and the distribution in each of the person's groups.
pub(super) struct Chances<'a> {
    context: &'a Context<'a>,
    index: usize,
    observed: f64,
    variation: Variation,
    /// By position of the group: people and distribution.
    priors: Vec<(usize, i64, Result<Prior, StatError>)>,
}

impl<'a> Chances<'a> {
    /// `None` where nothing says how much the index varies.
    pub fn new(
        context: &'a Context,
        subject: &Subject,
        (index, value): (usize, f64),
        used: Option<&VariationUsed>,
    ) -> Option<Self> {
        let used = used?;
        let variation = Variation { within_person: used.within_person, analytical: used.analytical };
        let frame = &context.frames[context.frame_of_index(index)];
        let prior = |g: usize| {
            let sample = values(&frame.indices[index], &context.populations[0], &context.groups[g]);
            (g, sample.people_counted() as i64, Prior::of(&sample))
        };
        let groups = (0..context.groups.len()).filter(|&g| context.groups[g].holds(&subject.levels));
        let observed = resistance(value, &context.study.indices[index]);
        Some(Self { context, index, observed, variation, priors: groups.map(prior).collect() })
    }

    fn flat(&self, limit: f64) -> Option<f64> {
        let at = resistance(limit, &self.context.study.indices[self.index]);
        place(self.observed, at, self.variation, None).ok().map(|p| 100.0 * p.probability)
    }

    fn with(&self, group: usize, limit: f64) -> Option<Result<Placement, StatError>> {
        let at = resistance(limit, &self.context.study.indices[self.index]);
        let (_, _, prior) = self.priors.iter().find(|(g, ..)| *g == group)?;
        Some(prior.clone().and_then(|prior| place(self.observed, at, self.variation, Some(prior))))
    }

    /// Chance in percent with the group's distribution, or where that cannot be had with the measurement alone.
    pub fn best(&self, group: usize, limit: f64) -> Option<f64> {
        let known = self.with(group, limit)?.ok().map(|p| 100.0 * p.probability);
        known.or_else(|| self.flat(limit))
    }

    /// Chances at the study's own thresholds, in each of the person's smallest groups.
    pub fn of_thresholds(&self, placed: &PlacedIndex) -> Vec<Usual> {
        let own = |g: usize| {
            let group = &self.context.groups[g];
            let is = |&at: &usize| {
                (&placed.ranks[at].grouping, &placed.ranks[at].group) == (&group.grouping_name, &group.name)
            };
            placed.own.iter().any(is)
        };
        let own: Vec<&(usize, i64, _)> = self.priors.iter().filter(|(g, ..)| own(*g)).collect();
        let of = |threshold: &ThresholdMark| {
            own.iter().map(|(g, n, _)| self.usual(threshold, *g, *n)).collect::<Vec<_>>()
        };
        placed.thresholds.iter().flat_map(of).collect()
    }

    fn usual(&self, threshold: &ThresholdMark, group: usize, n: i64) -> Usual {
        let row = &self.context.study.indices[self.index];
        let with = self.with(group, threshold.value);
        let known = with.as_ref().and_then(|with| with.as_ref().ok());
        Usual {
            threshold: threshold.value,
            of: format!("threshold, {}", threshold.source),
            grouping: self.context.groups[group].grouping_name.clone(),
            group: self.context.groups[group].name.clone(),
            group_n: n,
            probability: known.map(|p| 100.0 * p.probability),
            flat_probability: self.flat(threshold.value),
            usual: known.map(|p| p.usual * row.sign() as f64),
            reliability: known.map(|p| p.reliability),
            why_not: with.and_then(Result::err).map(|why| why.to_string()).unwrap_or_default(),
        }
    }
}

/// Coefficients of variation of an index: stated ones, else those of its ingredients put through its formula.
///
/// # Formula
///
/// `σ² = Σ eⱼ² ln(1 + CVⱼ²)`, `CV = √(exp(σ²) − 1)`, with `eⱼ` the elasticity of the index to ingredient `j`: the
/// change of its logarithm per change of the ingredient's, at the person's values. Ingredients as independent. Taken as it is
/// printed, so that stated again it gives the same answer.
pub(super) fn used(
    study: &Study,
    index: &StudyIndex,
    person: &Person,
) -> Result<Option<VariationUsed>, PlaceError> {
    let mut log = (0.0, 0.0);
    let mut sources: Vec<String> = Vec::new();
    let stated = person.within_person.is_some() && person.analytical.is_some();
    for name in index.ingredients.iter().filter(|name| !stated && !LASTING.contains(&name.as_str())) {
        let Some(of) = variation(name) else { return Ok(None) };
        let Some(elasticity) = elasticity(study, index, &person.answers, name)? else { return Ok(None) };
        let part = |cv: f64| elasticity * elasticity * (cv * cv).ln_1p();
        log = (log.0 + part(of.within_person), log.1 + part(of.analytical));
        let standing = if of.standing == Standing::Published { "" } else { " (not read again)" };
        let source = format!(
            "{name} {} % within a person, {} % assay{standing}: {}",
            percent(of.within_person),
            percent(of.analytical),
            of.source
        );
        sources.push(source);
    }
    let back = |log: f64, digits: usize| rounded(log.exp_m1().sqrt(), digits);
    Ok(Some(VariationUsed {
        within_person: person.within_person.unwrap_or_else(|| back(log.0, WITHIN_DIGITS)),
        analytical: person.analytical.unwrap_or_else(|| back(log.1, ANALYTICAL_DIGITS)),
        within_person_stated: person.within_person.is_some(),
        analytical_stated: person.analytical.is_some(),
        sources,
    }))
}

/// A number with some significant digits.
fn rounded(number: f64, digits: usize) -> f64 {
    significant(number, digits).parse().unwrap_or(number)
}

fn percent(share: f64) -> f64 {
    (share * 1000.0).round() / 10.0
}

/// How the logarithm of an index follows that of an ingredient; `None` where it cannot be told.
fn elasticity(
    study: &Study,
    index: &StudyIndex,
    answers: &[Answer],
    ingredient: &str,
) -> Result<Option<f64>, PlaceError> {
    let moved = |by: f64| -> Result<Option<f64>, PlaceError> {
        let mut answers = answers.to_vec();
        for answer in answers.iter_mut().filter(|answer| answer.quantity == ingredient) {
            if let Given::Number { value, .. } = &mut answer.given {
                *value *= by;
            }
        }
        let row = source::person(&study.quantities, &answers)?;
        Ok(evaluate(&row, &index.row.name, &index.row.sql())?)
    };
    let (Some(up), Some(down)) = (moved(NUDGE)?, moved(1.0 / NUDGE)?) else { return Ok(None) };
    let slope = (up / down).ln() / (2.0 * NUDGE.ln());
    Ok(Some(slope).filter(|slope| slope.is_finite()))
}
