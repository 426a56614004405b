//! Net benefit of acting on an index: by its risk, by a stated threshold, by the single cutoff, on everybody, on nobody.

use rayon::prelude::*;

use super::context::{Context, FrameContext, resistance};
use super::roc::Curve;
use super::select::{Classed, classed};
use super::withhold::{self, Verdict};
use super::{AnalysisError, smoothed, tabulate};
use crate::stats::interval::Interval;
use crate::stats::logistic::logistic;
use crate::stats::net_benefit::{bands, decision_curve, decision_curve_replicates, risk_cutoffs};
use crate::stats::replicate_interval::Centre;
use crate::stats::rule::Rule;
use crate::stats::scale::Scale;
use crate::stats::{Sample, StatError};
use crate::table::Table;

const SAME_PEOPLE: &str = "the risk is fitted and judged on the same people";

/// 0.05 to 0.50.
fn threshold_probabilities() -> Vec<f64> {
    (1..=10).map(|step| f64::from(step) / 20.0).collect()
}

/// A way to decide whom to act on.
struct Strategy {
    name: &'static str,
    /// Act at or beyond these values, in resistance order, one for each threshold probability.
    cutoffs: Result<Vec<f64>, String>,
    stated: &'static str,
    notices: &'static str,
}

/// What a strategy achieves at one threshold probability.
struct Achieved {
    cutoff: Option<f64>,
    value: f64,
    interval: Option<Interval>,
}

/// One index against one outcome in one group.
struct Task {
    pair: (usize, usize),
    group: usize,
    people: Classed,
    verdict: Verdict,
    strategies: Vec<(Strategy, Result<Curved, String>)>,
}

/// What a strategy achieves at every threshold probability, and why it has no intervals.
struct Curved {
    points: Vec<Achieved>,
    lacking: Option<String>,
}

/// Decision curves of every index and outcome, in everybody and the first grouping.
pub fn table(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let drawn = |g: &usize| context.groups[*g].grouping.is_none_or(|grouping| grouping == 0);
    let groups: Vec<usize> = (0..context.groups.len()).filter(drawn).collect();
    let everybody: Vec<&Curve> = curves.iter().filter(|c| c.group == 0).collect();
    let tasks: Vec<(&Curve, usize)> =
        everybody.iter().flat_map(|&curve| groups.iter().map(move |&group| (curve, group))).collect();
    let tasks: Vec<Task> =
        tasks.into_par_iter().map(|(everybody, group)| task(context, everybody, group)).collect();
    let mut table = tabulate::empty("net_benefit");
    for task in &tasks {
        for (strategy, achieved) in &task.strategies {
            rows(context, task, (strategy, achieved), &mut table)?;
        }
    }
    Ok(table)
}

fn task(context: &Context, everybody: &Curve, group: usize) -> Task {
    let pair = (everybody.index, everybody.outcome);
    let people = classed(context, pair, &context.populations[0], &context.groups[group]);
    // As for a cutoff, but whether the area is above one half is what the curve itself shows.
    let sure = Some(Interval { lower: 1.0, upper: 1.0 });
    let verdict = withhold::cutoff(context.study, people.with, people.without, sure);
    let strategies = strategies(context, everybody, &people)
        .into_iter()
        .map(|strategy| {
            let achieved = strategy.cutoffs.clone().and_then(|cutoffs| {
                achieved(context, pair, &people, &cutoffs).map_err(|why| why.to_string())
            });
            (strategy, achieved)
        })
        .collect();
    Task { pair, group, people, verdict, strategies }
}

fn strategies(context: &Context, everybody: &Curve, people: &Classed) -> Vec<Strategy> {
    let study = context.study;
    let steps = threshold_probabilities();
    let always = |value: f64| Ok(vec![value; steps.len()]);
    let tool = |name: &'static str, cutoffs: Result<Vec<f64>, String>| Strategy {
        name,
        cutoffs,
        stated: tabulate::TOOL,
        notices: "",
    };
    let frame = context.frame_of_pair(everybody.index, everybody.outcome);
    let scale = smoothed::scale(context, (everybody.index, frame));
    let risk = risk(&people.sample, &people.class, (scale, &steps)).map_err(|why| why.to_string());
    let mut all = vec![
        tool("treat_all", always(f64::NEG_INFINITY)),
        tool("treat_none", always(f64::INFINITY)),
        Strategy { notices: SAME_PEOPLE, ..tool("risk", risk) },
    ];
    for threshold in study.thresholds.iter().filter(|t| t.index == everybody.index) {
        let at = resistance(threshold.value, &study.indices[threshold.index]);
        // Beyond a strict threshold is at or beyond the next number.
        let at = if threshold.strict { at.next_up() } else { at };
        all.push(Strategy { stated: tabulate::STUDY, ..tool("threshold", always(at)) });
    }
    if let Some(youden) = study.rules.iter().position(|r| matches!(r.rule, Rule::Youden)) {
        let cutoff = everybody.cutoffs.get(youden);
        let cutoff = cutoff.filter(|c| c.verdict.shown(study) && c.value.is_finite());
        let cutoff =
            cutoff.map_or_else(|| Err("everybody's cutoff is withheld".to_owned()), |c| always(c.value));
        all.push(tool("cutoff", cutoff));
    }
    all
}

/// Values at which the weighted logistic risk on a scale is each step.
fn risk(sample: &Sample, class: &[bool], (scale, steps): (Scale, &[f64])) -> Result<Vec<f64>, StatError> {
    sample.check()?;
    let model = logistic(&scale.apply(sample), class)?;
    Ok(risk_cutoffs(&model, steps)?.into_iter().map(|value| scale.back(value)).collect())
}

fn achieved(
    context: &Context,
    pair: (usize, usize),
    people: &Classed,
    cutoffs: &[f64],
) -> Result<Curved, StatError> {
    let steps = threshold_probabilities();
    let sign = context.study.indices[pair.0].sign() as f64;
    let values = decision_curve(&people.sample, &people.class, cutoffs, &steps)?;
    let FrameContext { design, replicates, .. } = &context.frames[context.frame_of_pair(pair.0, pair.1)];
    let all = decision_curve_replicates(&people.sample, &people.class, cutoffs, &steps, replicates)?;
    let df = design.degrees_of_freedom(&people.sample, &|_| true);
    let centre = Centre { full: f64::NAN, df, confidence: context.study.confidence };
    let (intervals, lacking) = match bands(&values, &all, replicates, centre) {
        Ok(intervals) => (intervals, None),
        Err(why) => (vec![None; steps.len()], Some(format!("no interval: {why}"))),
    };
    let one = |((&cutoff, value), interval): ((&f64, f64), Option<Interval>)| Achieved {
        cutoff: Some(cutoff * sign).filter(|c| c.is_finite()),
        value,
        interval,
    };
    let points = cutoffs.iter().zip(values).zip(intervals).map(one).collect();
    Ok(Curved { points, lacking })
}

fn rows(
    context: &Context,
    task: &Task,
    (strategy, achieved): (&Strategy, &Result<Curved, String>),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let study = context.study;
    let mut verdict = task.verdict.clone();
    verdict.withheld.extend(achieved.as_ref().err().cloned());
    let shown = verdict.shown(study);
    let achieved = achieved.as_ref().ok().filter(|_| shown);
    let lacking = achieved.and_then(|all| all.lacking.clone()).unwrap_or_default();
    let notices = [verdict.notices(study), strategy.notices.to_owned(), lacking];
    let notices: Vec<&str> = notices.iter().map(String::as_str).filter(|n| !n.is_empty()).collect();
    for (position, step) in threshold_probabilities().into_iter().enumerate() {
        let one = achieved.and_then(|all| all.points.get(position));
        let interval = one.and_then(|a| a.interval);
        let frame = context.frame_of_pair(task.pair.0, task.pair.1);
        let row = tabulate::lead(table.row(), context, (frame, task.pair.0))
            .text("outcome", &*study.outcomes[task.pair.1].row.name);
        tabulate::of_group(row, &context.populations[0], &context.groups[task.group])
            .whole("n", Some((task.people.with + task.people.without) as i64))
            .whole("n_with", Some(task.people.with as i64))
            .whole("n_without", Some(task.people.without as i64))
            .text("strategy", strategy.name)
            .real("cutoff", one.and_then(|a| a.cutoff))
            .real("threshold_probability", Some(step))
            .real("net_benefit", one.map(|a| a.value))
            .real("lower", interval.map(|i| i.lower))
            .real("upper", interval.map(|i| i.upper))
            .text("interval", interval.map_or("", |_| context.frames[frame].replicates.interval_kind()))
            .text("stated", strategy.stated)
            .text("withheld", verdict.reason(study))
            .text("notices", notices.join("; "))
            .done()?;
    }
    Ok(())
}
