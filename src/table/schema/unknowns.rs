//! The tables on how common each outcome is, and on what is missing.

use super::{
    DF, FRAME, GROUP, GROUPING, INTERVAL, LOWER, N, NOTICES, OUTCOME, POPULATION, STATED, SURVEY, UNKNOWN,
    UPPER, WEIGHTED, WITH, WITHHELD, WITHOUT, count, real, shape_of, text, whole,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[
    shape_of("outcome_prevalence", "How common each outcome is", PREVALENCE),
    shape_of("outcome_items", "Known and unknown answers to each outcome and its items", ITEMS),
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
    real("weighted_n", "people", "people of the survey's target population that they stand for"),
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
