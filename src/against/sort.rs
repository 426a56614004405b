//! What a column of results is, and against what a change of it is measured.

use crate::table::{Kind, schema};

/// Estimates that are made from replicates, or from resampling people: another seed, other numbers.
const RESAMPLED: [&str; 6] = [
    "optimism",
    "ratio_under_equality",
    "spread",
    "variance_remaining",
    "youden_corrected",
    "youden_external",
];
/// Tests, standard errors and how many replicates there were.
const TESTS: [&str; 16] = [
    "departure_p",
    "df",
    "df1",
    "df2",
    "difference_standard_error",
    "f",
    "other_standard_error",
    "p",
    "p_holm",
    "replicates",
    "replicates_asked",
    "replicates_failed",
    "standard_error",
    "width",
    "width_error",
    "z",
];
/// Columns that conclude something.
const CONCLUDING: [&str; 6] =
    ["advice", "conclusion", "held", "lower_indices", "not_distinguishable", "verdict"];
/// Why nothing is printed.
const REASONS: [&str; 2] = ["why_not", "withheld"];
/// Remarks, which conclude nothing.
const REMARKS: [&str; 3] = ["notices", "interval", "message"];
/// Tables whose counts are those of the people studied, and the columns that hold them: elsewhere a count may move with a cutoff.
const OF_PEOPLE: [&str; 4] = ["participant_flow", "sample", "percentiles", "auc"];
const COUNTS: [&str; 5] = ["people", "n", "n_with", "n_without", "weighted_n"];

/// Estimates that may lie at 0, where a share of them says nothing.
const ABOUT_ZERO: [&str; 3] = ["difference", "net_benefit", "slope"];
/// Differences of a sum of shares, measured against that sum.
const OF_YOUDEN: [&str; 3] = ["optimism", "youden_corrected", "youden_external"];

/// Intervals of a comparison, the value that stands for no difference, and the estimate they are of.
const COMPARING: [(&str, &str, f64, &str); 4] = [
    ("ratio_lower", "ratio_upper", 1.0, "ratio"),
    ("ratio_lower_t", "ratio_upper_t", 1.0, "ratio"),
    ("lower", "upper", 0.0, "difference"),
    ("lower", "upper", 0.0, "slope"),
];

/// What a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    Conclusion,
    Reason,
    Remark,
    /// An end of an interval.
    End,
    Test,
    /// An estimate that rests on resampling.
    Resampled,
    /// A count of the people studied.
    People,
    /// Another count: of people beside a cutoff, or of groups.
    Count,
    Estimate,
}

impl Sort {
    pub(super) fn of(table: &str, column: &str) -> Self {
        let named = |names: &[&str]| names.contains(&column);
        if named(&REASONS) || column.ends_with("_withheld") {
            Self::Reason
        } else if named(&CONCLUDING) {
            Self::Conclusion
        } else if named(&REMARKS) {
            Self::Remark
        } else if other_end(column).is_some() {
            Self::End
        } else if named(&TESTS) {
            Self::Test
        } else if named(&RESAMPLED) {
            Self::Resampled
        } else if OF_PEOPLE.contains(&table) && named(&COUNTS) {
            Self::People
        } else if is_count(table, column) {
            Self::Count
        } else {
            Self::Estimate
        }
    }

    /// Whether a column concludes, explains or remarks.
    pub(super) fn is_words(self) -> bool {
        matches!(self, Self::Conclusion | Self::Reason | Self::Remark)
    }
}

fn is_count(table: &str, column: &str) -> bool {
    let columns = schema::shape(table).map_or(&[][..], |shape| shape.columns);
    columns.iter().any(|known| known.name == column && known.kind == Kind::Integer)
}

/// The column with the other end of an interval: `ratio_lower_t` for `ratio_upper_t`.
fn other_end(column: &str) -> Option<String> {
    let turned = |part| match part {
        "lower" => "upper",
        "upper" => "lower",
        other => other,
    };
    let other = column.split('_').map(turned).collect::<Vec<_>>().join("_");
    (other != column).then_some(other)
}

/// Against what a change is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    pub size: f64,
    /// What it is, after a percent sign; nothing for the earlier number itself.
    pub named: &'static str,
}

/// The scale for a change of a column, from the other numbers of its row in the earlier run.
///
/// An end of an interval is measured against the interval's width, and so is what may lie at 0.
pub(super) fn scale(table: &str, column: &str, row: &dyn Fn(&str) -> Option<f64>) -> Option<Scale> {
    let (size, named) = match Sort::of(table, column) {
        Sort::End => (row(column)? - row(&other_end(column)?)?, " of the interval's width"),
        _ if OF_YOUDEN.contains(&column) => (row("youden")?, " of the index of Youden"),
        _ if column == "variance_remaining" => (100.0, " of that without adjusting"),
        _ if ABOUT_ZERO.contains(&column) => (row("upper")? - row("lower")?, " of the interval's width"),
        _ => (row(column)?, ""),
    };
    (size != 0.0).then_some(Scale { size: size.abs(), named })
}

/// Whether some interval of a comparison leaves out no difference now and did not then, and the other way round.
pub(super) fn newly_apart(
    then: &dyn Fn(&str) -> Option<f64>,
    now: &dyn Fn(&str) -> Option<f64>,
) -> (bool, bool) {
    let changes = COMPARING.iter().filter_map(|&(lower, upper, none, estimate)| {
        let apart = |row: &dyn Fn(&str) -> Option<f64>| {
            row(estimate)?;
            Some(row(lower)? > none || row(upper)? < none)
        };
        Some((apart(then)?, apart(now)?))
    });
    changes.fold((false, false), |(out, back), (then, now)| (out || (now && !then), back || (then && !now)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of<'a>(cells: &'a [(&str, f64)]) -> impl Fn(&str) -> Option<f64> + 'a {
        |name| cells.iter().find(|(column, _)| *column == name).map(|(_, value)| *value)
    }

    #[test]
    fn every_name_that_is_sorted_stands_in_some_table() {
        let stands = |name: &&str| {
            schema::tables().any(|shape| shape.columns.iter().any(|column| column.name == *name))
        };
        let names =
            [&RESAMPLED[..], &TESTS, &CONCLUDING, &REASONS, &REMARKS, &COUNTS, &ABOUT_ZERO, &OF_YOUDEN];
        assert_eq!(names.concat().iter().find(|name| !stands(name)), None);
    }

    #[test]
    fn every_end_of_an_interval_has_its_other_end() {
        for shape in schema::tables() {
            for column in shape.columns.iter().filter(|column| Sort::of(shape.name, column.name) == Sort::End)
            {
                let other = other_end(column.name).expect("an end");
                let there = shape.columns.iter().any(|known| known.name == other);
                assert!(there, "{}.{} without {other}", shape.name, column.name);
            }
        }
        assert_eq!(Sort::of("which_index", "lower_indices"), Sort::Conclusion);
        assert_eq!(Sort::of("auc", "n_with"), Sort::People);
        assert_eq!(Sort::of("cutoff_accuracy", "n"), Sort::Count);
        assert_eq!(Sort::of("geometric_means", "n"), Sort::Count);
        assert_eq!(Sort::of("geometric_means", "value"), Sort::Estimate);
    }

    #[test]
    fn a_change_is_measured_against_what_means_something() {
        let row =
            [("difference", 1e-5), ("lower", -0.2), ("upper", 0.3), ("ratio_lower", 1.0), ("value", -4.0)];
        let width = Some(Scale { size: 0.5, named: " of the interval's width" });
        for column in ["difference", "lower", "upper"] {
            assert_eq!(scale("cutoff_pairs", column, &of(&row)), width, "{column}");
        }
        assert_eq!(scale("cutoff_pairs", "value", &of(&row)), Some(Scale { size: 4.0, named: "" }));
        assert_eq!(scale("cutoff_pairs", "ratio_lower", &of(&row)), None, "no upper end");
        let methods = [("optimism", 0.0001), ("youden", 0.5)];
        assert_eq!(scale("cutoff_methods", "optimism", &of(&methods)).map(|scale| scale.size), Some(0.5));
        assert_eq!(scale("auc", "auc", &of(&[("auc", 0.0)])), None);
    }

    #[test]
    fn an_interval_that_touched_no_difference_and_leaves_it_out_is_seen() {
        let touching = [("difference", 0.2), ("lower", 0.0), ("upper", 0.4)];
        let beyond = [("difference", 0.2), ("lower", 0.01), ("upper", 0.4)];
        assert_eq!(newly_apart(&of(&touching), &of(&beyond)), (true, false));
        assert_eq!(newly_apart(&of(&beyond), &of(&touching)), (false, true));
        assert_eq!(newly_apart(&of(&beyond), &of(&beyond)), (false, false));
        assert_eq!(newly_apart(&of(&touching[1..]), &of(&beyond[1..])), (false, false), "no comparison");
        let ratio = [("ratio", 0.9), ("ratio_lower", 0.8), ("ratio_upper", 1.1)];
        let less = [("ratio", 0.9), ("ratio_lower", 0.8), ("ratio_upper", 0.99)];
        assert_eq!(newly_apart(&of(&ratio), &of(&less)), (true, false));
    }
}
