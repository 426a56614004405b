//! Percentiles and cutoffs within bins of age and BMI: no model, the same people, beside the curves.

use rayon::prelude::*;

use super::beside::fewer_beside_value;
use super::context::Context;
use super::curve_rows::lead;
use super::curves::{People, Smooth, Task};
use super::percentiles::percent;
use super::roc::{logit_interval, oriented};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::Interval;
use crate::stats::quantile::{QuantileRule, WoodruffScale, weighted_quantile, woodruff};
use crate::stats::replicate_interval::Centre;
use crate::stats::rule::{Rule, choose};
use crate::stats::{roc, scan};
use crate::study::StudyCurves;
use crate::table::Table;

/// Bins hold about the same share of the people.
const BINS: usize = 5;

/// People whose age or BMI lies in one bin.
pub struct Bin {
    from: f64,
    below: f64,
    /// Weighted mean of the bin.
    pub x: f64,
    people: People,
}

/// What a bin says of a curve.
pub struct Check {
    measure: &'static str,
    percentile: Option<f64>,
    pub value: Option<f64>,
    pub interval: Option<Interval>,
    kind: &'static str,
    pub verdict: Verdict,
}

/// What every bin says, measure by measure.
pub fn table(context: &Context, smooth: &[Smooth]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("curve_checks");
    let Some(curves) = &context.study.curves else { return Ok(table) };
    let tasks: Vec<(&Task, Bin)> =
        smooth.iter().flat_map(|s| bins(&s.task.people).into_iter().map(|bin| (&s.task, bin))).collect();
    let checked: Vec<Vec<Check>> = tasks
        .par_iter()
        .map(|(task, bin)| match task.outcome {
            None => curves.percentiles.iter().map(|&p| percentile(context, task, bin, p)).collect(),
            Some(_) => vec![cutoff(context, curves, task, bin)],
        })
        .collect();
    for ((task, bin), checks) in tasks.iter().zip(&checked) {
        for check in checks {
            row(context, task, bin, check, &mut table)?;
        }
    }
    Ok(table)
}

/// Fifths of the people by age or BMI; fewer where many share one.
pub fn bins(people: &People) -> Vec<Bin> {
    let at = |p: f64| weighted_quantile(&people.x, &people.sample.weight, p);
    let inside = (1..BINS).map(|k| at(k as f64 / BINS as f64));
    let least = people.x.iter().copied().fold(f64::INFINITY, f64::min);
    let most = people.x.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let Ok(mut edges) = inside.collect::<Result<Vec<f64>, _>>() else { return Vec::new() };
    edges.insert(0, least);
    edges.push(most);
    edges.dedup();
    edges.windows(2).map(|pair| bin(people, (pair[0], pair[1]), pair[1] >= most)).collect()
}

fn bin(people: &People, (from, below): (f64, f64), last: bool) -> Bin {
    let inside = |x: f64| x >= from && (x < below || (last && x <= below));
    let rows: Vec<usize> = (0..people.x.len()).filter(|&row| inside(people.x[row])).collect();
    let sample = people.sample.pick(&rows);
    let total: f64 = sample.weight.iter().sum();
    let x = rows.iter().zip(&sample.weight).map(|(&r, weight)| people.x[r] * weight).sum::<f64>() / total;
    let people = People {
        x: rows.iter().map(|&r| people.x[r]).collect(),
        class: rows.iter().map(|&r| people.class[r]).collect(),
        sample,
    };
    Bin { from, below, x, people }
}

/// The percentile of the people of a bin.
pub fn percentile(context: &Context, task: &Task, bin: &Bin, p: f64) -> Check {
    let design = &context.frames[task.frame].design;
    let sign = context.study.indices[task.index].sign() as f64;
    let confidence = context.study.confidence;
    let found = woodruff(design, &bin.people.sample, p, QuantileRule::Step, WoodruffScale::Logit, confidence);
    let has_interval = match &found {
        Ok(estimate) if estimate.interval.is_none() => Err(estimate.reason.unwrap_or("no interval")),
        Ok(_) => Ok(()),
        Err(_) => Err("nobody in the bin"),
    };
    let beyond = found.as_ref().map_or(0, |found| fewer_beside_value(&bin.people.sample, found.value));
    let verdict = withhold::percentile(context.study, bin.people.count(), beyond, has_interval);
    let found = found.ok();
    Check {
        measure: "percentile",
        percentile: Some(percent(p)),
        value: found.as_ref().map(|estimate| estimate.value * sign),
        interval: found.and_then(|estimate| estimate.interval).map(|interval| oriented(interval, sign)),
        kind: "woodruff_logit",
        verdict,
    }
}

/// The Youden cutoff among the people of the bin, with the central share of its replicates.
fn cutoff(context: &Context, curves: &StudyCurves, task: &Task, bin: &Bin) -> Check {
    let People { sample, class, .. } = &bin.people;
    let sign = context.study.indices[task.index].sign() as f64;
    let confidence = context.study.confidence;
    let with = bin.people.with();
    let frame = &context.frames[task.frame];
    let design = frame.replicates.first(curves.replicates);
    let scan = scan::scan(sample, class, &[Rule::Youden], &design);
    let value_of = |&row: &u32| sample.value.get(row as usize).copied().unwrap_or(f64::NAN);
    let moved: Vec<f64> = scan.rules[0].row.iter().map(value_of).collect();
    let df = bin.people.degrees_of_freedom(&frame.design, task.outcome.is_some());
    let around = |full: f64| Centre { full, df, confidence };
    // The interval that decides whether a cutoff is printed: of these replicates what it is of all replicates for a whole group.
    let area = roc::auc(sample, class)
        .ok()
        .and_then(|auc| logit_interval(&design, &scan.auc, around(auc), &mut Verdict::default()));
    let mut verdict = withhold::cutoff(context.study, with, bin.people.count() - with, area);
    let too_many = verdict.failed(moved.iter().filter(|v| v.is_finite()).count(), moved.len());
    let points = roc::curve(sample, class).unwrap_or_default();
    let chosen = choose(&points, Rule::Youden, roc::prevalence(sample, class)).map(|at| points[at].cutoff);
    if chosen.is_none() && verdict.withheld.is_empty() {
        verdict.cannot("no cutoff satisfies the rule");
    }
    let full = chosen.unwrap_or(f64::NAN);
    let interval = design.interval_of_jumps(&moved, around(full)).ok().filter(|_| !too_many);
    Check {
        measure: "youden_cutoff",
        percentile: None,
        value: chosen.map(|value| value * sign),
        interval: interval.map(|interval| oriented(interval, sign)),
        kind: design.interval_kind(),
        verdict,
    }
}

fn row(
    context: &Context,
    task: &Task,
    bin: &Bin,
    check: &Check,
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let shown = check.verdict.shown(context.study);
    let interval = check.interval.filter(|_| shown);
    lead(table.row(), context, task)
        .text("outcome", task.outcome.map_or("", |o| &*context.study.outcomes[o].row.name))
        .real("from", Some(bin.from))
        .real("below", Some(bin.below))
        .real("x", Some(bin.x))
        .text("measure", check.measure)
        .real("percentile", check.percentile)
        .real("value", check.value.filter(|_| shown))
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .text("interval", check.kind)
        .whole("n", Some(bin.people.count() as i64))
        .whole("n_with", task.outcome.map(|_| bin.people.with() as i64))
        .text("withheld", check.verdict.reason(context.study))
        .text("notices", check.verdict.notices(context.study))
        .done()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::Replicates;
    use crate::stats::replicate::BOOTSTRAP;

    #[test]
    fn a_bin_is_withheld_by_the_interval_that_withholds_a_group() {
        let drawn = |count: usize| Replicates {
            count,
            factors: vec![1.0; count],
            scale: 1.0 / count as f64,
            rscales: vec![1.0; count],
            kind: BOOTSTRAP,
        };
        // Logits 0.3 to either side of that of 0.6; t on 10 degrees of freedom reaches 0.4346. Their central share starts at
        // 0.5299, so that the bin would have been shown.
        let areas = [0.526_341_865_082_029, 0.669_398_341_264_674];
        let centre = Centre { full: 0.6, df: 10.0, confidence: 0.95 };
        let area =
            |areas: &[f64]| logit_interval(&drawn(areas.len()), areas, centre, &mut Verdict::default());
        let found = area(&areas).expect("two replicates");
        assert!((found.lower - 0.434_632_148).abs() < 1e-6 && found.contains(0.5), "{found:?}");
        // One of three replicates without both classes: too many for an interval.
        assert_eq!(area(&[areas[0], areas[1], f64::NAN]), None);
    }
}
