//! How a claim was judged, and how to cite it.

use super::claim::ClaimInput;
use crate::study::provenance::short_hash;
use crate::table::Row;
use crate::table::number::{significant, whole};

/// How insulin was measured, then how the numbers were made and judged where there are any.
pub(super) fn method(input: &ClaimInput<'_>, judged: bool) -> Vec<String> {
    let insulin = input.insulin.map(|assay| format!("Insulin assay: {assay}."));
    let lines = if judged { judging(input) } else { Vec::new() };
    insulin.into_iter().chain(lines).collect()
}

/// What percentages and counts are of, where people have weights.
const WEIGHTED: &str = "Percentages are weighted to the population; n counts people examined.";
/// Where they have none.
const UNWEIGHTED: &str =
    "Percentages are of the people in the table, each counted once (there are no weights); n counts them.";

fn judging(input: &ClaimInput<'_>) -> Vec<String> {
    let percent = significant(100.0 * input.confidence, 4);
    let design = input.labels.design;
    let (many, worth, drawn) = (design.many, design.worth, design.drawn);
    let counts = if design.is_sample { WEIGHTED } else { UNWEIGHTED };
    let mut lines = vec![counts.to_owned()];
    lines.push(format!(
        "Intervals (in brackets) cover the truth in {percent} of 100 such {many}. Those of shares are exact binomial ones for \
         as many people as {worth} (Korn–Graubard); the others come from {} replicates of {drawn}.",
        input.replicates
    ));
    if input.table.iter().any(|row| !row.text("claim").is_empty()) {
        lines.push(format!(
            "Verdict of a group: holds when its whole {percent} % interval satisfies the claim, fails when the whole interval \
             violates it, else undecided; cannot tell when the estimate is withheld. A share that is withheld only because its \
             interval is wide for so small a share, or so small a rest, is still judged by that interval, given at least 8 \
             degrees of freedom and people who may be shown in small counts."
        ));
        lines.push(format!(
            "In all groups: one group that still fails after correction is enough for “does NOT hold in all of them”, and to hold \
             in all, every group must hold after it; so the answer depends on which groups are asked. The more groups are looked at, the more likely one of them \
             stands out by chance, so each p value (the chance of as clear a verdict if the claim were just met) is raised by the number of groups that can be tested (Holm 1979); a p from replicates is never below 2 / ({} + 1).",
            input.replicates
        ));
    }
    if input.table.iter().any(|row| row.text("measure") == "npv") {
        lines.push(
            "PPV and NPV follow how common the outcome is (“have it”): where fewer have it, PPV is lower and NPV higher for that \
             reason alone. They hold for people among whom it is as common."
                .to_owned(),
        );
    }
    if input.table.iter().any(|row| row.text("measure") == "best_cutoff") {
        lines.push(format!(
            "Best cutoff of a group: the rule “{}”. The Youden index is the share found plus the share rightly left out, less 1.",
            input.rule
        ));
    }
    lines
}

/// One line to paste, which says who was counted, then what the numbers can be made from again.
pub(super) fn citation(input: &ClaimInput<'_>) -> Vec<String> {
    let first = input.table.iter().find(|row| row.text("grouping") == "everybody");
    let n = first.and_then(|row| row.whole("n")).map(whole).unwrap_or_default();
    let mut lines = vec![format!(
        "{}{}{}, n = {n}{}{}; study “{}”; intervals cover {} %; computed with cutspan {}, study {}.",
        input.source,
        input.address.map(|address| format!(" ({address})")).unwrap_or_default(),
        first.map(|row| subsample(&row)).unwrap_or_default(),
        left_out(input.left_out),
        input.insulin.map(|assay| format!("; insulin assay: {assay}")).unwrap_or_default(),
        input.study_title,
        significant(100.0 * input.confidence, 4),
        input.version,
        short_hash(input.study_sha256),
    )];
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
    if reasons.is_empty() { String::new() } else { format!(" (without: {})", reasons.join("; ")) }
}
