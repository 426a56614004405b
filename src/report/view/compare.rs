//! Cutoffs side by side: pairs of groups, methods, adjusted for what differs.

use super::{GROUP, GROUPING, INDEX, MEASURE, N, OUTCOME, Shown, THRESHOLD, WITH, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "cutoff_pairs",
        &[
            INDEX,
            OUTCOME,
            column("method", "cutoff", Write::Rule),
            GROUPING,
            GROUP,
            column("other_group", "less", Write::Text),
            column("ratio", "ratio", Write::Number),
            column("difference", "difference (interval)", Write::Estimate),
            column("p_holm", "p by Holm", Write::P),
        ],
    ),
    (
        "cutoff_methods",
        &[
            INDEX,
            OUTCOME,
            GROUPING,
            GROUP,
            N,
            WITH,
            column("method", "method", Write::Rule),
            column("cutoff", "cutoff (interval)", Write::Estimate),
            column("youden", "Youden index", Write::Number),
            column("youden_corrected", "corrected", Write::Number),
            column("youden_external", "in PSUs not drawn", Write::Number),
        ],
    ),
    (
        "decomposition",
        &[
            INDEX,
            OUTCOME,
            GROUPING,
            column("adjusted_for", "adjusted for", Write::Text),
            column("groups", "groups", Write::People),
            column("smallest", "smallest cutoff", Write::Estimate),
            column("smallest_group", "in", Write::Text),
            column("largest", "largest cutoff", Write::Number),
            column("largest_group", "in", Write::Text),
            column("ratio", "largest ÷ smallest", Write::Number),
            column("ratio_under_equality", "the same if groups were equal", Write::Number),
            column("log_range_remaining", "% of the range left", Write::Percent),
            column("lost_share", "% of people lost", Write::Percent),
        ],
    ),
    (
        "standardised_cutoffs",
        &[
            INDEX,
            OUTCOME,
            GROUPING,
            GROUP,
            column("adjusted_for", "adjusted for", Write::Text),
            N,
            WITH,
            column("cutoff", "cutoff (interval)", Write::Estimate),
        ],
    ),
    (
        "standardised_values",
        &[
            INDEX,
            GROUPING,
            GROUP,
            column("adjusted_for", "adjusted for", Write::Text),
            MEASURE,
            column("percentile", "percentile", Write::Number),
            THRESHOLD,
            N,
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
];
