//! Which choices the section on other choices combined, in sentences.

use crate::definitions::Exclusion;
use crate::study::{ExclusionSet, Route, Sensitivity, Study};
use crate::table::number::significant;

use super::methods::{MethodsInput, filled, listed};

/// What was combined with what; nothing without the section.
pub(super) fn sentences(input: &MethodsInput<'_>) -> Vec<String> {
    let Some(section) = &input.study.sensitivity else { return Vec::new() };
    if filled(input.tables, "choice_ranges").is_none() {
        return Vec::new();
    }
    let mut sentences = vec![
        "How far a cutoff moves under other choices was computed for each choice alone and for all of them together, in every \
         combination of these lists, whose first entries are the base."
            .to_owned(),
    ];
    sentences.extend(by_rule(section));
    sentences.extend(by_percentile(section, input.study));
    sentences.push(left_out(section));
    sentences.extend(measured(section));
    sentences
}

fn by_rule(section: &Sensitivity) -> Option<String> {
    let rules: Vec<&str> = section.rules.iter().map(|rule| rule.label.as_str()).collect();
    let outcomes: Vec<&str> = section.outcomes.iter().map(|outcome| outcome.row.label.as_str()).collect();
    (!outcomes.is_empty()).then(|| {
        format!("Cutoffs against an outcome: rules, {}; outcomes, {}.", rules.join("; "), outcomes.join("; "))
    })
}

fn by_percentile(section: &Sensitivity, study: &Study) -> Option<String> {
    let percentiles: Vec<String> = section.percentiles.iter().map(|p| significant(p * 100.0, 6)).collect();
    let references = study.references.iter().map(|reference| format!("; “{}”", reference.label));
    (!percentiles.is_empty()).then(|| {
        format!(
            "Percentiles: {}; of the whole cohort{}.",
            listed(&percentiles),
            references.collect::<Vec<_>>().concat()
        )
    })
}

/// Who is left out: the study's own exclusions, then each other set.
fn left_out(section: &Sensitivity) -> String {
    let named = |exclusions: &[Exclusion]| {
        let labels: Vec<&str> = exclusions.iter().map(|exclusion| exclusion.label.as_str()).collect();
        if labels.is_empty() { "nobody".to_owned() } else { labels.join("; ") }
    };
    let one = |set: &ExclusionSet| format!("{} ({})", set.label, named(&set.exclusions));
    let sets: Vec<String> = section.exclusions.iter().map(one).collect();
    format!("Left out: {}.", sets.join("; "))
}

/// Assay routes besides the released values.
fn measured(section: &Sensitivity) -> Option<String> {
    let one = |route: &Route| {
        let converted = route.quantities();
        let equations =
            (!converted.is_empty()).then(|| format!("{} by the agency’s equations", converted.join(" and ")));
        let factor = route.insulin_factor.map(|factor| format!("insulin at {factor} pmol/L in one µU/mL"));
        let how: Vec<String> = equations.into_iter().chain(factor).collect();
        if how.is_empty() { route.label.clone() } else { format!("{} ({})", route.label, how.join(", ")) }
    };
    let routes: Vec<String> = section.routes.iter().map(one).collect();
    (routes.len() > 1).then(|| format!("Values: {}.", routes.join("; ")))
}
