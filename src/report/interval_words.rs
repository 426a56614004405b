//! Kinds of intervals and estimates, as the tables name them, in words.

use crate::table::Row;

/// How an interval was made; its own name when there are no words for it.
pub(super) fn interval(kind: &str) -> &str {
    match kind {
        "korn_graubard" => "Korn–Graubard intervals of proportions",
        "korn_graubard_replicates" => {
            "Korn–Graubard intervals of proportions with the variance of the replicates"
        }
        "woodruff_logit" => "Woodruff intervals on the logit",
        "woodruff_replicates_logit" => "Woodruff intervals on the logit with the variance of the replicates",
        "linearised_t_log" => "linearised t intervals on the logarithm",
        "replicates_percentile" => "intervals between percentiles of the replicates",
        "replicates_t" => "t intervals with the standard error of the replicates",
        "replicates_t_log" => "t intervals on the logarithm with the standard error of the replicates",
        "replicates_t_logit" => "t intervals on the logit with the standard error of the replicates",
        "delong_t_logit" => {
            "t intervals on the logit with DeLong’s standard error (DeLong, DeLong and Clarke-Pearson 1988, Biometrics \
             44:837–845)"
        }
        "replicates_paired_t" => {
            "t intervals of paired differences with the standard error of the replicates"
        }
        "delong_normal" => {
            "normal intervals of paired differences (DeLong, DeLong and Clarke-Pearson 1988, Biometrics 44:837–845)"
        }
        "independent_samples_t" => "t intervals of differences between independent samples",
        "binomial_ranks_90" => "90 % intervals from binomial ranks",
        "resampled_people_percentile" => {
            "intervals between percentiles of resamples of people, without the design"
        }
        "test_inversion" => "intervals by inversion of a test",
        "weighted_least_squares_t" => "t intervals of weighted least squares",
        other => other,
    }
}

/// What the interval of a row is an interval of.
pub(super) fn interval_of(kind: &str, row: &Row<'_>) -> &'static str {
    match kind {
        "korn_graubard" => "shares, prevalence, sensitivity and specificity",
        "korn_graubard_replicates" => "standardized shares",
        "woodruff_logit" => "percentiles",
        "woodruff_replicates_logit" => "standardized percentiles",
        "linearised_t_log" => "geometric means",
        "replicates_percentile" | "replicates_t" => of_replicates(row),
        "replicates_t_log" => "likelihood ratios",
        "replicates_t_logit" | "delong_t_logit" => "areas under the ROC curve",
        "replicates_paired_t" | "delong_normal" => "differences of areas between indices",
        "independent_samples_t" => "differences between samples",
        "binomial_ranks_90" => "unweighted reference limits",
        "resampled_people_percentile" => "cutoffs between two fitted distributions",
        "test_inversion" => "how far cutoffs lie apart",
        "weighted_least_squares_t" => "changes over releases",
        _ => "others",
    }
}

/// The same where the replicates alone give the interval: of several tables, and of one way to a cutoff or another.
fn of_replicates(row: &Row<'_>) -> &'static str {
    let method = if row.has("method") { row.text("method") } else { "" };
    match row.table_name() {
        "cutoff_accuracy" | "transfer" if row.text("cutoff_uncertainty") == "fixed" => {
            "Youden indices of cutoffs held as they are"
        }
        "cutoff_accuracy" | "transfer" => "what cutoffs achieve once chosen anew",
        "cutoff_differences" | "cutoff_pairs" => "differences between cutoffs",
        "standardised_cutoffs" => "standardized cutoffs",
        "net_benefit" => "net benefit",
        "percentile_curves" | "cutoff_curves" => "smooth curves",
        _ => match method {
            "kernel_smoothed_youden" => "smoothed cutoffs",
            "binormal_box_cox" => "cutoffs by two normals",
            _ => "cutoffs",
        },
    }
}

/// How an interval was made, with its source where it has one.
pub(super) fn interval_in_paper(kind: &str) -> &str {
    match kind {
        "korn_graubard" => "Korn and Graubard’s (1998, Surv Methodol 24:193–201)",
        "korn_graubard_replicates" => "Korn and Graubard’s with the variance of the replicates",
        "woodruff_logit" => "Woodruff’s, on the logit (1952, J Am Stat Assoc 47:635–646)",
        "woodruff_replicates_logit" => "Woodruff’s, on the logit, with the variance of the replicates",
        other => interval(other),
    }
}

/// How an estimate was made; its own name when there are no words for it.
pub(super) fn estimate(method: &str) -> &str {
    match method {
        "weighted_step" => {
            "weighted quantile: the smallest value that the wanted share of people does not exceed"
        }
        "weighted_mann_whitney" => {
            "weighted share of pairs, one person with and one without the outcome, that the index orders rightly"
        }
        "kernel_smoothed_youden" => "largest Youden index of smoothed distributions",
        "empirical_youden" => "largest Youden index as counted",
        "binormal_box_cox" => "where two normal distributions cross, after a power transform",
        "mixture_crossing" => "where two normal distributions of the logarithms part, without an outcome",
        "harris_boyd_unweighted_ignores_design" => {
            "Harris and Boyd’s comparison, unweighted, without the design"
        }
        "share_beyond" => "share beyond a threshold",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::{estimate, interval, interval_of};
    use crate::table::{Table, schema};

    #[test]
    fn the_same_kind_is_of_what_its_table_holds() {
        let of = |name: &str, method: &str| {
            let mut table = Table::new(schema::shape(name).expect("a table"));
            let row = table.row();
            let row = if method.is_empty() { row } else { row.text("method", method) };
            row.done().expect("a row");
            table.iter().next().map(|row| interval_of("replicates_t", &row)).expect("a row")
        };
        assert_eq!(of("net_benefit", ""), "net benefit");
        assert_eq!(of("cutoffs", ""), "cutoffs");
        assert_eq!(of("smoothed_cutoffs", "kernel_smoothed_youden"), "smoothed cutoffs");
        assert_eq!(of("percentile_curves", "quantile_regression_on_natural_spline"), "smooth curves");
    }

    /// In a second sample the Youden index of a kept cutoff has a t interval, that of a cutoff chosen anew one of percentiles.
    #[test]
    fn cutoffs_held_and_cutoffs_chosen_anew_are_not_given_two_intervals_under_one_name() {
        let mut table = Table::new(schema::shape("transfer").expect("a table"));
        for uncertainty in ["fixed", "varying"] {
            table.row().text("cutoff_uncertainty", uncertainty).done().expect("a row");
        }
        let of: Vec<&str> = table.iter().map(|row| interval_of("replicates_t", &row)).collect();
        assert_eq!(
            of,
            ["Youden indices of cutoffs held as they are", "what cutoffs achieve once chosen anew"]
        );
    }

    #[test]
    fn no_code_is_left_where_there_are_words() {
        for words in [
            interval("korn_graubard"),
            interval("woodruff_logit"),
            interval("test_inversion"),
            estimate("weighted_step"),
        ] {
            assert!(!words.contains('_'), "{words}");
        }
    }
}
