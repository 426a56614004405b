//! The percentile of a person's value in every group that the person belongs to.

use serde::Serialize;

use super::beside::fewer_beside_value;
use super::context::{Context, resistance};
use super::groups::EVERYBODY;
use super::select::values;
use super::{AnalysisError, tabulate, thresholds, withhold};
use crate::cohort::Subject;
use crate::stats::quantile::weighted_quantile;
use crate::study::{Split, Study, Threshold};
use crate::table::Row;

/// Where a value lies in one group: the share of people strictly less resistant, in percent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rank {
    pub population: String,
    pub population_label: String,
    pub grouping: String,
    pub group: String,
    pub n: i64,
    pub df: Option<i64>,
    pub percentile: Option<f64>,
    pub lower: Option<f64>,
    pub upper: Option<f64>,
    /// When the percentile is withheld: the highest percentile of the study that the value reaches.
    pub at_least: Option<f64>,
    pub withheld: String,
    pub notices: String,
}

/// Where a value lies in every population and group that the person belongs to: the row that a run gives
/// with this value as a threshold.
pub(super) fn ranks(
    context: &Context,
    subject: &Subject,
    threshold: &Threshold,
) -> Result<Vec<Rank>, AnalysisError> {
    let mut ranks = Vec::new();
    for population in 0..context.populations.len() {
        for group in (0..context.groups.len()).filter(|&g| context.groups[g].holds(&subject.levels)) {
            let mut table = tabulate::empty("threshold_shares");
            thresholds::share_row(context, threshold, (population, group), &mut table)?;
            let domain = (threshold.index, population, group);
            ranks.extend(table.iter().map(|row| rank(context, domain, threshold.value, &row)));
        }
    }
    Ok(ranks)
}

fn rank(context: &Context, domain: (usize, usize, usize), value: f64, row: &Row<'_>) -> Rank {
    let complement = |column: &str| row.real(column).map(|share| 100.0 - share);
    let percentile = row.real("percentile");
    Rank {
        population: row.text("population").to_owned(),
        population_label: context.populations[domain.1].label.clone(),
        grouping: row.text("grouping").to_owned(),
        group: row.text("group").to_owned(),
        n: row.whole("n").unwrap_or_default(),
        df: row.whole("df"),
        percentile,
        lower: complement("upper"),
        upper: complement("lower"),
        at_least: if percentile.is_none() { reached(context, domain, value) } else { None },
        withheld: row.text("withheld").to_owned(),
        notices: row.text("notices").to_owned(),
    }
}

/// The highest percentile of the study that is printed in the group and that the value reaches.
fn reached(context: &Context, (index, population, group): (usize, usize, usize), value: f64) -> Option<f64> {
    let frame = &context.frames[context.frame_of_index(index)];
    let sample = values(&frame.indices[index], &context.populations[population], &context.groups[group]);
    let at = resistance(value, &context.study.indices[index]);
    let less = sample.value.partition_point(|&v| v < at);
    let share = sample.weight[..less].iter().sum::<f64>() / sample.weight.iter().sum::<f64>();
    let people = sample.people_counted();
    let printed = |p: &&f64| {
        let value = weighted_quantile(&sample.value, &sample.weight, **p);
        let beyond = value.map_or(0, |value| fewer_beside_value(&sample, value));
        withhold::percentile(context.study, people, beyond, Ok(())).shown(context.study)
    };
    let reached = context.study.percentiles.iter().filter(printed).filter(|p| share >= **p);
    reached.map(|p| 100.0 * p).fold(None, |highest: Option<f64>, p| Some(highest.map_or(p, |h| h.max(p))))
}

/// What a grouping splits people by: columns and formulas, without regard to where they are cut.
fn splits_by(study: &Study, grouping: usize) -> Vec<&str> {
    let of = |&variable: &usize| match &study.variables[variable].split {
        Split::Bands { column, .. } => column.as_str(),
        Split::Levels { sql, .. } => sql.as_str(),
    };
    study.groupings[grouping].iter().map(of).collect()
}

/// The groupings that make the smallest groups of somebody of these levels: of those whose every variable is known, the
/// ones that no other splits further. One of several that split by the same. Where a grouping is asked for, that one.
pub(super) fn smallest(study: &Study, levels: &[Option<u8>], asked: Option<usize>) -> Vec<usize> {
    if let Some(asked) = asked {
        return vec![asked];
    }
    let known = |&g: &usize| study.groupings[g].iter().all(|&variable| levels[variable].is_some());
    let by: Vec<Vec<&str>> = (0..study.groupings.len()).map(|g| splits_by(study, g)).collect();
    let inside = |one: usize, other: usize| by[one].iter().all(|column| by[other].contains(column));
    let covered = |one: usize| {
        let further = |&other: &usize| inside(one, other) && (!inside(other, one) || other < one);
        (0..by.len()).filter(known).any(|other| other != one && further(&other))
    };
    (0..by.len()).filter(known).filter(|&grouping| !covered(grouping)).collect()
}

/// Groupings by some of what a grouping splits by, those by most first.
pub(super) fn within(study: &Study, grouping: usize) -> Vec<usize> {
    let own = splits_by(study, grouping);
    let part = |other: &usize| {
        let by = splits_by(study, *other);
        by.len() < own.len() && by.iter().all(|column| own.contains(column))
    };
    let mut parts: Vec<usize> = (0..study.groupings.len()).filter(part).collect();
    parts.sort_by_key(|&other| std::cmp::Reverse(study.groupings[other].len()));
    parts
}

/// Positions of the ranks of the person's smallest groups in the cohort; everybody where there is none.
pub(super) fn own(
    (context, subject): (&Context, &Subject),
    ranks: &[Rank],
    asked: Option<usize>,
) -> Vec<usize> {
    let name = |grouping: usize| {
        let group = context.groups.iter().find(|g| g.grouping == Some(grouping));
        group.map(|group| group.grouping_name.clone())
    };
    let names: Vec<String> =
        smallest(context.study, &subject.levels, asked).into_iter().filter_map(name).collect();
    let cohort = &context.populations[0].name;
    let of = |wanted: &str| ranks.iter().position(|r| r.population == *cohort && r.grouping == wanted);
    let found: Vec<usize> = names.iter().filter_map(|name| of(name)).collect();
    if found.is_empty() { of(EVERYBODY).into_iter().collect() } else { found }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study;

    #[test]
    fn groups_that_cannot_be_known_do_not_hide_those_that_can() {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let without = |unknown: &[&str]| -> Vec<String> {
            let level = |of: &str| (!unknown.contains(&of)).then_some(0);
            let levels: Vec<Option<u8>> = study.variables.iter().map(|v| level(&v.name)).collect();
            let name = |grouping: usize| -> String {
                let of = study.groupings[grouping].iter();
                of.map(|&v| study.variables[v].name.as_str()).collect::<Vec<_>>().join(" × ")
            };
            smallest(&study, &levels, None).into_iter().map(name).collect()
        };
        assert_eq!(without(&["sex", "ancestry"]), ["age_20_40_60", "bmi_class"]);
        assert_eq!(without(&["bmi_class", "obesity", "ancestry"]), ["sex × age_20_40_60"]);
        assert_eq!(without(&["ancestry"]), ["sex × age_20_40_60", "sex × obesity"]);
    }
}
