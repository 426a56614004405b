//! The estimates of one cycle that a trend runs through.

use super::percentiles::{self, percent};
use super::roc::oriented;
use super::smoothed;
use super::tabulate;
use super::thresholds::{beyond, strict};
use super::trend::Given;
use super::withhold::Verdict;
use crate::stats::interval::Interval;
use crate::table::RowBuilder;

/// What is estimated cycle by cycle; indices of the study.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    GeometricMean,
    Beyond(usize),
    Percentile(f64),
    /// The smoothed cutoff against an outcome.
    Smoothed(usize),
}

/// One estimate on the index's own scale (shares in percent).
#[derive(Debug, Clone, Default)]
pub struct Point {
    pub people: u64,
    pub df: f64,
    /// `None` where it is withheld.
    pub value: Option<f64>,
    pub standard_error: Option<f64>,
    pub interval: Option<Interval>,
    pub kind: &'static str,
    pub verdict: Verdict,
}

/// Everything that is followed over cycles for an index.
pub fn wanted(given: &Given, index: usize) -> Vec<What> {
    let study = given.context.study;
    let thresholds = study.thresholds.iter().enumerate().filter(|(_, t)| t.index == index);
    let shares = thresholds.map(|(position, _)| What::Beyond(position));
    let percentiles = study.percentiles.iter().map(|&p| What::Percentile(p));
    let cutoffs = (0..study.outcomes.len()).map(What::Smoothed);
    std::iter::once(What::GeometricMean).chain(shares).chain(percentiles).chain(cutoffs).collect()
}

/// The estimates of an index in the group of one cycle, in the order of [`wanted`].
pub fn points(given: &Given, index: usize, group: usize) -> Vec<Point> {
    let mut quantiles = quantiles(given, (index, 0, group)).into_iter();
    let one = |what: &What| match *what {
        What::GeometricMean => mean(given, (index, 0, group)),
        What::Beyond(threshold) => share(given, threshold, group),
        What::Percentile(_) => quantiles.next().unwrap_or_default(),
        What::Smoothed(outcome) => cutoff(given, (index, outcome), group),
    };
    wanted(given, index).iter().map(one).collect()
}

fn mean(given: &Given, domain: percentiles::Domain) -> Point {
    let mean = percentiles::geometric(given.context, domain);
    let Some(shown) = mean.shown(given.context.study).copied() else {
        return Point { verdict: mean.verdict, ..Point::default() };
    };
    Point {
        people: mean.people,
        df: shown.df,
        value: Some(shown.value),
        standard_error: Some(shown.standard_error),
        interval: shown.interval,
        kind: "linearised_t_log",
        verdict: mean.verdict,
    }
}

fn share(given: &Given, threshold: usize, group: usize) -> Point {
    let study = given.context.study;
    let found = beyond(given.context, &study.thresholds[threshold], (0, group));
    let Some(share) = found.share else {
        return Point { verdict: found.verdict, ..Point::default() };
    };
    let shown = found.verdict.shown(study);
    Point {
        people: share.people,
        df: share.df,
        value: shown.then_some(100.0 * share.p),
        standard_error: shown.then_some(100.0 * share.variance.sqrt()),
        interval: found.interval.map(|i| Interval { lower: 100.0 * i.lower, upper: 100.0 * i.upper }),
        kind: "korn_graubard",
        verdict: found.verdict,
    }
}

fn quantiles(given: &Given, domain: percentiles::Domain) -> Vec<Point> {
    let all = percentiles::estimate(given.context, domain);
    let one = |estimate| {
        let printed = percentiles::printed(given.context, &all, estimate);
        Point {
            people: all.people,
            df: all.df,
            value: printed.value,
            standard_error: printed.standard_error,
            interval: printed.interval,
            kind: "woodruff_logit",
            verdict: printed.verdict,
        }
    };
    all.estimates.iter().map(one).collect()
}

fn cutoff(given: &Given, pair: (usize, usize), group: usize) -> Point {
    let of = (pair.0, pair.1, group);
    let position = given.curves.iter().position(|curve| (curve.index, curve.outcome, curve.group) == of);
    let Some(position) = position else { return Point::default() };
    let (curve, context) = (&given.curves[position], given.context);
    let smoothed = (given.cutoff)(position);
    let sign = context.study.indices[pair.0].sign() as f64;
    let replicates = &context.frames[context.frame_of_pair(pair.0, pair.1)].replicates;
    let spread = |full: f64| replicates.variance(full, &smoothed.replicates).variance.sqrt();
    let interval = smoothed.interval.map(|i| oriented(i, sign));
    Point {
        people: curve.with + curve.without,
        df: curve.df,
        value: smoothed.value.map(|value| value * sign),
        // Too many failed replicates give neither an interval nor a standard error.
        standard_error: smoothed.value.filter(|_| interval.is_some()).map(spread),
        interval,
        kind: replicates.interval_kind(),
        verdict: smoothed.verdict,
    }
}

/// The columns that say what is estimated.
pub fn of_what<'t>(row: RowBuilder<'t>, given: &Given, what: What) -> RowBuilder<'t> {
    let study = given.context.study;
    match what {
        What::GeometricMean => row.text("measure", "geometric_mean"),
        What::Beyond(position) => {
            let threshold = &study.thresholds[position];
            row.text("measure", "share_beyond")
                .real("threshold", Some(threshold.value))
                .text("strict", strict(threshold))
        }
        What::Percentile(p) => row.text("measure", "percentile").real("percentile", Some(percent(p))),
        What::Smoothed(outcome) => {
            row.text("measure", smoothed::METHOD).text("outcome", &*study.outcomes[outcome].row.name)
        }
    }
    .text("stated", tabulate::TOOL)
}
