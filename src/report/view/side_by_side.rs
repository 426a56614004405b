//! Samples side by side.

use super::{GROUP, GROUPING, INDEX, MEASURE, N, OUTCOME, POPULATION, RULE, Shown, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "sample_comparison",
        &[
            column("survey", "sample", Write::Text),
            column("compared_with", "and", Write::Text),
            INDEX,
            OUTCOME,
            POPULATION,
            GROUPING,
            GROUP,
            MEASURE,
            RULE,
            column("percentile", "percentile", Write::Number),
            column("value", "first", Write::Number),
            column("other", "second", Write::Number),
            column("difference", "difference (interval)", Write::Estimate),
            column("ratio", "ratio", Write::Number),
            column("p", "p", Write::Number),
        ],
    ),
    (
        "transfer",
        &[
            column("survey", "derived in", Write::Text),
            column("judged_in", "judged in", Write::Text),
            INDEX,
            OUTCOME,
            GROUPING,
            GROUP,
            column("derived_from", "cutoff of", Write::Text),
            RULE,
            column("cutoff", "cutoff", Write::Number),
            MEASURE,
            column("cutoff_uncertainty", "cutoff held", Write::Text),
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
];
