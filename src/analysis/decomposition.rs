//! How much of the range of group cutoffs remains after adjusting.

use super::context::Context;
use super::heterogeneity::{DRAWS, EMPIRICAL, NOT_POSITIVE};
use super::standardized::{Estimate, GroupsCompared, notices, of_comparison};
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::stats::covariance::replicate_covariance;
use crate::stats::replicate_interval::NO_JUMPS;
use crate::stats::spread::{RangeRatio, between_group_sd, largest_to_smallest};
use crate::stats::{Replicates, StatError};
use crate::study::Study;
use crate::table::Table;

/// Logarithms of ratios closer to 0 than this have no share worth printing.
const NO_RANGE: f64 = 1e-9;

/// What is missing where nothing is known of how far cutoffs spread.
const NEITHER: &str = "no spread and no ratio under equality";

/// The range of cutoffs under one adjustment.
struct Range {
    /// Cutoff on the index's own scale and position among the members.
    smallest: (f64, usize),
    largest: (f64, usize),
    /// Missing unless all cutoffs are positive.
    ratio: Option<f64>,
    /// Or why there is none, and no ratio under equality.
    spread: Result<Spread, String>,
}

/// What replicates say beside the range.
struct Spread {
    tau: f64,
    range: RangeRatio,
}

/// A row for every comparison and adjustment; all rows of a comparison stand on the same groups and people.
pub fn table(context: &Context, all: &[GroupsCompared]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("decomposition");
    for compared in all {
        let adjustments = 0..compared.comparison.adjustments.len();
        let complete = |e: &Estimate| e.verdict.withheld.is_empty() && e.value.is_some();
        let members: Vec<usize> =
            (0..compared.cutoffs.len()).filter(|&m| compared.cutoffs[m].iter().all(complete)).collect();
        let ranges: Vec<Option<Range>> = adjustments.map(|a| range(context, compared, &members, a)).collect();
        write(&mut table, context, compared, (&members, &ranges))?;
    }
    Ok(table)
}

fn range(
    context: &Context,
    compared: &GroupsCompared,
    members: &[usize],
    adjustment: usize,
) -> Option<Range> {
    let sign = context.study.indices[compared.task.index].sign() as f64;
    let estimate = |&m: &usize| &compared.cutoffs[m][adjustment];
    let mut cutoffs: Vec<(f64, usize)> =
        members.iter().filter_map(|m| Some((estimate(m).value? * sign, *m))).collect();
    if cutoffs.len() < 2 {
        return None;
    }
    let estimates: Vec<&Estimate> = members.iter().map(estimate).collect();
    let count = estimates[0].replicates.len();
    let used = (0..count).filter(|&r| estimates.iter().all(|e| e.replicates[r].is_finite())).count();
    let frame = &context.frames[compared.task.frame(context)];
    let given = (&*frame.replicates, context.study.resampling.seed);
    let why_not = (cutoffs.iter().any(|(cutoff, _)| *cutoff <= 0.0))
        .then(|| NOT_POSITIVE.to_owned())
        .or_else(|| no_spread(context.study, (compared.method, given.0), count - used));
    let spread = match why_not {
        Some(why) => Err(why),
        None => spread(&estimates, sign, given).map_err(|why| format!("{NEITHER}: {why}")),
    };
    cutoffs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (smallest, largest) = (cutoffs[0], cutoffs[cutoffs.len() - 1]);
    let ratio = (smallest.0 > 0.0).then(|| largest.0 / smallest.0);
    Some(Range { smallest, largest, ratio, spread })
}

/// Why replicates, of which so many have no cutoff in some group, tell no spread by a method; smoothed cutoffs do not move in
/// jumps.
fn no_spread(study: &Study, (method, replicates): (&str, &Replicates), failed: usize) -> Option<String> {
    if method == EMPIRICAL && !replicates.suits_jumps() {
        return Some(NO_JUMPS.to_owned());
    }
    let too_many = Verdict::default().failed(replicates.count - failed, replicates.count);
    let some = if study.public { failed.to_string() } else { "some".to_owned() };
    too_many.then(|| format!("{some} replicates failed in some group, so {NEITHER}"))
}

fn spread(
    estimates: &[&Estimate],
    sign: f64,
    (design, seed): (&Replicates, u64),
) -> Result<Spread, StatError> {
    let log = |cutoff: f64| if cutoff * sign > 0.0 { (cutoff * sign).ln() } else { f64::NAN };
    let logs: Vec<f64> = estimates.iter().map(|e| log(e.value.unwrap_or(f64::NAN))).collect();
    let replicates: Vec<Vec<f64>> =
        estimates.iter().map(|e| e.replicates.iter().map(|&c| log(c)).collect()).collect();
    let covariance = replicate_covariance(&logs, &replicates, design)?.matrix;
    Ok(Spread {
        tau: between_group_sd(&logs, &covariance)?,
        range: largest_to_smallest(&logs, &covariance, DRAWS, seed)?,
    })
}

fn write(
    table: &mut Table,
    context: &Context,
    compared: &GroupsCompared,
    (members, ranges): (&[usize], &[Option<Range>]),
) -> Result<(), AnalysisError> {
    let comparison = &compared.comparison;
    let name = |m: usize| context.groups[comparison.members[m].group].name.as_str();
    let grouping = comparison.members.first().map(|m| &context.groups[m.group]);
    let log_range = |range: &Range| range.ratio.map(f64::ln);
    let variance = |range: &Range| range.spread.as_ref().ok().map(|s| s.tau * s.tau);
    let before = ranges.first().and_then(Option::as_ref);
    for (adjustment, range) in comparison.adjustments.iter().zip(ranges) {
        let range = range.as_ref();
        let spread = range.and_then(|r| r.spread.as_ref().ok());
        let why = range.and_then(|r| r.spread.as_ref().err()).map_or("", String::as_str);
        let remaining = |of: &dyn Fn(&Range) -> Option<f64>, least: f64| {
            let (before, after) = (of(before?)?, of(range?)?);
            (before > least).then_some(100.0 * after / before)
        };
        let withheld = match (range, &comparison.refused) {
            (_, Some(why)) => why.as_str(),
            (None, None) => "fewer than two groups have a cutoff that can be shown under every adjustment",
            (Some(_), None) => "",
        };
        of_comparison(table.row(), context, (compared.task, comparison), adjustment)
            .text("method", compared.method)
            .text("population", &*context.populations[0].name)
            .text("grouping", grouping.map_or("", |g| &g.grouping_name))
            .whole("groups", Some(members.len() as i64))
            .whole("groups_left_out", Some((compared.cutoffs.len() - members.len()) as i64))
            .real("smallest", range.map(|r| r.smallest.0))
            .text("smallest_group", range.map_or("", |r| name(r.smallest.1)))
            .real("largest", range.map(|r| r.largest.0))
            .text("largest_group", range.map_or("", |r| name(r.largest.1)))
            .real("ratio", range.and_then(|r| r.ratio))
            .real("ratio_under_equality", spread.map(|s| s.range.mean_under_equality))
            .real("log_range_remaining", remaining(&log_range, NO_RANGE))
            .real("spread", spread.map(|s| s.tau.exp()))
            .real("variance_remaining", remaining(&variance, 0.0))
            .text("withheld", withheld)
            .text("notices", notices(adjustment, why))
            .done()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::analysis::smoothed::METHOD;
    use crate::stats::replicate::JACKKNIFE;
    use crate::study;

    #[test]
    fn a_jackknife_misjudges_what_jumps_alone_and_says_so() {
        let demo = include_str!("../../pipelines/demo.toml");
        let demo = study::parse(demo, "demo.toml", Path::new("pipelines")).expect("the demo");
        let study = Study { public: true, ..demo };
        let hundred = Replicates { count: 100, ..Replicates::once(1) };
        let jackknife = Replicates { kind: JACKKNIFE, ..hundred.clone() };
        let why = |method, replicates, failed| no_spread(&study, (method, replicates), failed);
        assert_eq!(why(EMPIRICAL, &jackknife, 0).as_deref(), Some(NO_JUMPS));
        assert_eq!([why(METHOD, &jackknife, 0), why(EMPIRICAL, &hundred, 20)], [None, None]);
        let many = "21 replicates failed in some group, so no spread and no ratio under equality";
        assert_eq!(why(METHOD, &jackknife, 21).as_deref(), Some(many));
    }
}
