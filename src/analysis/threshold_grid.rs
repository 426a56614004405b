//! What any threshold does in any group: share beyond, accuracy, and people whose label changes.

use std::collections::HashMap;

use rayon::prelude::*;

use super::context::Context;
use super::few_between::{self, Stands, Tails};
use super::grid_points;
use super::no_interval::no_interval;
use super::published_marks::{Mark, marks};
use super::roc::{Curve, Cutoff};
use super::select::{classed, values};
use super::thresholds::first_beyond;
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::interval::Interval;
use crate::stats::moving_share::shares_between;
use crate::stats::proportion::Share;
use crate::stats::{Design, Sample};
use crate::study::Threshold;
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

/// The thresholds of an index: those in print, from which the others are held apart, and the grid.
struct Grid {
    in_print: Vec<Mark>,
    at: Vec<f64>,
}

/// Shares of a group beyond each threshold of the grid, and which thresholds stand: those in print, then the grid's.
type Everybody = (Vec<Judged>, Vec<Stands>);

/// One row for each index, outcome, group and threshold of the index's grid.
pub fn table(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let grid = |index: usize| Grid {
        in_print: marks(context, index).0,
        at: grid_points::thresholds(context, index),
    };
    let grids: Vec<Grid> = (0..context.study.indices.len()).map(grid).collect();
    let rows: usize = curves.iter().map(|curve| grids[curve.index].at.len()).sum();
    let crossings = rows <= MOST_ROWS_WITH_CROSSINGS;
    let shown: Vec<&Curve> =
        curves.iter().filter(|c| crossings || context.groups[c.group].is_single()).collect();
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
        for (place, threshold) in grids[curve.index].at.iter().enumerate() {
            row(context, curve, (lane, &beyond[place], place, *threshold), &mut table)?;
        }
    }
    Ok(table)
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
fn beyond(context: &Context, curve: &Curve, grid: &Grid) -> Everybody {
    let frame = &context.frames[context.frame_of_index(curve.index)];
    let group = &context.groups[curve.group];
    let everybody = values(&frame.indices[curve.index], &context.populations[0], group);
    let (at, turned) = ascending(context, curve, &grid.at);
    let mut shares = side(context, &frame.design, &everybody, (&at, everybody.len()));
    if turned {
        shares.reverse();
    }
    let stands = stand(context, curve.index, &[&everybody], grid.points(curve.index, |_, _| true));
    apply(context, &mut shares, &stands[grid.in_print.len()..]);
    (shares, stands)
}

impl Grid {
    /// Those in print, then the grid: each that is open by its place and, of those in print, by what it is.
    fn points(&self, index: usize, open: impl Fn(usize, Option<&Mark>) -> bool) -> Vec<Option<Threshold>> {
        let of_grid = |value: &f64| Threshold { index, value: *value, strict: false, source: String::new() };
        let in_print = self.in_print.iter().map(|one| (one.threshold.clone(), Some(one)));
        let all = in_print.chain(self.at.iter().map(|value| (of_grid(value), None)));
        all.enumerate().map(|(place, (threshold, of))| open(place, of).then_some(threshold)).collect()
    }
}

/// Which points may stand side by side, and beside the thresholds of the study.
fn stand(
    context: &Context,
    index: usize,
    samples: &[&Sample],
    points: Vec<Option<Threshold>>,
) -> Vec<Stands> {
    let Some(limit) = context.study.fewest_shown() else { return vec![Stands::Apart; points.len()] };
    let tails = Tails::of(samples);
    let point = |threshold: Threshold| {
        let beyond = tails.beyond(|sample| first_beyond(context, &threshold, sample));
        (few_between::place(threshold.value, threshold.strict), beyond)
    };
    let stated = few_between::stated(context, index, &tails);
    few_between::standing(limit, &tails, (stated, points.into_iter().map(|at| at.map(point))))
}

fn apply(context: &Context, shares: &mut [Judged], stands: &[Stands]) {
    if let Some(limit) = context.study.fewest_shown() {
        shares.iter_mut().zip(stands).for_each(|(share, stands)| share.stand(*stands, limit));
    }
}

fn lane(context: &Context, curve: &Curve, (grid, among): (&Grid, &[Stands])) -> Lane {
    let (cohort, group) = (&context.populations[0], &context.groups[curve.group]);
    let (at, turned) = ascending(context, curve, &grid.at);
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
    // Among everybody a point stands first; a cutoff in print is judged by one outcome alone.
    let open = |place: usize, of: Option<&Mark>| {
        among[place] != Stands::Near && of.is_none_or(|of| of.outcome == Some(curve.outcome))
    };
    let stands = stand(context, curve.index, &[&with, &without], grid.points(curve.index, open));
    let stands = &stands[grid.in_print.len()..];
    apply(context, &mut lane.sensitivity, stands);
    apply(context, &mut lane.specificity, stands);
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
        return Judged { withheld: no_interval(context.study, 0), ..Judged::default() };
    };
    let study = context.study;
    let interval = share.korn_graubard(study.confidence);
    let verdict = match &interval {
        Ok(interval) => withhold::share(study, &share, *interval),
        Err(_) => Verdict { withheld: vec![no_interval(study, share.people)], ..Verdict::default() },
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
