//! The tables on cutoffs pair by pair and method by method.

use super::{
    DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, N, NOTICES, POPULATION, STATED, SURVEY, UNIT, UPPER,
    WITH, WITHHELD, count, real, shape_of, text,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("cutoff_pairs", "How cutoffs differ between groups, pair by pair", CUTOFF_PAIRS),
    shape_of("cutoff_methods", "The best cutoff by several methods", CUTOFF_METHODS),
];

const CUTOFF_PAIRS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    text("outcome", "name of the outcome; empty for percentiles"),
    POPULATION,
    GROUPING,
    GROUP,
    text("other_group", "the group it is compared with, or everybody (of whom the group is a part)"),
    text("method", "kernel_smoothed_youden, which leads, a cutoff rule, or percentile_ and its number"),
    real("cutoff", "index unit", "the group's cutoff or percentile"),
    real("other_cutoff", "index unit", "that of the other group"),
    real("ratio", "1", "cutoff over the other; missing unless both are positive in every replicate"),
    real(
        "ratio_lower",
        "1",
        "lower end of the ratio's interval, of the kind named; replicates_t stands here for t on the log. The p values come from \
         the test on the log: near its limit percentiles of the replicates and p may disagree",
    ),
    real("ratio_upper", "1", "upper end of that interval"),
    real("ratio_lower_t", "1", "lower end of the ratio's t interval on the log, which agrees with p"),
    real("ratio_upper_t", "1", "upper end of that interval"),
    real("difference", "index unit", "cutoff less the other"),
    LOWER,
    UPPER,
    INTERVAL,
    text("scale", "scale of standard error and test: logarithm of the ratio, or raw difference"),
    real("standard_error", "1 or index unit", "of the logarithm of the ratio, or of the difference"),
    DF,
    real(
        "p",
        "1",
        "p value of equal cutoffs, by t of the estimate over standard_error, on df, or on the number of replicates less 1 where \
         these were drawn and are fewer",
    ),
    real(
        "p_holm",
        "1",
        "p value by Holm over the pairs of one index, outcome, grouping and method; those with everybody are a family of their own",
    ),
    count("replicates", "replicates in which both cutoffs exist"),
    count("replicates_failed", "replicates in which one of them does not"),
    text(
        "conclusion",
        "at the study's confidence, on the Holm-adjusted p value; a pair of groups that the test of all groups of their variable \
         does not tell apart differs only when taken alone",
    ),
    STATED,
    WITHHELD,
    NOTICES,
];

const CUTOFF_METHODS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    text("outcome", "name of the outcome; empty for mixture_crossing, which asks for none"),
    POPULATION,
    GROUPING,
    GROUP,
    N,
    WITH,
    text(
        "method",
        "empirical_youden (counted), kernel_smoothed_youden (leads), binormal_box_cox, or mixture_crossing: where two normal \
         distributions of the logarithms part",
    ),
    text("weighted", "no for mixture_crossing, which ignores weights and design; yes otherwise"),
    real("cutoff", "index unit", "the method's cutoff; only empirical_youden is bound to observed values"),
    LOWER,
    UPPER,
    INTERVAL,
    real(
        "flat_from",
        "index unit",
        "least resistant cutoff whose counted Youden index is within 0.01 of the best",
    ),
    real("flat_to", "index unit", "most resistant such cutoff"),
    real("youden", "1", "sensitivity + specificity − 1 counted at the cutoff"),
    real("youden_model", "1", "the same as the method itself sees it"),
    real(
        "optimism",
        "1",
        "by how much the counted index flatters itself for being chosen on the same people",
    ),
    real("youden_corrected", "1", "counted index less the optimism"),
    real(
        "youden_external",
        "1",
        "mean counted index of a replicate's cutoff in the PSUs that the replicate did not draw; never subtracted",
    ),
    real("power", "1", "power of the transform that makes the classes most normal; 0: the logarithm"),
    real("bic_gain", "1", "support of two distributions over one: above 10 strong, below 0 none"),
    count(
        "replicates_asked",
        "replicates of the study, or resamples of people, in which the cutoff was sought",
    ),
    count("replicates_failed", "of these, those without a cutoff"),
    STATED,
    WITHHELD,
    NOTICES,
];
