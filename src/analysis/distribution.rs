//! Weighted histograms for drawing: everybody and the groups of the study's first grouping.

use super::context::Context;
use super::groups::Group;
use super::select::values;
use super::{AnalysisError, tabulate};
use crate::stats::Sample;
use crate::stats::quantile::weighted_quantile;
use crate::table::Table;

const BINS: usize = 60;
/// The drawn range leaves this share of everybody out at either end.
const TAIL: f64 = 0.005;
/// Fewer people than this give no shape worth drawing.
const PEOPLE: u64 = 30;

pub fn table(context: &Context) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("distributions");
    for index in 0..context.study.indices.len() {
        let everybody = own_scale(context, index, &context.groups[0]);
        let beyond = context.study.fewest_shown().unwrap_or_default() as u64;
        let Some(edges) = edges(&everybody, beyond) else { continue };
        let drawn = context.groups.iter().filter(|g| g.grouping.is_none_or(|grouping| grouping == 0));
        for group in drawn {
            let sample = own_scale(context, index, group);
            let people = sample.people_counted();
            let fewest = context.study.fewest_shown().map_or(PEOPLE, |limit| PEOPLE * limit as u64);
            if people >= fewest {
                rows(context, index, (group, &sample), &edges, &mut table)?;
            }
        }
    }
    Ok(table)
}

/// Values on the index's own scale.
fn own_scale(context: &Context, index: usize, group: &Group) -> Sample {
    let ordered = &context.frames[context.frame_of_index(index)].indices[index];
    let mut sample = values(ordered, &context.populations[0], group);
    let sign = context.study.indices[index].sign() as f64;
    for value in &mut sample.value {
        *value *= sign;
    }
    sample
}

/// Bin edges between the outer percentiles, or nearer the middle where fewer people than these lie beyond one; equal on
/// the log where all values are positive.
fn edges(sample: &Sample, beyond: u64) -> Option<Vec<f64>> {
    let [least, most] = inner(sample, beyond)?;
    let low = weighted_quantile(&sample.value, &sample.weight, TAIL).ok()?.max(least);
    let high = weighted_quantile(&sample.value, &sample.weight, 1.0 - TAIL).ok()?.min(most);
    if low >= high {
        return None;
    }
    let steps = (0..BINS).map(|i| i as f64 / BINS as f64);
    let at = |s: f64| if low > 0.0 { low * (high / low).powf(s) } else { low + (high - low) * s };
    // The last edge is an observed value, which no rounding may move.
    Some(steps.map(at).chain([high]).collect())
}

/// The outermost values beyond which so many people lie.
fn inner(sample: &Sample, beyond: u64) -> Option<[f64; 2]> {
    if beyond == 0 {
        return Some([f64::NEG_INFINITY, f64::INFINITY]);
    }
    let mut sorted: Vec<(f64, u32)> =
        sample.value.iter().copied().zip(sample.people.iter().copied()).collect();
    sorted.sort_by(|one, other| one.0.total_cmp(&other.0));
    Some([after(sorted.iter(), beyond)?, after(sorted.iter().rev(), beyond)?])
}

/// The first value before whose own people so many come.
fn after<'v>(values: impl Iterator<Item = &'v (f64, u32)>, people: u64) -> Option<f64> {
    let (mut passed, mut reached) = (0, f64::NEG_INFINITY);
    for (value, count) in values {
        if passed >= people && value.total_cmp(&reached).is_ne() {
            return Some(*value);
        }
        passed += u64::from(*count);
        reached = *value;
    }
    None
}

fn rows(
    context: &Context,
    index: usize,
    (group, sample): (&Group, &Sample),
    edges: &[f64],
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let total: f64 = sample.weight.iter().sum();
    let mut shares = [0.0; BINS];
    let mut people = [0; BINS];
    for ((value, weight), count) in sample.value.iter().zip(&sample.weight).zip(&sample.people) {
        if let Some(bin) = bin(edges, *value) {
            shares[bin] += 100.0 * weight / total;
            people[bin] += u64::from(*count);
        }
    }
    // A bin of few people or of nobody is left empty where few may not be shown.
    let least = context.study.fewest_shown().map_or(0, |limit| limit as u64);
    for (bin, share) in shares.into_iter().enumerate() {
        let row = tabulate::lead(table.row(), context, (context.frame_of_index(index), index));
        tabulate::of_group(row, &context.populations[0], group)
            .real("from", Some(edges[bin]))
            .real("to", Some(edges[bin + 1]))
            .real("share", Some(share).filter(|_| people[bin] >= least))
            .done()?;
    }
    Ok(())
}

/// The bin of a value, which holds its lower edge; the last holds its upper edge as well.
fn bin(edges: &[f64], value: f64) -> Option<usize> {
    let below = edges.partition_point(|edge| *edge <= value);
    let last = edges[BINS];
    if value == last { Some(BINS - 1) } else { below.checked_sub(1).filter(|bin| *bin < BINS) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1000 people with the values 1 to 1000, the highest twice.
    #[test]
    fn as_many_people_lie_outside_the_edges_as_may_be_shown() {
        let value: Vec<f64> = (1..=1000).map(|at| f64::from(at.min(999))).collect();
        let sample = Sample::from_people(&value, &[1.0; 1000], &[0; 1000]).expect("a sample");
        let ends = |beyond| {
            let edges = edges(&sample, beyond).expect("edges");
            [edges[0], edges[BINS]].map(f64::round)
        };
        // 0.5 % are 5 people at either end.
        assert_eq!(ends(0), [5.0, 995.0]);
        // 1 to 10, and 991 to 998 with the two of 999.
        assert_eq!(ends(10), [11.0, 990.0]);
        assert_eq!(edges(&sample, 600), None);
    }

    #[test]
    fn the_outermost_values_of_the_range_are_drawn() {
        let value: Vec<f64> = (1..=1000).map(|at| f64::from(at) / 7.0).collect();
        let sample = Sample::from_people(&value, &[1.0; 1000], &[0; 1000]).expect("a sample");
        let edges = edges(&sample, 0).expect("edges");
        let (low, high) = (5.0 / 7.0, 995.0 / 7.0);
        assert_eq!([edges[0], edges[BINS]], [low, high], "observed values, to the last bit");
        assert_eq!([bin(&edges, low), bin(&edges, high)], [Some(0), Some(BINS - 1)]);
        assert_eq!([bin(&edges, 4.0 / 7.0), bin(&edges, 996.0 / 7.0)], [None, None]);
        // 991 of the 1000 people, from the 5th to the 995th.
        assert_eq!(value.iter().filter(|value| bin(&edges, **value).is_some()).count(), 991);
    }
}
