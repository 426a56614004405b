//! How wide intervals will be, for people who are still to be measured.

use super::{INTERVAL, LOWER, N, NOTICES, UPPER, WITH, WITHOUT, real, shape_of, text};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] =
    &[shape_of("plan", "Expected intervals by number of people, before data are collected", PLAN)];

const PLAN: &[Column] = &[
    WITH,
    WITHOUT,
    text("measure", "share, sensitivity, specificity, auc, percentile, cutoff_smoothed or cutoff_empirical"),
    N,
    real("percentile", "%", "which percentile, when the measure is one"),
    real("expected", "as the column unit says", "the value that is assumed to come out"),
    text("unit", "%, 1, unit of the index, or × true value: a ratio to the true value"),
    LOWER,
    UPPER,
    real("width", "as the column unit says", "upper less lower end"),
    real(
        "width_error",
        "as the column unit says",
        "Monte-Carlo standard error of the width, when it is simulated",
    ),
    real("design_effect", "1", "variance under the design over that of as many people drawn singly"),
    INTERVAL,
    NOTICES,
];
