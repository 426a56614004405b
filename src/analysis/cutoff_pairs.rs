//! How cutoffs and percentiles differ between the groups of a grouping, pair by pair.

use rayon::prelude::*;

use super::compared::{Compared, Side, adjust};
use super::context::Context;
use super::heterogeneity::LESS_RELIABLE;
use super::roc::Curve;
use super::smoothed::{METHOD, Smoothed};
use super::withhold::Verdict;
use super::{AnalysisError, percentile_pairs, tabulate};
use crate::stats::{Interval, Rule};
use crate::table::Table;
use crate::table::schema::{DIFFER, NOT_DISTINGUISHABLE};

/// Groups of a crossing whose pairs are still worth listing.
const MOST_CROSSED: usize = 8;

/// One index, outcome, population, grouping and method: what Holm's adjustment runs over.
pub struct Family<'a> {
    pub index: usize,
    pub outcome: Option<usize>,
    pub population: usize,
    pub grouping: usize,
    pub frame: usize,
    pub method: String,
    pub notice: &'static str,
    pub sides: Vec<Side<'a>>,
    /// Everybody, unless the comparison with everybody stands in another table.
    pub everybody: Option<Side<'a>>,
}

/// Two groups of a family by name, compared.
struct Pair<'a> {
    groups: (&'a str, &'a str),
    compared: Compared,
}

/// A family with its comparisons made and its replicates let go.
type Done<'a> = (Family<'a>, Vec<Pair<'a>>);

/// Every pair of groups by every method, and every group with everybody where no other table has it.
pub fn table(context: &Context, curves: &[Curve], smoothed: &[Smoothed]) -> Result<Table, AnalysisError> {
    let firsts: Vec<usize> = (0..curves.len()).filter(|&c| curves[c].group == 0).collect();
    let of_cutoffs: Result<Vec<Vec<Done>>, AnalysisError> = firsts
        .into_par_iter()
        .map(|first| compared(context, of_cutoffs(context, curves, smoothed, first)))
        .collect();
    let of_percentiles: Result<Vec<Vec<Done>>, AnalysisError> = percentile_pairs::domains(context)
        .into_par_iter()
        .map(|domain| compared(context, percentile_pairs::families(context, domain)))
        .collect();
    let mut table = tabulate::empty("cutoff_pairs");
    for (family, pairs) in of_cutoffs?.iter().chain(&of_percentiles?).flatten() {
        for pair in pairs {
            write(&mut table, context, family, pair)?;
        }
    }
    Ok(table)
}

fn compared<'a>(context: &Context, families: Vec<Family<'a>>) -> Result<Vec<Done<'a>>, AnalysisError> {
    families.into_iter().map(|family| pairs(context, family)).collect()
}

/// Groupings whose pairs are listed, each with its groups.
pub fn groupings(context: &Context) -> Vec<(usize, Vec<usize>)> {
    let of = |grouping: usize| -> Vec<usize> {
        (0..context.groups.len()).filter(|&g| context.groups[g].grouping == Some(grouping)).collect()
    };
    let all = context
        .study
        .groupings
        .iter()
        .enumerate()
        .map(|(grouping, v)| (v.len() == 1, grouping, of(grouping)));
    all.filter(|(single, _, groups)| *single || groups.len() <= MOST_CROSSED)
        .map(|(_, grouping, groups)| (grouping, groups))
        .collect()
}

/// Families of the index and outcome whose curve of everybody stands at `first`; those of its groups follow it.
fn of_cutoffs<'a>(
    context: &'a Context,
    curves: &[Curve],
    smoothed: &[Smoothed],
    first: usize,
) -> Vec<Family<'a>> {
    let study = context.study;
    let (index, outcome) = (curves[first].index, curves[first].outcome);
    let sign = study.indices[index].sign() as f64;
    let side = |group: usize, value: Option<f64>, replicates: &[f64], verdict: &Verdict| Side {
        group: &context.groups[group].name,
        value: value.filter(|v| v.is_finite()).map(|v| v * sign),
        replicates: replicates.iter().map(|v| v * sign).collect(),
        df: curves[first + group].df,
        jumps: false,
        withheld: verdict.withheld.clone(),
        barred: verdict.barred,
    };
    let of_smoothed = |&group: &usize| {
        let cutoff = &smoothed[first + group];
        side(group, cutoff.value, &cutoff.replicates, &cutoff.verdict)
    };
    let of_rule = |group: usize, rule: usize| {
        let cutoff = &curves[first + group].cutoffs[rule];
        Side { jumps: true, ..side(group, Some(cutoff.value), &cutoff.replicates, &cutoff.verdict) }
    };
    let mut families = Vec::new();
    for (grouping, groups) in groupings(context) {
        let family = |method: &str, notice, sides, everybody| Family {
            index,
            outcome: Some(outcome),
            population: 0,
            grouping,
            frame: context.frame_of_pair(index, outcome),
            method: method.to_owned(),
            notice,
            sides,
            everybody,
        };
        families.push(family(METHOD, "", groups.iter().map(of_smoothed).collect(), Some(of_smoothed(&0))));
        for (position, rule) in study.rules.iter().enumerate() {
            let sides = groups.iter().map(|&g| of_rule(g, position)).collect();
            families.push(family(&rule.name, slow(rule.rule), sides, None));
        }
    }
    families
}

/// A remark on rules that look for the top of a flat hill.
fn slow(rule: Rule) -> &'static str {
    match rule {
        Rule::SensitivityAtLeast(_) | Rule::SpecificityAtLeast(_) | Rule::SmallestDifference => "",
        _ => LESS_RELIABLE,
    }
}

fn pairs<'a>(context: &Context, mut family: Family<'a>) -> Result<Done<'a>, AnalysisError> {
    let replicates = &context.frames[family.frame].replicates;
    let compare = |a: &Side<'a>, b: &Side<'a>| Compared::new(context.study, replicates, a, b);
    let (sides, everybody) = (std::mem::take(&mut family.sides), family.everybody.take());
    let mut groups: Vec<(&str, &str)> = Vec::new();
    let mut with_everybody: Vec<Compared> = Vec::new();
    if let Some(everybody) = everybody {
        groups.extend(sides.iter().map(|side| (side.group, everybody.group)));
        with_everybody.extend(sides.iter().map(|side| compare(side, &everybody)));
    }
    let mut between: Vec<Compared> = Vec::new();
    for (position, first) in sides.iter().enumerate() {
        let others = &sides[position + 1..];
        groups.extend(others.iter().map(|other| (first.group, other.group)));
        between.extend(others.iter().map(|other| compare(first, other)));
    }
    adjust(&mut with_everybody)?;
    adjust(&mut between)?;
    let compared = with_everybody.into_iter().chain(between);
    let pairs = groups.into_iter().zip(compared).map(|(groups, compared)| Pair { groups, compared });
    Ok((family, pairs.collect()))
}

fn write(
    table: &mut Table,
    context: &Context,
    family: &Family,
    Pair { groups, compared }: &Pair,
) -> Result<(), AnalysisError> {
    let study = context.study;
    let replicates = &context.frames[family.frame].replicates;
    let ends = |interval: Option<Interval>| (interval.map(|i| i.lower), interval.map(|i| i.upper));
    let (lower, upper) = ends(compared.interval);
    let (ratio_lower, ratio_upper) = ends(compared.ratio_interval);
    let (ratio_lower_t, ratio_upper_t) = ends(compared.ratio_interval_t);
    let conclusion = match compared.p_holm {
        Some(p) if p < 1.0 - study.confidence => DIFFER,
        Some(_) => NOT_DISTINGUISHABLE,
        None => "",
    };
    let scale = match (compared.p, compared.ratio) {
        (None, _) => "",
        (_, Some(_)) => "logarithm",
        (_, None) => "raw",
    };
    let remarks = [compared.verdict.notices(study).as_str(), family.notice]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect::<Vec<_>>()
        .join("; ");
    let grouping = context.groups.iter().find(|g| g.grouping == Some(family.grouping));
    tabulate::lead(table.row(), context, (family.frame, family.index))
        .text("outcome", family.outcome.map_or("", |o| &*study.outcomes[o].row.name))
        .text("population", &*context.populations[family.population].name)
        .text("grouping", grouping.map_or("", |g| &*g.grouping_name))
        .text("group", groups.0)
        .text("other_group", groups.1)
        .text("method", &*family.method)
        .real("cutoff", compared.values.map(|v| v.0))
        .real("other_cutoff", compared.values.map(|v| v.1))
        .real("ratio", compared.ratio)
        .real("ratio_lower", ratio_lower)
        .real("ratio_upper", ratio_upper)
        .real("ratio_lower_t", ratio_lower_t)
        .real("ratio_upper_t", ratio_upper_t)
        .real("difference", compared.difference)
        .real("lower", lower)
        .real("upper", upper)
        .text("interval", compared.interval.map_or("", |_| replicates.interval_kind()))
        .text("scale", scale)
        .real("standard_error", compared.standard_error)
        .whole("df", Some(compared.df as i64))
        .real("p", compared.p)
        .real("p_holm", compared.p_holm)
        .whole("replicates", compared.replicates.map(|r| r.0 as i64))
        .whole("replicates_failed", compared.replicates.map(|r| r.1 as i64))
        .text("conclusion", conclusion)
        .text("stated", tabulate::TOOL)
        .text("withheld", compared.verdict.reason(study))
        .text("notices", remarks)
        .done()?;
    Ok(())
}
