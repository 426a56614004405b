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
        let Some(edges) = edges(&everybody) else { continue };
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

/// Bin edges between the outer percentiles, equal on the log where all values are positive.
fn edges(sample: &Sample) -> Option<Vec<f64>> {
    let low = weighted_quantile(&sample.value, &sample.weight, TAIL).ok()?;
    let high = weighted_quantile(&sample.value, &sample.weight, 1.0 - TAIL).ok()?;
    if low >= high {
        return None;
    }
    let steps = (0..=BINS).map(|i| i as f64 / BINS as f64);
    Some(if low > 0.0 {
        steps.map(|s| low * (high / low).powf(s)).collect()
    } else {
        steps.map(|s| low + (high - low) * s).collect()
    })
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
        let bin = edges.partition_point(|e| e <= value);
        if (1..=BINS).contains(&bin) {
            shares[bin - 1] += 100.0 * weight / total;
            people[bin - 1] += u64::from(*count);
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
