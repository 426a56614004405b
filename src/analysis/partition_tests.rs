//! Whether groups differ enough for reference limits of their own.

use rayon::prelude::*;

use super::context::Context;
use super::reference_limits::{common, own_order, populations};
use super::withhold;
use super::{AnalysisError, tabulate};
use crate::stats::reference_limit::{Partition, harris_boyd};
use crate::stats::scale::Scale;
use crate::stats::{Sample, StatError};
use crate::table::Table;

/// Separate limits are advised above this ratio of standard deviations.
const SD_RATIO: f64 = 1.5;

/// Two groups of one single variable in one population.
struct Test {
    index: usize,
    population: usize,
    groups: (usize, usize),
    people: (u64, u64),
    scale: Scale,
    partition: Result<Partition, StatError>,
    /// Percent of either group below and above the limits of everybody.
    outside: Option<[(f64, f64); 2]>,
}

/// Every pair of groups of every single variable.
pub fn table(context: &Context) -> Result<Table, AnalysisError> {
    let places: Vec<(usize, usize)> =
        (0..context.study.indices.len()).flat_map(|i| populations(context).map(move |p| (i, p))).collect();
    let tests: Vec<Vec<Test>> = places.into_par_iter().map(|place| tests(context, place)).collect();
    let mut table = tabulate::empty("partition_tests");
    for test in tests.iter().flatten() {
        row(context, test, &mut table)?;
    }
    Ok(table)
}

fn tests(context: &Context, place: (usize, usize)) -> Vec<Test> {
    let sample = |g: usize| own_order(context, place, &context.groups[g]);
    let everybody = sample(0);
    let limits = common(&everybody);
    let scale = Scale::of(&everybody.value);
    let single = |g: &usize| {
        let grouping = context.groups[*g].grouping;
        grouping.is_some_and(|by| context.study.groupings[by].len() == 1)
    };
    let samples: Vec<(usize, Sample)> =
        (0..context.groups.len()).filter(single).map(|g| (g, sample(g))).collect();
    let mut tests = Vec::new();
    for (position, (first, a)) in samples.iter().enumerate() {
        let same =
            |other: &&(usize, Sample)| context.groups[other.0].grouping == context.groups[*first].grouping;
        for (second, b) in samples[position + 1..].iter().filter(same) {
            tests.push(Test {
                index: place.0,
                population: place.1,
                groups: (*first, *second),
                people: (a.people_counted(), b.people_counted()),
                scale,
                partition: harris_boyd(&scale.apply(a), &scale.apply(b)),
                outside: limits.map(|limits| [outside(a, limits), outside(b, limits)]),
            });
        }
    }
    tests
}

/// Percent of the people below the lower and above the upper limit.
fn outside(sample: &Sample, (lower, upper): (f64, f64)) -> (f64, f64) {
    let share = |beyond: &dyn Fn(f64) -> bool| {
        let rows = sample.value.iter().zip(&sample.people).filter(|(value, _)| beyond(**value));
        100.0 * rows.map(|(_, &n)| f64::from(n)).sum::<f64>() / sample.people_counted() as f64
    };
    (share(&|value| value < lower), share(&|value| value > upper))
}

fn row(context: &Context, test: &Test, table: &mut Table) -> Result<(), AnalysisError> {
    let study = context.study;
    let mut verdict = withhold::reference_limits(study, test.people.0.min(test.people.1));
    if let (Err(why), true) = (&test.partition, verdict.withheld.is_empty()) {
        verdict.cannot(why.to_string());
    }
    let shown = verdict.shown(study);
    let partition = test.partition.as_ref().ok().filter(|_| shown);
    let outside = test.outside.filter(|_| shown && test.people.0 > 0 && test.people.1 > 0);
    let scale = if test.scale == Scale::Raw { "raw" } else { "logarithm" };
    let row = tabulate::lead(table.row(), context, (context.frame_of_index(test.index), test.index));
    let (first, second) = (&context.groups[test.groups.0], &context.groups[test.groups.1]);
    tabulate::of_group(row, &context.populations[test.population], first)
        .text("other_group", &*second.name)
        .whole("n", Some(test.people.0 as i64))
        .whole("other_n", Some(test.people.1 as i64))
        .text("scale", scale)
        .real("z", partition.map(|p| p.z))
        .real("critical_z", partition.map(|p| p.critical_z))
        .real("sd_ratio", partition.map(|p| p.sd_ratio))
        .real("below", outside.map(|o| o[0].0))
        .real("above", outside.map(|o| o[0].1))
        .real("other_below", outside.map(|o| o[1].0))
        .real("other_above", outside.map(|o| o[1].1))
        .text("advice", partition.map_or("", advice))
        .text("method", "harris_boyd_unweighted_ignores_design")
        .text("stated", tabulate::TOOL)
        .text("withheld", verdict.reason(study))
        .text("notices", verdict.notices(study))
        .done()?;
    Ok(())
}

fn advice(partition: &Partition) -> &'static str {
    if partition.z > partition.critical_z || partition.sd_ratio > SD_RATIO {
        "limits of their own"
    } else {
        "common limits"
    }
}
