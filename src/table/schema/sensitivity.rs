//! The tables on one cutoff under other choices and by other assays.

use super::{
    CUTOFF, DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, N, NOTICES, OUTCOME, POPULATION, STATED,
    STRICT, SURVEY, UNIT, UPPER, WITH, WITHHELD, WITHOUT, count, real, shape_of, text, whole,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("assay_route_steps", "Assay routes: what is converted, by which equation", STEPS),
    shape_of("assay_routes", "The same people by other assays", ROUTES),
    shape_of("choices", "One cutoff under every combination of choices", CHOICES),
    shape_of("choice_ranges", "How far each choice moves a cutoff", RANGES),
];

/// In place of the methods passed, where a route only reads insulin by another factor between units.
pub const UNIT_FACTOR: &str = "pmol/L → uU/mL";

const ROUTE: Column = text("route", "as_released, or the name of an assay route");
const ROUTE_LABEL: Column = text("route_label", "the same in words");
const PERCENTILE: Column = real("percentile", "%", "which percentile, in the order of resistance");

const STEPS: &[Column] = &[
    SURVEY,
    ROUTE,
    ROUTE_LABEL,
    text("quantity", "what is converted: insulin or glucose"),
    text("cycle", "the release"),
    text("path", "laboratory methods from the released one to the wanted one"),
    text("equations", "equations in their order, x for the value before each; empty where nothing is done"),
    text("source", "where the equations are printed"),
    whole("people", "people of the release with a value as released, whoever is studied"),
    whole("converted", "people whose value is converted"),
    whole("floored", "people whose converted value lies below detection and holds the fill value"),
    whole("lost", "people without a converted value: not positive, or outside the equation's range"),
    NOTICES,
];

const ROUTES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    POPULATION,
    GROUPING,
    GROUP,
    ROUTE,
    ROUTE_LABEL,
    text("method", "share_beyond a threshold, percentile, the study's first rule, or kernel_smoothed_youden"),
    OUTCOME,
    real("threshold", "index unit", "the threshold of a share"),
    STRICT,
    PERCENTILE,
    N,
    DF,
    real("estimate", "index unit or %", "cutoff or percentile in the index's unit, or the share in percent"),
    LOWER,
    UPPER,
    INTERVAL,
    real("ratio", "1", "the estimate over that as released, the same people and replicates"),
    real(
        "ratio_lower",
        "1",
        "lower end of its interval, from the ratio in each replicate: their percentiles for a bootstrap, else t on the \
         degrees of freedom and on the log",
    ),
    real("ratio_upper", "1", "upper end of its interval"),
    whole("converted", "people counted in n whose insulin or glucose in the index is converted"),
    whole("floored", "people counted in n whose converted value holds the fill value"),
    count("replicates", "replicates in which both estimates exist"),
    STATED,
    WITHHELD,
    NOTICES,
];

const KIND: Column =
    text("kind", "outcome: a ROC cutoff; percentile: a percentile of the cohort or a reference group");

const CHOICES: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    GROUPING,
    GROUP,
    KIND,
    text("base", "yes for the study's own first choices"),
    text("rule", "cutoff rule, for kind outcome"),
    OUTCOME,
    PERCENTILE,
    POPULATION,
    text("exclusions", "study, or the name of an exclusion set"),
    text("exclusions_label", "the same in words"),
    ROUTE,
    ROUTE_LABEL,
    N,
    WITH,
    WITHOUT,
    DF,
    CUTOFF,
    LOWER,
    UPPER,
    INTERVAL,
    STATED,
    WITHHELD,
    NOTICES,
];

const RANGES: &[Column] = &[
    SURVEY,
    INDEX,
    UNIT,
    GROUPING,
    GROUP,
    KIND,
    text(
        "choice",
        "what is changed alone: rule, outcome, percentile, reference, exclusions, route; all: together",
    ),
    count("options", "options of this choice, the base among them; combinations for all"),
    count("shown", "options whose cutoff can be printed"),
    text("base_choices", "the base in words"),
    real("base", "index unit", "cutoff by the study's own first choices"),
    real("smallest", "index unit", "smallest cutoff, the base included"),
    text("smallest_choice", "the option that gives it"),
    real("largest", "index unit", "largest cutoff, the base included"),
    text("largest_choice", "the option that gives it"),
    real("ratio", "1", "largest over smallest: descriptive, so without an interval"),
    STATED,
    WITHHELD,
];
