//! The middle half of each group that a person is compared with.

use serde::Serialize;

use super::context::Context;
use super::percentiles;
use super::place_rank::Rank;

/// Lower limit of the middle half, its middle and its upper limit, by the order of resistance.
const QUARTERS: [f64; 3] = [0.25, 0.5, 0.75];

/// Where a group's values lie; absent where too few people make it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    pub grouping: String,
    pub group: String,
    pub lower_quarter: Option<f64>,
    pub median: Option<f64>,
    pub upper_quarter: Option<f64>,
}

/// Everybody's spread, then that of each of the person's smallest groups: those at some positions of the ranks.
pub(super) fn spreads(context: &Context, index: usize, (ranks, own): (&[Rank], &[usize])) -> Vec<Spread> {
    let shown = |g: &usize| {
        let group = &context.groups[*g];
        let is = |&at: &usize| (&ranks[at].grouping, &ranks[at].group) == (&group.grouping_name, &group.name);
        group.grouping.is_none() || own.iter().any(is)
    };
    (0..context.groups.len()).filter(shown).map(|group| spread(context, (index, group))).collect()
}

fn spread(context: &Context, (index, group): (usize, usize)) -> Spread {
    let found = percentiles::estimate_at(context, (index, 0, group), &QUARTERS);
    let value = |at: usize| percentiles::printed(context, &found, &found.estimates[at]).value;
    Spread {
        grouping: context.groups[group].grouping_name.clone(),
        group: context.groups[group].name.clone(),
        lower_quarter: value(0),
        median: value(1),
        upper_quarter: value(2),
    }
}
