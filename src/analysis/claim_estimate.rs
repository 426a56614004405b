//! Everything that is estimated at a stated threshold, with what lies behind each interval.

use std::sync::Arc;

use rayon::prelude::*;

use super::accuracy::{self, Measure, at_row};
use super::claim::Question;
use super::context::Context;
use super::roc::{self, oriented};
use super::select::{classed, values};
use super::thresholds::{SLACK, equivalent, first_beyond, judged_share, percentile_of};
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
type Domain = (usize, usize, usize);

/// Every estimate of a question: threshold by threshold, population by population, group by group.
#[must_use]
pub fn all(context: &Context, question: &Question) -> Vec<Estimate> {
    let thresholds = 0..question.stated.len();
    let domains: Vec<Domain> = thresholds
        .flat_map(|t| (0..context.populations.len()).map(move |p| (t, p)))
        .flat_map(|(t, p)| (0..context.groups.len()).map(move |g| (t, p, g)))
        .collect();
    let best: Vec<Option<Estimate>> = (0..context.groups.len())
        .into_par_iter()
        .map(|group| best_cutoff(context, question, group))
        .collect();
    let of_domain = |&domain: &Domain| {
        let mut estimates = shares(context, question, domain);
        if domain.1 == 0 {
            estimates.push(same_percentile(context, question, domain));
            estimates.extend(measures(context, question, domain));
            estimates.extend(best[domain.2].clone().map(|e| Estimate { threshold: domain.0, ..e }));
        }
        estimates
    };
    domains.par_iter().flat_map_iter(of_domain).collect()
}

fn people(context: &Context, question: &Question, (population, group): (usize, usize)) -> Sample {
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
    let mut stated = share(context, domain, ("share", &sample), &|row| beyond(row) == stated_beyond);
    let all = share(context, domain, ("share_beyond", &sample), &beyond);
    let mut percentile = share(context, domain, ("percentile", &sample), &|row| row < less);
    // The share beyond decides whether the percentile is printed, as in a run.
    percentile.verdict = all.verdict.clone();
    percentile.value =
        percentile_of(context, threshold, &sample).map(super::percentiles::percent).filter(|_| all.n > 0);
    if stated_beyond {
        stated = Estimate { measure: "share", ..all.clone() };
    }
    vec![stated, all, percentile]
}

fn share(
    context: &Context,
    (threshold, population, group): Domain,
    (measure, sample): (&'static str, &Sample),
    event: &dyn Fn(usize) -> bool,
) -> Estimate {
    let frame = &context.frames[context.frame_of_index(context.study.thresholds[threshold].index)];
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
    let Ok(share) = proportion::share(&frame.design, sample, &|_| true, event) else {
        estimate.verdict.withheld.push("nobody in the group".to_owned());
        return estimate;
    };
    let (interval, verdict) = judged_share(context, &share);
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

/// The observed value that is the same percentile in the group as the threshold is in everybody.
fn same_percentile(context: &Context, question: &Question, domain: Domain) -> Estimate {
    let threshold = &context.study.thresholds[domain.0];
    let sign = context.study.indices[question.index].sign() as f64;
    let frame = &context.frames[context.frame_of_index(question.index)];
    let everybody = people(context, question, (0, 0));
    let sample = people(context, question, (0, domain.2));
    let less = percentile_of(context, threshold, &everybody);
    let n = sample.people_counted();
    let mut verdict = withhold::percentile(context.study, n, less.unwrap_or_default(), Ok(()));
    let value = less.and_then(|less| equivalent(&sample, less)).map(|v| v * sign);
    if value.is_none() && verdict.withheld.is_empty() {
        verdict.withheld.push("no value of the group lies that far".to_owned());
    }
    let at = super::context::resistance(threshold.value, &context.study.indices[question.index]);
    let df = frame.design.degrees_of_freedom(&sample, &|_| true);
    let interval = value.and_then(|full| {
        verdict.jumps(&frame.replicates);
        let targets = shares_below(&everybody, at, &frame.replicates);
        let values: Vec<f64> =
            reached(&sample, &targets, &frame.replicates).iter().map(|v| v * sign).collect();
        let found = values.iter().filter(|v| !v.is_nan()).count();
        let enough = found > 1 && 5 * found >= 4 * values.len();
        let centre = Centre { full, df, confidence: context.study.confidence };
        frame.replicates.interval_of_jumps(&values, centre).ok().filter(|_| enough)
    });
    Estimate {
        threshold: domain.0,
        population: 0,
        group: domain.2,
        measure: "equivalent",
        of_outcome: false,
        n,
        df: (n > 0).then_some(df),
        value,
        unit: Unit::Index,
        interval,
        interval_kind: frame.replicates.interval_kind(),
        verdict,
        behind: Behind::Nothing,
    }
}

/// Per replicate, the weighted share of a sample below a value.
fn shares_below(sample: &Sample, at: f64, replicates: &Replicates) -> Vec<f64> {
    let (mut below, mut all) = (vec![0.0; replicates.count], vec![0.0; replicates.count]);
    for row in 0..sample.len() {
        let less = f64::from(u8::from(sample.value[row] < at));
        for ((below, all), factor) in below.iter_mut().zip(&mut all).zip(replicates.of_unit(sample.unit[row]))
        {
            *all += factor * sample.weight[row];
            *below += factor * sample.weight[row] * less;
        }
    }
    below.iter().zip(&all).map(|(below, all)| below / all).collect()
}

/// Per replicate, the least value whose strictly lower share reaches the replicate's target; `NaN` if none does.
fn reached(sample: &Sample, targets: &[f64], replicates: &Replicates) -> Vec<f64> {
    let mut all = vec![0.0; replicates.count];
    for row in 0..sample.len() {
        for (all, factor) in all.iter_mut().zip(replicates.of_unit(sample.unit[row])) {
            *all += factor * sample.weight[row];
        }
    }
    let mut less = vec![0.0; replicates.count];
    let mut found = vec![f64::NAN; replicates.count];
    let mut row = 0;
    while row < sample.len() {
        let value = sample.value[row];
        for r in 0..replicates.count {
            if found[r].is_nan() && less[r] / all[r] >= targets[r] - SLACK {
                found[r] = value;
            }
        }
        while row < sample.len() && sample.value[row] == value {
            for (less, factor) in less.iter_mut().zip(replicates.of_unit(sample.unit[row])) {
                *less += factor * sample.weight[row];
            }
            row += 1;
        }
    }
    found
}

/// Sensitivity and its relatives against the outcome that is meant.
fn measures(context: &Context, question: &Question, domain: Domain) -> Vec<Estimate> {
    let Some(outcome) = question.outcome else { return Vec::new() };
    let pair = (question.index, outcome);
    let people = classed(context, pair, &context.populations[0], &context.groups[domain.2]);
    let first = first_beyond(context, &context.study.thresholds[domain.0], &people.sample);
    let estimate = |measure: Measure| Estimate {
        threshold: domain.0,
        population: 0,
        group: domain.2,
        measure: measure.name,
        of_outcome: true,
        n: measure.people,
        df: Some(measure.df),
        value: measure.value,
        unit: Unit::One,
        interval: measure.interval,
        interval_kind: measure.interval_kind,
        behind: accuracy::share_behind(context, pair, (&people, first), measure.name)
            .map_or(Behind::Nothing, |share| Behind::Share(share, 1.0)),
        verdict: measure.verdict,
    };
    let mut estimates: Vec<Estimate> =
        at_row(context, pair, &people, first).into_iter().map(estimate).collect();
    for ratio in &mut estimates {
        // A ratio without an interval says nothing about the group.
        if ratio.interval.is_none() && ratio.verdict.withheld.is_empty() {
            ratio.verdict.withheld.push("no interval".to_owned());
        }
    }
    estimates
}

/// The group's own cutoff by the study's first rule.
fn best_cutoff(context: &Context, question: &Question, group: usize) -> Option<Estimate> {
    let curve = roc::curve(context, (question.index, question.outcome?), group);
    let sign = context.study.indices[question.index].sign() as f64;
    let cutoff = curve.cutoffs.first();
    let mut verdict = cutoff.map_or_else(
        || withhold::cutoff(context.study, curve.with, curve.without, None),
        |cutoff| cutoff.verdict.clone(),
    );
    let value = cutoff.map(|c| c.value * sign).filter(|v| v.is_finite());
    if value.is_none() && verdict.withheld.is_empty() {
        verdict.withheld.push("no cutoff".to_owned());
    }
    let interval = cutoff.and_then(|c| c.interval).map(|i| oriented(i, sign));
    let replicates = &context.frames[context.frame_of_pair(curve.index, curve.outcome)].replicates;
    let behind = cutoff.filter(|_| interval.is_some()).map(|cutoff| Behind::Cutoff {
        replicates: Arc::clone(replicates),
        values: cutoff.replicates.iter().map(|v| v * sign).collect(),
        centre: Centre { full: cutoff.value * sign, df: curve.df, confidence: context.study.confidence },
    });
    Some(Estimate {
        threshold: 0,
        population: 0,
        group,
        measure: "best_cutoff",
        of_outcome: true,
        n: curve.with + curve.without,
        df: Some(curve.df),
        value,
        unit: Unit::Index,
        interval,
        interval_kind: replicates.interval_kind(),
        verdict,
        behind: behind.unwrap_or(Behind::Nothing),
    })
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

    #[test]
    fn equivalents_follow_the_weights_of_each_replicate() {
        let sample = Sample {
            value: vec![1.0, 2.0, 3.0, 4.0],
            weight: vec![1.0; 4],
            weight_squared: vec![1.0; 4],
            people: vec![1; 4],
            unit: vec![0, 0, 1, 1],
        };
        let replicates = Replicates {
            count: 3,
            // Unit 0: 1, 2, 0; unit 1: 1, 0, 2.
            factors: vec![1.0, 2.0, 0.0, 1.0, 0.0, 2.0],
            scale: 1.0,
            rscales: vec![1.0; 3],
            kind: BOOTSTRAP,
        };
        // Below 3: 2 of 4, all, none.
        assert_eq!(shares_below(&sample, 3.0, &replicates), [0.5, 1.0, 0.0]);
        // Half below: 3 as they are, 2 where the first two count alone, 4 where the last two do.
        assert_eq!(reached(&sample, &[0.5; 3], &replicates), [3.0, 2.0, 4.0]);
        let none = reached(&sample, &[0.9; 3], &replicates);
        assert!(none[0].is_nan() && none[1] == 3.0 && none[2].is_nan(), "{none:?}");
    }
}
