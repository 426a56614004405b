//! The LMS method's parameters as table rows, and how far its percentiles lie from those of other methods.

use super::beside::expected_beyond;
use super::context::Context;
use super::curve_checks::{self, Check};
use super::curve_rows::{LMS, QUANTILE_REGRESSION, lead};
use super::curves::{ByLms, Fitted, Smooth};
use super::percentiles::percent;
use super::remark::Remark;
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::Interval;
use crate::stats::percentile_curve::PercentileCurves;
use crate::study::LmsPower;
use crate::table::Table;

/// How far, in points of a hundred people, the share below an LMS curve may be from its percentile unremarked.
const FAR: f64 = 2.0;

/// Power, median and spread place by place; withheld where a mean would be: they rest on all people.
pub fn parameters(context: &Context, all: &[Smooth]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("lms_parameters");
    let power = context.study.curves.as_ref().and_then(|curves| curves.lms);
    for (smooth, lms) in fitted(all) {
        let verdict = withhold::mean(context.study, smooth.task.people.count(), Ok(()));
        let shown = verdict.shown(context.study);
        for (&x, at) in lms.curves.grid.iter().zip(&lms.parameters) {
            lead(table.row(), context, &smooth.task)
                .real("x", Some(x))
                .real("l", shown.then_some(at.l()))
                .real("m", shown.then_some(at.m()))
                .real("s", shown.then_some(at.s()))
                .text("power", power.map_or("", LmsPower::name))
                .text("knots", smooth.knots_text())
                .whole("n", Some(smooth.task.people.count() as i64))
                .text("method", LMS)
                .text("withheld", verdict.reason(context.study))
                .text("notices", verdict.notices(context.study))
                .done()?;
        }
    }
    Ok(table)
}

fn fitted<'s, 'a>(all: &'s [Smooth<'a>]) -> impl Iterator<Item = (&'s Smooth<'a>, &'s ByLms)> {
    all.iter().filter_map(|smooth| Some((smooth, smooth.lms.as_ref()?.as_ref().ok()?)))
}

/// Two numbers at one place, the second with its interval.
struct Pair {
    x: f64,
    value: f64,
    other: f64,
    interval: Option<Interval>,
}

/// The LMS curves against those of quantile regression and against the bins, and quantile regression against the
/// bins.
pub fn comparisons(context: &Context, all: &[Smooth]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("curve_comparisons");
    for (smooth, lms) in fitted(all) {
        let Ok(Fitted::Percentiles(regression)) = &smooth.fitted else { continue };
        for k in 0..lms.curves.probabilities.len() {
            let below = 100.0 * lms.shares_below[k];
            let mut compare = |method, other, pairs: &[Pair]| {
                let below = Some(below).filter(|_| method == LMS);
                let compared =
                    CurvesCompared { smooth, p: lms.curves.probabilities[k], method, other, below };
                compared.row(context, pairs, &mut table)
            };
            compare(LMS, QUANTILE_REGRESSION, &between(&lms.curves, regression, k))?;
            let bins = bins(context, smooth, lms.curves.probabilities[k]);
            compare(LMS, "bins", &beside(&lms.curves, &bins, k))?;
            compare(QUANTILE_REGRESSION, "bins", &beside(regression, &bins, k))?;
        }
    }
    Ok(table)
}

fn between(curves: &PercentileCurves, others: &PercentileCurves, k: usize) -> Vec<Pair> {
    let place = |(g, &x): (usize, &f64)| Pair {
        x,
        value: curves.value[k][g],
        other: others.value[k][g],
        interval: others.interval[k][g],
    };
    curves.grid.iter().enumerate().map(place).collect()
}

/// The printed percentiles of the bins, each at its bin's mean.
fn bins(context: &Context, smooth: &Smooth, p: f64) -> Vec<(f64, Check)> {
    let bins = curve_checks::bins(&smooth.task.people);
    let checks = bins.iter().map(|bin| (bin.x, curve_checks::percentile(context, &smooth.task, bin, p)));
    checks.filter(|(_, check)| check.verdict.shown(context.study)).collect()
}

fn beside(curves: &PercentileCurves, bins: &[(f64, Check)], k: usize) -> Vec<Pair> {
    let pair = |(x, check): &(f64, Check)| {
        let value = interpolated(&curves.grid, &curves.value[k], *x)?;
        Some(Pair { x: *x, value, other: check.value?, interval: check.interval })
    };
    bins.iter().filter_map(pair).collect()
}

/// A curve between two places of its grid; none outside.
fn interpolated(grid: &[f64], value: &[f64], x: f64) -> Option<f64> {
    let next = grid.iter().position(|place| *place >= x)?;
    if next == 0 {
        return (grid[0] <= x).then_some(value[0]);
    }
    let share = (x - grid[next - 1]) / (grid[next] - grid[next - 1]);
    Some(value[next - 1] + share * (value[next] - value[next - 1]))
}

/// One row of the comparison.
struct CurvesCompared<'s, 'a> {
    smooth: &'s Smooth<'a>,
    p: f64,
    method: &'static str,
    other: &'static str,
    below: Option<f64>,
}

impl CurvesCompared<'_, '_> {
    fn row(&self, context: &Context, pairs: &[Pair], table: &mut Table) -> Result<(), AnalysisError> {
        let study = context.study;
        let people = self.smooth.task.people.count();
        let mut verdict = withhold::percentile(study, people, expected_beyond(people, self.p), Ok(()));
        self.remark(&mut verdict);
        let shown = verdict.shown(study);
        let away = |pair: &Pair| 100.0 * (pair.value / pair.other - 1.0);
        let largest = pairs.iter().max_by(|a, b| away(a).abs().total_cmp(&away(b).abs()));
        let mean = pairs.iter().map(away).sum::<f64>() / pairs.len() as f64;
        let within = |pair: &&Pair| pair.interval.is_some_and(|interval| interval.contains(pair.value));
        lead(table.row(), context, &self.smooth.task)
            .real("percentile", Some(percent(self.p)))
            .text("method", self.method)
            .text("compared_with", self.other)
            .whole("places", Some(pairs.len() as i64))
            .real("mean_difference", Some(mean).filter(|_| shown && !pairs.is_empty()))
            .real("largest_difference", largest.map(away).filter(|_| shown))
            .real("at", largest.map(|pair| pair.x).filter(|_| shown))
            .whole("within", Some(pairs.iter().filter(within).count() as i64).filter(|_| shown))
            .real("share_below", self.below.filter(|_| shown))
            .text("withheld", verdict.reason(study))
            .text("notices", verdict.notices(study))
            .done()?;
        Ok(())
    }

    fn remark(&self, verdict: &mut Verdict) {
        if let Some(below) = self.below.filter(|below| (below - percent(self.p)).abs() > FAR) {
            let words = |percent: String| {
                format!("{percent} % of the people are below this curve: the method fits loosely here")
            };
            verdict
                .remarks
                .push(Remark::numbered(words(format!("{below:.1}")), words(format!("{below:.0}"))));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_is_read_between_its_places_and_not_beyond() {
        let (grid, value) = ([20.0, 21.0, 22.0], [1.0, 3.0, 4.0]);
        let at = |x| interpolated(&grid, &value, x);
        assert_eq!([at(20.0), at(20.25), at(21.0), at(22.0)], [Some(1.0), Some(1.5), Some(3.0), Some(4.0)]);
        assert_eq!([at(19.9), at(22.1)], [None, None]);
    }
}
