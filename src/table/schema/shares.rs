//! Which columns are shares of people, and of whom: where few people may not be shown, a share gives
//! away how many they are.

/// A column that is a share of people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShareColumn {
    pub table: &'static str,
    pub column: &'static str,
    /// The column of people that it is a share of; empty where other tables count them.
    pub of: &'static str,
    /// The column that counts the people it stands for, where the table has one.
    pub counted: Option<&'static str>,
    /// Columns that say the same in other words, or how sure it is.
    pub with: &'static [&'static str],
    /// The column that says why it is not printed; empty where the table has none.
    pub reason: &'static str,
}

/// Texts of the column `measure` or `method` that make the value of a row a share of its people.
pub const SHARE_MEASURES: [&str; 7] =
    ["sensitivity", "specificity", "ppv", "npv", "prevalence", "share_beyond", "share"];

const ENDS: &[&str] = &["lower", "upper"];

const fn share(table: &'static str, column: &'static str, of: &'static str) -> ShareColumn {
    ShareColumn { table, column, of, counted: None, with: ENDS, reason: "withheld" }
}

/// A share of a table that has several, each with its own interval and reason.
const fn one_of_several(
    table: &'static str,
    column: &'static str,
    of: &'static str,
    [with, reason]: [&'static [&'static str]; 2],
) -> ShareColumn {
    ShareColumn { table, column, of, counted: None, with, reason: reason[0] }
}

/// A share beside the count of its people.
const fn of_count(
    table: &'static str,
    column: &'static str,
    of: &'static str,
    counted: &'static str,
) -> ShareColumn {
    ShareColumn { table, column, of, counted: Some(counted), with: &[], reason: "" }
}

const SENSITIVITY: [&[&str]; 2] = [&["sensitivity_lower", "sensitivity_upper"], &["sensitivity_withheld"]];
const SPECIFICITY: [&[&str]; 2] = [&["specificity_lower", "specificity_upper"], &["specificity_withheld"]];

/// Every share of people in the tables of a run.
pub const SHARES: &[ShareColumn] = &[
    ShareColumn { counted: Some("n"), ..share("sample", "value", "") },
    // Points of a curve and bins are left out where they are made, among the people themselves.
    ShareColumn {
        with: &["sensitivity_lower", "sensitivity_upper"],
        reason: "",
        ..share("roc_points", "sensitivity", "")
    },
    ShareColumn { with: &[], reason: "", ..share("roc_points", "specificity", "") },
    ShareColumn { with: &[], reason: "", ..share("roc_points", "false_positive_share", "") },
    ShareColumn { with: &[], reason: "", ..share("distributions", "share", "") },
    share("cutoff_accuracy", "value", "n"),
    ShareColumn { with: &["lower", "upper", "percentile"], ..share("threshold_shares", "share_beyond", "n") },
    share("threshold_accuracy", "value", "n"),
    ShareColumn { with: &[], reason: "", ..share("equivalent_thresholds", "target", "n") },
    ShareColumn { with: &["no_longer_beyond"], ..share("reclassified", "newly_beyond", "n") },
    ShareColumn { with: &["newly_beyond"], ..share("reclassified", "no_longer_beyond", "n") },
    ShareColumn { counted: Some("n_with"), ..share("outcome_prevalence", "prevalence", "n") },
    of_count("outcome_items", "yes_percent", "n", "n_yes"),
    of_count("outcome_items", "no_percent", "n", "n_no"),
    of_count("outcome_items", "unknown_percent", "n", "n_unknown"),
    of_count("measurement_limits", "missing_percent", "n", "missing"),
    of_count("measurement_limits", "at_fill_percent", "n", "at_fill"),
    one_of_several(
        "threshold_grid",
        "share_beyond",
        "n",
        [&["share_lower", "share_upper"], &["share_withheld"]],
    ),
    one_of_several("threshold_grid", "sensitivity", "n_with", SENSITIVITY),
    one_of_several("threshold_grid", "specificity", "n_without", SPECIFICITY),
    one_of_several(
        "threshold_grid",
        "reclassified",
        "n",
        [&["reclassified_lower", "reclassified_upper"], &["reclassified_withheld"]],
    ),
    ShareColumn {
        with: &["lower", "upper", "percentile"],
        ..share("published_cutoffs", "share_beyond", "n")
    },
    one_of_several("published_cutoffs", "sensitivity", "n_with", SENSITIVITY),
    one_of_several("published_cutoffs", "specificity", "n_without", SPECIFICITY),
    ShareColumn { with: &[], reason: "", ..share("partition_tests", "below", "n") },
    ShareColumn { with: &[], reason: "", ..share("partition_tests", "above", "n") },
    ShareColumn { with: &[], reason: "", ..share("partition_tests", "other_below", "other_n") },
    ShareColumn { with: &[], reason: "", ..share("partition_tests", "other_above", "other_n") },
    ShareColumn {
        with: &["lower", "upper", "ratio", "ratio_lower", "ratio_upper"],
        ..share("assay_routes", "estimate", "n")
    },
    ShareColumn { with: &["lower", "upper", "standard_error"], ..share("trend_cycles", "estimate", "n") },
    share("standardised_values", "value", "n"),
    share("transfer", "value", "n"),
    ShareColumn {
        with: &["lower", "upper", "population_number", "population_lower", "population_upper"],
        ..share("claim", "value", "n")
    },
];

/// The shares of a table.
pub fn shares_of(table: &str) -> impl Iterator<Item = &'static ShareColumn> {
    SHARES.iter().filter(move |share| share.table == table)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Kind;
    use crate::table::schema::{shape, tables};

    /// Shares of people that are not of the people a row counts, each with its reason.
    const NOT_COUNTS: [(&str, &str); 4] = [
        // Of all people of a smooth curve, who are many, and read off between them.
        ("curve_comparisons", "share_below"),
        // Of a standard, not of people counted.
        ("standardised_cutoffs", "lost_share"),
        ("standardised_values", "lost_share"),
        ("decomposition", "lost_share"),
    ];

    #[test]
    fn every_named_column_exists_and_every_column_that_says_share_is_named() {
        for share in SHARES {
            let shape = shape(share.table).expect(share.table);
            let columns = [share.column, share.of, share.reason];
            let all = columns.into_iter().chain(share.with.iter().copied()).chain(share.counted);
            for name in all.filter(|name| !name.is_empty()) {
                assert!(shape.columns.iter().any(|c| c.name == name), "{}.{name}", share.table);
            }
        }
        for shape in tables() {
            let says =
                |meaning: &str| ["share ", "weighted share "].iter().any(|start| meaning.starts_with(start));
            for column in shape.columns.iter().filter(|c| c.kind == Kind::Real && says(c.meaning)) {
                let known = shares_of(shape.name).any(|s| s.column == column.name)
                    || NOT_COUNTS.contains(&(shape.name, column.name))
                    || column.name == "percentile";
                assert!(known, "{}.{}", shape.name, column.name);
            }
        }
    }
}
