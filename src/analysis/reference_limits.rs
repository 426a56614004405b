//! Reference limits as laboratories make them, with the weighted percentile beside each.

use rayon::prelude::*;

use super::beside::fewer_beside_value;
use super::context::Context;
use super::groups::Group;
use super::percentiles::percent;
use super::roc::oriented;
use super::select::values;
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::quantile::{QuantileEstimate, QuantileRule, WoodruffScale, woodruff};
use crate::stats::reference_limit::{
    FEWEST_PEOPLE, LIMIT_CONFIDENCE, ReferenceLimit, log_normal_limit, rank_limit,
};
use crate::stats::{Sample, StatError};
use crate::table::Table;

/// How the limits are made, in every row, because they are not what a survey would report.
pub const UNWEIGHTED: &str = "unweighted_rank_ignores_design";

/// Lower and upper limit of the central 95 % and the share within the one-sided limit.
const LOWER: f64 = 0.025;
const UPPER: f64 = 0.975;
const ONE_SIDED: f64 = 0.95;

/// Positions of the populations that limits are made in: reference groups, or the cohort without any.
pub fn populations(context: &Context) -> std::ops::Range<usize> {
    let count = context.populations.len();
    count.min(2) - 1..count
}

/// People of a group in the order of the index's own values.
pub fn own_order(context: &Context, (index, population): (usize, usize), group: &Group) -> Sample {
    let ordered = &context.frames[context.frame_of_index(index)].indices[index];
    let sample = values(ordered, &context.populations[population], group);
    if context.study.indices[index].sign() < 0 { sample.negated() } else { sample }
}

/// Lower and upper limit that everybody of a population shares; `None` with too few people.
pub fn common(sample: &Sample) -> Option<(f64, f64)> {
    let people = sample.people_counted();
    let limit = |p: f64| rank_limit(sample, p, LIMIT_CONFIDENCE).ok().map(|l| l.value);
    if people < FEWEST_PEOPLE { None } else { limit(LOWER).zip(limit(UPPER)) }
}

struct Limit {
    name: &'static str,
    /// Counted from the lowest value.
    p: f64,
    rank: Result<ReferenceLimit, StatError>,
    log_normal: Option<f64>,
    weighted: Option<QuantileEstimate>,
    /// People beyond the limit, or beyond the weighted one if these are fewer.
    beyond: u64,
}

struct Limits {
    /// (index, population, group).
    domain: (usize, usize, usize),
    people: u64,
    found: Vec<Limit>,
}

/// Limits of every index, in every reference group and its groups.
pub fn table(context: &Context) -> Result<Table, AnalysisError> {
    let domains: Vec<(usize, usize, usize)> = (0..context.study.indices.len())
        .flat_map(|i| populations(context).map(move |p| (i, p)))
        .flat_map(|(i, p)| (0..context.groups.len()).map(move |g| (i, p, g)))
        .collect();
    let all: Vec<Limits> = domains.into_par_iter().map(|domain| limits(context, domain)).collect();
    let mut table = tabulate::empty("reference_limits");
    for limits in &all {
        for limit in &limits.found {
            row(context, limits, limit, &mut table)?;
        }
    }
    Ok(table)
}

fn limits(context: &Context, domain: (usize, usize, usize)) -> Limits {
    let (index, population, group) = domain;
    let sign = context.study.indices[index].sign();
    let sample = own_order(context, (index, population), &context.groups[group]);
    let ordered = &context.frames[context.frame_of_index(index)].indices[index];
    let in_resistance_order = values(ordered, &context.populations[population], &context.groups[group]);
    let design = &context.frames[context.frame_of_index(index)].design;
    let one_sided = if sign > 0 { ONE_SIDED } else { 1.0 - ONE_SIDED };
    let limit = |(name, p): (&'static str, f64)| {
        // As in the table of percentiles: the step rule runs in the order of resistance.
        let towards = if sign > 0 { p } else { 1.0 - p };
        let weighted = woodruff(
            design,
            &in_resistance_order,
            towards,
            QuantileRule::Step,
            WoodruffScale::Logit,
            context.study.confidence,
        );
        let (rank, weighted) = (rank_limit(&sample, p, LIMIT_CONFIDENCE), weighted.ok());
        let by_rank = rank.as_ref().map_or(0, |limit| fewer_beside_value(&sample, limit.value));
        let by_weight = weighted.as_ref().map(|limit| fewer_beside_value(&in_resistance_order, limit.value));
        Limit {
            name,
            p,
            rank,
            log_normal: log_normal_limit(&sample, p).ok().filter(|v| v.is_finite()),
            weighted,
            beyond: by_weight.map_or(by_rank, |people| people.min(by_rank)),
        }
    };
    Limits {
        domain,
        people: sample.people_counted(),
        found: [("lower", LOWER), ("upper", UPPER), ("one_sided", one_sided)].map(limit).into(),
    }
}

fn verdict(context: &Context, limits: &Limits, limit: &Limit) -> Verdict {
    let mut verdict = withhold::reference_limit(context.study, limits.people, limit.beyond);
    match &limit.rank {
        Err(why) if verdict.withheld.is_empty() => verdict.cannot(why.to_string()),
        Ok(ReferenceLimit { reason: Some(why), .. }) => verdict.remarks.push((*why).into()),
        _ => {}
    }
    verdict
}

fn row(context: &Context, limits: &Limits, limit: &Limit, table: &mut Table) -> Result<(), AnalysisError> {
    let (index, population, group) = limits.domain;
    let verdict = verdict(context, limits, limit);
    let shown = verdict.shown(context.study);
    let sign = context.study.indices[index].sign() as f64;
    let rank = limit.rank.as_ref().ok().filter(|_| shown);
    let interval = rank.and_then(|r| r.interval);
    let weighted = limit.weighted.as_ref().filter(|_| shown);
    let weighted_interval = weighted.and_then(|w| w.interval).map(|i| oriented(i, sign));
    let row = tabulate::lead(table.row(), context, (context.frame_of_index(index), index));
    tabulate::of_group(row, &context.populations[population], &context.groups[group])
        .whole("n", Some(limits.people as i64))
        .text("limit", limit.name)
        .real("percentile", Some(percent(limit.p)))
        .text("method", UNWEIGHTED)
        .real("value", rank.map(|r| r.value))
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .text("interval", "binomial_ranks_90")
        .real("log_normal", limit.log_normal.filter(|_| shown))
        .real("weighted", weighted.map(|w| w.value * sign))
        .real("weighted_lower", weighted_interval.map(|i| i.lower))
        .real("weighted_upper", weighted_interval.map(|i| i.upper))
        .text("stated", tabulate::TOOL)
        .text("withheld", verdict.reason(context.study))
        .text("notices", verdict.notices(context.study))
        .done()?;
    Ok(())
}
