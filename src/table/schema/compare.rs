//! The tables on how cutoffs differ: smoothed cutoffs and tests of heterogeneity.

use super::{
    FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, NOTICES, OUTCOME, POPULATION, STATED, SURVEY, UNIT,
    UPPER, WITH, WITHHELD, WITHOUT, count, real, shape_of, text,
};
use crate::table::{Column, Shape};

/// The estimator whose cutoffs lead.
pub const SMOOTHED_YOUDEN: &str = "kernel_smoothed_youden";
/// Conclusions of a test of differences.
pub const DIFFER: &str = "differ by more than noise";
pub const NOT_DISTINGUISHABLE: &str = "not distinguishable with these data";
/// Of a pair that would differ by itself, among groups that together do not.
pub const ALONE: &str = "differ only when taken alone";
/// Of indices none of which has an area that is above 0.5 by more than its uncertainty.
pub const NONE_SEPARATES: &str = "none separates better than chance";

pub(super) const TABLES: &[Shape] = &[
    shape_of("smoothed_cutoffs", "Cutoffs from smoothed distributions", SMOOTHED),
    shape_of("heterogeneity", "Whether cutoffs differ between groups", HETEROGENEITY),
];

const SMOOTHED: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    WITH,
    WITHOUT,
    text("method", "kernel_smoothed_youden"),
    text(
        "scale",
        "scale on which the values are smoothed, the same in every group: logarithm where everybody's have one sign, or raw",
    ),
    real(
        "cutoff",
        "index unit",
        "largest smoothed Youden index; need not be an observed value. The normal kernel of a class has the bandwidth 0.9 min(SD, \
         IQR / 1.34) n^(−1/5) on the scale named, n the effective number of its people, (Σw)²/Σw² of their weights w",
    ),
    LOWER,
    UPPER,
    INTERVAL,
    real("youden", "1", "smoothed sensitivity + specificity − 1 at the cutoff"),
    count("replicates", "replicates behind the interval"),
    STATED,
    WITHHELD,
    NOTICES,
];

const HETEROGENEITY: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    GROUPING,
    text("method", "cutoffs tested: kernel_smoothed_youden leads; empirical_youden is less reliable"),
    count("groups", "groups compared; those whose cutoff is withheld are left out"),
    count("groups_left_out", "groups whose cutoff is withheld"),
    count(
        "df",
        "design degrees of freedom among all people of the frame, with and without the outcome: the groups' cutoffs are tested together",
    ),
    real(
        "f",
        "1",
        "Wald statistic on log cutoffs, corrected for the degrees of freedom: those of the design, or of the replicates where \
         these are fewer",
    ),
    real("df1", "1", "numerator degrees of freedom"),
    real("df2", "1", "denominator degrees of freedom"),
    real("p", "1", "p value of equal cutoffs"),
    real(
        "p_holm",
        "1",
        "p value by Holm over all tests of the study by this method; indices that order people alike ask one question and count once",
    ),
    real("spread", "1", "exp of the between-group SD of log cutoffs, sampling error removed"),
    real("lower", "1", "lower end of the spread's interval"),
    real("upper", "1", "upper end of the spread's interval"),
    text("interval", "kind of interval"),
    real("ratio", "1", "largest cutoff ÷ smallest, descriptive"),
    real("ratio_under_equality", "1", "mean of that ratio if all groups had one cutoff"),
    count("replicates", "replicates in which every group has a cutoff"),
    text("conclusion", "at the study's confidence, on the Holm-adjusted p value"),
    STATED,
    text("withheld", "why the test is not computed; empty when it is"),
    NOTICES,
];
