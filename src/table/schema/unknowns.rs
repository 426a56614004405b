//! The tables on how common each outcome is, and on what is missing.

use super::{
    DF, FRAME, GROUP, GROUPING, INTERVAL, LOWER, N, NOTICES, OUTCOME, POPULATION, STATED, SURVEY, UNKNOWN,
    UPPER, WEIGHTED, WITH, WITHHELD, WITHOUT, count, real, shape_of, text, whole,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("outcome_prevalence", "How common each outcome is", PREVALENCE),
    shape_of("outcome_items", "Known and unknown answers to each outcome and its items", ITEMS),
    shape_of("measurement_limits", "Values below detection, top-coded or missing", LIMITS),
];

const PREVALENCE: &[Column] = &[
    SURVEY,
    FRAME,
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    N,
    WITH,
    WITHOUT,
    UNKNOWN,
    WEIGHTED,
    real("effective_n", "people", "size of the simple random sample as precise, at most n"),
    DF,
    real("prevalence", "%", "weighted share with the outcome among people whose outcome is known"),
    LOWER,
    UPPER,
    INTERVAL,
    STATED,
    WITHHELD,
    NOTICES,
];

const ITEMS: &[Column] = &[
    SURVEY,
    FRAME,
    OUTCOME,
    text("part", "outcome; required: a condition that must hold; item: one that is counted"),
    text("item", "name of the condition; empty for the outcome itself"),
    POPULATION,
    GROUPING,
    GROUP,
    whole("n", "people of the group, whatever they answer"),
    real(
        "weighted_n",
        "people",
        "sum of their weights: of the national survey the people of its target population that they stand for, of a table of one's \
         own in whatever its weights count; empty for a survey cycle of a pooled study",
    ),
    whole("n_yes", "people known to have it"),
    whole("n_no", "people known not to have it"),
    UNKNOWN_ANSWER,
    real("yes_percent", "%", "weighted share known to have it, of everybody in the group"),
    real("no_percent", "%", "weighted share known not to have it"),
    real("unknown_percent", "%", "weighted share whose answer is unknown"),
    count("items", "conditions the outcome asks for or counts; missing when it is a plain formula"),
    count("at_least", "how many of those that are counted must hold"),
    whole("n_item_unknown", "people with one item unknown or more"),
    whole("decided_yes", "of these, people who have the outcome whatever the unknown items are"),
    whole("decided_no", "of these, people who cannot have it whatever the unknown items are"),
    whole("undecided", "of these, people whose outcome stays unknown"),
    STATED,
    WITHHELD,
    NOTICES,
];

const UNKNOWN_ANSWER: Column = whole("n_unknown", "people whose answer is unknown");

const LIMITS: &[Column] = &[
    SURVEY,
    FRAME,
    text("source", "survey and cycle, or the table"),
    text("quantity", "what was measured or asked"),
    text("used_by", "index, outcome, or group when neither reads it"),
    text("unit", "unit of the limits"),
    whole("n", "people of the cohort"),
    whole("missing", "of these, people without a value"),
    real("missing_percent", "%", "weighted share without a value"),
    real("detection_limit", "unit", "limit of detection, where one is known"),
    real("fill", "unit", "value in the file of what lies below detection; missing when released as measured"),
    whole("at_fill", "people of the cohort marked as below detection, or with the fill value"),
    real("at_fill_percent", "%", "weighted share of the cohort"),
    whole("below_limit", "people of the cohort below the limit with a value of their own"),
    real("top_code", "unit", "value that stands for itself and everything above"),
    whole("top_coded", "people of the cohort with that value"),
    whole("n_yes", "people of the cohort who answer yes, to a question on treatment or diagnosis"),
    whole("read", "people of the source with a value, whoever is studied"),
    whole("read_at_fill", "of these, people at the fill value"),
    text("found_by", "how people at the limit are told"),
    text("source_of_limit", "where the limit is stated"),
    STATED,
    WITHHELD,
];
