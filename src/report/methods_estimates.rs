//! What was estimated and by which method, in sentences with their sources.

use crate::definitions::Direction;
use crate::study::{LmsPower, Standard, Study, StudyCurves, Threshold};
use crate::table::Table;
use crate::table::number::significant;

use super::methods::{MethodsInput, filled, listed};
use super::methods_choices;

/// Percentiles, shares beyond thresholds, cutoffs, and what else the run estimated.
pub(super) fn estimates(input: &MethodsInput<'_>) -> Vec<String> {
    let has = |name: &str| filled(input.tables, name).is_some();
    let mut sentences = Vec::new();
    if has("percentiles") {
        sentences.push(percentiles(input.study));
    }
    if !input.study.thresholds.is_empty() && has("threshold_shares") {
        let list: Vec<String> = input.study.thresholds.iter().map(|t| threshold(t, input.study)).collect();
        sentences.push(format!("The share of people {} was estimated in every group.", listed(&list)));
    }
    if has("auc") {
        sentences.push(
            "Areas under the receiver operating characteristic (ROC) curve, called AUC, are weighted (Mann and Whitney 1947, Ann Math Stat 18:50–60, with counts replaced \
             by weights)."
                .to_owned(),
        );
    }
    if has("cutoffs") {
        sentences.extend(cutoffs(input));
    }
    sentences.extend(NAMED.iter().filter(|(table, _)| has(table)).map(|(_, text)| (*text).to_owned()));
    sentences.extend(filled(input.tables, "index_comparison").map(indices));
    if has("net_benefit") {
        sentences
            .push("Net benefit is that of Vickers and Elkin 2006, Med Decis Making 26:565–574.".to_owned());
    }
    sentences.extend(standardised(input));
    if let Some(curves) =
        input.study.curves.as_ref().filter(|_| has("percentile_curves") || has("cutoff_curves"))
    {
        sentences.push(smooth_curves(curves, input.study));
        sentences.extend(by_lms(curves, input));
    }
    if filled(input.tables, "cutoff_methods")
        .is_some_and(|table| table.iter().any(|row| row.text("method") == MIXTURE))
    {
        sentences.push(
            "Where two normal distributions of an index's logarithm part was found by expectation–maximisation without any \
             outcome; survey weights and design take no part in it: every person counts once."
                .to_owned(),
        );
    }
    sentences.extend(methods_choices::sentences(input));
    sentences
}

/// Methods that are always used in one way, by the table that holds their results.
const NAMED: [(&str, &str); 4] = [
    (
        "smoothed_cutoffs",
        "Best cutoffs were also found on ROC curves smoothed by a normal kernel (Fluss, Faraggi and Reiser 2005, Biom J \
         47:458–472; bandwidth of Silverman 1986, Density Estimation, 3.31, in each class from its effective number of people, (Σw)²/Σw² \
         of their weights w); these are called smoothed.",
    ),
    (
        "cutoff_methods",
        "“Two normals” are the cutoffs of a binormal model after a power transform (Schisterman and Perkins 2007, Commun Stat \
         Simul Comput 36:549–563; Box and Cox 1964, J R Stat Soc B 26:211–252). The optimism of a Youden index that was chosen and judged in the same people was \
         estimated on the replicates (Harrell, Lee and Mark 1996, Stat Med 15:361–387).",
    ),
    (
        "heterogeneity",
        "Whether groups share one cutoff was tested on the logarithms of their cutoffs by a Wald statistic with the \
         covariance of the replicates, corrected for the degrees of freedom, those of the design or of the replicates where these \
         are fewer (Korn and Graubard 1990, Am Stat 44:270–276).",
    ),
    (
        "cutoff_pairs",
        "Pairs of groups were compared replicate by replicate, by t tests on the logarithm of the ratio of their cutoffs; where \
         an interval lies between percentiles of the replicates, it and the test may disagree near the limit.",
    ),
];

/// How indices were compared; where samples differ in it, which by which.
fn indices(comparison: &Table) -> String {
    const SINGLY: &str = "normal tests of the difference of their areas with DeLong’s covariance (DeLong, DeLong and \
                          Clarke-Pearson 1988, Biometrics 44:837–845)";
    const REPLICATES: &str =
        "t tests of the difference of their areas with the standard error of the replicates";
    let surveys = |singly: bool| {
        let mut found: Vec<&str> = Vec::new();
        let tested = comparison.iter().filter(|row| !row.text("interval").is_empty());
        for row in tested.filter(|row| (row.text("interval") == "delong_normal") == singly) {
            if !found.contains(&row.text("survey")) {
                found.push(row.text("survey"));
            }
        }
        found
    };
    let by = match (&surveys(true)[..], &surveys(false)[..]) {
        ([], _) => REPLICATES.to_owned(),
        (_, []) => SINGLY.to_owned(),
        (singly, others) => {
            format!("{SINGLY} in {}, and by {REPLICATES} in {}", listed(singly), listed(others))
        }
    };
    format!("Indices were compared in the same people, by {by}.")
}

fn percentiles(study: &Study) -> String {
    let list: Vec<String> = study.percentiles.iter().map(|p| significant(p * 100.0, 6)).collect();
    let (noun, verb) = if list.len() == 1 { ("percentile", "was") } else { ("percentiles", "were") };
    format!(
        "The {noun} {} of each index {verb} estimated, counted from the least to the most resistant (weighted; Hyndman and \
         Fan 1996, Am Stat 50:361–365, definition 1).",
        listed(&list)
    )
}

fn threshold(threshold: &Threshold, study: &Study) -> String {
    let index = &study.indices[threshold.index].row;
    let beyond = match (threshold.strict, index.direction) {
        (false, Direction::Higher) => "at or above",
        (false, Direction::Lower) => "at or below",
        (true, Direction::Higher) => "above",
        (true, Direction::Lower) => "below",
    };
    let source = if threshold.source.is_empty() { "[source]" } else { &threshold.source };
    format!("{beyond} {} {} ({source})", index.label, significant(threshold.value, 6))
}

fn cutoffs(input: &MethodsInput<'_>) -> Vec<String> {
    let named = |rule: &crate::study::StudyRule| match rule.rule.row().source {
        "" => rule.label.clone(),
        source => format!("{} ({source})", rule.label),
    };
    let rules: Vec<String> = input.study.rules.iter().map(named).collect();
    let noun = if rules.len() == 1 { "rule" } else { "rules" };
    let mut sentences = vec![format!(
        "For each index and outcome, a cutoff was chosen anew in each group from the weighted ROC curve of people with \
         against people without the outcome, by the {noun}: {}.",
        rules.join("; ")
    )];
    if filled(input.tables, "cutoff_accuracy").is_some() {
        sentences.push(
            "What a cutoff achieves was estimated in the people in whom it was chosen, and is therefore optimistic."
                .to_owned(),
        );
    }
    sentences
}

/// The way to a cutoff that ignores the survey's weights.
const MIXTURE: &str = "mixture_crossing";

/// The second way to percentile curves, where the study asks for it and it led to numbers.
fn by_lms(curves: &StudyCurves, input: &MethodsInput<'_>) -> Option<String> {
    let power = match curves.lms? {
        LmsPower::Constant => "one power everywhere",
        LmsPower::Spline => "the power",
    };
    filled(input.tables, "lms_parameters")?;
    Some(format!(
        "Percentile curves were also fitted by the LMS method (Cole and Green 1992, Stat Med 11:1305–1319): {power}, the \
         logarithm of the median and that of the spread on the same natural splines, by weighted maximum likelihood without \
         a roughness penalty; bands rest on the same replicates, each fitted anew from the solution of the full sample."
    ))
}

/// Groups as if they had one distribution.
fn standardised(input: &MethodsInput<'_>) -> Option<String> {
    let study = input.study;
    let of = study.standardisation.as_ref()?;
    filled(input.tables, "standardised_cutoffs")?;
    let label = |variables: &Vec<usize>| {
        let labels =
            variables.iter().map(|v| study.variables[*v].label.split(',').next().unwrap_or_default());
        labels.collect::<Vec<_>>().join(" and ")
    };
    let compared: Vec<String> = of.of.iter().map(|grouping| label(&study.groupings[*grouping])).collect();
    let adjusted: Vec<String> = of.to.iter().map(label).collect();
    let standard = match &of.standard {
        Standard::Cohort => "everybody of the cohort",
        Standard::Reference(position) => &study.references[*position].label,
        Standard::Population { label, .. } => label,
    };
    Some(format!(
        "Groups by {} were also compared as if they had the distribution of {standard}, of {} (direct standardization; \
         what some group lacks is left out of the standard).",
        compared.join(" and by "),
        adjusted.join("; then of ")
    ))
}

fn smooth_curves(curves: &StudyCurves, study: &Study) -> String {
    let over: Vec<&str> = curves
        .over
        .iter()
        .map(|over| match over.name() {
            "bmi" => "body mass index",
            other => other,
        })
        .collect();
    let by =
        curves.by.map(|variable| format!(" (by {})", study.variables[variable].label)).unwrap_or_default();
    let (noun, knots) = if curves.knots == 1 { ("knot", 1) } else { ("knots", curves.knots) };
    format!(
        "Percentiles (quantile regression; Koenker and Bassett 1978, Econometrica 46:33–50) and best cutoffs \
         (covariate-specific ROC curves; Janes and Pepe 2008, Am J Epidemiol 168:89–97) as smooth functions of {}{by} rest \
         on natural cubic splines with {knots} inner {noun} and on the first {} replicates. They are fitted to the logarithm of the index, or \
         to the index itself where it is not positive in everybody.",
        listed(&over),
        curves.replicates
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn samples_whose_indices_are_compared_in_another_way_are_named() {
        let said = |samples: &[(&str, &str)]| {
            let mut pairs = Table::new(schema::shape("index_comparison").expect("a table"));
            for (survey, kind) in samples {
                pairs.row().text("survey", *survey).text("interval", *kind).done().expect("a row");
            }
            indices(&pairs)
        };
        let both = said(&[("one", "delong_normal"), ("two", "replicates_paired_t"), ("two", "")]);
        assert!(both.contains("44:837–845) in one, and by t tests"), "{both}");
        assert!(both.ends_with("the standard error of the replicates in two."), "{both}");
        let singly = said(&[("one", "delong_normal"), ("one", "")]);
        assert!(singly.ends_with("44:837–845)."), "{singly}");
    }
}
