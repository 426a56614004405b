//! How much of the range of group cutoffs remains after adjusting.

use super::context::Context;
use super::heterogeneity::{DRAWS, EMPIRICAL};
use super::standardized::{Estimate, GroupsCompared, notices, of_comparison};
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::stats::Replicates;
use crate::stats::covariance::replicate_covariance;
use crate::stats::replicate_interval::NO_JUMPS;
use crate::stats::spread::{RangeRatio, between_group_sd, largest_to_smallest};
use crate::study::Study;
use crate::table::Table;

/// Logarithms of ratios closer to 0 than this have no share worth printing.
const NO_RANGE: f64 = 1e-9;

/// The range of cutoffs under one adjustment.
struct Range {
    /// Cutoff on the index's own scale and position among the members.
    smallest: (f64, usize),
    largest: (f64, usize),
    /// Missing unless all cutoffs are positive.
    ratio: Option<f64>,
    /// Missing as well where too many replicates failed.
    spread: Option<Spread>,
    /// Replicates in which some group has no cutoff.
    failed: usize,
    /// Whether the replicates say nothing of cutoffs by this method.
    misjudged: bool,
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
    let misjudged = misjudged(compared.method, &frame.replicates);
    let enough = !misjudged && !Verdict::default().failed(used, count);
    let spread = if enough {
        spread(&estimates, sign, (&frame.replicates, context.study.resampling.seed))
    } else {
        None
    };
    cutoffs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (smallest, largest) = (cutoffs[0], cutoffs[cutoffs.len() - 1]);
    let ratio = (smallest.0 > 0.0).then(|| largest.0 / smallest.0);
    Some(Range { smallest, largest, ratio, spread, failed: count - used, misjudged })
}

/// Whether the replicates say nothing of cutoffs by a method: smoothed ones do not move in jumps.
fn misjudged(method: &str, replicates: &Replicates) -> bool {
    method == EMPIRICAL && !replicates.suits_jumps()
}

fn spread(estimates: &[&Estimate], sign: f64, (design, seed): (&Replicates, u64)) -> Option<Spread> {
    let log = |cutoff: f64| if cutoff * sign > 0.0 { (cutoff * sign).ln() } else { f64::NAN };
    let logs: Vec<f64> = estimates.iter().map(|e| log(e.value.unwrap_or(f64::NAN))).collect();
    let replicates: Vec<Vec<f64>> =
        estimates.iter().map(|e| e.replicates.iter().map(|&c| log(c)).collect()).collect();
    let covariance = replicate_covariance(&logs, &replicates, design).ok()?.matrix;
    Some(Spread {
        tau: between_group_sd(&logs, &covariance).ok()?,
        range: largest_to_smallest(&logs, &covariance, DRAWS, seed).ok()?,
    })
}

/// Why there is neither a spread nor a ratio under equality, in words.
fn failures(study: &Study, range: Option<&Range>) -> String {
    match range {
        Some(Range { misjudged: true, .. }) => NO_JUMPS.to_owned(),
        Some(Range { failed, spread: None, ratio: Some(_), .. }) if *failed > 0 => {
            let some = if study.public { failed.to_string() } else { "some".to_owned() };
            format!("{some} replicates failed in some group, so no spread and no ratio under equality")
        }
        _ => String::new(),
    }
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
    let variance = |range: &Range| range.spread.as_ref().map(|s| s.tau * s.tau);
    let before = ranges.first().and_then(Option::as_ref);
    for (adjustment, range) in comparison.adjustments.iter().zip(ranges) {
        let range = range.as_ref();
        let spread = range.and_then(|r| r.spread.as_ref());
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
            .text("notices", notices(adjustment, &failures(context.study, range)))
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
        let jackknife = Replicates { kind: JACKKNIFE, ..Replicates::once(1) };
        assert!(misjudged(EMPIRICAL, &jackknife) && !misjudged(METHOD, &jackknife));
        let demo = include_str!("../../pipelines/demo.toml");
        let study = study::parse(demo, "demo.toml", Path::new("pipelines")).expect("the demo");
        let range = |misjudged| Range {
            smallest: (1.0, 0),
            largest: (2.0, 1),
            ratio: Some(2.0),
            spread: None,
            failed: 0,
            misjudged,
        };
        assert_eq!(failures(&study, Some(&range(true))), NO_JUMPS);
        assert_eq!(failures(&study, Some(&range(false))), "");
    }
}
