//! One cutoff under other choices: every variant of the study estimated, and the tables about them.

use rayon::prelude::*;

use super::context::Context;
use super::roc::{self, Curve};
use super::samples::Derived;
use super::smoothed::{self, Smoothed};
use super::{AnalysisError, Group, assay_routes, choice_ranges, choices, choices_alike, tabulate, trend};
use crate::study::{ExclusionSet, Route, Sensitivity};
use crate::table::Table;
use crate::variant::{Converted, Variant, Variants};

/// A variant with its curves.
pub struct Estimated<'a> {
    pub variant: &'a Variant,
    pub set: &'a ExclusionSet,
    pub route: &'a Route,
    pub context: Context<'a>,
    pub curves: Vec<Curve>,
    /// One for each curve where routes are set side by side, else none.
    pub smoothed: Vec<Smoothed>,
}

/// The tables of the section; none when the study has no such section. `own` is what the study itself derived.
pub fn tables(own: &Derived, variants: &Variants) -> Result<Vec<Table>, AnalysisError> {
    let study = own.context.study;
    let Some(section) = &study.sensitivity else { return Ok(Vec::new()) };
    let all = variants
        .all
        .par_iter()
        .map(|variant| estimate(section, variant, own))
        .collect::<Result<Vec<Estimated>, _>>()?;
    let mut choices = choices::all(study, &all);
    if let Some(limit) = study.fewest_shown() {
        choices_alike::leave_out(&mut choices, &choices_alike::told_steps(&own.results.tables, limit), limit);
    }
    let mut tables = trends(&all)?;
    tables.extend([
        steps(&variants.converted, &all)?,
        assay_routes::table(&all)?,
        choices::table(&all, &choices)?,
        choice_ranges::table(&all, &choices)?,
    ]);
    Ok(tables)
}

/// The trends over cycles by every route; those as released are the study's own.
fn trends(all: &[Estimated]) -> Result<Vec<Table>, AnalysisError> {
    let routes = all.iter().filter(|one| one.variant.exclusions == 0 && one.variant.route > 0);
    let of_route = |one: &Estimated| {
        let (context, curves) = (&one.context, &one.curves[..]);
        let cutoff = |position: usize| one.smoothed[position].clone();
        trend::tables(&trend::Given { context, route: one.route, curves, cutoff: &cutoff })
    };
    Ok(routes.map(of_route).collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

fn estimate<'a>(
    section: &'a Sensitivity,
    variant: &'a Variant,
    own: &Derived,
) -> Result<Estimated<'a>, AnalysisError> {
    let context = Context::new(&variant.study, &variant.tallies)?;
    let curves = roc::every(&context);
    let (set, route) = (&section.exclusions[variant.exclusions], &section.routes[variant.route]);
    let mut one = Estimated { variant, set, route, context, curves, smoothed: Vec::new() };
    if variant.exclusions == 0 && section.routes.len() > 1 {
        one.smoothed = one.curves.par_iter().map(|curve| one.smooth(curve, own)).collect();
    }
    Ok(one)
}

impl Estimated<'_> {
    /// Position of a group of another variant; `None` when nobody of this one is in it.
    pub fn group(&self, of: &Group) -> Option<usize> {
        let same = |group: &Group| group.grouping_name == of.grouping_name && group.name == of.name;
        self.context.groups.iter().position(same)
    }

    /// Position of the curve of a pair of index and outcome in a group.
    pub fn curve(&self, pair: (usize, usize), group: usize) -> Option<usize> {
        let of = (pair.0, pair.1, group);
        self.curves.iter().position(|curve| (curve.index, curve.outcome, curve.group) == of)
    }

    /// The smoothed cutoff of a curve: as released it is the study's own, where the study has the curve.
    fn smooth(&self, curve: &Curve, own: &Derived) -> Smoothed {
        let released = if self.variant.route == 0 { own.smoothed(&self.context, curve) } else { None };
        released.cloned().unwrap_or_else(|| smoothed::smoothed(&self.context, curve))
    }
}

/// What every route did to every cycle.
fn steps(converted: &[Converted], all: &[Estimated]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("assay_route_steps");
    let survey = all.first().map_or("", |base| base.context.tallies.survey.as_str());
    for one in converted {
        table
            .row()
            .text("survey", survey)
            .text("route", &*one.route)
            .text("route_label", &*one.label)
            .text("quantity", &*one.quantity)
            .text("cycle", &*one.cycle)
            .text("path", &*one.path)
            .text("equations", &*one.equations)
            .text("source", &*one.sources)
            .whole("people", Some(one.people as i64))
            .whole("converted", Some(one.converted as i64))
            .whole("floored", Some(one.floored as i64))
            .whole("lost", Some(one.lost as i64))
            .text("notices", &*one.note)
            .done()?;
    }
    Ok(table)
}
