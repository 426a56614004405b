//! The tables on several samples and on cycles: side by side, one judged by another, trends.

use super::{
    CUTOFF, DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, N, OUTCOME, POPULATION, RULE, STATED, SURVEY,
    UNIT, UPPER, WITHHELD, real, shape_of, text, whole,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("sample_comparison", "Samples side by side", SAMPLE_COMPARISON),
    shape_of("transfer", "Derived in one sample, judged in another", TRANSFER),
];

const PERCENTILE: Column =
    real("percentile", "%", "which percentile, in the order of resistance; empty for others");

const SAMPLE_COMPARISON: &[Column] = &[
    SURVEY,
    text("compared_with", "the other sample"),
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    text("measure", "cutoff, smoothed_cutoff, percentile or auc"),
    RULE,
    PERCENTILE,
    N,
    whole("n_other", "people counted in the other sample"),
    real("value", "as the measure", "estimate in the survey"),
    real("value_lower", "as the measure", "lower end of its interval, as in the table of the measure"),
    real("value_upper", "as the measure", "upper end of its interval"),
    text("value_interval", "kind of these intervals, the same in both samples"),
    real("standard_error", "as the measure", "its standard error"),
    real("other", "as the measure", "estimate in the other sample"),
    real("other_lower", "as the measure", "lower end of its interval"),
    real("other_upper", "as the measure", "upper end of its interval"),
    real("other_standard_error", "as the measure", "its standard error"),
    real("difference", "as the measure", "other sample less survey"),
    LOWER,
    UPPER,
    INTERVAL,
    real("difference_standard_error", "as the measure", "root of the sum of the squared standard errors"),
    real("ratio", "1", "other sample over survey; missing unless all values are positive"),
    real("ratio_lower", "1", "lower end of the ratio's t interval on the logarithm"),
    real("ratio_upper", "1", "upper end of the ratio's interval"),
    text("scale", "scale of the test: logarithm where all values are positive, else raw; raw for an area"),
    real("df", "1", "Welch–Satterthwaite degrees of freedom of the test"),
    real("p", "1", "two-sided p of no difference, t test; not adjusted for the number of comparisons"),
    STATED,
    WITHHELD,
];

const TRANSFER: &[Column] = &[
    SURVEY,
    text("judged_in", "the sample in which the cutoff of the survey is judged"),
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    text("derived_from", "whose cutoff: everybody, or the same group of the survey; empty for an area"),
    RULE,
    CUTOFF,
    text(
        "measure",
        "sensitivity, specificity, youden, youden_loss (own cutoff's index less this one's), share_beyond or auc",
    ),
    text("cutoff_uncertainty", "fixed: the cutoff is held; varying: as in each replicate of the survey"),
    N,
    DF,
    real("value", "1", "the measure, in the sample in which the cutoff is judged"),
    LOWER,
    UPPER,
    INTERVAL,
    STATED,
    WITHHELD,
];
