//! Stated numbers, and who takes part.

use super::{N, POPULATION, Shown, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    (
        "checks",
        &[
            column("check", "check", Write::People),
            column("held", "holds", Write::Text),
            column("table", "table", Write::Text),
            column("column", "column", Write::Text),
            column("where", "where", Write::Text),
            column("greater_than", "greater than where", Write::Text),
            column("found", "found", Write::Fine),
            column("expected", "printed", Write::Fine),
            column("lower", "from", Write::Fine),
            column("upper", "to", Write::Fine),
            column("why_not", "why not", Write::Text),
            column("note", "note", Write::Text),
        ],
    ),
    (
        "participant_flow",
        &[
            column("source", "source", Write::Text),
            column("step", "step", Write::Text),
            column("people", "people left", Write::People),
            column("left_out", "left out", Write::People),
        ],
    ),
    (
        "sample",
        &[
            POPULATION,
            column("variable", "variable", Write::Text),
            column("level", "level", Write::Text),
            N,
            column("value", "weighted share or median", Write::Estimate),
            column("unit", "unit", Write::Unit),
        ],
    ),
];
