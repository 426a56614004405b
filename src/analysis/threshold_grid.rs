//! What any threshold does in any group: share beyond, accuracy, and people whose label changes.

use std::collections::HashMap;

use rayon::prelude::*;

use super::context::Context;
use super::few_between::{self, Stands, Tails};
use super::grid_points;
use super::roc::{Curve, Cutoff};
use super::select::{classed, values};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::interval::Interval;
use crate::stats::moving_share::shares_between;
use crate::stats::proportion::Share;
use crate::stats::{Design, Sample};
use crate::table::{RowBuilder, Table};

/// With more rows than this, crossings of variables are left out.
const MOST_ROWS_WITH_CROSSINGS: usize = 20_000;

/// A share with its interval, or why it is not printed. Columns are named after it.
#[derive(Debug, Clone, Default)]
pub(super) struct Judged {
    pub value: Option<f64>,
    pub interval: Option<Interval>,
    pub people: u64,
    pub df: f64,
    pub withheld: String,
    pub notices: String,
}

/// All shares of one curve's group, threshold by threshold.
struct Lane {
    sensitivity: Vec<Judged>,
    specificity: Vec<Judged>,
    reclassified: Vec<Judged>,
    moved: Vec<&'static str>,
}

/// Shares of a group beyond each threshold, and which of the thresholds stand.
type Everybody = (Vec<Judged>, Vec<Stands>);

/// One row for each index, outcome, group and threshold of the index's grid.
pub fn table(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let grids: Vec<Vec<f64>> =
        (0..context.study.indices.len()).map(|index| grid_points::thresholds(context, index)).collect();
    let rows: usize = curves.iter().map(|curve| grids[curve.index].len()).sum();
    let crossings = rows <= MOST_ROWS_WITH_CROSSINGS;
    let shown: Vec<&Curve> = curves.iter().filter(|c| crossings || single(context, c.group)).collect();
    // The people beyond a threshold are the same whatever the outcome.
    let beyond: HashMap<(usize, usize), Everybody> = shown
        .par_iter()
        .filter(|curve| curve.outcome == 0)
        .map(|curve| ((curve.index, curve.group), beyond(context, curve, &grids[curve.index])))
        .collect();
    let is_known = |curve: &&Curve| beyond.contains_key(&(curve.index, curve.group));
    debug_assert!(shown.iter().all(is_known), "every group of an index has a curve of the first outcome");
    let lanes: Vec<Lane> = shown
        .par_iter()
        .map(|curve| lane(context, curve, (&grids[curve.index], &beyond[&(curve.index, curve.group)].1)))
        .collect();
    let mut table = tabulate::empty("threshold_grid");
    for (curve, lane) in shown.into_iter().zip(&lanes) {
        let (beyond, _) = &beyond[&(curve.index, curve.group)];
        for (place, threshold) in grids[curve.index].iter().enumerate() {
            row(context, curve, (lane, &beyond[place], place, *threshold), &mut table)?;
        }
    }
    Ok(table)
}

/// Everybody, or a level of one variable.
pub(super) fn single(context: &Context, group: usize) -> bool {
    context.groups[group].grouping.is_none_or(|grouping| context.study.groupings[grouping].len() == 1)
}

/// A grid in the order of resistance, and whether that turned it round.
fn ascending(context: &Context, curve: &Curve, grid: &[f64]) -> (Vec<f64>, bool) {
    let index = &context.study.indices[curve.index];
    let mut at: Vec<f64> = grid.iter().map(|&t| super::context::resistance(t, index)).collect();
    let turned = index.sign() < 0;
    if turned {
        at.reverse();
    }
    (at, turned)
}

/// Shares of everybody in the curve's group at or beyond each threshold.
fn beyond(context: &Context, curve: &Curve, grid: &[f64]) -> Everybody {
    let frame = &context.frames[context.frame_of_index(curve.index)];
    let group = &context.groups[curve.group];
    let everybody = values(&frame.indices[curve.index], &context.populations[0], group);
    let (at, turned) = ascending(context, curve, grid);
    let mut shares = side(context, &frame.design, &everybody, (&at, everybody.len()));
    if turned {
        shares.reverse();
    }
    let stands = stand(context, curve, (&[&everybody], grid), &[]);
    apply(context, &mut shares, &stands);
    (shares, stands)
}

/// Which thresholds of the grid may stand side by side, of those that do so among everybody.
fn stand(
    context: &Context,
    curve: &Curve,
    (samples, grid): (&[&Sample], &[f64]),
    among: &[Stands],
) -> Vec<Stands> {
    let Some(limit) = context.study.fewest_shown() else { return vec![Stands::Apart; grid.len()] };
    let tails = Tails::of(samples);
    let index = &context.study.indices[curve.index];
    let point = |threshold: &f64| {
        let at = super::context::resistance(*threshold, index);
        let beyond = tails.beyond(|sample| sample.value.partition_point(|value| *value < at));
        (few_between::place(*threshold, false), beyond)
    };
    let open = |place: usize| among.get(place) != Some(&Stands::Near);
    let points = grid.iter().enumerate().map(|(place, threshold)| open(place).then(|| point(threshold)));
    let stated = few_between::stated(context, curve.index, &tails);
    few_between::standing(limit, &tails, (stated, points))
}

fn apply(context: &Context, shares: &mut [Judged], stands: &[Stands]) {
    if let Some(limit) = context.study.fewest_shown() {
        shares.iter_mut().zip(stands).for_each(|(share, stands)| share.stand(*stands, limit));
    }
}

fn lane(context: &Context, curve: &Curve, (grid, among): (&[f64], &[Stands])) -> Lane {
    let (cohort, group) = (&context.populations[0], &context.groups[curve.group]);
    let (at, turned) = ascending(context, curve, grid);
    let own = &context.frames[context.frame_of_index(curve.index)];
    let everybody = values(&own.indices[curve.index], cohort, group);
    let people = classed(context, (curve.index, curve.outcome), cohort, group);
    let design = &context.frames[context.frame_of_pair(curve.index, curve.outcome)].design;
    let (with, without) = (people.of_class(true), people.of_class(false));
    let (reclassified, moved) = reclassified(context, &own.design, &everybody, (curve, &at));
    let mut lane = Lane {
        sensitivity: side(context, design, &with, (&at, with.len())),
        specificity: side(context, design, &without, (&at, 0)),
        reclassified,
        moved,
    };
    if turned {
        for list in [&mut lane.sensitivity, &mut lane.specificity, &mut lane.reclassified] {
            list.reverse();
        }
        lane.moved.reverse();
    }
    let stands = stand(context, curve, (&[&with, &without], grid), among);
    apply(context, &mut lane.sensitivity, &stands);
    apply(context, &mut lane.specificity, &stands);
    lane
}

/// First row at or beyond each threshold; thresholds ascend in the order of resistance.
fn firsts(sample: &Sample, at: &[f64]) -> Vec<usize> {
    at.iter().map(|&t| sample.value.partition_point(|&v| v < t)).collect()
}

/// Shares of the people between row `from` and each threshold.
fn side(context: &Context, design: &Design, sample: &Sample, (at, from): (&[f64], usize)) -> Vec<Judged> {
    let shares = shares_between(design, sample, from, &firsts(sample, at));
    shares.into_iter().map(|share| judged(context, share)).collect()
}

/// People between the group's own cutoff, held fixed, and each threshold.
fn reclassified(
    context: &Context,
    design: &Design,
    sample: &Sample,
    (curve, at): (&Curve, &[f64]),
) -> (Vec<Judged>, Vec<&'static str>) {
    let Some(cutoff) = own_cutoff(context, curve) else {
        let withheld = "the group has no cutoff of its own".to_owned();
        let people = sample.people_counted();
        return (vec![Judged { people, withheld, ..Judged::default() }; at.len()], vec![""; at.len()]);
    };
    let from = sample.value.partition_point(|&v| v < cutoff.value);
    let shares = side(context, design, sample, (at, from));
    let moved = |&t: &f64| match t.total_cmp(&cutoff.value) {
        std::cmp::Ordering::Less => "newly_beyond",
        std::cmp::Ordering::Equal => "nobody",
        std::cmp::Ordering::Greater => "no_longer_beyond",
    };
    let moved: Vec<&str> = at.iter().map(moved).collect();
    let unmoved = |(judged, moved): (Judged, &&str)| match *moved {
        // The same threshold moves nobody, however few are asked.
        "nobody" => Judged { value: Some(0.0), interval: None, withheld: String::new(), ..judged },
        _ => judged,
    };
    let shares: Vec<Judged> = shares.into_iter().zip(&moved).map(unmoved).collect();
    (shares, moved)
}

/// The cutoff by the study's first rule, unless it is withheld.
fn own_cutoff<'a>(context: &Context, curve: &'a Curve) -> Option<&'a Cutoff> {
    curve.cutoffs.first().filter(|cutoff| cutoff.verdict.shown(context.study) && cutoff.value.is_finite())
}

pub(super) fn judged(context: &Context, share: Option<Share>) -> Judged {
    let Some(share) = share else {
        return Judged { withheld: withhold::no_interval(context.study, 0), ..Judged::default() };
    };
    let study = context.study;
    let interval = share.korn_graubard(study.confidence);
    let verdict = match &interval {
        Ok(interval) => withhold::share(study, &share, *interval),
        Err(_) => {
            Verdict { withheld: vec![withhold::no_interval(study, share.people)], ..Verdict::default() }
        }
    };
    let shown = verdict.shown(study);
    Judged {
        value: shown.then_some(share.p),
        interval: interval.ok().filter(|_| shown),
        people: share.people,
        df: share.df,
        withheld: verdict.reason(study),
        notices: verdict.notices(study),
    }
}

fn row(
    context: &Context,
    curve: &Curve,
    (lane, beyond, place, threshold): (&Lane, &Judged, usize, f64),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let study = context.study;
    let (with, without) = (&lane.sensitivity[place], &lane.specificity[place]);
    let sign = study.indices[curve.index].sign() as f64;
    let lead = tabulate::lead(
        table.row(),
        context,
        (context.frame_of_pair(curve.index, curve.outcome), curve.index),
    )
    .text("outcome", &*study.outcomes[curve.outcome].row.name);
    let row = tabulate::of_group(lead, &context.populations[0], &context.groups[curve.group])
        .real("threshold", Some(threshold))
        .whole("n", Some(beyond.people as i64))
        .whole("df", Some(beyond.df as i64))
        .whole("n_with", Some(with.people as i64))
        .whole("n_without", Some(without.people as i64))
        .text("rule", study.rules.first().map_or("", |rule| &*rule.name))
        .real("cutoff", own_cutoff(context, curve).map(|cutoff| cutoff.value * sign))
        .text("moved", lane.moved[place])
        .text("interval", "korn_graubard");
    let row =
        of_share(row, ["share_beyond", "share_lower", "share_upper", "share_withheld"], (beyond, 100.0));
    let row = of_share(row, SENSITIVITY, (with, 1.0));
    let row = of_share(row, SPECIFICITY, (without, 1.0));
    of_share(row, RECLASSIFIED, (&lane.reclassified[place], 100.0)).done()?;
    Ok(())
}

pub(super) const SENSITIVITY: [&str; 4] =
    ["sensitivity", "sensitivity_lower", "sensitivity_upper", "sensitivity_withheld"];
pub(super) const SPECIFICITY: [&str; 4] =
    ["specificity", "specificity_lower", "specificity_upper", "specificity_withheld"];
const RECLASSIFIED: [&str; 4] =
    ["reclassified", "reclassified_lower", "reclassified_upper", "reclassified_withheld"];

/// The columns of one share: value, lower end, upper end, reason.
pub(super) fn of_share<'t>(
    row: RowBuilder<'t>,
    [value, lower, upper, withheld]: [&str; 4],
    (judged, scale): (&Judged, f64),
) -> RowBuilder<'t> {
    row.real(value, judged.value.map(|v| scale * v))
        .real(lower, judged.interval.map(|i| scale * i.lower))
        .real(upper, judged.interval.map(|i| scale * i.upper))
        .text(withheld, &*judged.withheld)
}
