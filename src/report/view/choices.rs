//! How far choices and assays move a cutoff.

use super::{GROUP, GROUPING, INDEX, N, Shown, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "choice_ranges",
        &[
            INDEX,
            GROUPING,
            GROUP,
            column("kind", "cutoff by", Write::Text),
            column("choice", "choice", Write::Text),
            column("base", "base", Write::Number),
            column("smallest", "smallest", Write::Number),
            column("smallest_choice", "given by", Write::Text),
            column("largest", "largest", Write::Number),
            column("largest_choice", "given by", Write::Text),
            column("ratio", "ratio", Write::Number),
        ],
    ),
    (
        "assay_route_steps",
        &[
            column("route_label", "measured", Write::Text),
            column("quantity", "quantity", Write::Text),
            column("cycle", "release", Write::Text),
            column("path", "methods", Write::Text),
            column("equations", "equations", Write::Text),
            column("source", "source", Write::Text),
            column("converted", "converted", Write::People),
            column("floored", "at the floor", Write::People),
            column("notices", "remarks", Write::Text),
        ],
    ),
    (
        "assay_routes",
        &[
            INDEX,
            GROUPING,
            GROUP,
            column("route_label", "measured", Write::Text),
            column("method", "estimate of", Write::Text),
            N,
            column("estimate", "estimate (interval)", Write::Estimate),
            column("ratio", "ratio to as released", Write::Number),
        ],
    ),
];
