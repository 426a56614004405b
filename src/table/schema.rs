//! The columns of every table of results.
//!
//! Tables share their leading columns, so that a row says for whom, by what and from where its
//! number comes: survey, frame (which weight), index, unit, population, grouping and group.

use super::{Column, Kind, Shape};

const fn text(name: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Text, unit: "", meaning }
}

const fn whole(name: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Integer, unit: "people", meaning }
}

const fn count(name: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Integer, unit: "1", meaning }
}

const fn real(name: &'static str, unit: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Real, unit, meaning }
}

const SURVEY: Column = text("survey", "sources of the study, joined by +");
const FRAME: Column = text(
    "frame",
    "subsample whose weight is used: interview, examination, fasting, glucose_tolerance or sample",
);
const INDEX: Column = text("index", "name of the index");
const UNIT: Column = text("unit", "unit of the index; 1 for a pure number");
const POPULATION: Column = text("population", "cohort, or the name of a reference group");
const GROUPING: Column =
    text("grouping", "variables that split the population, joined by ×; everybody for none");
const GROUP: Column =
    text("group", "levels of the grouping, joined by ×; everybody for the whole population");
const OUTCOME: Column = text("outcome", "name of the outcome");
const N: Column = whole("n", "people counted in the denominator");
const WITH: Column = whole("n_with", "people with the outcome");
const WITHOUT: Column = whole("n_without", "people without the outcome");
const UNKNOWN: Column = whole("n_unknown", "people whose outcome is unknown, left out");
const WEIGHTED: Column = real(
    "weighted_n",
    "people",
    "people of the survey's target population that the counted people stand for",
);
const DF: Column = count("df", "design degrees of freedom: PSUs with a counted person less their strata");
const INTERVAL: Column = text("interval", "kind of interval");
const LOWER: Column = real("lower", "as the estimate", "lower end of the interval");
const UPPER: Column = real("upper", "as the estimate", "upper end of the interval");
const RULE: Column = text("rule", "cutoff rule");
const CUTOFF: Column = real("cutoff", "index unit", "an observed value; at or beyond it counts as resistant");
const THRESHOLD: Column = real("threshold", "index unit", "the threshold that is judged");
const STRICT: Column = text("strict", "yes when a value exactly at the threshold does not count as beyond");
const STATED: Column =
    text("stated", "study when asked for in the study file, tool when added by the program");
const WITHHELD: Column = text("withheld", "why the estimate is not printed; empty when it is");
const NOTICES: Column = text("notices", "remarks on this row, joined by semicolons");

pub const PARTICIPANT_FLOW: &[Column] = &[
    text("source", "source the step belongs to, all for the joined cohort"),
    count("order", "position of the step"),
    text("step", "what happened"),
    whole("people", "people left after the step"),
    whole("left_out", "people left out at the step"),
];

pub const SAMPLE: &[Column] = &[
    SURVEY,
    FRAME,
    POPULATION,
    text("variable", "what is described"),
    text("level", "level of the variable; median for a number"),
    N,
    WEIGHTED,
    real("value", "% or the variable's unit", "weighted share in percent, or weighted median"),
    text("unit", "unit of the value"),
    LOWER,
    UPPER,
    INTERVAL,
    WITHHELD,
];

pub const PERCENTILES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    N,
    WEIGHTED,
    DF,
    real(
        "percentile",
        "%",
        "share of the population less resistant than the value, in the order of resistance",
    ),
    real("value", "index unit", "the percentile"),
    LOWER,
    UPPER,
    real("standard_error", "index unit", "width of the interval over 2 t"),
    text("method", "definition of the quantile"),
    INTERVAL,
    STATED,
    WITHHELD,
    NOTICES,
];

pub const GEOMETRIC_MEANS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    N,
    WEIGHTED,
    DF,
    real("value", "index unit", "weighted geometric mean"),
    LOWER,
    UPPER,
    real("standard_error", "index unit", "linearised standard error (delta method)"),
    INTERVAL,
    STATED,
    WITHHELD,
];

pub const AUC: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    N,
    WITH,
    WITHOUT,
    UNKNOWN,
    WEIGHTED,
    DF,
    real("auc", "1", "area under the ROC curve"),
    LOWER,
    UPPER,
    real("standard_error", "1", "standard error of the area"),
    text("method", "weighted Mann–Whitney or as stated"),
    INTERVAL,
    count("replicates", "replicates in which the area exists"),
    STATED,
    WITHHELD,
    NOTICES,
];

pub const ROC_POINTS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    CUTOFF,
    real("false_positive_share", "1", "1 − specificity at the cutoff"),
    real("sensitivity", "1", "share of people with the outcome at or beyond the cutoff"),
    real("specificity", "1", "share of people without the outcome short of the cutoff"),
    real("sensitivity_lower", "1", "lower end of the sensitivity's interval, specificity held"),
    real("sensitivity_upper", "1", "upper end of the sensitivity's interval, specificity held"),
];

pub const CUTOFFS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    N,
    WITH,
    WITHOUT,
    WEIGHTED,
    DF,
    RULE,
    CUTOFF,
    real("midpoint", "index unit", "half way to the next less resistant observed value"),
    LOWER,
    UPPER,
    INTERVAL,
    real("lower_t", "index unit", "lower end of the t interval (on the log where all values are positive)"),
    real("upper_t", "index unit", "upper end of the t interval"),
    real("youden", "1", "sensitivity + specificity − 1 at the cutoff"),
    real("optimism", "1", "by how much the index of Youden at the cutoff flatters itself"),
    real("flat_from", "index unit", "least resistant cutoff whose Youden index is within 0.01 of the best"),
    real("flat_to", "index unit", "most resistant cutoff whose Youden index is within 0.01 of the best"),
    count("replicates", "replicates in which a cutoff exists"),
    STATED,
    WITHHELD,
    NOTICES,
];

pub const CUTOFF_ACCURACY: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    RULE,
    CUTOFF,
    text("measure", "sensitivity, specificity, ppv, npv, lr_positive or lr_negative"),
    text("cutoff_uncertainty", "fixed: the cutoff is held; reselected: chosen anew in every replicate"),
    N,
    DF,
    real("value", "1", "the measure"),
    LOWER,
    UPPER,
    INTERVAL,
    STATED,
    WITHHELD,
];

pub const THRESHOLD_SHARES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    THRESHOLD,
    STRICT,
    POPULATION,
    GROUPING,
    GROUP,
    N,
    WEIGHTED,
    real("n_effective", "people", "effective sample size of the share"),
    DF,
    real("share_beyond", "%", "weighted share at or beyond the threshold (beyond it, if strict)"),
    LOWER,
    UPPER,
    INTERVAL,
    real("percentile", "%", "percentile at which the threshold sits: share less resistant than it"),
    STATED,
    WITHHELD,
    NOTICES,
];

pub const THRESHOLD_ACCURACY: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    THRESHOLD,
    STRICT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    text("measure", "sensitivity, specificity, ppv, npv, lr_positive or lr_negative"),
    N,
    DF,
    real("value", "1", "the measure"),
    LOWER,
    UPPER,
    INTERVAL,
    STATED,
    WITHHELD,
    NOTICES,
];

pub const EQUIVALENT_THRESHOLDS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    THRESHOLD,
    text("same", "what is held equal to everybody's: percentile, sensitivity or specificity"),
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    N,
    real("target", "1", "the share that is held equal"),
    real("equivalent", "index unit", "the observed value that gives this share in the group"),
    STATED,
    WITHHELD,
];

pub const CUTOFF_DIFFERENCES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    RULE,
    CUTOFF,
    real("overall", "index unit", "everybody's cutoff by the same rule"),
    real("ratio", "1", "the group's cutoff over everybody's; missing unless all values are positive"),
    real("ratio_lower", "1", "lower end of the ratio's interval"),
    real("ratio_upper", "1", "upper end of the ratio's interval"),
    real("difference", "index unit", "the group's cutoff less everybody's"),
    LOWER,
    UPPER,
    INTERVAL,
    DF,
    count("replicates", "replicates in which both cutoffs exist"),
    STATED,
    WITHHELD,
];

pub const RECLASSIFIED: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    RULE,
    CUTOFF,
    real("overall", "index unit", "everybody's cutoff by the same rule"),
    N,
    WEIGHTED,
    real("newly_beyond", "%", "weighted share beyond the group's cutoff but not everybody's"),
    real("no_longer_beyond", "%", "weighted share beyond everybody's cutoff but not the group's"),
    STATED,
    WITHHELD,
];

/// Weighted densities for the distribution chart: one row per bin.
pub const DISTRIBUTIONS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    real("from", "index unit", "lower end of the bin"),
    real("to", "index unit", "upper end of the bin"),
    real("share", "%", "weighted share of the group in the bin"),
];

pub const NOTICE_TABLE: &[Column] = &[
    text("weight", "note or caution"),
    text("kind", "kind of notice"),
    text("about", "what it is about"),
    text("message", "the notice"),
];

const fn shape_of(name: &'static str, title: &'static str, columns: &'static [Column]) -> Shape {
    Shape { name, title, columns }
}

/// Every table of a run, in the order in which they are written and described.
pub const TABLES: &[Shape] = &[
    shape_of("participant_flow", "Participant flow", PARTICIPANT_FLOW),
    shape_of("sample", "Who is in the sample", SAMPLE),
    shape_of("percentiles", "Percentiles", PERCENTILES),
    shape_of("geometric_means", "Geometric means", GEOMETRIC_MEANS),
    shape_of("auc", "Area under the ROC curve", AUC),
    shape_of("roc_points", "Points of the ROC curves", ROC_POINTS),
    shape_of("cutoffs", "Cutoffs", CUTOFFS),
    shape_of("cutoff_accuracy", "Accuracy at the derived cutoffs", CUTOFF_ACCURACY),
    shape_of(
        "threshold_shares",
        "One threshold across groups: share beyond and percentile",
        THRESHOLD_SHARES,
    ),
    shape_of("threshold_accuracy", "One threshold across groups: accuracy", THRESHOLD_ACCURACY),
    shape_of("equivalent_thresholds", "Equivalent thresholds", EQUIVALENT_THRESHOLDS),
    shape_of("cutoff_differences", "How cutoffs differ from everybody's", CUTOFF_DIFFERENCES),
    shape_of("reclassified", "People reclassified by group cutoffs", RECLASSIFIED),
    shape_of("distributions", "Weighted distributions", DISTRIBUTIONS),
    shape_of("notices", "Notices", NOTICE_TABLE),
];

/// The shape of the table with this name.
#[must_use]
pub fn shape(name: &str) -> Option<Shape> {
    TABLES.iter().copied().find(|shape| shape.name == name)
}
