//! The table of numbers printed elsewhere, beside what the run found.

use super::{count, real, shape_of, text};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] = &[shape_of("checks", "Numbers stated in the study, and found", CHECKS)];

const CHECKS: &[Column] = &[
    count("check", "position of the check in the study"),
    text("table", "table of results that the check reads"),
    text("column", "its column"),
    text("where", "conditions that pick its row"),
    text(
        "greater_than",
        "conditions that pick the row which the check's row should exceed; empty for a number",
    ),
    real("found", "as the column", "what the run found"),
    real(
        "expected",
        "as the column",
        "the number as printed; empty for an interval alone and for an ordering",
    ),
    real(
        "lower",
        "as the column",
        "smallest number with which the check holds; for an ordering, the other row's",
    ),
    real("upper", "as the column", "largest number with which the check holds; empty for an ordering"),
    text("held", "yes or no"),
    text("why_not", "why the check does not hold; empty when it does"),
    text("source", "where the number is printed"),
    text("note", "remark of the study"),
];
