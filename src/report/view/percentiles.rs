//! Percentiles and reference limits.

use super::{GROUP, GROUPING, INDEX, N, POPULATION, Shown, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "percentiles",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("percentile", "percentile", Write::Number),
            column("value", "value (interval)", Write::Estimate),
        ],
    ),
    (
        "reference_limits",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("limit", "limit", Write::Text),
            column("value", "unweighted, by rank (90 % interval)", Write::Estimate),
            column("log_normal", "log-normal", Write::Number),
            column("weighted", "weighted percentile", Write::Number),
        ],
    ),
    (
        "partition_tests",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            column("other_group", "and", Write::Text),
            column("z", "z", Write::Estimate),
            column("critical_z", "critical z", Write::Number),
            column("sd_ratio", "ratio of SDs", Write::Number),
            column("advice", "advice", Write::Text),
        ],
    ),
    (
        "geometric_means",
        &[
            INDEX,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            column("value", "geometric mean (interval)", Write::Estimate),
        ],
    ),
];
