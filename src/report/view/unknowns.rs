//! How many have each outcome, and what is unknown.

use super::{GROUP, GROUPING, N, OUTCOME, POPULATION, Shown, WITH, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "outcome_prevalence",
        &[
            OUTCOME,
            POPULATION,
            GROUPING,
            GROUP,
            N,
            WITH,
            column("n_unknown", "unknown", Write::People),
            column("prevalence", "% with outcome (interval)", Write::PercentEstimate),
        ],
    ),
    (
        "outcome_items",
        &[
            OUTCOME,
            column("item", "item", Write::Outcome),
            GROUPING,
            GROUP,
            N,
            column("n_yes", "yes", Write::People),
            column("n_no", "no", Write::People),
            column("n_unknown", "unknown", Write::People),
            column("unknown_percent", "% unknown", Write::Percent),
            column("decided_yes", "decided yes", Write::People),
            column("decided_no", "decided no", Write::People),
        ],
    ),
    (
        "measurement_limits",
        &[
            column("source", "source", Write::Text),
            column("quantity", "quantity", Write::Text),
            N,
            column("missing", "missing", Write::People),
            column("detection_limit", "detection limit", Write::Number),
            column("at_fill", "at fill", Write::People),
            column("below_limit", "below limit", Write::People),
            column("top_coded", "top-coded", Write::People),
            column("n_yes", "yes", Write::People),
        ],
    ),
];
