//! Estimates cycle by cycle and their linear trend, where the laboratory method allows one.

use rayon::prelude::*;

use super::context::Context;
use super::groups::EVERYBODY;
use super::roc::Curve;
use super::smoothed::Smoothed;
use super::trend_points::{Point, What, of_what, points, wanted};
use super::{AnalysisError, cycle_methods, tabulate};
use crate::definitions::survey::survey;
use crate::stats::contrast::{Estimate, Trend, trend};
use crate::study::{Route, Source};
use crate::table::{RowBuilder, Table};

/// Name of the variable that tells cycles apart.
const CYCLE: &str = "cycle";
/// Fewest cycles for a trend.
const FEWEST: usize = 3;
/// Years of the step that a slope is about.
const STEP: f64 = 2.0;

/// A study by one assay route, with what is known of its cutoffs.
pub struct Given<'a> {
    pub context: &'a Context<'a>,
    pub route: &'a Route,
    pub curves: &'a [Curve],
    /// The smoothed cutoff of the curve at a position.
    pub cutoff: &'a (dyn Fn(usize) -> Smoothed + Sync),
}

/// People followed over cycles: everybody, or one level of another variable.
#[derive(Debug, Clone, PartialEq)]
pub struct Followed {
    grouping: String,
    group: String,
    /// In the order of time.
    cycles: Vec<Time>,
}

/// One cycle of the people followed.
#[derive(Debug, Clone, PartialEq)]
struct Time {
    name: String,
    /// Middle of the cycle in calendar years.
    middle: f64,
    /// Position of the group.
    group: usize,
}

/// One estimate of one index in the same people over cycles.
struct Series<'a> {
    index: usize,
    followed: &'a Followed,
    what: What,
    points: Vec<Point>,
}

/// A trend, or why there is none.
#[derive(Debug, Default)]
struct Fitted {
    trend: Option<Trend>,
    /// Cycles with an estimate and a standard error: where they stand among those followed.
    used: Vec<usize>,
    withheld: String,
    notices: Vec<String>,
}

/// The trends, and the estimates they run through; without rows when fewer than three cycles are groups.
pub fn tables(given: &Given) -> Result<Vec<Table>, AnalysisError> {
    let (mut trends, mut cycles) = (tabulate::empty("trend"), tabulate::empty("trend_cycles"));
    let followed = followed(given.context);
    for index in 0..given.context.study.indices.len() {
        for followed in &followed {
            let of_cycle = |time: &Time| points(given, index, time.group);
            let by_cycle: Vec<Vec<Point>> = followed.cycles.par_iter().map(of_cycle).collect();
            for (position, what) in wanted(given, index).into_iter().enumerate() {
                let points = by_cycle.iter().map(|points| points[position].clone()).collect();
                let series = Series { index, followed, what, points };
                series.write_cycles(given, &mut cycles)?;
                series.write_trend(given, &mut trends)?;
            }
        }
    }
    Ok(vec![trends, cycles])
}

/// The trends of a study as its sources were released.
pub fn as_released(
    context: &Context,
    curves: &[Curve],
    smoothed: &[Smoothed],
) -> Result<Vec<Table>, AnalysisError> {
    let route = Route::as_released();
    tables(&Given { context, route: &route, curves, cutoff: &|position| smoothed[position].clone() })
}

/// Who is followed: everybody where `cycle` is a grouping, and each level of a variable crossed with it.
fn followed(context: &Context) -> Vec<Followed> {
    let study = context.study;
    let Some(cycle) = study.variables.iter().position(|variable| variable.name == CYCLE) else {
        return Vec::new();
    };
    let mut found: Vec<Followed> = Vec::new();
    for (position, group) in context.groups.iter().enumerate() {
        let Some(grouping) = group.grouping.map(|grouping| &study.groupings[grouping]) else { continue };
        let others: Vec<usize> = grouping.iter().copied().filter(|variable| *variable != cycle).collect();
        let (Some(level), true) = (group.level(cycle), others.len() < 2) else { continue };
        let label = |variable: usize, level: u8| {
            context.tallies.plan.variables[variable].labels[usize::from(level)].clone()
        };
        let (who, which) = match others.first().and_then(|&other| Some((other, group.level(other)?))) {
            Some((other, level)) => (study.variables[other].name.clone(), label(other, level)),
            None => (EVERYBODY.to_owned(), EVERYBODY.to_owned()),
        };
        let name = label(cycle, level);
        let Some(middle) = midpoint(&study.sources, &name) else { continue };
        let time = Time { name, middle, group: position };
        match found.iter_mut().find(|f| f.grouping == who && f.group == which) {
            Some(known) => known.cycles.push(time),
            None => found.push(Followed { grouping: who, group: which, cycles: vec![time] }),
        }
    }
    for one in &mut found {
        one.cycles.sort_by(|a, b| a.middle.total_cmp(&b.middle));
    }
    found.retain(|one| one.cycles.len() >= FEWEST);
    found
}

/// The middle of a cycle of the study's sources.
fn midpoint(sources: &[Source], name: &str) -> Option<f64> {
    sources.iter().find_map(|source| match source {
        Source::Survey { survey: of, cycle, .. } if cycle == name => {
            survey(of)?.cycle(cycle).ok()?.midpoint()
        }
        _ => None,
    })
}

/// The trend through the cycles with an estimate and its standard error, whatever they were measured by.
fn fitted(cycles: &[Time], points: &[Point], confidence: f64) -> Fitted {
    let mut verdict = Fitted::default();
    let (mut at, mut estimates, mut without) = (Vec::new(), Vec::new(), Vec::new());
    for (position, (time, point)) in cycles.iter().zip(points).enumerate() {
        let (Some(value), Some(standard_error)) = (point.value, point.standard_error) else {
            without.push(time.name.as_str());
            continue;
        };
        verdict.used.push(position);
        at.push(time.middle / STEP);
        estimates.push(Estimate { value, standard_error, df: point.df });
    }
    if !without.is_empty() {
        verdict.notices.push(format!("without {}, where there is no estimate", without.join(", ")));
    }
    if verdict.used.len() < FEWEST {
        verdict.withheld = format!("fewer than {FEWEST} cycles with an estimate");
        return verdict;
    }
    match trend(&at, &estimates, confidence) {
        Ok(found) => verdict.trend = Some(found),
        Err(why) => verdict.withheld = why.to_string(),
    }
    verdict
}

impl Series<'_> {
    /// The quantities that the estimate rests on.
    fn quantities(&self, given: &Given) -> Vec<String> {
        let study = given.context.study;
        let mut quantities = study.indices[self.index].ingredients.clone();
        if let What::Smoothed(outcome) = self.what {
            quantities.extend(study.outcomes[outcome].ingredients.iter().cloned());
        }
        quantities
    }

    /// The trend, unless a method changed. A change of method forbids it, however the study treats
    /// unreliable estimates.
    fn verdict(&self, given: &Given) -> Fitted {
        let cycles = &self.followed.cycles;
        let mut verdict = fitted(cycles, &self.points, given.context.study.confidence);
        let names: Vec<&str> = verdict.used.iter().map(|&position| cycles[position].name.as_str()).collect();
        let quantities = self.quantities(given);
        let refusal = cycle_methods::refusal(given.route, &quantities, &names);
        if let Some(reason) = refusal.filter(|_| verdict.used.len() >= FEWEST) {
            verdict.trend = None;
            verdict.withheld = reason;
            verdict.notices.push(cycle_methods::advice(given.route, &quantities, &names));
        } else if verdict.trend.is_some() {
            verdict.notices.extend(cycle_methods::exclusions(given.route, given.context.study, &names));
        }
        verdict
    }

    /// The columns that a trend and its estimates share.
    fn lead<'t>(&self, row: RowBuilder<'t>, given: &Given) -> RowBuilder<'t> {
        let context = given.context;
        let frame = match self.what {
            What::Smoothed(outcome) => context.frame_of_pair(self.index, outcome),
            _ => context.frame_of_index(self.index),
        };
        let row = tabulate::lead(row, context, (frame, self.index))
            .text("route", &*given.route.name)
            .text("route_label", &*given.route.label)
            .text("population", &*context.populations[0].name)
            .text("grouping", &*self.followed.grouping)
            .text("group", &*self.followed.group);
        of_what(row, given, self.what)
    }

    fn write_cycles(&self, given: &Given, table: &mut Table) -> Result<(), AnalysisError> {
        let study = given.context.study;
        let quantities = self.quantities(given);
        for (time, point) in self.followed.cycles.iter().zip(&self.points) {
            self.lead(table.row(), given)
                .text("cycle", &*time.name)
                .real("year", Some(time.middle))
                .text("methods", cycle_methods::in_words(given.route, &quantities, &time.name))
                .whole("n", Some(point.people as i64))
                .whole("df", Some(point.df as i64))
                .real("estimate", point.value)
                .real("lower", point.interval.map(|i| i.lower))
                .real("upper", point.interval.map(|i| i.upper))
                .text("interval", point.kind)
                .real("standard_error", point.standard_error)
                .text("withheld", point.verdict.reason(study))
                .text("notices", point.verdict.notices(study))
                .done()?;
        }
        Ok(())
    }

    fn write_trend(&self, given: &Given, table: &mut Table) -> Result<(), AnalysisError> {
        let verdict = self.verdict(given);
        let found = verdict.trend.as_ref();
        let ends = verdict.used.first().zip(verdict.used.last());
        let name = |position: usize| self.followed.cycles[position].name.as_str();
        let year = |position: usize| self.followed.cycles[position].middle;
        let value = |position: usize| self.points[position].value;
        self.lead(table.row(), given)
            .whole("cycles", Some(verdict.used.len() as i64))
            .text("first_cycle", ends.map_or("", |(first, _)| name(*first)))
            .text("last_cycle", ends.map_or("", |(_, last)| name(*last)))
            .real("first_year", ends.map(|(first, _)| year(*first)))
            .real("last_year", ends.map(|(_, last)| year(*last)))
            .real("first", ends.and_then(|(first, _)| value(*first)))
            .real("last", ends.and_then(|(_, last)| value(*last)))
            .real("slope", found.map(|t| t.slope))
            .real("lower", found.map(|t| t.interval.lower))
            .real("upper", found.map(|t| t.interval.upper))
            .text("interval", if found.is_some() { "weighted_least_squares_t" } else { "" })
            .real("standard_error", found.map(|t| t.standard_error))
            .real("df", found.map(|t| t.df))
            .real("p", found.map(|t| t.p))
            .real("at_2000", found.map(|t| t.intercept + t.slope * 2000.0 / STEP))
            .real("departure_p", found.map(|t| t.departure))
            .text("withheld", &*verdict.withheld)
            .text("notices", verdict.notices.join("; "))
            .done()?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A few sums and quotients of numbers near 1000.
    const ROUNDING: f64 = 1e-9;

    fn times(cycles: &[(&str, f64)]) -> Vec<Time> {
        let one = |(name, middle): &(&str, f64)| Time { name: (*name).to_owned(), middle: *middle, group: 0 };
        cycles.iter().map(one).collect()
    }

    fn point(value: f64, standard_error: f64) -> Point {
        let (value, standard_error) = (Some(value), Some(standard_error));
        Point { value, standard_error, df: 15.0, ..Point::default() }
    }

    #[test]
    fn three_cycles_give_the_slope_by_hand() {
        // Two-year steps 1007, 1008 and 1009.3 (the last cycle has 3.2 years), weights 1 / 0.25, 1 and 1 / 0.25:
        // x̄ = 1007 + (4 · 0 + 1 + 4 · 2.3) / 9 = 1007 + 17/15, so x − x̄ = −17/15, −2/15, 7/6 and
        // S = 4 · 289/225 + 4/225 + 4 · 49/36 = 10.6.
        let cycles = times(&[("2013-2014", 2014.0), ("2015-2016", 2016.0), ("2017-2020", 2018.6)]);
        let found = fitted(&cycles, &[point(20.0, 0.5), point(22.0, 1.0), point(23.0, 0.5)], 0.95);
        let got = found.trend.expect("three estimates");
        let off: [f64; 3] = [-17.0 / 15.0, -2.0 / 15.0, 2.3 - 17.0 / 15.0];
        let spread = 4.0 * off[0] * off[0] + off[1] * off[1] + 4.0 * off[2] * off[2];
        assert!((spread - 10.6).abs() < ROUNDING, "{spread}");
        // Σ w (x − x̄) y = −80 · 17/15 − 22 · 2/15 + 92 · 7/6 = (−2720 − 88 + 3220) / 30 = 412 / 30.
        assert!((got.slope - 412.0 / 30.0 / 10.6).abs() < ROUNDING, "{}", got.slope);
        assert!((got.standard_error - 10.6_f64.sqrt().recip()).abs() < ROUNDING, "{}", got.standard_error);
        // Parts of the variance as 4 · 289/225, 4/225 and 4 · 49/36, each on 15: 15 · 10.6² / (5.1378² + 0.0178² + 5.4444²).
        assert!((got.df - 30.075_4).abs() < 1e-3, "{}", got.df);
        assert!(found.withheld.is_empty() && found.notices.is_empty());
    }

    #[test]
    fn equal_estimates_give_no_slope_and_a_withheld_cycle_is_left_out_by_name() {
        let cycles = times(&[("a", 2000.0), ("b", 2002.0), ("c", 2004.0), ("d", 2006.0)]);
        let points = [point(5.0, 0.3), Point::default(), point(5.0, 1.0), point(5.0, 0.1)];
        let found = fitted(&cycles, &points, 0.95);
        let got = found.trend.expect("three estimates");
        assert!(got.slope.abs() < ROUNDING && (got.p - 1.0).abs() < ROUNDING, "{got:?}");
        assert_eq!(
            (found.used, found.notices),
            (vec![0, 2, 3], vec!["without b, where there is no estimate".to_owned()])
        );
        let few = fitted(&cycles[..3], &points[..3], 0.95);
        assert!(few.trend.is_none() && few.withheld.contains("fewer than 3 cycles"), "{}", few.withheld);
    }
}
