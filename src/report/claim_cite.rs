//! How a claim was judged, and how to cite it.

use super::claim::ClaimInput;
use crate::table::Row;
use crate::table::number::{significant, whole};

/// Letters of a hash that name a study in print; JSON holds all of them.
const SHORT_HASH: usize = 12;

/// How insulin was measured, then how the numbers were made and judged where there are any.
pub(super) fn method(input: &ClaimInput<'_>, judged: bool) -> Vec<String> {
    let insulin = input.insulin.map(|assay| format!("Insulin assay: {assay}."));
    let lines = if judged { judging(input) } else { Vec::new() };
    insulin.into_iter().chain(lines).collect()
}

fn judging(input: &ClaimInput<'_>) -> Vec<String> {
    let percent = significant(100.0 * input.confidence, 4);
    let design = input.labels.design;
    let (many, worth, drawn) = (design.many, design.worth, design.drawn);
    let mut lines = vec![format!(
        "Intervals (in brackets) cover the truth in {percent} of 100 such {many}. Those of shares are exact binomial ones for \
         as many people as {worth} (Korn–Graubard); the others come from {} replicates of {drawn}.",
        input.replicates
    )];
    if input.table.iter().any(|row| !row.text("claim").is_empty()) {
        lines.push(format!(
            "Verdict of a group: holds when its whole {percent} % interval satisfies the claim, fails when the whole interval \
             violates it, else undecided; cannot tell when the estimate is withheld."
        ));
        lines.push(format!(
            "For all groups: one group that still fails after correction is enough to fail, and to hold every group must. The more groups are looked at, \
             the more likely one of them stands out by chance, so each p value (the chance of as clear a verdict if the claim \
             were just met) is raised by their number (Holm 1979); a p from replicates is never below 2 / ({} + 1).",
            input.replicates
        ));
    }
    if input.table.iter().any(|row| row.text("measure") == "best_cutoff") {
        lines.push(format!(
            "Best cutoff of a group: the rule “{}”. The Youden index is the share found plus the share passed over, less 1.",
            input.rule
        ));
    }
    lines
}

/// The beginning of a hash, enough to find its study.
fn short_hash(sha256: &str) -> &str {
    sha256.get(..SHORT_HASH).unwrap_or(sha256)
}

/// One line to paste, then who was counted and what the numbers can be made from again.
pub(super) fn citation(input: &ClaimInput<'_>) -> Vec<String> {
    let first = input.table.iter().find(|row| row.text("grouping") == "everybody");
    let n = first.and_then(|row| row.whole("n")).map(whole).unwrap_or_default();
    let mut lines = vec![
        format!(
            "{}{}{}, n = {n}{}; study “{}”; intervals cover {} %; computed with cutspan {}, study {}.",
            input.source,
            input.address.map(|address| format!(" ({address})")).unwrap_or_default(),
            first.map(|row| subsample(&row)).unwrap_or_default(),
            input.insulin.map(|assay| format!("; insulin assay: {assay}")).unwrap_or_default(),
            input.study_title,
            significant(100.0 * input.confidence, 4),
            input.version,
            short_hash(input.study_sha256),
        ),
        format!("Who: the cohort of the study{}.", left_out(input.left_out)),
    ];
    lines.extend(input.asked.iter().cloned());
    lines.push(format!("To repeat it: {} replicates, seed {}.", input.replicates, input.seed));
    lines
}

/// The weights of a survey's part, where not all of it is used.
fn subsample(row: &Row<'_>) -> String {
    match row.text("frame") {
        "sample" => String::new(),
        frame => format!(", {} sample", frame.replace('_', " ")),
    }
}

fn left_out(reasons: &[String]) -> String {
    if reasons.is_empty() { String::new() } else { format!(", without: {}", reasons.join("; ")) }
}
