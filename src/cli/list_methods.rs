//! What the words in the columns `method` and `interval` of the tables mean, and the standard populations.

use super::list_rows::Listing;
use crate::definitions::standards;

/// Name, what it is, where it stands, and its source.
type Method = (&'static str, &'static str, &'static str, &'static str);

const METHODS: [Method; 27] = [
    (
        "weighted_step",
        "percentile: the smallest observed value at which the weighted share reaches it",
        "percentiles",
        "Hyndman and Fan 1996, Am Stat 50:361–365, definition 1",
    ),
    (
        "weighted_mann_whitney",
        "area: how often a person with the outcome is the more resistant of two, ties half, by weights",
        "auc",
        "Mann and Whitney 1947, Ann Math Stat 18:50–60",
    ),
    (
        "empirical_youden",
        "cutoff: largest sensitivity + specificity − 1 as counted; moves in jumps",
        "heterogeneity, cutoff_methods",
        "Youden 1950, Cancer 3:32–35; from memory of the source, not read again",
    ),
    (
        "kernel_smoothed_youden",
        "cutoff: the same on smoothed distributions; leads wherever groups are compared",
        "smoothed_cutoffs, heterogeneity, cutoff_pairs",
        "Fluss, Faraggi and Reiser 2005, Biom J 47:458–472",
    ),
    (
        "binormal_box_cox",
        "cutoff: the same for two normal distributions after a power transformation",
        "cutoff_methods",
        "Box and Cox 1964, J R Stat Soc B 26:211–252",
    ),
    (
        "mixture_crossing",
        "cutoff without an outcome: where two overlapping distributions part; unweighted",
        "cutoff_methods",
        "Dempster, Laird and Rubin 1977, J R Stat Soc B 39:1–38",
    ),
    (
        "quantile_regression_on_natural_spline",
        "curve: percentiles as smooth functions of age or BMI",
        "percentile_curves",
        "Koenker and Bassett 1978, Econometrica 46:33–50",
    ),
    (
        "lms_on_natural_spline",
        "curve: percentiles from power, median and spread as smooth functions of age or BMI",
        "percentile_curves, lms_parameters",
        "Cole and Green 1992, Stat Med 11:1305–1319; from memory of the source, not read again",
    ),
    (
        "location_scale_on_natural_spline_youden",
        "curve: the Youden cutoff as a smooth function of age or BMI",
        "cutoff_curves",
        "Janes and Pepe 2008, Am J Epidemiol 168:89–97",
    ),
    ("share_beyond", "share of people at or beyond a threshold", "assay routes", "weighted proportion"),
    (
        "percentile",
        "a percentile of the index taken as its cutoff; in cutoff_pairs with its number, as percentile_75",
        "assay routes, cutoff_pairs",
        "weighted_step",
    ),
    (
        "unweighted_rank_ignores_design",
        "reference limit as a laboratory makes it: ranks of people, no weights, no design",
        "reference_limits",
        "Clinical and Laboratory Standards Institute, EP28-A3c, 2010",
    ),
    (
        "harris_boyd_unweighted_ignores_design",
        "whether two groups need limits of their own, as a laboratory asks it",
        "partition_tests",
        "Harris and Boyd 1990, Clin Chem 36:265–270 (from memory)",
    ),
    (
        "woodruff_logit",
        "interval of a percentile: of the share below it, by linearisation on the logit scale, turned into values",
        "percentiles, sample",
        "Woodruff 1952, J Am Stat Assoc 47:635–646",
    ),
    (
        "woodruff_replicates_logit",
        "the same, with the variance of the share from replicates",
        "standardised_values",
        "Woodruff 1952, J Am Stat Assoc 47:635–646",
    ),
    (
        "korn_graubard",
        "interval of a share: exact binomial at the effective number of people; holds for rare things",
        "threshold_shares, sample, threshold_accuracy",
        "Korn and Graubard 1998, Surv Methodol 24:193–201",
    ),
    (
        "korn_graubard_replicates",
        "the same, with the variance from replicates",
        "standardised_values",
        "Korn and Graubard 1998, Surv Methodol 24:193–201",
    ),
    (
        "replicates_percentile",
        "interval of a cutoff: the middle 95 % of its bootstrap replicates of whole PSUs",
        "cutoffs, smoothed_cutoffs, cutoff_differences",
        "Rao, Wu and Yue 1992, Surv Methodol 18:209–217",
    ),
    (
        "replicates_t",
        "interval from the standard error of replicates and Student's t",
        "curves; cutoffs by half-samples or supplied weights",
        "Korn and Graubard 1990, Am Stat 44:270–276; from memory of the source, not read again",
    ),
    ("replicates_t_logit", "the same on the logit scale, for areas", "auc, which_index", "as replicates_t"),
    (
        "delong_t_logit",
        "the same with DeLong's variance in place of replicates, where there are no weights, strata or PSUs",
        "auc, which_index",
        "DeLong, DeLong and Clarke-Pearson 1988, Biometrics 44:837–845",
    ),
    (
        "replicates_t_log",
        "the same on the logarithm, for ratios and predictive odds",
        "cutoff_accuracy, threshold_accuracy",
        "as replicates_t",
    ),
    (
        "replicates_paired_t",
        "the same for a difference of two indices in the same replicates",
        "index_comparison",
        "as replicates_t",
    ),
    (
        "delong_normal",
        "the same by DeLong's covariance and the normal distribution, where there are no weights, strata or PSUs",
        "index_comparison",
        "DeLong, DeLong and Clarke-Pearson 1988, Biometrics 44:837–845",
    ),
    (
        "linearised_t_log",
        "interval of a geometric mean: linearised variance of the mean logarithm",
        "geometric_means",
        "Wolter 2007, Introduction to Variance Estimation; from memory of the source, not read again",
    ),
    (
        "binomial_ranks_90",
        "90 % interval of a reference limit: two observed values by their ranks",
        "reference_limits",
        "Clinical and Laboratory Standards Institute, EP28-A3c, 2010",
    ),
    (
        "test_inversion",
        "interval of the spread between groups: all values that the test does not reject",
        "heterogeneity",
        "common practice: an interval holds what its test does not reject",
    ),
];

pub(super) fn method_rows() -> Listing {
    let row =
        |(name, what, tables, source): &Method| [*name, *what, *tables, *source].map(str::to_owned).to_vec();
    Listing {
        columns: &["name", "what", "stands_in", "source"],
        in_text: 4,
        rows: METHODS.iter().map(row).collect(),
        note: "Cutoff rules such as youden are methods too: cutspan list rules.",
    }
}

pub(super) fn standard_rows() -> Listing {
    let rows = standards().iter().map(|row| {
        let shares = row.levels.iter().zip(&row.shares);
        let shares: Vec<String> =
            shares.map(|(level, share)| format!("{level}: {:.1} %", share * 100.0)).collect();
        vec![
            row.name.clone(),
            row.label.clone(),
            row.variable.clone(),
            shares.join(", "),
            row.source.clone(),
            super::list_rows::standing(row.standing),
        ]
    });
    Listing {
        columns: &["name", "label", "variable", "shares", "source", "standing"],
        in_text: 5,
        rows: rows.collect(),
        note: "[analysis.standardize] compares groups as if all had the ages (and body sizes) of a standard:\n\
               standard = \"cohort\" (everybody in the study, the default), a reference group's name, or one of these,\n\
               whose variable must then stand in every list of `to`.",
    }
}
