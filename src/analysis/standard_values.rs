//! Percentiles and shares beyond thresholds of groups compared on equal terms.

use rayon::prelude::*;

use super::beside::fewer_beside;
use super::context::{Context, FrameContext, resistance};
use super::no_interval::no_interval;
use super::roc::oriented;
use super::standard_cells::{Adjustment, Comparison, Member, Task, compare};
use super::standardized::{adjusted, notices, of_comparison};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::interval::{Interval, logit, t_on_logit};
use crate::stats::proportion::Share;
use crate::stats::quantile::weighted_quantile;
use crate::stats::unit_sums::UnitSums;
use crate::stats::{Replicates, Sample};
use crate::study::Threshold;
use crate::table::Table;

/// The percentiles that are adjusted: where cutoffs are usually taken from a healthy group.
const PERCENTILES: [f64; 2] = [0.75, 0.90];

/// Values of one group under one adjustment.
struct Value {
    /// Of percentile `p`, or beyond a threshold.
    what: What,
    estimate: Option<f64>,
    interval: Option<Interval>,
    kind: &'static str,
    used: usize,
    verdict: Verdict,
}

/// Degrees of freedom and values of one group, adjustment by adjustment.
type OfMember = Vec<(f64, Vec<Value>)>;

#[derive(Clone, Copy)]
enum What {
    Percentile(f64),
    Beyond(usize),
}

/// A weighted sample with its replicates, and the degrees of freedom of its people.
struct Weighted<'a> {
    sample: &'a Sample,
    replicates: &'a Replicates,
    df: f64,
}

/// A row for every index, group, adjustment, and percentile or threshold.
pub fn table(context: &Context) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("standardised_values");
    let Some(standardisation) = &context.study.standardisation else { return Ok(table) };
    let tasks: Vec<Task> = (0..context.study.indices.len())
        .flat_map(|index| {
            standardisation.of.iter().map(move |&grouping| Task { index, outcome: None, grouping })
        })
        .collect();
    let found: Vec<(Comparison, Vec<OfMember>)> = tasks
        .par_iter()
        .map(|&task| {
            let comparison = compare(context, standardisation, task);
            let of = |member: &Member| {
                let one = |adjustment| values(context, (task, &comparison), member, adjustment);
                comparison.adjustments.iter().map(one).collect()
            };
            let values = comparison.members.par_iter().map(of).collect();
            (comparison, values)
        })
        .collect();
    for (&task, (comparison, members)) in tasks.iter().zip(&found) {
        for (member, by_adjustment) in comparison.members.iter().zip(members) {
            for (adjustment, (df, values)) in comparison.adjustments.iter().zip(by_adjustment) {
                for value in values {
                    let whom = (task, comparison, member);
                    write(&mut table, context, whom, (adjustment, *df, value))?;
                }
            }
        }
    }
    Ok(table)
}

fn values(
    context: &Context,
    (task, comparison): (Task, &Comparison),
    member: &Member,
    adjustment: &Adjustment,
) -> (f64, Vec<Value>) {
    let frame: &FrameContext = &context.frames[task.frame(context)];
    let df = frame.design.degrees_of_freedom(&member.people.sample, &|_| true);
    let thresholds = context.study.thresholds.iter().enumerate().filter(|(_, t)| t.index == task.index);
    let wanted: Vec<What> = PERCENTILES
        .into_iter()
        .map(What::Percentile)
        .chain(thresholds.map(|(position, _)| What::Beyond(position)))
        .collect();
    let standard = adjusted(frame, member, adjustment);
    let one = |&what: &What| {
        let mut value = match &standard {
            Ok(None) => {
                let of = Weighted { sample: &member.people.sample, replicates: &frame.replicates, df };
                of.value(context, what)
            }
            Ok(Some(s)) => Weighted { sample: &s.sample, replicates: &s.replicates, df }.value(context, what),
            Err(why) => nothing(what, &why.to_string()),
        };
        value.verdict.withheld.extend(comparison.refused.clone());
        value
    };
    (df, wanted.iter().map(one).collect())
}

fn nothing(what: What, why: &str) -> Value {
    Value { what, estimate: None, interval: None, kind: "", used: 0, verdict: Verdict::none(why) }
}

/// Share of the rows from `first` on in a sample and in each replicate.
pub fn share_from(sample: &Sample, replicates: &Replicates, first: usize) -> (f64, Vec<f64>) {
    let total: f64 = sample.weight.iter().sum();
    let share = sample.weight[first..].iter().sum::<f64>() / total;
    let units = sample.units();
    let mut sums = UnitSums::new(2, units);
    for (row, &unit) in sample.unit.iter().enumerate() {
        sums.add(0, unit, sample.weight[row]);
        if row >= first {
            sums.add(1, unit, sample.weight[row]);
        }
    }
    let totals = sums.replicate_totals(replicates);
    (share, totals[1].iter().zip(&totals[0]).map(|(part, all)| part / all).collect())
}

impl Weighted<'_> {
    fn value(&self, context: &Context, what: What) -> Value {
        if self.sample.is_empty() {
            return nothing(what, "nobody in the group");
        }
        match what {
            What::Percentile(p) => self.percentile(context, p),
            What::Beyond(position) => self.beyond(context, position, &context.study.thresholds[position]),
        }
    }

    fn people(&self) -> u64 {
        self.sample.people_counted()
    }

    /// Woodruff's interval with the variance of the replicates: the share below, on the logit, mapped back.
    fn percentile(&self, context: &Context, p: f64) -> Value {
        let study = context.study;
        let Ok(value) = weighted_quantile(&self.sample.value, &self.sample.weight, p) else {
            return nothing(What::Percentile(p), "no percentile");
        };
        let after = self.sample.value.partition_point(|&v| v <= value);
        let (beyond, replicates) = share_from(self.sample, self.replicates, after);
        let (at, below) = (1.0 - beyond, replicates.iter().map(|b| logit(1.0 - b)));
        let logits: Vec<f64> = below.map(|l| if l.is_finite() { l } else { f64::NAN }).collect();
        let spread = self.replicates.variance(logit(at), &logits);
        let back = |share: f64| weighted_quantile(&self.sample.value, &self.sample.weight, share).ok();
        let interval = t_on_logit(at, spread.variance.sqrt(), self.df, study.confidence)
            .ok()
            .filter(|i| i.width() > 0.0)
            .and_then(|i| Some(Interval { lower: back(i.lower)?, upper: back(i.upper)? }));
        let has_interval = interval.map(|_| ()).ok_or("no interval");
        let nearer = fewer_beside(self.sample, after);
        let mut verdict = withhold::percentile(study, self.people(), nearer, has_interval);
        let too_many = verdict.failed(spread.used, self.replicates.count);
        verdict.few_df(self.df);
        Value {
            what: What::Percentile(p),
            estimate: Some(value),
            interval: interval.filter(|_| !too_many),
            kind: "woodruff_replicates_logit",
            used: spread.used,
            verdict,
        }
    }

    /// Korn and Graubard's interval with the variance of the replicates.
    fn beyond(&self, context: &Context, position: usize, threshold: &Threshold) -> Value {
        let study = context.study;
        let at = resistance(threshold.value, &study.indices[threshold.index]);
        let values = &self.sample.value;
        let first = values.partition_point(|&v| if threshold.strict { v <= at } else { v < at });
        let (p, replicates) = share_from(self.sample, self.replicates, first);
        let spread = self.replicates.variance(p, &replicates);
        let (people, binomial) = (self.people(), p * (1.0 - p));
        let effective = if spread.variance > 0.0 && binomial > 0.0 {
            (binomial / spread.variance).min(people as f64)
        } else {
            people as f64
        };
        let share = Share {
            p,
            variance: spread.variance,
            people,
            events: self.sample.people[first..].iter().map(|&n| u64::from(n)).sum(),
            weighted_people: self.sample.weight.iter().sum(),
            n_effective: effective,
            df: self.df,
        };
        let what = What::Beyond(position);
        let Ok(interval) = share.korn_graubard(study.confidence) else {
            return nothing(what, &no_interval(study, people));
        };
        let mut verdict = withhold::share(study, &share, interval);
        let too_many = verdict.failed(spread.used, self.replicates.count);
        Value {
            what,
            estimate: Some(p),
            interval: (!too_many).then_some(interval),
            kind: "korn_graubard_replicates",
            used: spread.used,
            verdict,
        }
    }
}

fn write(
    table: &mut Table,
    context: &Context,
    (task, comparison, member): (Task, &Comparison, &Member),
    (adjustment, df, value): (&Adjustment, f64, &Value),
) -> Result<(), AnalysisError> {
    let study = context.study;
    let shown = value.verdict.shown(study);
    let row = of_comparison(table.row(), context, (task, comparison), adjustment);
    let row = tabulate::of_group(row, &context.populations[0], &context.groups[member.group]);
    let (row, number, interval) = match value.what {
        What::Percentile(p) => {
            let sign = study.indices[task.index].sign() as f64;
            let row = row.text("measure", "percentile").real("percentile", Some(100.0 * p));
            (row, value.estimate.map(|v| v * sign), value.interval.map(|i| oriented(i, sign)))
        }
        What::Beyond(position) => {
            let threshold = &study.thresholds[position];
            let row = row
                .text("measure", "share_beyond")
                .real("threshold", Some(threshold.value))
                .text("strict", if threshold.strict { "yes" } else { "no" });
            let percent = |i: Interval| Interval { lower: 100.0 * i.lower, upper: 100.0 * i.upper };
            (row, value.estimate.map(|v| 100.0 * v), value.interval.map(percent))
        }
    };
    let interval = interval.filter(|_| shown);
    row.whole("n", Some((member.people.with + member.people.without) as i64))
        .whole("df", Some(df as i64))
        .real("value", number.filter(|_| shown))
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .text("interval", value.kind)
        .whole("replicates", Some(value.used as i64))
        .text("withheld", value.verdict.reason(study))
        .text("notices", notices(adjustment, &value.verdict.notices(study)))
        .done()?;
    Ok(())
}
