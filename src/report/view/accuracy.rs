//! What thresholds and cutoffs achieve.

use super::{GROUP, GROUPING, INDEX, MEASURE, N, OUTCOME, RULE, Shown, THRESHOLD, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "equivalent_thresholds",
        &[
            INDEX,
            THRESHOLD,
            column("same", "held equal", Write::Text),
            OUTCOME,
            GROUPING,
            GROUP,
            N,
            column("equivalent", "equivalent threshold", Write::Estimate),
        ],
    ),
    (
        "reclassified",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            N,
            column("newly_beyond", "% newly beyond", Write::Percent),
            column("no_longer_beyond", "% no longer beyond", Write::Percent),
        ],
    ),
    (
        "cutoff_accuracy",
        &[
            INDEX,
            OUTCOME,
            RULE,
            GROUPING,
            GROUP,
            MEASURE,
            column("cutoff_uncertainty", "cutoff", Write::Text),
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
    (
        "threshold_accuracy",
        &[
            INDEX,
            THRESHOLD,
            OUTCOME,
            GROUPING,
            GROUP,
            MEASURE,
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
];
