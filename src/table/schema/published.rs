//! Cutoffs in print laid over a run: where they sit and what they do among its people.

use super::{
    FRAME, GROUP, GROUPING, INDEX, INTERVAL, N, NOTICES, OUTCOME, POPULATION, STATED, STRICT, SURVEY, UNIT,
    WITH, WITHHELD, WITHOUT, count, real, shape_of, text,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] =
    &[shape_of("published_cutoffs", "Cutoffs in print laid over these people", PUBLISHED_CUTOFFS)];

const PUBLISHED_CUTOFFS: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    text("published", "name of the cutoff in print"),
    real("printed", "as printed", "the cutoff as its source prints it"),
    text("printed_as", "index and unit of the printed number"),
    real(
        "threshold",
        "index unit",
        "the cutoff in the form and unit of the index; missing where there is no exact way to it",
    ),
    text("conversion", "how the printed number was written in the index's form; empty when it is as printed"),
    STRICT,
    text(
        "comparison",
        "what counts as resistant according to the source; where it is not stated, at or beyond is taken",
    ),
    text("country", "where the cutoff was found"),
    text("published_population", "the people in whom the cutoff was found"),
    text("published_sex", "both, male or female"),
    count("published_n", "people the cutoff in print rests on"),
    text("published_rule", "how the source chose the cutoff"),
    text("published_outcome", "outcome of the source; empty for a percentile"),
    text("assay", "insulin assay of the source; empty where it is not stated"),
    text("source", "where the cutoff is printed"),
    POPULATION,
    GROUPING,
    GROUP,
    text(
        "matches",
        "matches: all of the cutoff's sex and BMI, with ages that overlap; other group: not so, or split by something else; \
         form differs: no number can be had. Country, ancestry and assay are not judged",
    ),
    N,
    count("df", "design degrees of freedom of the share"),
    real(
        "share_beyond",
        "%",
        "share at or beyond the cutoff (beyond it, if strict), in the order of resistance",
    ),
    real("lower", "%", "lower end of the share's interval"),
    real("upper", "%", "upper end of the share's interval"),
    INTERVAL,
    real("percentile", "%", "percentile at which the cutoff sits: share less resistant than it"),
    WITHHELD,
    OUTCOME,
    text(
        "outcome_is",
        "of the source: the outcome that the source names; first: the first of the study instead",
    ),
    WITH,
    WITHOUT,
    real("sensitivity", "1", "share at or beyond the cutoff among people with the outcome"),
    real("sensitivity_lower", "1", "lower end of the sensitivity's interval"),
    real("sensitivity_upper", "1", "upper end of the sensitivity's interval"),
    text("sensitivity_withheld", "why the sensitivity is not printed; empty when it is"),
    real("specificity", "1", "share short of the cutoff among people without the outcome"),
    real("specificity_lower", "1", "lower end of the specificity's interval"),
    real("specificity_upper", "1", "upper end of the specificity's interval"),
    text("specificity_withheld", "why the specificity is not printed; empty when it is"),
    text(
        "derived_rule",
        "rule of the derived cutoff beside it: the source's, or the study's first where a ROC cutoff's rule is not \
         stated or not one of the study's; of several the nearest",
    ),
    text("derived_rule_is", "of the source, or first of the study"),
    text("derived_population", "cohort, or the reference group that the percentile was taken from"),
    real("derived", "index unit", "the group's own cutoff by that rule"),
    real("derived_lower", "index unit", "lower end of the derived cutoff's interval"),
    real("derived_upper", "index unit", "upper end of the derived cutoff's interval"),
    text("derived_withheld", "why there is no derived cutoff; empty when there is"),
    real("ratio", "1", "the cutoff in print over the derived one; missing unless both are positive"),
    STATED,
    NOTICES,
];
