//! Areas under the ROC curve, and which index separates best.

use super::{GROUP, GROUPING, INDEX, N, OUTCOME, Shown, WITH, Write, column};

pub(super) const VIEWS: &[Shown] = &[
    ("auc", &[INDEX, OUTCOME, GROUPING, GROUP, N, WITH, column("auc", "AUC (interval)", Write::Estimate)]),
    (
        "which_index",
        &[
            OUTCOME,
            GROUPING,
            GROUP,
            column("index", "highest AUC on common people", Write::Index),
            N,
            column("auc", "AUC (interval)", Write::Estimate),
            column("not_distinguishable", "not distinguishable from it", Write::Indices),
            column("lower_indices", "lower by more than noise", Write::Indices),
        ],
    ),
    (
        "index_comparison",
        &[
            OUTCOME,
            GROUPING,
            GROUP,
            INDEX,
            column("other_index", "less", Write::Index),
            N,
            column("difference", "difference of AUC (interval)", Write::Estimate),
            column("p_holm", "p by Holm", Write::P),
        ],
    ),
];
