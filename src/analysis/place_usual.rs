//! What one measurement says about the usual value, and whether two of them differ.

use serde::Serialize;

use super::context::{Context, resistance};
use super::place::{Person, PlaceError, PlacedIndex};
use super::select::values;
use crate::cohort::{Subject, evaluate};
use crate::definitions::answer::{Answer, Given};
use crate::definitions::{Standing, variation::variation};
use crate::source;
use crate::stats::place::{Group as Prior, Variation, place, reference_change};
use crate::study::{Study, StudyIndex};

/// By how much an ingredient is moved to see how the index follows.
const NUDGE: f64 = 1.01;
/// Confidence of the reference change value, two-sided.
const CONFIDENCE: f64 = 0.95;
/// Answers that hold at a second date too; everything else must be measured again.
const LASTING: [&str; 3] = ["sex", "age", "ancestry"];

/// The coefficients of variation of an index, as shares.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VariationUsed {
    pub within_person: f64,
    pub analytical: f64,
    /// Whether both were stated with the question.
    pub stated: bool,
    pub sources: Vec<String>,
}

/// The chance that the usual value is at least as resistant as a threshold.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Usual {
    pub threshold: f64,
    /// Which threshold this is, in words.
    pub of: String,
    /// The outcome that a derived cutoff was chosen for; empty for a stated threshold.
    pub outcome: String,
    /// The group whose distribution the value is pulled towards.
    pub group: String,
    pub group_n: i64,
    /// In percent; with the group's distribution before the measurement.
    pub probability: Option<f64>,
    /// In percent; with nothing known before the measurement.
    pub flat_probability: Option<f64>,
    /// Most probable usual value.
    pub usual: Option<f64>,
    /// How far the measurement counts against the group's mean.
    pub reliability: Option<f64>,
    pub why_not: String,
}

/// Two measurements of one person.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    pub first: f64,
    pub second: Option<f64>,
    pub months: f64,
    /// In percent of the first value.
    pub change: Option<f64>,
    /// Largest rise and fall that chance alone explains, in percent.
    pub rise: Option<f64>,
    pub fall: Option<f64>,
    pub beyond_chance: Option<bool>,
    pub why_not: String,
}

/// Adds the variation, the usual values and the change of one index.
pub(super) fn add(
    context: &Context,
    subject: &Subject,
    (index, person): (usize, &Person),
    placed: &mut PlacedIndex,
) -> Result<(), PlaceError> {
    let row = &context.study.indices[index];
    placed.variation = used(context.study, row, person)?;
    let Some(used) = &placed.variation else {
        return Ok(());
    };
    let variation = Variation { within_person: used.within_person, analytical: used.analytical };
    placed.usual = limits(placed)
        .into_iter()
        .map(|limit| usual(context, subject, (index, variation), placed, limit))
        .collect();
    if let Some((answers, months)) = &person.second {
        placed.change =
            Some(change(context.study, row, person, (answers, *months, placed.value, variation))?);
    }
    Ok(())
}

/// A threshold whose chance is asked: its value, what it is, and the outcome it was derived for.
struct Limit {
    value: f64,
    of: String,
    outcome: String,
}

/// The study's own thresholds, then the leading cutoff of the person's own group for each outcome.
fn limits(placed: &PlacedIndex) -> Vec<Limit> {
    let stated = placed.thresholds.iter().map(|t| Limit {
        value: t.value,
        of: format!("threshold, {}", t.source),
        outcome: String::new(),
    });
    let leading = placed.cutoffs.first().map(|first| first.rule.as_str());
    let own = placed.cutoffs.iter().filter(|c| c.own && Some(c.rule.as_str()) == leading);
    let own = own.filter_map(|c| {
        Some(Limit { value: c.cutoff?, of: format!("cutoff of {}", c.group), outcome: c.outcome.clone() })
    });
    stated.chain(own).collect()
}

/// Chances with the distribution of the person's smallest printed group, and without one.
fn usual(
    context: &Context,
    subject: &Subject,
    (index, variation): (usize, Variation),
    placed: &PlacedIndex,
    limit: Limit,
) -> Usual {
    let row = &context.study.indices[index];
    let (observed, at) = (resistance(placed.value, row), resistance(limit.value, row));
    let group = own_group(context, subject, placed);
    let frame = &context.frames[context.frame_of_index(index)];
    let sample = values(&frame.indices[index], &context.populations[0], &context.groups[group]);
    let flat = place(observed, at, variation, None);
    let with = Prior::of(&sample).and_then(|prior| place(observed, at, variation, Some(prior)));
    let known = with.as_ref().ok();
    Usual {
        threshold: limit.value,
        of: limit.of,
        outcome: limit.outcome,
        group: context.groups[group].name.clone(),
        group_n: sample.people_counted() as i64,
        probability: known.map(|p| 100.0 * p.probability),
        flat_probability: flat.ok().map(|p| 100.0 * p.probability),
        usual: known.map(|p| p.usual * row.sign() as f64),
        reliability: known.map(|p| p.reliability),
        why_not: with.err().map(|why| why.to_string()).unwrap_or_default(),
    }
}

/// The group whose percentile is the person's own, or everybody.
fn own_group(context: &Context, subject: &Subject, placed: &PlacedIndex) -> usize {
    let own = placed.own.map(|at| &placed.ranks[at]);
    let is_own = |g: &usize| {
        let group = &context.groups[*g];
        group.holds(&subject.levels)
            && own.is_some_and(|rank| rank.grouping == group.grouping_name && rank.group == group.name)
    };
    (0..context.groups.len()).find(is_own).unwrap_or(0)
}

/// Coefficients of variation of an index: stated ones, else those of its ingredients put through its formula.
///
/// # Formula
///
/// `σ² = Σ eⱼ² ln(1 + CVⱼ²)`, `CV = √(exp(σ²) − 1)`, with `eⱼ` the elasticity of the index to ingredient `j`: the
/// change of its logarithm per change of the ingredient's, at the person's values. Ingredients as independent.
fn used(study: &Study, index: &StudyIndex, person: &Person) -> Result<Option<VariationUsed>, PlaceError> {
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
    let back = |log: f64| log.exp_m1().sqrt();
    Ok(Some(VariationUsed {
        within_person: person.within_person.unwrap_or_else(|| back(log.0)),
        analytical: person.analytical.unwrap_or_else(|| back(log.1)),
        stated,
        sources,
    }))
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

/// Whether a later value differs from the first by more than chance.
fn change(
    study: &Study,
    index: &StudyIndex,
    person: &Person,
    (answers, months, first, variation): (&[Answer], f64, f64, Variation),
) -> Result<Change, PlaceError> {
    let lasting = person.answers.iter().filter(|a| LASTING.contains(&a.quantity.as_str()));
    let measured = |name: &String| answers.iter().any(|a| a.quantity == *name);
    let kept = lasting.filter(|a| !measured(&a.quantity));
    let all: Vec<Answer> = answers.iter().chain(kept).cloned().collect();
    let row = source::person(&study.quantities, &all)?;
    let second = evaluate(&row, &index.row.name, &index.row.sql())?;
    let missing = super::place_people::unanswered(&index.ingredients, &all);
    let limits = reference_change(variation, CONFIDENCE);
    let limits = limits.map_err(|why| PlaceError::Variation(why.to_string()))?;
    let change = second.map(|second| second / first - 1.0);
    Ok(Change {
        first,
        second,
        months,
        change: change.map(|c| 100.0 * c),
        rise: Some(100.0 * limits.rise),
        fall: Some(100.0 * limits.fall),
        beyond_chance: change.map(|c| c > limits.rise || c < -limits.fall),
        why_not: if missing.is_empty() {
            String::new()
        } else {
            format!("not given: {}", missing.join(", "))
        },
    })
}
