//! How much of the range of group cutoffs remains after adjusting.

use super::context::Context;
use super::standardized::{Compared, Estimate, notices, of_comparison};
use super::{AnalysisError, tabulate};
use crate::stats::covariance::replicate_covariance;
use crate::stats::spread::{RangeRatio, between_group_sd, largest_to_smallest};
use crate::table::Table;

/// Draws behind the mean of largest ÷ smallest under equality: its standard error is far below a digit shown.
const DRAWS: usize = 2000;
/// Logarithms of ratios closer to 0 than this have no share worth printing.
const NO_RANGE: f64 = 1e-9;

/// The range of cutoffs under one adjustment.
struct Range {
    /// Cutoff on the index's own scale and position among the members.
    smallest: (f64, usize),
    largest: (f64, usize),
    /// Missing unless all cutoffs are positive.
    spread: Option<Spread>,
}

struct Spread {
    tau: f64,
    range: RangeRatio,
}

/// A row for every comparison and adjustment; all rows of a comparison stand on the same groups and people.
pub fn table(context: &Context, all: &[Compared]) -> Result<Table, AnalysisError> {
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

fn range(context: &Context, compared: &Compared, members: &[usize], adjustment: usize) -> Option<Range> {
    let sign = context.study.indices[compared.task.index].sign() as f64;
    let estimate = |&m: &usize| &compared.cutoffs[m][adjustment];
    let mut cutoffs: Vec<(f64, usize)> =
        members.iter().filter_map(|m| Some((estimate(m).value? * sign, *m))).collect();
    if cutoffs.len() < 2 {
        return None;
    }
    let spread = spread(context, compared, members, adjustment);
    cutoffs.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(Range { smallest: cutoffs[0], largest: cutoffs[cutoffs.len() - 1], spread })
}

fn spread(context: &Context, compared: &Compared, members: &[usize], adjustment: usize) -> Option<Spread> {
    let sign = context.study.indices[compared.task.index].sign() as f64;
    let log = |cutoff: f64| if cutoff * sign > 0.0 { (cutoff * sign).ln() } else { f64::NAN };
    let estimates = || members.iter().map(|&m| &compared.cutoffs[m][adjustment]);
    let logs: Vec<f64> = estimates().map(|e| log(e.value.unwrap_or(f64::NAN))).collect();
    let replicates: Vec<Vec<f64>> =
        estimates().map(|e| e.replicates.iter().map(|&c| log(c)).collect()).collect();
    let frame = &context.frames[compared.task.frame(context)];
    let covariance = replicate_covariance(&logs, &replicates, &frame.replicates).ok()?.matrix;
    Some(Spread {
        tau: between_group_sd(&logs, &covariance).ok()?,
        range: largest_to_smallest(&logs, &covariance, DRAWS, context.study.resampling.seed).ok()?,
    })
}

fn write(
    table: &mut Table,
    context: &Context,
    compared: &Compared,
    (members, ranges): (&[usize], &[Option<Range>]),
) -> Result<(), AnalysisError> {
    let name = |m: usize| context.groups[compared.comparison.members[m].group].name.as_str();
    let grouping = compared.comparison.members.first().map(|m| &context.groups[m.group]);
    let spread_of = |range: &Option<Range>| {
        range.as_ref().and_then(|r| r.spread.as_ref().map(|s| (s.tau, s.range.ratio.ln())))
    };
    let before = ranges.first().and_then(spread_of);
    for (adjustment, range) in compared.comparison.adjustments.iter().zip(ranges) {
        let spread = range.as_ref().and_then(|r| r.spread.as_ref());
        let after = spread_of(range);
        let remaining = |of: fn((f64, f64)) -> f64, least: f64| {
            let (before, after) = (of(before?), of(after?));
            (before > least).then_some(100.0 * after / before)
        };
        let withheld = match (range, &compared.comparison.refused) {
            (_, Some(why)) => why.as_str(),
            (None, None) => "fewer than two groups have a cutoff that can be shown under every adjustment",
            (Some(_), None) => "",
        };
        let row = of_comparison(table.row(), context, (compared.task, &compared.comparison), adjustment);
        row.text("population", &*context.populations[0].name)
            .text("grouping", grouping.map_or("", |g| &g.grouping_name))
            .whole("groups", Some(members.len() as i64))
            .whole("groups_left_out", Some((compared.cutoffs.len() - members.len()) as i64))
            .real("smallest", range.as_ref().map(|r| r.smallest.0))
            .text("smallest_group", range.as_ref().map_or("", |r| name(r.smallest.1)))
            .real("largest", range.as_ref().map(|r| r.largest.0))
            .text("largest_group", range.as_ref().map_or("", |r| name(r.largest.1)))
            .real("ratio", spread.map(|s| s.range.ratio))
            .real("ratio_under_equality", spread.map(|s| s.range.mean_under_equality))
            .real("log_range_remaining", remaining(|s| s.1, NO_RANGE))
            .real("spread", spread.map(|s| s.tau.exp()))
            .real("variance_remaining", remaining(|s| s.0 * s.0, 0.0))
            .text("withheld", withheld)
            .text("notices", notices(adjustment, ""))
            .done()?;
    }
    Ok(())
}
