//! Expected intervals for numbers of people that are still to be measured.

use rayon::prelude::*;

use super::withhold::{AUC_PEOPLE, CUTOFF_PEOPLE, PERCENTILE_BEYOND, PERCENTILE_PEOPLE};
use super::{AnalysisError, tabulate};
use crate::stats::plan::{Planned, TwoClasses, log_normal_ratio, percentile_ends, share_interval};
use crate::stats::plan_area::area_interval;
use crate::stats::plan_cutoff::{Classes, MOST_DRAWN, Method, simulated, spread};
use crate::stats::plan_size::{Parted, people_for_area};
use crate::stats::quantile::weighted_quantile;
use crate::stats::{Interval, Sample, StatError};
use crate::table::{Table, number};

pub use super::plan_from::{Known, known};

/// What is assumed of people not yet measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumed {
    /// Numbers of people with the outcome, and without it.
    pub with: Vec<u64>,
    pub without: Vec<u64>,
    pub sensitivities: Vec<f64>,
    pub specificities: Vec<f64>,
    pub auc: Option<f64>,
    /// Percentiles, as shares.
    pub percentiles: Vec<f64>,
    /// How the index is distributed; without it percentiles and cutoffs have no size.
    pub distribution: Option<Distribution>,
    /// Of shares and percentiles, and of the area and cutoffs.
    pub design_effect: f64,
    pub design_effect_auc: f64,
    /// Variance of the area by the shape of the distributions over that of two normal classes of equal spread; 1 when unknown.
    pub area_shape: f64,
    pub df: Option<f64>,
    pub confidence: f64,
    pub simulations: usize,
    pub seed: u64,
}

/// The distribution of an index.
#[derive(Debug, Clone, PartialEq)]
pub enum Distribution {
    /// Log-normal, by the standard deviation of the logarithm among everybody and, where it is known, within classes of
    /// the outcome; the sign is −1 where less is more resistant.
    LogNormal { log_sd: f64, within: Option<f64>, sign: f64 },
    /// Of measured people, in resistance order with the sign of that order, and the standard deviation of the
    /// logarithm within classes of the outcome.
    Measured { sample: Sample, sign: f64, unit: String, within: Option<f64> },
}

impl Distribution {
    /// Standard deviation of the logarithm within a class, negative for an index of which less is more resistant.
    fn class_step(&self, classes: TwoClasses) -> Option<f64> {
        match self {
            Self::LogNormal { log_sd, within, sign } => {
                Some(sign * within.unwrap_or_else(|| log_sd * classes.within()))
            }
            Self::Measured { within, sign, .. } => within.map(|sd| sign * sd),
        }
    }
}

/// One row before it is in the table.
struct Expected {
    measure: &'static str,
    people: u64,
    percentile: Option<f64>,
    value: Option<f64>,
    unit: String,
    interval: Interval,
    width_error: Option<f64>,
    design_effect: f64,
    kind: &'static str,
    notice: String,
}

const TIMES: &str = "× true value";
const SDS: &str = "SD of the index away from the true cutoff";

/// Expected intervals for every number with and every number without the outcome.
pub fn table(assumed: &Assumed) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("plan");
    for &with in &assumed.with {
        for &without in &assumed.without {
            for row in rows(assumed, (with, without)).map_err(AnalysisError::Plan)? {
                table
                    .row()
                    .whole("n_with", Some(with as i64))
                    .whole("n_without", Some(without as i64))
                    .text("measure", row.measure)
                    .whole("n", Some(row.people as i64))
                    .real("percentile", row.percentile)
                    .real("expected", row.value)
                    .text("unit", row.unit)
                    .real("lower", Some(row.interval.lower))
                    .real("upper", Some(row.interval.upper))
                    .real("width", Some(row.interval.width()))
                    .real("width_error", row.width_error)
                    .real("design_effect", Some(row.design_effect))
                    .text("interval", row.kind)
                    .text("notices", row.notice)
                    .done()?;
            }
        }
    }
    Ok(table)
}

fn rows(assumed: &Assumed, (with, without): (u64, u64)) -> Result<Vec<Expected>, StatError> {
    let all = with + without;
    let mut rows = vec![share(assumed, "share", all, with as f64 / all as f64)?];
    for &p in &assumed.sensitivities {
        rows.push(share(assumed, "sensitivity", with, p)?);
    }
    for &p in &assumed.specificities {
        rows.push(share(assumed, "specificity", without, p)?);
    }
    let classes = assumed.auc.map(|auc| TwoClasses::new(auc, with as f64 / all as f64));
    for &p in &assumed.percentiles {
        rows.push(percentile(assumed, (all, classes), p)?);
    }
    if let Some(auc) = assumed.auc {
        rows.push(area(assumed, auc, (with, without))?);
        for method in [Method::Smoothed, Method::Empirical] {
            rows.push(cutoff(assumed, method, Classes { auc, with, without })?);
        }
    }
    Ok(rows)
}

fn planned(assumed: &Assumed, people: u64) -> Planned {
    Planned { people, design_effect: assumed.design_effect, df: assumed.df, confidence: assumed.confidence }
}

fn share(assumed: &Assumed, measure: &'static str, people: u64, p: f64) -> Result<Expected, StatError> {
    let interval = share_interval(p, &planned(assumed, people))?;
    Ok(Expected {
        measure,
        people,
        percentile: None,
        value: Some(100.0 * p),
        unit: "%".to_owned(),
        interval: Interval { lower: 100.0 * interval.lower, upper: 100.0 * interval.upper },
        width_error: None,
        design_effect: assumed.design_effect,
        kind: "Korn–Graubard at the expected share",
        notice: few(people),
    })
}

/// The rules of when not to print a share or an area, as far as they can be foreseen.
fn few(people: u64) -> String {
    withheld_below(PERCENTILE_PEOPLE, people, "people")
}

/// What a run does with an estimate of fewer than so many.
fn withheld_below(fewest: u64, found: u64, whom: &str) -> String {
    if found < fewest { format!("under {fewest} {whom}: a run withholds this") } else { String::new() }
}

/// A percentile of everybody, who are two classes where an area is assumed and no distribution was measured.
fn percentile(
    assumed: &Assumed,
    (people, classes): (u64, Option<TwoClasses>),
    p: f64,
) -> Result<Expected, StatError> {
    let ends = percentile_ends(p, &planned(assumed, people))?;
    let (expected, interval, unit) = match &assumed.distribution {
        Some(Distribution::LogNormal { log_sd, within, sign }) => {
            let at = |share: f64| match classes.filter(|_| within.is_none()) {
                Some(classes) => {
                    let apart = classes.quantile(share) - classes.quantile(p);
                    (sign * log_sd * classes.within() * apart).exp()
                }
                None => log_normal_ratio(share, p, sign * log_sd),
            };
            (Some(1.0), between(at(ends.lower), at(ends.upper)), TIMES.to_owned())
        }
        Some(Distribution::Measured { sample, sign, unit, .. }) => {
            let at =
                |share| Ok::<f64, StatError>(sign * weighted_quantile(&sample.value, &sample.weight, share)?);
            let (a, b) = (at(ends.lower)?, at(ends.upper)?);
            (Some(at(p)?), between(a, b), unit.clone())
        }
        None => {
            let share = Interval { lower: 100.0 * ends.lower, upper: 100.0 * ends.upper };
            (Some(100.0 * p), share, "% of the distribution".to_owned())
        }
    };
    let beyond = people as f64 * p.min(1.0 - p);
    let notice = if beyond < PERCENTILE_BEYOND as f64 {
        format!("fewer than {PERCENTILE_BEYOND} people beyond it: a run withholds this")
    } else {
        few(people)
    };
    Ok(Expected {
        measure: "percentile",
        people,
        percentile: Some(100.0 * p),
        value: expected,
        unit,
        interval,
        width_error: None,
        design_effect: assumed.design_effect,
        kind: "Woodruff on the logit, mapped by the assumed distribution",
        notice,
    })
}

/// What the interval of an area rests on besides the people of the two classes.
fn planned_area(assumed: &Assumed, people: u64) -> Planned {
    let inflation = assumed.design_effect_auc * assumed.area_shape;
    Planned { design_effect: inflation, ..planned(assumed, people) }
}

/// The fewest people, with and without the outcome, whose area has an interval no wider than `width`.
pub fn people_for_width(
    assumed: &Assumed,
    (auc, parted, width): (f64, Parted, f64),
) -> Result<Option<(u64, u64)>, AnalysisError> {
    // The people are sought: two of each class stand in.
    people_for_area(auc, parted, width, &planned_area(assumed, 4)).map_err(AnalysisError::Plan)
}

fn area(assumed: &Assumed, auc: f64, (with, without): (u64, u64)) -> Result<Expected, StatError> {
    let planned = planned_area(assumed, with + without);
    let notice = withheld_below(AUC_PEOPLE, with.min(without), "with or without the outcome");
    Ok(Expected {
        measure: "auc",
        people: with + without,
        percentile: None,
        value: Some(auc),
        unit: "1".to_owned(),
        interval: area_interval(auc, (with, without), &planned)?,
        width_error: None,
        design_effect: assumed.design_effect_auc,
        kind: "t on the logit, exact variance of two normal classes of equal spread (Bamber 1975)",
        notice,
    })
}

/// The central share of simulated cutoffs over the true one.
fn cutoff(assumed: &Assumed, method: Method, classes: Classes) -> Result<Expected, StatError> {
    let effective = |people: u64| ((people as f64 / assumed.design_effect_auc).round() as u64).max(2);
    let asked = Classes { with: effective(classes.with), without: effective(classes.without), ..classes };
    let (drawn, share) = asked.at_most(MOST_DRAWN);
    let all: Vec<Option<f64>> = (0..assumed.simulations as u64)
        .into_par_iter()
        .map(|number| simulated(&drawn, method, (assumed.seed, number)))
        .collect();
    let spread = spread(&all, assumed.confidence)?.carried_on(share, method);
    let (measure, mut notice) = match method {
        Method::Smoothed => ("cutoff_smoothed", String::new()),
        Method::Empirical => {
            ("cutoff_empirical", "narrows as n^(−1/3): eight times the people for half the width".to_owned())
        }
    };
    if share < 1.0 {
        let from = number::whole((drawn.with + drawn.without) as i64);
        join(&mut notice, &format!("carried on from simulations of {from} people"));
    }
    let few = withheld_below(CUTOFF_PEOPLE, classes.with.min(classes.without), "with or without the outcome");
    if !few.is_empty() {
        join(&mut notice, &few);
    }
    if spread.failed > 0 {
        join(&mut notice, &format!("{} of {} simulations found no cutoff", spread.failed, all.len()));
    }
    let two = TwoClasses::new(classes.auc, classes.with as f64 / (classes.with + classes.without) as f64);
    let (expected, unit, interval, error) =
        match assumed.distribution.as_ref().and_then(|known| known.class_step(two)) {
            Some(step) => {
                let (a, b) = ((step * spread.interval.lower).exp(), (step * spread.interval.upper).exp());
                // The width of the logarithms times the slope of the exponential at either end.
                let error = spread.width_error * step.abs() * f64::midpoint(a, b);
                (1.0, TIMES, between(a, b), error)
            }
            None => (0.0, SDS, spread.interval, spread.width_error),
        };
    Ok(Expected {
        measure,
        people: classes.with + classes.without,
        percentile: None,
        value: Some(expected),
        unit: unit.to_owned(),
        interval,
        width_error: Some(error),
        design_effect: assumed.design_effect_auc,
        kind: "central share of simulated cutoffs, two normal classes of equal spread",
        notice,
    })
}

/// Two ends in either order: where less is more resistant they turn round.
fn between(a: f64, b: f64) -> Interval {
    Interval { lower: a.min(b), upper: a.max(b) }
}

fn join(notice: &mut String, more: &str) {
    if !notice.is_empty() {
        notice.push_str("; ");
    }
    notice.push_str(more);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two_hundred(sign: f64) -> Assumed {
        Assumed {
            with: vec![100],
            without: vec![100],
            sensitivities: Vec::new(),
            specificities: Vec::new(),
            auc: None,
            percentiles: vec![0.9],
            distribution: Some(Distribution::LogNormal { log_sd: 0.5, within: None, sign }),
            design_effect: 1.0,
            design_effect_auc: 1.0,
            area_shape: 1.0,
            df: None,
            confidence: 0.95,
            simulations: 100,
            seed: 1,
        }
    }

    #[test]
    fn where_less_is_more_resistant_a_percentile_has_the_inverse_interval() {
        // Logit of 0.9 ± t on 199 degrees of freedom · √(1 / 18): shares 0.8497 and 0.9347, z 1.035 and 1.512 against 1.282.
        let of = |sign: f64| percentile(&two_hundred(sign), (200, None), 0.9).expect("a plan").interval;
        let (higher, lower) = (of(1.0), of(-1.0));
        assert!((higher.lower - 0.884).abs() < 5e-4 && (higher.upper - 1.122).abs() < 5e-4, "{higher:?}");
        assert!((lower.lower - 0.891).abs() < 5e-4 && (lower.upper - 1.131).abs() < 5e-4, "{lower:?}");
        assert!((higher.lower * lower.upper - 1.0).abs() < 1e-12, "{higher:?} {lower:?}");
        let alike = TwoClasses::new(0.5, 0.5);
        let step = |sign| two_hundred(sign).distribution.as_ref().and_then(|known| known.class_step(alike));
        assert_eq!([step(1.0), step(-1.0)], [Some(0.5), Some(-0.5)], "cutoffs turn round as well");
    }

    #[test]
    fn one_spread_of_everybody_serves_percentiles_and_cutoffs() {
        // CV 0.6: √ln 1.36 = 0.554513 among everybody; an area of 0.9 with halves leaves 0.554513 / 1.349514 = 0.410898 in a class.
        let classes = TwoClasses::new(0.9, 0.5);
        let assumed = Assumed {
            auc: Some(0.9),
            distribution: Some(Distribution::LogNormal { log_sd: 0.554_513, within: None, sign: 1.0 }),
            ..two_hundred(1.0)
        };
        let step = assumed.distribution.as_ref().and_then(|known| known.class_step(classes)).expect("a step");
        assert!((step - 0.410_898).abs() < 1e-5, "{step}");
        // 500 people: t 1.9647 · √(4 / 500) = 0.175729 on the logit is 0.043819 of everybody, at a density of φ(0.906194) =
        // 0.264593: 0.165611 to first order, less for the density's bend; of a class of 0.410898 about ± 0.068.
        let width = percentile(&assumed, (500, Some(classes)), 0.5).expect("a plan").interval.width();
        assert!((width - 0.136).abs() < 0.002, "{width}");
        let measured = Distribution::LogNormal { log_sd: 0.554_513, within: Some(0.3), sign: 1.0 };
        assert_eq!(measured.class_step(classes), Some(0.3), "what was measured within classes stands");
    }
}
