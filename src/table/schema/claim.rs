//! What is known about a threshold that a sentence states, and whether claims about it hold.

use super::{
    DF, FRAME, GROUP, GROUPING, INDEX, INTERVAL, LOWER, N, NOTICES, OUTCOME, POPULATION, STATED, STRICT,
    SURVEY, THRESHOLD, UNIT, UPPER, WITHHELD, count, real, shape_of, text, whole,
};
use crate::table::{Column, Shape};

pub(super) const TABLES: &[Shape] =
    &[shape_of("claim", "A threshold that a sentence states: estimates by group, then verdicts", CLAIM)];

/// In the verdict on all groups together, grouping and group.
pub const ALL_GROUPS: &str = "all groups";

/// Why nothing is said of a threshold that lies beyond all values.
pub const ONE_SIDED: &str = "everybody is on one side of the threshold";

const CLAIM: &[Column] = &[
    SURVEY,
    FRAME,
    INDEX,
    UNIT,
    THRESHOLD,
    STRICT,
    text("side", "side that the sentence states: below, at or below, at or above, above"),
    OUTCOME,
    POPULATION,
    GROUPING,
    GROUP,
    text(
        "measure",
        "share (on the stated side), share_beyond, percentile, equivalent, sensitivity, specificity, ppv, npv, \
         lr_positive, lr_negative, prevalence (of the outcome), best_cutoff (counted) or smoothed_cutoff",
    ),
    N,
    DF,
    real("value", "as the column value_unit says", "the measure"),
    text(
        "value_unit",
        "% for shares, percentiles, prevalence, sensitivity, specificity and predictive values; 1 for likelihood ratios; else the unit of the index",
    ),
    LOWER,
    UPPER,
    real(
        "population_number",
        "people",
        "of a share: people of the survey's population whom it stands for, the share times what the weights of the counted \
         people add up to; empty where the weights are not known to stand for people, and for a survey cycle of a pooled study, \
         whose weights add up to its part of the average over the cycles",
    ),
    real("population_lower", "people", "the same of the lower end of the share's interval"),
    real("population_upper", "people", "the same of the upper end of the share's interval"),
    INTERVAL,
    whole(
        "examined",
        "of a share in the cohort: people of the group who were examined, of the study's ages where it names ages; empty where \
         people may not be shown in small counts",
    ),
    whole("left_out", "those of them whom the study's exclusions leave out"),
    STATED,
    WITHHELD,
    NOTICES,
    text("claim", "the claim under test, in words; empty in rows that only estimate"),
    real(
        "claimed_from",
        "as the column value_unit says",
        "the claim is true from this value; empty: no bound",
    ),
    real(
        "claimed_to",
        "as the column value_unit says",
        "the claim is true up to this value; empty: no bound",
    ),
    text(
        "relation",
        "how the claim bounds the measure: at least, more than, at most, less than; or from, to",
    ),
    text(
        "verdict",
        "holds, fails, undecided or cannot tell; beside a withheld share it is made from the interval alone, of which the \
         end that decides is in lower or upper",
    ),
    real(
        "p",
        "1",
        "p value of the verdict: the interval turned into a test; never below 2 / (replicates + 1) where the interval \
         comes from replicates, as that of a best cutoff does",
    ),
    real(
        "p_holm",
        "1",
        "p value adjusted by Holm over the groups that can be tested: everybody is not counted, and no group of which it \
         cannot be told",
    ),
    count("family", "groups over which p values are adjusted: those asked that can be tested"),
];
