//! One threshold across groups: who is beyond it, where it sits, how well it separates.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::accuracy::{Measure, at_row};
use super::beside::fewer_beside;
use super::context::{Context, resistance};
use super::few_between::{Apart, Tails, place};
use super::no_interval::no_interval;
use super::percentiles::percent;
use super::select::{classed, values};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::Sample;
use crate::stats::interval::Interval;
use crate::stats::proportion::{self, Share};
use crate::study::Threshold;
use crate::table::{RowBuilder, Table, small};

/// Slack on a share that is compared with a target.
pub const SLACK: f64 = 1e-12;

/// First row at or beyond a threshold (beyond it, if strict).
pub fn first_beyond(context: &Context, threshold: &Threshold, sample: &Sample) -> usize {
    let at = resistance(threshold.value, &context.study.indices[threshold.index]);
    sample.value.partition_point(|&v| if threshold.strict { v <= at } else { v < at })
}

/// Weighted share strictly less resistant than the threshold: the percentile at which it sits.
pub fn percentile_of(context: &Context, threshold: &Threshold, sample: &Sample) -> Option<f64> {
    let at = resistance(threshold.value, &context.study.indices[threshold.index]);
    let less = sample.value.partition_point(|&v| v < at);
    let total: f64 = sample.weight.iter().sum();
    (total > 0.0).then(|| sample.weight[..less].iter().sum::<f64>() / total)
}

fn of_threshold<'t>(row: RowBuilder<'t>, context: &Context, threshold: &Threshold) -> RowBuilder<'t> {
    tabulate::lead(row, context, (context.frame_of_index(threshold.index), threshold.index))
        .real("threshold", Some(threshold.value))
}

pub fn strict(threshold: &Threshold) -> &'static str {
    if threshold.strict { "yes" } else { "no" }
}

/// Share beyond each threshold and the percentile it sits at, in every population and group.
pub fn shares(context: &Context) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("threshold_shares");
    let mut curves: BTreeMap<(usize, usize, usize), Apart> = BTreeMap::new();
    for threshold in &context.study.thresholds {
        for population in 0..context.populations.len() {
            for group in 0..context.groups.len() {
                let mut found = beyond(context, threshold, (population, group));
                let limit = context.study.fewest_shown();
                if let Some(limit) = limit.filter(|_| found.share.is_some() && !found.verdict.barred) {
                    let curve = curves.entry((threshold.index, population, group));
                    found.stand(threshold, curve.or_insert_with(|| Apart::by(limit)), limit);
                }
                write_row(context, threshold, (population, group, found), &mut table)?;
            }
        }
    }
    Ok(table)
}

/// The share of a group at or beyond a threshold.
pub struct Beyond {
    /// The people of the group, and the first of them at or beyond.
    pub sample: Sample,
    pub first: usize,
    /// `None` where the group is empty.
    pub share: Option<Share>,
    pub interval: Option<Interval>,
    pub verdict: Verdict,
}

impl Beyond {
    /// Is not printed where few people lie between its threshold and another one of the study; what is withheld already keeps
    /// its reason and its place, as in the grid.
    fn stand(&mut self, threshold: &Threshold, curve: &mut Apart, limit: i64) {
        let people = Tails::of(&[&self.sample]).beyond(|_| self.first);
        let stands = curve.keeps(place(threshold.value, threshold.strict), people);
        if !stands && self.interval.is_some() {
            self.verdict.bar(small::too_near(limit));
            self.interval = None;
        }
    }
}

/// The share of a population's group at or beyond a threshold, and whether it may be printed.
pub fn beyond(context: &Context, threshold: &Threshold, (population, group): (usize, usize)) -> Beyond {
    let frame = &context.frames[context.frame_of_index(threshold.index)];
    let (population, group) = (&context.populations[population], &context.groups[group]);
    let sample = values(&frame.indices[threshold.index], population, group);
    let first = first_beyond(context, threshold, &sample);
    let share = proportion::share(&frame.design, &sample, &|_| true, &|row| row >= first);
    let Ok(share) = share else {
        let verdict = Verdict::none("nobody in the group");
        return Beyond { sample, first, share: None, interval: None, verdict };
    };
    let (interval, verdict) = judged_share(context, &share);
    let interval = interval.filter(|_| verdict.shown(context.study));
    Beyond { sample, first, share: Some(share), interval, verdict }
}

/// The row of one threshold in one population and group.
pub(super) fn share_row(
    context: &Context,
    threshold: &Threshold,
    (population, group): (usize, usize),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let found = beyond(context, threshold, (population, group));
    write_row(context, threshold, (population, group, found), table)
}

fn write_row(
    context: &Context,
    threshold: &Threshold,
    (population, group, found): (usize, usize, Beyond),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let Beyond { sample, share, interval, verdict, .. } = found;
    let row = of_threshold(table.row(), context, threshold).text("strict", strict(threshold));
    let row = tabulate::of_group(row, &context.populations[population], &context.groups[group])
        .text("stated", tabulate::STUDY);
    let Some(share) = share else {
        row.whole("n", Some(0)).text("withheld", "nobody in the group").done()?;
        return Ok(());
    };
    let shown = verdict.shown(context.study);
    row.whole("n", Some(share.people as i64))
        .real("weighted_n", Some(share.weighted_people))
        .real("n_effective", Some(share.n_effective).filter(|n| n.is_finite()))
        .whole("df", Some(share.df as i64))
        .real("share_beyond", shown.then_some(100.0 * share.p))
        .real("lower", interval.map(|i| 100.0 * i.lower))
        .real("upper", interval.map(|i| 100.0 * i.upper))
        .text("interval", "korn_graubard")
        .real("percentile", percentile_of(context, threshold, &sample).filter(|_| shown).map(percent))
        .text("withheld", verdict.reason(context.study))
        .text("notices", verdict.notices(context.study))
        .done()?;
    Ok(())
}

/// The interval of a share and whether it may be printed.
pub fn judged_share(context: &Context, share: &Share) -> (Option<Interval>, Verdict) {
    if let Ok(interval) = share.korn_graubard(context.study.confidence) {
        return (Some(interval), withhold::share(context.study, share, interval));
    }
    let reason = no_interval(context.study, share.people);
    (None, Verdict { withheld: vec![reason], ..Verdict::default() })
}

/// Sensitivity and its relatives of each threshold against every outcome, in every group of the cohort.
pub fn accuracy(context: &Context) -> Result<Table, AnalysisError> {
    let study = context.study;
    let tasks: Vec<(usize, usize, usize)> = (0..study.thresholds.len())
        .flat_map(|t| (0..study.outcomes.len()).map(move |o| (t, o)))
        .flat_map(|(t, o)| (0..context.groups.len()).map(move |g| (t, o, g)))
        .collect();
    let measured: Vec<Vec<Measure>> = tasks
        .par_iter()
        .map(|&(t, outcome, group)| {
            let threshold = &study.thresholds[t];
            let pair = (threshold.index, outcome);
            let people = classed(context, pair, &context.populations[0], &context.groups[group]);
            let first = first_beyond(context, threshold, &people.sample);
            at_row(context, pair, &people, first)
        })
        .collect();
    let mut table = tabulate::empty("threshold_accuracy");
    for (&(t, outcome, group), measures) in tasks.iter().zip(&measured) {
        for measure in measures {
            let threshold = &study.thresholds[t];
            let row = of_threshold(table.row(), context, threshold)
                .text("frame", context.frame_name(context.frame_of_pair(threshold.index, outcome)))
                .text("strict", strict(threshold))
                .text("outcome", &*study.outcomes[outcome].row.name);
            let row = tabulate::of_group(row, &context.populations[0], &context.groups[group]);
            tabulate::of_measure(row, context, measure)
                .text("stated", tabulate::STUDY)
                .text("notices", measure.verdict.notices(study))
                .done()?;
        }
    }
    Ok(table)
}

/// Which share an equivalent threshold holds equal to everybody's.
#[derive(Clone, Copy)]
enum Same {
    Percentile,
    Sensitivity(usize),
    Specificity(usize),
}

/// The observed value that does in each group what the threshold does in everybody.
pub fn equivalents(context: &Context) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("equivalent_thresholds");
    for threshold in &context.study.thresholds {
        let outcomes = 0..context.study.outcomes.len();
        let held = std::iter::once(Same::Percentile)
            .chain(outcomes.flat_map(|o| [Same::Sensitivity(o), Same::Specificity(o)]));
        for same in held {
            equivalent_rows(context, threshold, same, &mut table)?;
        }
    }
    Ok(table)
}

/// The value of each group, everybody first, that lies at the percentile of the threshold in everybody.
pub(super) fn equal_percentiles(context: &Context, threshold: &Threshold) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("equivalent_thresholds");
    equivalent_rows(context, threshold, Same::Percentile, &mut table)?;
    Ok(table)
}

fn equivalent_rows(
    context: &Context,
    threshold: &Threshold,
    same: Same,
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let Some(less) = percentile_of(context, threshold, &judged(context, threshold.index, same, 0)) else {
        return Ok(());
    };
    let sign = context.study.indices[threshold.index].sign() as f64;
    let (name, outcome, target) = match same {
        Same::Percentile => ("percentile", None, less),
        Same::Sensitivity(o) => ("sensitivity", Some(o), 1.0 - less),
        Same::Specificity(o) => ("specificity", Some(o), less),
    };
    for group in 0..context.groups.len() {
        let sample = judged(context, threshold.index, same, group);
        let people = sample.people_counted();
        let found = equivalent(&sample, less);
        let verdict = withhold::percentile(context.study, people, beside(&sample, found), Ok(()));
        let found = found.filter(|_| verdict.shown(context.study));
        let row = of_threshold(table.row(), context, threshold).text("same", name);
        tabulate::of_group(row, &context.populations[0], &context.groups[group])
            .text("outcome", outcome.map_or("", |o| &*context.study.outcomes[o].row.name))
            .whole("n", Some(people as i64))
            .real("target", Some(target))
            .real("equivalent", found.map(|v| v * sign))
            .text("stated", tabulate::TOOL)
            .text("withheld", verdict.reason(context.study))
            .done()?;
    }
    Ok(())
}

/// The people whose share is held equal: everybody of the group, or those with or without an outcome.
fn judged(context: &Context, index: usize, same: Same, group: usize) -> Sample {
    let (cohort, group) = (&context.populations[0], &context.groups[group]);
    let class_only =
        |outcome: usize, class: bool| classed(context, (index, outcome), cohort, group).of_class(class);
    match same {
        Same::Percentile => {
            values(&context.frames[context.frame_of_index(index)].indices[index], cohort, group)
        }
        Same::Sensitivity(outcome) => class_only(outcome, true),
        Same::Specificity(outcome) => class_only(outcome, false),
    }
}

/// The least resistant observed value whose strictly less resistant share reaches `target`.
pub fn equivalent(sample: &Sample, target: f64) -> Option<f64> {
    let total: f64 = sample.weight.iter().sum();
    let mut less = 0.0;
    let mut row = 0;
    while row < sample.value.len() {
        let value = sample.value[row];
        if less / total >= target - SLACK {
            return Some(value);
        }
        while row < sample.value.len() && sample.value[row] == value {
            less += sample.weight[row];
            row += 1;
        }
    }
    None
}

/// The fewer of the people less resistant than an equivalent threshold and those at or beyond it.
pub fn beside(sample: &Sample, equivalent: Option<f64>) -> u64 {
    equivalent.map_or(0, |value| fewer_beside(sample, sample.value.partition_point(|&v| v < value)))
}

/// Least and most resistant observed value between which and a value lies at most a share of the people; the value
/// itself where nobody is as near.
pub fn near(sample: &Sample, at: f64, within: f64) -> (f64, f64) {
    let mut before = vec![0.0];
    before.extend(sample.weight.iter().scan(0.0, |sum, weight| {
        *sum += weight;
        Some(*sum)
    }));
    let total = before[sample.len()];
    let less_than = |value: f64| before[sample.value.partition_point(|&v| v < value)] / total;
    let place = less_than(at);
    let first = sample.value.iter().copied().find(|&v| less_than(v) >= place - within - SLACK);
    let last = sample.value.iter().copied().rfind(|&v| less_than(v) <= place + within + SLACK);
    (first.unwrap_or(at).min(at), last.unwrap_or(at).max(at))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_near_when_few_people_lie_between() {
        let sample = Sample {
            value: vec![1.0, 2.0, 4.0, 8.0, 16.0],
            weight: vec![1.0, 1.0, 3.0, 1.0, 4.0],
            ..Sample::default()
        };
        // Shares below 1, 2, 4, 8, 16: 0, 0.1, 0.2, 0.5, 0.6. From 4, 10 % reach down to 2; 8 is 30 % away.
        assert_eq!(near(&sample, 4.0, 0.1), (2.0, 4.0));
        assert_eq!(near(&sample, 4.0, 0.3), (1.0, 8.0));
        // 5 is nobody's value: half are below it, as below 8.
        assert_eq!(near(&sample, 5.0, 0.0), (5.0, 8.0));
    }

    #[test]
    fn an_equivalent_threshold_in_its_own_group_is_the_threshold() {
        let sample = Sample {
            value: vec![1.0, 1.5, 2.0, 2.0, 3.0],
            weight: vec![1.0, 2.0, 3.0, 1.0, 3.0],
            ..Sample::default()
        };
        // Strictly less resistant than 2: (1 + 2) / 10.
        assert_eq!(equivalent(&sample, 0.3), Some(2.0));
        assert_eq!(equivalent(&sample, 0.0), Some(1.0));
        assert_eq!(equivalent(&sample, 0.71), None);
    }
}
