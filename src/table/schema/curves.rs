//! Percentiles and cutoffs as functions of age and BMI, and what bins of the same people say.

use super::{
    DF, FEWER_DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, N, NOTICES, OUTCOME, POPULATION, STATED,
    SURVEY, UNIT, UPPER, WITH, WITHHELD, count, real, shape_of, text,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("percentile_curves", "Percentiles as curves over age and BMI", PERCENTILE_CURVES),
    shape_of(
        "cutoff_curves",
        "Cutoff and area under the ROC curve as curves over age and BMI",
        CUTOFF_CURVES,
    ),
    shape_of("curve_checks", "The same by bins of age and BMI, to check the curves", CURVE_CHECKS),
    shape_of("lms_parameters", "Power, median and spread by the LMS method over age and BMI", LMS_PARAMETERS),
    shape_of(
        "curve_comparisons",
        "How far percentile curves by two methods lie from each other and from the bins",
        CURVE_COMPARISONS,
    ),
];

const OVER: Column = text("over", "what the curve runs over: age in years, or bmi in kg/m²");
const X: Column = real("x", "years or kg/m²", "place on the curve");
const PERCENTILE: Column = real(
    "percentile",
    "%",
    "share of the people of that age or BMI less resistant than the value, in the order of resistance",
);
const KNOTS: Column = text("knots", "places of the spline's knots, the first and last its boundary");
const METHOD: Column = text("method", "how the curve is fitted");
const REPLICATES: Column = count("replicates", "replicates whose curve could be fitted");

const PERCENTILE_CURVES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    OVER,
    X,
    PERCENTILE,
    real("value", "index unit", "the percentile at that place"),
    LOWER,
    UPPER,
    INTERVAL,
    KNOTS,
    N,
    DF,
    REPLICATES,
    METHOD,
    STATED,
    WITHHELD,
    NOTICES,
];

const CUTOFF_CURVES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    OVER,
    X,
    real("cutoff", "index unit", "value with the largest Youden index at that place"),
    LOWER,
    UPPER,
    real("auc", "1", "area under the ROC curve at that place"),
    real("auc_lower", "1", "lower end of the area's interval"),
    real("auc_upper", "1", "upper end of the area's interval"),
    real("sensitivity", "1", "sensitivity of the cutoff at that place"),
    real("specificity", "1", "specificity of the cutoff at that place"),
    INTERVAL,
    KNOTS,
    N,
    WITH,
    FEWER_DF,
    REPLICATES,
    METHOD,
    STATED,
    WITHHELD,
    NOTICES,
];

const CURVE_CHECKS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    OVER,
    real("from", "years or kg/m²", "lower limit of the bin"),
    real("below", "years or kg/m²", "upper limit of the bin, outside it except in the last"),
    real("x", "years or kg/m²", "weighted mean of the bin"),
    text("measure", "percentile or youden_cutoff"),
    real("percentile", "%", "which percentile; empty for a cutoff"),
    real("value", "index unit", "the percentile or cutoff of the people in the bin, an observed value"),
    LOWER,
    UPPER,
    INTERVAL,
    N,
    WITH,
    STATED,
    WITHHELD,
    NOTICES,
];

const LMS_PARAMETERS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    OVER,
    X,
    real("l", "1", "power that makes the index normal at that place; 0 is the logarithm"),
    real("m", "index unit", "median at that place"),
    real("s", "1", "spread at that place, roughly the coefficient of variation"),
    text("power", "constant: one power everywhere; spline: on the spline of median and spread"),
    KNOTS,
    N,
    METHOD,
    STATED,
    WITHHELD,
    NOTICES,
];

const CURVE_COMPARISONS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    OVER,
    PERCENTILE,
    METHOD,
    text(
        "compared_with",
        "the other method's curve place by place, or bins: the percentile of the people of each bin, of curve_checks, at the \
         bin's mean",
    ),
    count("places", "places, or bins, at which both are printed"),
    real("mean_difference", "%", "mean of curve ÷ other − 1 over the places"),
    real("largest_difference", "%", "curve ÷ other − 1 where it is farthest from 0"),
    real("at", "years or kg/m²", "place of the largest difference"),
    count("within", "places at which the curve lies within the other's interval"),
    real(
        "share_below",
        "%",
        "weighted share of the people less resistant than the LMS curve at their place, to be compared with the percentile; \
         empty for quantile regression, which sets it",
    ),
    STATED,
    WITHHELD,
    NOTICES,
];
