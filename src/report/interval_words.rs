//! Kinds of intervals, as the tables name them, in words.

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
        "replicates_paired_t" => {
            "t intervals of paired differences with the standard error of the replicates"
        }
        "independent_samples_t" => "t intervals of differences between independent samples",
        "binomial_ranks_90" => "90 % intervals from binomial ranks",
        "resampled_people_percentile" => {
            "intervals between percentiles of resamples of people, without the design"
        }
        "test_inversion" => "intervals by inversion of a test",
        other => other,
    }
}
