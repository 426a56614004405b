//! ROC curves as they are drawn: some dozens of points with the band of their sensitivity.

use rayon::prelude::*;

use super::context::Context;
use super::few_between::{Apart, Tails, place};
use super::groups::Group;
use super::select::{Classed, classed};
use super::{AnalysisError, tabulate, withhold};
use crate::stats::Sample;
use crate::stats::interval::Interval;
use crate::stats::replicate_interval::Centre;
use crate::stats::roc::{self, RocPoint};
use crate::stats::scan;
use crate::study::Study;
use crate::table::Table;
use crate::table::small::stands_for_few;

/// Steps of 1 − specificity at which a drawn curve is tabulated.
const CURVE_STEPS: usize = 50;
/// Replicates behind the band of a drawn curve.
const BAND_REPLICATES: usize = 200;

/// Curves for drawing: everybody and the groups of the study's first grouping.
pub fn table(context: &Context) -> Result<Table, AnalysisError> {
    let drawn: Vec<&Group> =
        context.groups.iter().filter(|g| g.grouping.is_none_or(|grouping| grouping == 0)).collect();
    let pairs =
        (0..context.study.indices.len()).flat_map(|i| (0..context.study.outcomes.len()).map(move |o| (i, o)));
    let tasks: Vec<_> = pairs.flat_map(|pair| drawn.iter().map(move |group| (pair, *group))).collect();
    let curves: Vec<Vec<Drawn>> =
        tasks.par_iter().map(|(pair, group)| drawn_curve(context, *pair, group)).collect();
    let mut table = tabulate::empty("roc_points");
    for (((index, outcome), group), points) in tasks.iter().zip(&curves) {
        let sign = context.study.indices[*index].sign() as f64;
        let frame = context.frame_of_pair(*index, *outcome);
        for point in points {
            let row = tabulate::lead(table.row(), context, (frame, *index));
            tabulate::of_group(row, &context.populations[0], group)
                .text("outcome", &*context.study.outcomes[*outcome].row.name)
                .real("cutoff", Some(point.cutoff * sign))
                .real("false_positive_share", Some(1.0 - point.specificity))
                .real("sensitivity", Some(point.sensitivity))
                .real("specificity", Some(point.specificity))
                .real("sensitivity_lower", point.band.map(|b| b.lower))
                .real("sensitivity_upper", point.band.map(|b| b.upper))
                .done()?;
        }
    }
    Ok(table)
}

/// A point of a drawn curve with the band of its sensitivity.
struct Drawn {
    cutoff: f64,
    sensitivity: f64,
    specificity: f64,
    band: Option<Interval>,
}

/// Whether a point would show fewer people than may be shown, on either side of its cutoff; or a single one, where everybody
/// is beyond it or nobody short of it: it is then the value of who has the lowest or the highest.
fn few(study: &Study, people: &Classed, point: &RocPoint) -> bool {
    study.fewest_shown().is_some_and(|limit| {
        let of = |share: f64, all: u64| stands_for_few(share, all as f64, limit);
        let (with, without) = (people.with as f64, people.without as f64);
        let beyond = point.sensitivity * with + (1.0 - point.specificity) * without;
        of(point.sensitivity, people.with)
            || of(point.specificity, people.without)
            || !(0.5..with + without - 0.5).contains(&beyond)
    })
}

/// The points of which neighbours may be shown side by side.
fn spaced(study: &Study, people: &Classed, mut drawn: Vec<Drawn>) -> Vec<Drawn> {
    if let Some(limit) = study.fewest_shown() {
        let (with, without) = (people.of_class(true), people.of_class(false));
        let (tails, mut apart) = (Tails::of(&[&with, &without]), Apart::by(limit));
        drawn.retain(|at| {
            let first = |sample: &Sample| sample.value.partition_point(|value| *value < at.cutoff);
            apart.keeps(place(at.cutoff, false), tails.beyond(first))
        });
    }
    drawn
}

fn drawn_curve(context: &Context, pair: (usize, usize), group: &Group) -> Vec<Drawn> {
    let people = classed(context, pair, &context.populations[0], group);
    let study = context.study;
    let sure = Some(Interval { lower: 1.0, upper: 1.0 });
    if !withhold::cutoff(study, people.with, people.without, sure).shown(study) {
        return Vec::new();
    }
    let Ok(points) = roc::curve(&people.sample, &people.class) else { return Vec::new() };
    let frame = &context.frames[context.frame_of_pair(pair.0, pair.1)];
    let df_of =
        |class: bool| frame.design.degrees_of_freedom(&people.sample, &|row| people.class[row] == class);
    let df = df_of(true).min(df_of(false));
    let replicates = &frame.replicates.first(BAND_REPLICATES);
    let grid: Vec<f64> = (0..=CURVE_STEPS).map(|i| i as f64 / CURVE_STEPS as f64).collect();
    let spreads = scan::sensitivity_at(&people.sample, &people.class, replicates, &grid);
    // The largest sensitivity whose 1 − specificity does not exceed x; points run from everybody up.
    let point_at = |x: f64| points.iter().find(|p| 1.0 - p.specificity <= x + 1e-12);
    let drawn = |(x, spread): (&f64, &Vec<f64>)| {
        let point = point_at(*x)?;
        if few(study, &people, point) {
            return None;
        }
        let centre = Centre { full: point.sensitivity, df, confidence: study.confidence };
        let band = replicates.interval_of_jumps(spread, centre).ok();
        let (cutoff, sensitivity, specificity) = (point.cutoff, point.sensitivity, point.specificity);
        Some(Drawn { cutoff, sensitivity, specificity, band })
    };
    let drawn: Vec<Drawn> = grid.iter().zip(&spreads).filter_map(drawn).collect();
    spaced(study, &people, drawn)
}
