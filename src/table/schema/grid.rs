//! What any threshold does in any group: the numbers behind the report's slider.

use super::{
    CUTOFF, DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, N, OUTCOME, POPULATION, RULE, SURVEY, THRESHOLD,
    UNIT, WITH, WITHOUT, real, shape_of, text,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] =
    &[shape_of("threshold_grid", "What each threshold does in each group", THRESHOLD_GRID)];

const THRESHOLD_GRID: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    THRESHOLD,
    N,
    DF,
    real(
        "share_beyond",
        "%",
        "share at or beyond the threshold, in the order of resistance, weighted as the index by itself is",
    ),
    real("share_lower", "%", "lower end of the share's interval"),
    real("share_upper", "%", "upper end of the share's interval"),
    text("share_withheld", "why the share is not printed; empty when it is"),
    WITH,
    real("sensitivity", "1", "share at or beyond the threshold among people with the outcome"),
    real("sensitivity_lower", "1", "lower end of the sensitivity's interval"),
    real("sensitivity_upper", "1", "upper end of the sensitivity's interval"),
    text("sensitivity_withheld", "why the sensitivity is not printed; empty when it is"),
    WITHOUT,
    real("specificity", "1", "share short of the threshold among people without the outcome"),
    real("specificity_lower", "1", "lower end of the specificity's interval"),
    real("specificity_upper", "1", "upper end of the specificity's interval"),
    text("specificity_withheld", "why the specificity is not printed; empty when it is"),
    RULE,
    CUTOFF,
    text(
        "moved",
        "what happens to people between the threshold and the group's own cutoff when the threshold replaces it: \
         newly_beyond, no_longer_beyond, or nobody when the two are equal",
    ),
    real("reclassified", "%", "share of the group whose label changes, the group's cutoff held fixed"),
    real("reclassified_lower", "%", "lower end of the interval of the share reclassified"),
    real("reclassified_upper", "%", "upper end of the interval of the share reclassified"),
    text("reclassified_withheld", "why the share reclassified is not printed; empty when it is"),
    INTERVAL,
];
