//! The tables on estimates over survey cycles.

use super::{
    DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, N, NOTICES, OUTCOME, POPULATION, STATED, STRICT,
    SURVEY, UNIT, UPPER, WITHHELD, count, real, shape_of, text,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("trend", "Linear trends over survey cycles", TREND),
    shape_of("trend_cycles", "Estimates by survey cycle", CYCLES),
];

const ROUTE: Column = text("route", "as_released, or the name of an assay route");
const ROUTE_LABEL: Column = text("route_label", "the same in words");
const MEASURE: Column =
    text("measure", "geometric_mean, share_beyond a threshold, percentile, or kernel_smoothed_youden");
const THRESHOLD: Column = real("threshold", "index unit", "the threshold of a share");
const PERCENTILE: Column = real("percentile", "%", "which percentile, in the order of resistance");

const TREND: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    ROUTE,
    ROUTE_LABEL,
    POPULATION,
    GROUPING,
    GROUP,
    MEASURE,
    OUTCOME,
    THRESHOLD,
    STRICT,
    PERCENTILE,
    count("cycles", "cycles with an estimate"),
    text("first_cycle", "first of them"),
    text("last_cycle", "last of them"),
    real("first_year", "year", "middle of the first, in calendar years"),
    real("last_year", "year", "middle of the last"),
    real("first", "index unit or %", "estimate of the first cycle"),
    real("last", "index unit or %", "estimate of the last cycle"),
    real(
        "slope",
        "index unit or %",
        "weighted least-squares change per two years, weights 1 / standard error², on the middles of the cycles",
    ),
    LOWER,
    UPPER,
    INTERVAL,
    real("standard_error", "index unit or %", "of the slope, from the standard errors of the cycles"),
    real("df", "1", "Satterthwaite's, from the design degrees of freedom of the cycles"),
    real("p", "1", "two-sided p of no change, t test; not adjusted for the number of trends"),
    real("at_2000", "index unit or %", "height of the line at the first day of 2000"),
    real("departure_p", "1", "p of estimates at least this far from a straight line, F test"),
    STATED,
    WITHHELD,
    NOTICES,
];

const CYCLES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    ROUTE,
    ROUTE_LABEL,
    POPULATION,
    GROUPING,
    GROUP,
    MEASURE,
    OUTCOME,
    THRESHOLD,
    STRICT,
    PERCENTILE,
    text("cycle", "the cycle"),
    real("year", "year", "its middle, in calendar years"),
    text("methods", "laboratory methods by which the estimate's ingredients stand, where they are known"),
    N,
    DF,
    real(
        "estimate",
        "index unit or %",
        "cutoff, mean or percentile in the index's unit, or share in percent",
    ),
    LOWER,
    UPPER,
    INTERVAL,
    real("standard_error", "index unit or %", "its standard error"),
    STATED,
    WITHHELD,
    NOTICES,
];
