//! How far a group's cutoff lies from everybody's, replicate by replicate.

use rayon::prelude::*;

use super::context::Context;
use super::roc::{Curve, Cutoff};
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::stats::Interval;
use crate::stats::replicate_interval::Centre;
use crate::table::Table;

/// Ratio and difference of every group's cutoff to everybody's, by the same rule.
pub fn table(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("cutoff_differences");
    let pairs: Vec<(&Curve, &Curve)> = pairs(curves).collect();
    let gaps: Vec<Vec<Gap>> = pairs
        .par_iter()
        .map(|(curve, overall)| {
            let cutoffs = curve.cutoffs.iter().zip(&overall.cutoffs);
            cutoffs.map(|pair| Gap::new(context, (curve, curve.df.min(overall.df)), pair)).collect()
        })
        .collect();
    for ((curve, overall), gaps) in pairs.into_iter().zip(&gaps) {
        for (rule, gap) in context.study.rules.iter().zip(gaps) {
            let frame = context.frame_of_pair(curve.index, curve.outcome);
            let row = tabulate::lead(table.row(), context, (frame, curve.index))
                .text("outcome", &*context.study.outcomes[curve.outcome].row.name)
                .text("rule", &*rule.name);
            tabulate::of_group(row, &context.populations[0], &context.groups[curve.group])
                .real("cutoff", gap.cutoff)
                .real("overall", gap.overall)
                .real("ratio", gap.ratio)
                .real("ratio_lower", gap.ratio_interval.map(|i| i.lower))
                .real("ratio_upper", gap.ratio_interval.map(|i| i.upper))
                .real("difference", gap.difference)
                .real("lower", gap.interval.map(|i| i.lower))
                .real("upper", gap.interval.map(|i| i.upper))
                .text("interval", context.frames[frame].replicates.interval_kind())
                .whole("df", Some(curve.df.min(overall.df) as i64))
                .whole("replicates", Some(gap.used as i64))
                .text("stated", tabulate::TOOL)
                .text("withheld", gap.verdict.reason(context.study))
                .done()?;
        }
    }
    Ok(table)
}

/// How many comparisons of the table were made: a withheld one was not.
#[must_use]
pub fn made(table: &Table) -> usize {
    table.iter().filter(|row| row.shown("difference").is_some()).count()
}

/// Every curve of a group with the curve of everybody for the same index and outcome.
pub fn pairs(curves: &[Curve]) -> impl Iterator<Item = (&Curve, &Curve)> {
    curves.iter().filter(|c| c.group > 0).filter_map(|curve| {
        let same = |c: &&Curve| c.group == 0 && c.index == curve.index && c.outcome == curve.outcome;
        curves.iter().find(same).map(|overall| (curve, overall))
    })
}

/// Reasons against a group's cutoff and against everybody's, each said to be whose.
pub fn both(own: &Verdict, everybody: &Verdict) -> Verdict {
    let whose = everybody.withheld.iter().map(|why| format!("everybody's cutoff: {why}"));
    Verdict {
        withheld: own.withheld.iter().cloned().chain(whose).collect(),
        remarks: Vec::new(),
        barred: own.barred || everybody.barred,
    }
}

#[derive(Default)]
struct Gap {
    cutoff: Option<f64>,
    overall: Option<f64>,
    ratio: Option<f64>,
    ratio_interval: Option<Interval>,
    difference: Option<f64>,
    interval: Option<Interval>,
    used: usize,
    verdict: Verdict,
}

impl Gap {
    fn new(context: &Context, (curve, df): (&Curve, f64), (own, all): (&Cutoff, &Cutoff)) -> Self {
        let study = context.study;
        let sign = study.indices[curve.index].sign() as f64;
        let mut gap = Self { verdict: both(&own.verdict, &all.verdict), ..Self::default() };
        let paired = own.replicates.iter().zip(&all.replicates);
        let replicates: Vec<(f64, f64)> = paired.map(|(a, b)| (a * sign, b * sign)).collect();
        let succeeded = || replicates.iter().filter(|(a, b)| a.is_finite() && b.is_finite());
        gap.used = succeeded().count();
        let too_many = gap.verdict.failed(gap.used, own.replicates.len());
        if !gap.verdict.shown(study) || !own.value.is_finite() || !all.value.is_finite() {
            return gap;
        }
        let (a, b) = (own.value * sign, all.value * sign);
        let design = &context.frames[context.frame_of_pair(curve.index, curve.outcome)].replicates;
        let each = |of: fn(&(f64, f64)) -> f64| -> Vec<f64> { replicates.iter().map(of).collect() };
        let centre = |full: f64| Centre { full, df, confidence: study.confidence };
        let judged = !too_many && design.suits_jumps();
        gap.cutoff = Some(a);
        gap.overall = Some(b);
        gap.difference = Some(a - b);
        gap.interval = design.interval(&each(|(a, b)| a - b), centre(a - b)).ok().filter(|_| judged);
        if a > 0.0 && b > 0.0 && succeeded().all(|(a, b)| *a > 0.0 && *b > 0.0) {
            gap.ratio = Some(a / b);
            let ratio = design.interval_of_ratio(&each(|(a, b)| a / b), centre(a / b));
            gap.ratio_interval = ratio.ok().filter(|_| judged);
        }
        gap
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reason_says_whose_cutoff_it_is_about() {
        let of = |reasons: &[&str]| Verdict {
            withheld: reasons.iter().map(|&why| why.to_owned()).collect(),
            ..Verdict::default()
        };
        let said = both(&of(&["fewer than 30 people", "no interval"]), &of(&["fewer than 30 people"]));
        assert_eq!(
            said.withheld,
            ["fewer than 30 people", "no interval", "everybody's cutoff: fewer than 30 people"]
        );
        assert!(!said.barred && both(&of(&[]), &Verdict::none("no cutoff")).barred);
    }

    #[test]
    fn a_withheld_comparison_was_not_made() {
        let mut table = tabulate::empty("cutoff_differences");
        for (difference, withheld) in [(Some(0.5), ""), (Some(0.5), "fewer than 30 people"), (None, "")] {
            table.row().real("difference", difference).text("withheld", withheld).done().expect("a row");
        }
        assert_eq!(made(&table), 1);
    }
}
