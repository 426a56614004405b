//! The study's percentiles of every group with their replicates, to be compared pair by pair.

use super::beside::fewer_beside_value;
use super::compared::Side;
use super::context::Context;
use super::cutoff_pairs::{Family, groupings};
use super::percentiles::percent;
use super::select::values;
use super::withhold;
use crate::stats::quantile::weighted_quantile;
use crate::stats::quantile_replicates::quantile_replicates;

/// An index and a population.
type Domain = (usize, usize);

pub fn domains(context: &Context) -> Vec<Domain> {
    let populations = 0..context.populations.len();
    (0..context.study.indices.len()).flat_map(|i| populations.clone().map(move |p| (i, p))).collect()
}

/// Families of every grouping and percentile.
pub fn families<'a>(context: &'a Context, (index, population): Domain) -> Vec<Family<'a>> {
    let groupings = groupings(context);
    let sides = |group: usize| of_group(context, (index, population), group);
    let everybody = sides(0);
    let mut families = Vec::new();
    for (grouping, groups) in groupings {
        let of_groups: Vec<Vec<Side>> = groups.into_iter().map(sides).collect();
        for (position, &p) in context.study.percentiles.iter().enumerate() {
            families.push(Family {
                index,
                outcome: None,
                population,
                grouping,
                frame: context.frame_of_index(index),
                method: format!("percentile_{}", percent(p)),
                notice: "",
                sides: of_groups.iter().map(|of_group| of_group[position].clone()).collect(),
                everybody: Some(everybody[position].clone()),
            });
        }
    }
    families
}

/// One side for each of the study's percentiles.
fn of_group<'a>(context: &'a Context, (index, population): Domain, group: usize) -> Vec<Side<'a>> {
    let study = context.study;
    let frame = &context.frames[context.frame_of_index(index)];
    let who = (&context.populations[population], &context.groups[group]);
    let sample = values(&frame.indices[index], who.0, who.1);
    let sign = study.indices[index].sign() as f64;
    let df = frame.design.degrees_of_freedom(&sample, &|_| true);
    let people = sample.people_counted();
    let replicates = quantile_replicates(&sample, &frame.replicates, &study.percentiles);
    let side = |(position, &p): (usize, &f64)| {
        let value = weighted_quantile(&sample.value, &sample.weight, p).ok();
        let why = replicates.as_ref().err().map(|why| format!("no replicates: {why}"));
        let beyond = value.map_or(0, |value| fewer_beside_value(&sample, value));
        let verdict = withhold::percentile(study, people, beyond, Ok(()));
        Side {
            group: &who.1.name,
            value: value.map(|v| v * sign),
            replicates: match &replicates {
                Ok(of) => of[position].iter().map(|v| v * sign).collect(),
                Err(_) => vec![f64::NAN; frame.replicates.count],
            },
            df,
            jumps: true,
            barred: verdict.barred,
            withheld: if people == 0 {
                verdict.withheld
            } else {
                verdict.withheld.into_iter().chain(why).collect()
            },
        }
    };
    study.percentiles.iter().enumerate().map(side).collect()
}
