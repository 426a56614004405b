//! Everything that is estimated at a stated threshold, with what lies behind each interval.

use std::sync::Arc;

use rayon::prelude::*;

use super::accuracy::{self, Measure, at_row};
use super::claim::Question;
use super::claim_cutoffs::own_cutoffs;
use super::claim_equivalent::same_percentile;
use super::context::Context;
use super::select::{classed, values};
use super::thresholds::{first_beyond, judged_share, percentile_of};
use super::withhold::{self, Verdict};
use crate::stats::Sample;
use crate::stats::interval::Interval;
use crate::stats::proportion::{self, Share};
use crate::stats::replicate::{BOOTSTRAP, Replicates};
use crate::stats::replicate_interval::Centre;

/// One number about a threshold in a group.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// Position in the stated thresholds.
    pub threshold: usize,
    pub population: usize,
    pub group: usize,
    pub measure: &'static str,
    /// Whether the outcome takes part.
    pub of_outcome: bool,
    pub n: u64,
    /// None where nobody is counted.
    pub df: Option<f64>,
    pub value: Option<f64>,
    pub unit: Unit,
    pub interval: Option<Interval>,
    pub interval_kind: &'static str,
    pub verdict: Verdict,
    pub behind: Behind,
}

/// Unit of an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Percent,
    One,
    Index,
}

/// What an interval of any confidence is made from.
#[derive(Debug, Clone)]
pub enum Behind {
    Nothing,
    /// A share, and by how much it is multiplied.
    Share(Share, f64),
    /// A cutoff and its replicates, `NaN` where one failed.
    Cutoff {
        replicates: Arc<Replicates>,
        values: Vec<f64>,
        centre: Centre,
    },
}

impl Estimate {
    /// Takes the number away, for this reason alone.
    pub fn withhold(&mut self, reason: &str) {
        self.value = None;
        self.interval = None;
        self.behind = Behind::Nothing;
        self.verdict = Verdict::none(reason);
    }
}

impl Behind {
    /// The interval with another confidence.
    #[must_use]
    pub fn interval(&self, confidence: f64) -> Option<Interval> {
        match self {
            Self::Nothing => None,
            Self::Share(share, per) => share.korn_graubard(confidence).ok().map(|i| scaled(i, *per)),
            Self::Cutoff { replicates, values, centre } => {
                replicates.interval_of_jumps(values, Centre { confidence, ..*centre }).ok()
            }
        }
    }

    /// The smallest p value that so many drawn replicates can show: two tails, one replicate more than there
    /// are. An interval by a standard error has no such bound.
    #[must_use]
    pub fn smallest_p(&self) -> f64 {
        match self {
            Self::Cutoff { replicates, values, .. } if replicates.kind == BOOTSTRAP => {
                2.0 / (1 + values.iter().filter(|v| !v.is_nan()).count()) as f64
            }
            _ => 0.0,
        }
    }
}

fn scaled(interval: Interval, per: f64) -> Interval {
    Interval { lower: interval.lower * per, upper: interval.upper * per }
}

/// Where an estimate is made: threshold, population, group.
pub type Domain = (usize, usize, usize);

/// Every estimate of a question: threshold by threshold, population by population, group by group.
#[must_use]
pub fn all(context: &Context, question: &Question) -> Vec<Estimate> {
    let thresholds = 0..question.stated.len();
    let domains: Vec<Domain> = thresholds
        .flat_map(|t| (0..context.populations.len()).map(move |p| (t, p)))
        .flat_map(|(t, p)| (0..context.groups.len()).map(move |g| (t, p, g)))
        .collect();
    let groups = 0..context.groups.len();
    let own: Vec<Vec<Estimate>> =
        groups.into_par_iter().map(|group| own_cutoffs(context, question, group)).collect();
    let of_domain = |&domain: &Domain| {
        let mut estimates = shares(context, question, domain);
        if domain.1 == 0 {
            estimates.push(same_percentile(context, question, domain));
            estimates.extend(measures(context, question, domain));
            estimates.extend(own[domain.2].iter().map(|e| Estimate { threshold: domain.0, ..e.clone() }));
        }
        estimates
    };
    domains.par_iter().flat_map_iter(of_domain).collect()
}

/// The shares of all people at some of the thresholds.
#[must_use]
pub fn shares_of(estimates: &[Estimate], of_threshold: &[bool]) -> Vec<Estimate> {
    let is_share = |e: &&Estimate| ["share", "share_beyond"].contains(&e.measure);
    estimates.iter().filter(|e| of_threshold[e.threshold]).filter(is_share).cloned().collect()
}

pub fn people(context: &Context, question: &Question, (population, group): (usize, usize)) -> Sample {
    let ordered = &context.frames[context.frame_of_index(question.index)].indices[question.index];
    values(ordered, &context.populations[population], &context.groups[group])
}

/// Share on the stated side, share beyond, and the percentile at which the threshold sits.
fn shares(context: &Context, question: &Question, domain: Domain) -> Vec<Estimate> {
    let threshold = &context.study.thresholds[domain.0];
    let index = &context.study.indices[question.index];
    let sample = people(context, question, (domain.1, domain.2));
    let first = first_beyond(context, threshold, &sample);
    let beyond = |row: usize| row >= first;
    let at = super::context::resistance(threshold.value, index);
    let less = sample.value.partition_point(|&v| v < at);
    let stated_beyond = question.stated[domain.0].is_beyond(index);
    let frame = context.frame_of_index(question.index);
    let mut stated = share(context, domain, ("share", &sample, frame), &|row| beyond(row) == stated_beyond);
    let all = share(context, domain, ("share_beyond", &sample, frame), &beyond);
    let mut percentile = share(context, domain, ("percentile", &sample, frame), &|row| row < less);
    if stated_beyond {
        stated = Estimate { measure: "share", ..all.clone() };
    }
    // It stands beside the share on the stated side, which is the same share or its complement: one verdict for both.
    percentile.verdict = stated.verdict.clone();
    percentile.value =
        percentile_of(context, threshold, &sample).map(super::percentiles::percent).filter(|_| all.n > 0);
    vec![stated, all, percentile]
}

/// A share of people, withheld as soon as the share of everybody else is.
fn share(
    context: &Context,
    (threshold, population, group): Domain,
    (measure, sample, frame): (&'static str, &Sample, usize),
    event: &dyn Fn(usize) -> bool,
) -> Estimate {
    let mut estimate = Estimate {
        threshold,
        population,
        group,
        measure,
        of_outcome: false,
        n: 0,
        df: None,
        value: None,
        unit: Unit::Percent,
        interval: None,
        interval_kind: "korn_graubard",
        verdict: Verdict::default(),
        behind: Behind::Nothing,
    };
    let Ok(share) = proportion::share(&context.frames[frame].design, sample, &|_| true, event) else {
        estimate.verdict.cannot("nobody in the group");
        return estimate;
    };
    let (interval, mut verdict) = judged_share(context, &share);
    if verdict.withheld.is_empty() && interval.is_some_and(|i| share.complement_too_wide(i)) {
        verdict = Verdict { withheld: vec![withhold::OTHER_SIDE.to_owned()], ..Verdict::default() };
    }
    Estimate {
        n: share.people,
        df: Some(share.df),
        value: Some(100.0 * share.p),
        interval: interval.map(|i| scaled(i, 100.0)),
        verdict,
        behind: Behind::Share(share, 100.0),
        ..estimate
    }
}

/// Sensitivity and its relatives against the outcome that is meant, and how common it is.
fn measures(context: &Context, question: &Question, domain: Domain) -> Vec<Estimate> {
    let Some(outcome) = question.outcome else { return Vec::new() };
    let pair = (question.index, outcome);
    let people = classed(context, pair, &context.populations[0], &context.groups[domain.2]);
    let first = first_beyond(context, &context.study.thresholds[domain.0], &people.sample);
    let estimate = |measure: Measure| {
        let share = accuracy::share_behind(context, pair, (&people, first), measure.name);
        let (unit, per) = if share.is_some() { (Unit::Percent, 100.0) } else { (Unit::One, 1.0) };
        Estimate {
            threshold: domain.0,
            population: 0,
            group: domain.2,
            measure: measure.name,
            of_outcome: true,
            n: measure.people,
            df: Some(measure.df),
            value: measure.value.map(|value| per * value),
            unit,
            interval: measure.interval.map(|interval| scaled(interval, per)),
            interval_kind: measure.interval_kind,
            behind: share.map_or(Behind::Nothing, |share| Behind::Share(share, per)),
            verdict: measure.verdict,
        }
    };
    let counted = ("prevalence", &people.sample, context.frame_of_pair(pair.0, pair.1));
    let prevalence = share(context, domain, counted, &|row| people.class[row]);
    let measures = at_row(context, pair, &people, first).into_iter().map(estimate);
    measures.chain([Estimate { of_outcome: true, ..prevalence }]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::claim::{Region, p_value};
    use crate::stats::replicate::BALANCED;

    #[test]
    fn a_cutoff_is_judged_by_the_interval_of_its_replicates() {
        let values = vec![2.4, 1.6, 2.0, 2.0];
        let of = |kind| Behind::Cutoff {
            replicates: Arc::new(Replicates {
                count: 4,
                factors: vec![1.0; 4],
                scale: 0.25,
                rscales: vec![1.0; 4],
                kind,
            }),
            values: values.clone(),
            centre: Centre { full: 2.0, df: 2.0, confidence: 0.95 },
        };
        // SE √(2 · 0.4² / 4); P(|T| ≥ t) = 1 − t / √(t² + 2) on 2 degrees of freedom.
        let half = of(BALANCED);
        let t = 1.0 / 0.08_f64.sqrt();
        let p = p_value(Region { from: 1.0, to: f64::INFINITY }, 2.0, &|c| half.interval(c));
        assert!((p - (1.0 - t / (t * t + 2.0).sqrt())).abs() < 1e-8, "{p}");
        assert_eq!((half.smallest_p(), of(BOOTSTRAP).smallest_p()), (0.0, 0.4));
        let drawn = of(BOOTSTRAP).interval(0.5).expect("a bootstrap");
        assert_eq!((drawn.lower, drawn.upper), (1.9, 2.1), "quartiles of 1.6, 2, 2, 2.4");
    }
}
