//! Shares beyond a threshold, and cutoffs of groups beside everybody’s.

use super::{GROUP, GROUPING, INDEX, N, OUTCOME, POPULATION, RULE, Shown, THRESHOLD, WITH, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "threshold_shares",
        &[
            INDEX,
            THRESHOLD,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("share_beyond", "% at or beyond (interval)", Write::PercentEstimate),
            column("percentile", "percentile", Write::Percent),
        ],
    ),
    (
        "cutoffs",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            N,
            WITH,
            column("cutoff", "cutoff (interval)", Write::Estimate),
        ],
    ),
    (
        "cutoff_differences",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            column("overall", "everybody’s cutoff", Write::Number),
            column("difference", "difference (interval)", Write::Estimate),
            column("ratio", "ratio", Write::Number),
        ],
    ),
];
