//! The tables on groups compared on equal terms.

use super::{
    CUTOFF, DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, N, NOTICES, OUTCOME, POPULATION, STATED,
    STRICT, SURVEY, THRESHOLD, UNIT, UPPER, WITH, WITHHELD, WITHOUT, count, real, shape_of, text,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("standardised_cutoffs", "Cutoffs after adjusting", STANDARDISED_CUTOFFS),
    shape_of("standardised_values", "Percentiles and shares beyond after adjusting", STANDARDISED_VALUES),
    shape_of("decomposition", "How much of the range of cutoffs remains after adjusting", DECOMPOSITION),
];

const ADJUSTMENT: Column =
    text("adjustment", "none, or the variables whose distribution is made equal, joined by ×");
const ADJUSTED_FOR: Column = text("adjusted_for", "the same in words; nothing for none");
const STANDARD: Column = text("standard", "whose distribution every group is given; empty for none");
const METHOD: Column =
    text("method", "kernel_smoothed_youden, which leads, or empirical_youden; see the table heterogeneity");
const LOST: Column = real(
    "lost_share",
    "%",
    "share of the standard in cells that are empty in some compared group; their people are left out everywhere",
);

const STANDARDISED_CUTOFFS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    ADJUSTMENT,
    ADJUSTED_FOR,
    STANDARD,
    LOST,
    N,
    WITH,
    WITHOUT,
    DF,
    METHOD,
    CUTOFF,
    LOWER,
    UPPER,
    INTERVAL,
    real("auc", "1", "area under the ROC curve of the same people on the same weights"),
    count("replicates", "replicates in which a cutoff exists; each is standardised anew"),
    STATED,
    WITHHELD,
    NOTICES,
];

const STANDARDISED_VALUES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    ADJUSTMENT,
    ADJUSTED_FOR,
    STANDARD,
    LOST,
    text("measure", "percentile, or share_beyond a threshold"),
    real("percentile", "%", "which percentile, in the order of resistance; empty for a share"),
    THRESHOLD,
    STRICT,
    N,
    DF,
    real("value", "index unit or %", "the percentile in the index's unit, or the weighted share in percent"),
    LOWER,
    UPPER,
    INTERVAL,
    count("replicates", "replicates in which the value exists; each is standardised anew"),
    STATED,
    WITHHELD,
    NOTICES,
];

const DECOMPOSITION: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    METHOD,
    ADJUSTMENT,
    ADJUSTED_FOR,
    STANDARD,
    LOST,
    count("groups", "groups whose cutoff can be shown under every adjustment"),
    count("groups_left_out", "groups without such a cutoff"),
    real("smallest", "index unit", "smallest cutoff"),
    text("smallest_group", "the group that has it"),
    real("largest", "index unit", "largest cutoff"),
    text("largest_group", "the group that has it"),
    real("ratio", "1", "largest over smallest cutoff: descriptive, so without an interval"),
    real("ratio_under_equality", "1", "mean of the ratio if all groups shared one cutoff"),
    real("log_range_remaining", "%", "logarithm of the ratio over that without adjusting, same people"),
    real("spread", "1", "typical ratio between groups, exp(τ), after removing sampling error"),
    real("variance_remaining", "%", "τ² over that without adjusting, same people"),
    STATED,
    WITHHELD,
    NOTICES,
];
