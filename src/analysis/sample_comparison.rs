//! The same cutoff, percentile and area in two samples, side by side.

use std::collections::HashMap;

use rayon::prelude::*;

use super::context::Context;
use super::groups::Group;
use super::roc::{Curve, Cutoff, oriented};
use super::samples::Derived;
use super::smoothed::{self, Smoothed};
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::stats::Interval;
use crate::stats::contrast::{Contrast, Estimate, contrast, ratio};
use crate::stats::interval::two_sided_t;
use crate::table::{Row, RowBuilder, Table};

/// Every pair of samples, the earlier against the later.
pub fn table(samples: &[Derived]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("sample_comparison");
    for (position, first) in samples.iter().enumerate() {
        for second in &samples[position + 1..] {
            let pair = Pair { first, second, percentiles: [first, second].map(|s| percentile_rows(s)) };
            let groups = all_groups(first, second);
            let tasks: Vec<(usize, &Group)> = (0..first.context.study.indices.len())
                .flat_map(|index| groups.iter().map(move |group| (index, *group)))
                .collect();
            let lines: Vec<Vec<Line>> =
                tasks.par_iter().map(|&(index, group)| pair.lines(index, group)).collect();
            for ((index, group), lines) in tasks.iter().zip(&lines) {
                for line in lines {
                    pair.row(table.row(), (*index, group), line)?;
                }
            }
        }
    }
    Ok(table)
}

/// The groups of the first sample, and those that only the second has.
fn all_groups<'a>(first: &'a Derived, second: &'a Derived) -> Vec<&'a Group> {
    let own = &first.context.groups;
    let only_second = second.context.groups.iter().filter(|g| find(&first.context, g).is_none());
    own.iter().chain(only_second).collect()
}

/// The group of the same name in a sample.
pub fn find(context: &Context, wanted: &Group) -> Option<usize> {
    let same = |g: &Group| g.grouping_name == wanted.grouping_name && g.name == wanted.name;
    context.groups.iter().position(same)
}

/// The curve of an index, outcome and group, with its smoothed cutoff.
pub fn curve_of<'a>(
    sample: &'a Derived,
    (index, outcome): (usize, usize),
    group: usize,
) -> (&'a Curve, &'a Smoothed) {
    let (outcomes, groups) = (sample.context.study.outcomes.len(), sample.context.groups.len());
    let position = (index * outcomes + outcome) * groups + group;
    (&sample.curves[position], &sample.smoothed[position])
}

/// Rows of a sample's percentiles by index, population, grouping, group and percentile.
type PercentileRows<'a> = HashMap<(&'a str, &'a str, &'a str, &'a str, u64), Row<'a>>;

fn percentile_rows<'a>(sample: &'a Derived) -> PercentileRows<'a> {
    let table = sample.results.tables.iter().find(|table| table.name == "percentiles");
    let key = |row: &Row<'a>| {
        let percentile = row.real("percentile").unwrap_or_default().to_bits();
        (row.text("index"), row.text("population"), row.text("grouping"), row.text("group"), percentile)
    };
    table.into_iter().flat_map(Table::iter).map(|row| (key(&row), row)).collect()
}

struct Pair<'a> {
    first: &'a Derived<'a>,
    second: &'a Derived<'a>,
    percentiles: [PercentileRows<'a>; 2],
}

/// What is compared.
struct Line {
    measure: &'static str,
    outcome: Option<usize>,
    population: usize,
    rule: String,
    percentile: Option<f64>,
    sides: [Side; 2],
}

/// An estimate in one sample.
#[derive(Default)]
struct Side {
    people: u64,
    value: Option<f64>,
    interval: Option<Interval>,
    standard_error: f64,
    /// Standard error of the logarithm, where all values are positive.
    log_error: Option<f64>,
    df: f64,
    withheld: Vec<String>,
}

impl Pair<'_> {
    fn lines(&self, index: usize, group: &Group) -> Vec<Line> {
        let study = self.first.context.study;
        let mut lines = Vec::new();
        for outcome in 0..study.outcomes.len() {
            let line = |measure, rule: &str, sides| Line {
                measure,
                outcome: Some(outcome),
                population: 0,
                rule: rule.to_owned(),
                percentile: None,
                sides,
            };
            let curves = |of: &dyn Fn(&Context, &Curve, &Smoothed) -> Side| {
                self.sides(group, |sample, position| {
                    let (curve, smoothed) = curve_of(sample, (index, outcome), position);
                    of(&sample.context, curve, smoothed)
                })
            };
            for (position, rule) in study.rules.iter().enumerate() {
                let sides = curves(&|context, curve, _| of_cutoff(context, curve, &curve.cutoffs[position]));
                lines.push(line("cutoff", &rule.name, sides));
            }
            lines.push(line("smoothed_cutoff", smoothed::METHOD, curves(&of_smoothed)));
            lines.push(line("auc", "", curves(&of_auc)));
        }
        lines.extend(self.percentile_lines(index, group));
        lines
    }

    fn percentile_lines(&self, index: usize, group: &Group) -> Vec<Line> {
        let (study, populations) = (self.first.context.study, &self.first.context.populations);
        let name = study.indices[index].row.name.as_str();
        let wanted = (0..populations.len()).flat_map(|p| study.percentiles.iter().map(move |q| (p, *q)));
        wanted
            .map(|(population, share)| {
                let percentile = super::percentiles::percent(share);
                let key = (
                    name,
                    &*populations[population].name,
                    &*group.grouping_name,
                    &*group.name,
                    percentile.to_bits(),
                );
                let side = |rows: &PercentileRows| match rows.get(&key) {
                    Some(row) => of_percentile(row, study.confidence),
                    None => nobody(),
                };
                Line {
                    measure: "percentile",
                    outcome: None,
                    population,
                    rule: String::new(),
                    percentile: Some(percentile),
                    sides: [side(&self.percentiles[0]), side(&self.percentiles[1])],
                }
            })
            .collect()
    }

    fn sides(&self, group: &Group, of: impl Fn(&Derived, usize) -> Side) -> [Side; 2] {
        [self.first, self.second]
            .map(|sample| find(&sample.context, group).map_or_else(nobody, |position| of(sample, position)))
    }

    fn row(
        &self,
        row: RowBuilder,
        (index, group): (usize, &Group),
        line: &Line,
    ) -> Result<(), AnalysisError> {
        let context = &self.first.context;
        let study = context.study;
        let frame = line.outcome.map_or(context.frame_of_index(index), |o| context.frame_of_pair(index, o));
        let [a, b] = &line.sides;
        let mut verdict = Verdict::default();
        for (sample, side) in [(self.first, a), (self.second, b)] {
            if !side.withheld.is_empty() {
                verdict.cannot(format!("{}: {}", sample.label(), side.withheld.join(", ")));
            }
        }
        let gap = Gap::new(a, b, line.measure != "auc", study.confidence);
        let gap = gap.filter(|_| verdict.shown(study));
        if gap.is_none() && verdict.withheld.is_empty() {
            verdict.cannot("no standard error");
        }
        let row = tabulate::lead(row, context, (frame, index))
            .text("compared_with", self.second.label())
            .text("outcome", line.outcome.map_or("", |o| &*study.outcomes[o].row.name));
        let row = tabulate::of_group(row, &context.populations[line.population], group)
            .text("measure", line.measure)
            .text("rule", &*line.rule)
            .real("percentile", line.percentile)
            .whole("n", Some(a.people as i64))
            .whole("n_other", Some(b.people as i64));
        let row = side_columns(row, a, ["value", "value_lower", "value_upper", "standard_error"])
            .text("value_interval", kind_of(line.measure, context, frame));
        let row = side_columns(row, b, ["other", "other_lower", "other_upper", "other_standard_error"]);
        gap_columns(row, gap.as_ref())
            .text("stated", tabulate::TOOL)
            .text("withheld", verdict.withheld.join("; "))
            .done()?;
        Ok(())
    }
}

/// The kind of interval that the table of a measure has.
fn kind_of(measure: &str, context: &Context, frame: usize) -> &'static str {
    match measure {
        "percentile" => "woodruff_logit",
        "auc" => context.area_interval(frame),
        _ => context.frames[frame].replicates.interval_kind(),
    }
}

fn side_columns<'t>(row: RowBuilder<'t>, side: &Side, names: [&str; 4]) -> RowBuilder<'t> {
    let shown = side.value.is_some();
    row.real(names[0], side.value)
        .real(names[1], side.interval.map(|i| i.lower))
        .real(names[2], side.interval.map(|i| i.upper))
        .real(names[3], Some(side.standard_error).filter(|e| shown && e.is_finite()))
}

fn gap_columns<'t>(row: RowBuilder<'t>, gap: Option<&Gap>) -> RowBuilder<'t> {
    let ratio = gap.and_then(|g| g.ratio);
    row.real("difference", gap.map(|g| g.raw.difference))
        .real("lower", gap.map(|g| g.raw.interval.lower))
        .real("upper", gap.map(|g| g.raw.interval.upper))
        .text("interval", "independent_samples_t")
        .real("difference_standard_error", gap.map(|g| g.raw.standard_error))
        .real("ratio", ratio.map(|r| r.0))
        .real("ratio_lower", ratio.map(|r| r.1.lower))
        .real("ratio_upper", ratio.map(|r| r.1.upper))
        .text("scale", gap.map_or("", |g| if g.on_log { "logarithm" } else { "raw" }))
        .real("df", gap.map(|g| g.test.df))
        .real("p", gap.map(|g| g.test.p))
}

/// How far the second estimate is from the first.
struct Gap {
    raw: Contrast,
    ratio: Option<(f64, Interval)>,
    test: Contrast,
    on_log: bool,
}

impl Gap {
    /// `None` where a side has no value or no standard error.
    fn new(a: &Side, b: &Side, log: bool, confidence: f64) -> Option<Self> {
        let raw = contrast(a.plain()?, b.plain()?, confidence).ok()?;
        let logs = a.log().zip(b.log()).and_then(|(a, b)| contrast(a, b, confidence).ok());
        let ratio = logs.and_then(|logs| ratio(&logs, confidence).ok());
        let test = logs.filter(|_| log);
        Some(Self { raw, ratio, test: test.unwrap_or(raw), on_log: test.is_some() })
    }
}

impl Side {
    /// Too many failed replicates, or such as say nothing of cutoffs, give neither an interval nor a standard error.
    fn judged(self) -> Self {
        if self.interval.is_some() {
            self
        } else {
            Self { standard_error: f64::NAN, log_error: None, ..self }
        }
    }

    fn plain(&self) -> Option<Estimate> {
        Some(Estimate { value: self.value?, standard_error: self.standard_error, df: self.df })
    }

    fn log(&self) -> Option<Estimate> {
        let value = self.value.filter(|v| *v > 0.0)?;
        Some(Estimate { value: value.ln(), standard_error: self.log_error?, df: self.df })
    }
}

fn nobody() -> Side {
    Side { withheld: vec!["nobody in the group".to_owned()], ..Side::default() }
}

fn of_cutoff(context: &Context, curve: &Curve, cutoff: &Cutoff) -> Side {
    let value = Some(cutoff.value).filter(|v| v.is_finite());
    replicated(context, curve, (value, cutoff.interval), (&cutoff.replicates, &cutoff.verdict))
}

fn of_smoothed(context: &Context, curve: &Curve, cutoff: &Smoothed) -> Side {
    replicated(context, curve, (cutoff.value, cutoff.interval), (&cutoff.replicates, &cutoff.verdict))
}

/// A cutoff, in resistance order, whose uncertainty is that of its replicates.
fn replicated(
    context: &Context,
    curve: &Curve,
    (value, interval): (Option<f64>, Option<Interval>),
    (replicates, verdict): (&[f64], &Verdict),
) -> Side {
    let sign = context.study.indices[curve.index].sign() as f64;
    let mut side = Side { people: curve.with + curve.without, df: curve.df, ..Side::default() };
    side.withheld.extend(verdict.withheld.iter().filter(|_| !verdict.shown(context.study)).cloned());
    let Some(value) = value.filter(|_| side.withheld.is_empty()).map(|v| v * sign) else {
        return side;
    };
    let frame = &context.frames[context.frame_of_pair(curve.index, curve.outcome)];
    let own: Vec<f64> = replicates.iter().map(|v| v * sign).collect();
    side.value = Some(value);
    side.interval = interval.map(|i| oriented(i, sign));
    side.standard_error = frame.replicates.variance(value, &own).variance.sqrt();
    if value > 0.0 && own.iter().all(|v| v.is_nan() || *v > 0.0) {
        let logs: Vec<f64> = own.iter().map(|v| v.ln()).collect();
        side.log_error = Some(frame.replicates.variance(value.ln(), &logs).variance.sqrt());
    }
    side.judged()
}

fn of_auc(context: &Context, curve: &Curve, _: &Smoothed) -> Side {
    let mut side = Side { people: curve.with + curve.without, df: curve.df, ..Side::default() };
    let verdict = &curve.auc_verdict;
    side.withheld.extend(verdict.withheld.iter().filter(|_| !verdict.shown(context.study)).cloned());
    if let Some(auc) = curve.auc.as_ref().filter(|_| side.withheld.is_empty()) {
        side.value = Some(auc.value);
        side.interval = auc.interval;
        side.standard_error = auc.standard_error.unwrap_or(f64::NAN);
        side.log_error = Some(side.standard_error / auc.value);
    }
    side.judged()
}

/// A percentile as its table has it; on the logarithm its interval, mapped, has width 2 t SE.
fn of_percentile(row: &Row<'_>, confidence: f64) -> Side {
    let mut side = Side {
        people: row.whole("n").unwrap_or(0) as u64,
        value: row.real("value"),
        interval: row.real("lower").zip(row.real("upper")).map(|(lower, upper)| Interval { lower, upper }),
        standard_error: row.real("standard_error").unwrap_or(f64::NAN),
        log_error: None,
        df: row.real("df").unwrap_or(0.0),
        withheld: Vec::new(),
    };
    if !row.text("withheld").is_empty() {
        side.withheld.push(row.text("withheld").to_owned());
    }
    if let (Some(interval), Ok(t)) =
        (side.interval.filter(|i| i.lower > 0.0), two_sided_t(side.df, confidence))
    {
        side.log_error = Some((interval.upper.ln() - interval.lower.ln()) / (2.0 * t));
    }
    side
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_interval_of_its_own_is_not_compared() {
        let side = |value: f64, interval: Option<Interval>| {
            let own = Side {
                value: Some(value),
                standard_error: 0.2,
                log_error: Some(0.1),
                df: 15.0,
                ..Side::default()
            };
            Side { interval, ..own }.judged()
        };
        let interval = Some(Interval { lower: 1.6, upper: 2.4 });
        let gap = Gap::new(&side(2.0, interval), &side(3.0, interval), true, 0.95).expect("both known");
        // √(0.2² + 0.2²)
        assert!((gap.raw.standard_error - 0.08_f64.sqrt()).abs() < 1e-12 && gap.ratio.is_some());
        let failed = side(3.0, None);
        assert!(failed.standard_error.is_nan() && failed.log_error.is_none());
        for (a, b) in [(side(2.0, interval), side(3.0, None)), (side(2.0, None), side(3.0, interval))] {
            assert!(
                Gap::new(&a, &b, true, 0.95).is_none(),
                "more than a fifth of one side's replicates failed"
            );
        }
    }
}
