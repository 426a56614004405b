//! Whether the cutoffs of the groups of one variable differ by more than their uncertainty.

use super::context::Context;
use super::roc::Curve;
use super::smoothed::{METHOD, Smoothed};
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::stats::StatError;
use crate::stats::covariance::replicate_covariance;
use crate::stats::heterogeneity::{Heterogeneity, heterogeneity};
use crate::stats::interval::Interval;
use crate::stats::multiplicity::holm_of_questions;
use crate::stats::replicate_interval::NO_JUMPS;
use crate::stats::rule::Rule;
use crate::stats::spread::{RangeRatio, between_group_interval, between_group_sd, largest_to_smallest};
use crate::study::Study;
use crate::table::Table;
use crate::table::schema::{DIFFER, NOT_DISTINGUISHABLE};

/// Draws behind the mean of largest ÷ smallest under equality: its standard error is far below a digit shown.
pub const DRAWS: usize = 2000;
/// Why cutoffs have no ratio.
pub const NOT_POSITIVE: &str = "a cutoff is not positive, so groups cannot be compared by ratio";
/// Name of the plain maximum in the tables.
pub const EMPIRICAL: &str = "empirical_youden";
/// Remark on every comparison of plain maxima.
pub const LESS_RELIABLE: &str =
    "less reliable: the empirical maximum converges slowly; the smoothed cutoffs lead";

/// One test, or why there is none.
struct Test {
    index: usize,
    outcome: usize,
    grouping: String,
    groups: usize,
    left_out: usize,
    df: f64,
    found: Result<Found, String>,
}

struct Found {
    test: Heterogeneity,
    spread: f64,
    interval: Option<Interval>,
    range: RangeRatio,
}

/// The cutoff of a group in resistance order with its replicates; `None` where it is withheld.
type Estimate<'a> = Option<(f64, &'a [f64])>;

/// Tests of every index × outcome × single grouping, smoothed cutoffs first.
pub fn table(context: &Context, curves: &[Curve], smoothed: &[Smoothed]) -> Result<Table, AnalysisError> {
    let study = context.study;
    let mut table = tabulate::empty("heterogeneity");
    let of_smoothed = |c: usize| {
        let cutoff = &smoothed[c];
        let shown = cutoff.value.filter(|_| cutoff.verdict.withheld.is_empty());
        shown.map(|value| (value, cutoff.replicates.as_slice()))
    };
    fill(&mut table, context, METHOD, &tests(context, curves, false, &of_smoothed))?;
    if let Some(youden) = study.rules.iter().position(|r| matches!(r.rule, Rule::Youden)) {
        let of_empirical = |c: usize| {
            let cutoff = curves[c].cutoffs.get(youden)?;
            let shown = cutoff.verdict.withheld.is_empty() && cutoff.value.is_finite();
            shown.then_some((cutoff.value, cutoff.replicates.as_slice()))
        };
        fill(&mut table, context, EMPIRICAL, &tests(context, curves, true, &of_empirical))?;
    }
    Ok(table)
}

/// `jumps`: whether the estimates move in jumps, which not all replicates can judge.
fn tests<'a>(
    context: &Context,
    curves: &[Curve],
    jumps: bool,
    estimate: &dyn Fn(usize) -> Estimate<'a>,
) -> Vec<Test> {
    let mut tests = Vec::new();
    for index in 0..context.study.indices.len() {
        for outcome in 0..context.study.outcomes.len() {
            let single = context.study.groupings.iter().enumerate().filter(|(_, v)| v.len() == 1);
            for (grouping, _) in single {
                let of_grouping = |c: &usize| {
                    let curve = &curves[*c];
                    let group = &context.groups[curve.group];
                    (curve.index, curve.outcome, group.grouping) == (index, outcome, Some(grouping))
                };
                let members: Vec<usize> = (0..curves.len()).filter(of_grouping).collect();
                let Some(&first) = members.first() else { continue };
                let known: Vec<(f64, &[f64])> = members.iter().filter_map(|&c| estimate(c)).collect();
                let frame = &context.frames[context.frame_of_pair(index, outcome)];
                let df = frame.design.degrees_of_freedom(&frame.people.sample, &|_| true);
                let misjudged = jumps && !frame.replicates.suits_jumps();
                tests.push(Test {
                    index,
                    outcome,
                    grouping: context.groups[curves[first].group].grouping_name.clone(),
                    groups: known.len(),
                    left_out: members.len() - known.len(),
                    df,
                    found: if misjudged {
                        Err(NO_JUMPS.to_owned())
                    } else {
                        found(context, (index, outcome), &known, df)
                    },
                });
            }
        }
    }
    tests
}

fn found(
    context: &Context,
    (index, outcome): (usize, usize),
    known: &[(f64, &[f64])],
    df: f64,
) -> Result<Found, String> {
    if known.len() < 2 {
        return Err("fewer than two groups have a cutoff that can be shown".to_owned());
    }
    let sign = context.study.indices[index].sign() as f64;
    let log = |c: f64| if c * sign > 0.0 { (c * sign).ln() } else { f64::NAN };
    let logs: Vec<f64> = known.iter().map(|(c, _)| log(*c)).collect();
    if logs.iter().any(|l| l.is_nan()) {
        return Err(NOT_POSITIVE.to_owned());
    }
    let replicates: Vec<Vec<f64>> =
        known.iter().map(|(_, all)| all.iter().map(|&c| log(c)).collect()).collect();
    let frame = &context.frames[context.frame_of_pair(index, outcome)];
    let tested = || -> Result<Found, StatError> {
        let covariance = replicate_covariance(&logs, &replicates, &frame.replicates)?;
        let seed = context.study.resampling.seed;
        Ok(Found {
            test: heterogeneity(&logs, &covariance, df)?,
            spread: between_group_sd(&logs, &covariance.matrix)?.exp(),
            interval: between_group_interval(&logs, &covariance, df, context.study.confidence).ok(),
            range: largest_to_smallest(&logs, &covariance.matrix, DRAWS, seed)?,
        })
    };
    tested().map_err(|why| why.to_string())
}

fn fill(table: &mut Table, context: &Context, method: &str, tests: &[Test]) -> Result<(), AnalysisError> {
    for (test, p_holm) in tests.iter().zip(adjusted(context, tests)?) {
        let found = test.found.as_ref().ok();
        let differ = p_holm.map(|p| p < 1.0 - context.study.confidence);
        let conclusion = match differ {
            Some(true) => DIFFER,
            Some(false) => NOT_DISTINGUISHABLE,
            None => "",
        };
        let frame = context.frame_of_pair(test.index, test.outcome);
        tabulate::lead(table.row(), context, (frame, test.index))
            .text("outcome", &*context.study.outcomes[test.outcome].row.name)
            .text("grouping", &*test.grouping)
            .text("method", method)
            .whole("groups", Some(test.groups as i64))
            .whole("groups_left_out", Some(test.left_out as i64))
            .whole("df", Some(test.df as i64))
            .real("f", found.map(|f| f.test.f))
            .real("df1", found.map(|f| f.test.df1))
            .real("df2", found.map(|f| f.test.df2))
            .real("p", found.map(|f| f.test.p_value))
            .real("p_holm", p_holm)
            .real("spread", found.map(|f| f.spread))
            .real("lower", found.and_then(|f| f.interval).map(|i| i.lower.exp()))
            .real("upper", found.and_then(|f| f.interval).map(|i| i.upper.exp()))
            .text("interval", "test_inversion")
            .real("ratio", found.map(|f| f.range.ratio))
            .real("ratio_under_equality", found.map(|f| f.range.mean_under_equality))
            .whole("replicates", found.map(|f| f.test.used as i64))
            .text("conclusion", conclusion)
            .text("stated", tabulate::TOOL)
            .text("withheld", test.found.as_ref().err().map_or("", String::as_str))
            .text("notices", remarks(context.study, method, found))
            .done()?;
    }
    Ok(())
}

/// p values by Holm over the questions asked: indices that order people alike ask the same one, and count once.
fn adjusted(context: &Context, tests: &[Test]) -> Result<Vec<Option<f64>>, AnalysisError> {
    let p_of = |test: &Test| test.found.as_ref().ok().map(|found| found.test.p_value);
    let tested: Vec<(usize, f64)> =
        tests.iter().enumerate().filter_map(|(at, test)| Some((at, p_of(test)?))).collect();
    let same = |a: &Test, b: &Test| {
        let family = |test: &Test| context.study.representative(test.index);
        (family(a), a.outcome, &a.grouping) == (family(b), b.outcome, &b.grouping)
    };
    let question = |&(at, _): &(usize, f64)| {
        tested.iter().position(|(first, _)| same(&tests[*first], &tests[at])).unwrap_or(0)
    };
    let questions: Vec<usize> = tested.iter().map(question).collect();
    let raw: Vec<f64> = tested.iter().map(|(_, p)| *p).collect();
    let mut all = vec![None; tests.len()];
    for ((at, _), p) in tested.iter().zip(holm_of_questions(&raw, &questions).map_err(AnalysisError::Adjust)?)
    {
        all[*at] = Some(p);
    }
    Ok(all)
}

/// That the empirical maximum is slow, and how many replicates lack the cutoff of some group.
fn remarks(study: &Study, method: &str, found: Option<&Found>) -> String {
    let mut verdict = Verdict::default();
    if method == EMPIRICAL {
        verdict.remarks.push(LESS_RELIABLE.into());
    }
    if let Some(Found { test, .. }) = found {
        verdict.failed_jointly(test.used, test.used + test.failed);
    }
    verdict.notices(study)
}
