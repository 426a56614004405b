//! Design, intervals, what is withheld, and the software, in sentences.

use crate::analysis::{self, comparisons_made};
use crate::study::{
    LonelyPsu, ReplicateKind, Source, Stated, Withhold, cutoffs_by_replicates, resampling_in_words,
};
use crate::table::digest::sha256;
use crate::table::number::{significant, whole};
use crate::table::{Row, Table, small};

use super::interval_words::{interval_in_paper, interval_of};
use super::methods::{DesignFacts, Drawn, MethodsInput, filled, listed};
use super::sentence::capital;

/// Weights, strata, PSUs, replicates.
pub(super) fn design(input: &MethodsInput<'_>) -> Vec<String> {
    let mut sentences = weights(input);
    let limit = input.study.fewest_shown();
    sentences.extend(input.designs.iter().map(|facts| drawn(facts, input.designs.len() > 1, limit)));
    let clustered = input.designs.iter().any(|facts| matches!(facts.drawn, Drawn::Clusters { .. }));
    if clustered {
        sentences.push(
            match input.study.lonely_psu {
                LonelyPsu::Fail => "A stratum with a single PSU would have stopped the run.",
                LonelyPsu::Adjust => "A stratum with a single PSU is centred at the mean of all PSUs.",
                LonelyPsu::Certainty => "A stratum with a single PSU adds no variance.",
            }
            .to_owned(),
        );
    }
    if let [from, .., to] | [from @ to] = &degrees_of_freedom(input.tables)[..] {
        let range = if from == to {
            significant(*from, 6)
        } else {
            format!("{} to {}", significant(*from, 6), significant(*to, 6))
        };
        sentences.push(format!("Estimates for everybody rest on {range} degrees of freedom."));
    }
    let kind = resampling_in_words(&input.study.resampling);
    let people = !clustered && input.study.resampling.kind == ReplicateKind::Bootstrap;
    let note =
        if people { " (each person, or each of many random sets of people, being its own PSU)" } else { "" };
    sentences.push(format!("Replicates: {kind}{note}{}.", replicate_source(input.study.resampling.kind)));
    if input.study.samples.len() > 1 {
        sentences.push("Each sample has a seed of its own, made from this one and its name.".to_owned());
    }
    sentences
}

fn replicate_source(kind: ReplicateKind) -> &'static str {
    match kind {
        ReplicateKind::Bootstrap => " (rescaled bootstrap of Rao, Wu and Yue 1992, Surv Methodol 18:209–217)",
        ReplicateKind::Jackknife => " (Wolter 2007, Introduction to Variance Estimation, 2nd edition)",
        ReplicateKind::Brr | ReplicateKind::Fay => {
            " (McCarthy 1969, Rev Int Stat Inst 37:239–264; Judkins 1990, J Off Stat 6:223–239)"
        }
        ReplicateKind::Supplied => "",
    }
}

fn weights(input: &MethodsInput<'_>) -> Vec<String> {
    let one = |source: &Source| match source {
        Source::Survey { survey, cycle, .. } => {
            format!("People of {} {cycle} were weighted by {}.", survey.to_uppercase(), subsamples(input))
        }
        Source::Table(table) => match &table.weight {
            Some(weight) => {
                format!("People of “{}” carry the weights in its column “{weight}”.", table.name)
            }
            None => format!("Everybody of “{}” counts once, without weights.", table.name),
        },
    };
    let mut sentences: Vec<String> = Vec::new();
    for sentence in input.study.sources.iter().map(one) {
        if !sentences.contains(&sentence) {
            sentences.push(sentence);
        }
    }
    sentences
}

/// `the survey’s own weights of the fasting subsample`.
fn subsamples(input: &MethodsInput<'_>) -> String {
    let mut names: Vec<String> = Vec::new();
    for facts in input.designs.iter().filter(|facts| !facts.frame.is_empty()) {
        let name = facts.frame.replace('_', " ");
        if !names.contains(&name) {
            names.push(name);
        }
    }
    match names.len() {
        0 => "the survey’s own weights".to_owned(),
        1 => format!("the survey’s own weights of the {} subsample", names[0]),
        _ => format!(
            "the survey’s own weights of the {} subsamples, each estimate by the smallest that it needs",
            listed(&names)
        ),
    }
}

/// Where people may not be shown in small counts, how many have a weight stands in the participant flow alone, as far as it
/// may be told; so do units that hold few people each.
fn drawn(facts: &DesignFacts, several: bool, limit: Option<i64>) -> String {
    let which = [facts.survey.as_str(), facts.frame.as_str()];
    let which: Vec<&str> = which.into_iter().filter(|name| !name.is_empty()).collect();
    let whose = if several { format!(" ({})", which.join(", ")) } else { String::new() };
    let told = |words: &str, end: &str| match limit {
        None => format!("{words}{} people{end}", whole(facts.people as i64)),
        Some(_) => String::new(),
    };
    match facts.drawn {
        Drawn::Clusters { psus, .. }
            if limit.is_some_and(|limit| facts.people < psus as u64 * limit as u64) =>
        {
            format!("Variances follow the design: primary sampling units (PSUs) within strata{whose}.")
        }
        Drawn::Clusters { strata, psus } => {
            let people = told("", " in ");
            format!(
                "Variances follow the design: {people}{psus} primary sampling units (PSUs) within {strata} strata{whose}."
            )
        }
        Drawn::SuppliedReplicates(count) => {
            let people = told(", for ", "");
            format!("Variances follow {count} replicate weights that come with the data{people}{whose}.")
        }
        Drawn::People => {
            let people = if limit.is_some() { "people".to_owned() } else { told("", "") };
            format!("No design is known, and variances treat {people} as drawn one by one{whose}.")
        }
    }
}

/// Smallest and largest degrees of freedom of everybody's estimates.
fn degrees_of_freedom(tables: &[Table]) -> Vec<f64> {
    let names = ["percentiles", "auc", "threshold_shares"];
    let rows = names.iter().filter_map(|name| filled(tables, name)).flat_map(Table::iter);
    let mut found: Vec<f64> = rows
        .filter(|row| row.text("grouping") == "everybody" && row.text("population") == "cohort")
        .filter_map(|row| row.real("df"))
        .collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    found
}

/// The kinds of intervals that are printed, each with what it is of, and why cutoffs have none.
pub(super) fn intervals(input: &MethodsInput<'_>) -> Vec<String> {
    let mut kinds: Vec<(&str, Vec<&str>)> = Vec::new();
    for row in input.tables.iter().flat_map(Table::iter) {
        let Some(kind) = row.printed_interval() else { continue };
        let of = interval_of(kind, &row);
        match kinds.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, all)) if all.contains(&of) => {}
            Some((_, all)) => all.push(of),
            None => kinds.push((kind, vec![of])),
        }
    }
    let mut sentences = Vec::new();
    if !kinds.is_empty() {
        let one = |(kind, of): &(&str, Vec<&str>)| format!("{}: {}", listed(of), interval_in_paper(kind));
        let list: Vec<String> = kinds.iter().map(one).collect();
        let percent = significant(input.study.confidence * 100.0, 6);
        sentences.push(format!(
            "Intervals are {percent} % intervals unless another share is named. {}.",
            capital(&list.join("; "))
        ));
    }
    let cutoffs = filled(input.tables, "cutoffs").into_iter().flat_map(Table::iter);
    let cutoffs: Vec<Row<'_>> = cutoffs.filter(|row| row.shown("cutoff").is_some()).collect();
    let which =
        if cutoffs.iter().any(|row| row.printed_interval().is_some()) { "Some cutoffs" } else { "Cutoffs" };
    let lacking = cutoffs.iter().find_map(Row::why_no_interval);
    sentences.extend(lacking.map(|why| format!("{which} as counted have no interval: {why}.")));
    sentences
}

/// What is withheld by rule, and what was done about many comparisons.
pub(super) fn reliability(input: &MethodsInput<'_>) -> Vec<String> {
    let study = input.study;
    let done = match study.withhold {
        Withhold::Withhold => "withheld, with the reason",
        Withhold::Flag => "printed and flagged",
    };
    let rules: Vec<String> = analysis::reliability(study)
        .into_iter()
        .filter(|(table, _)| filled(input.tables, table).is_some())
        .map(|(_, rule)| rule)
        .collect();
    let mut sentences = Vec::new();
    if !rules.is_empty() {
        sentences.push(format!("Estimates too unsure to print are {done}: {}.", rules.join("; ")));
    }
    if let Some(limit) = study.fewest_shown() {
        sentences.push(format!(
            "Counts of fewer than {limit} people are left out, and with them shares that stand for so few, counts of the same \
             table from which they could be worked out by subtracting, and every estimate about people whose count is left \
             out. Of the rest, {}.",
            small::rounding(limit)
        ));
    }
    let made = filled(input.tables, "cutoff_differences").map_or(0, comparisons_made);
    if made > 0 {
        sentences.push(format!(
            "{} cutoffs of groups, by all rules, are set beside everybody’s without adjustment for their number.",
            whole(made as i64)
        ));
    }
    if filled(input.tables, "cutoffs").is_some() {
        sentences.extend(cutoffs_by_replicates(input.study.resampling.kind).map(str::to_owned));
    }
    sentences.extend(adjusted(input));
    let added = input.tables.iter().filter(|table| table.position("stated").is_some()).flat_map(Table::iter);
    if added.into_iter().any(|row| row.text("stated") == stated_by_tool()) {
        sentences.push(
            "Estimates that nobody asked for beforehand, but the program added, are marked so in the tables (column \
             “stated”)."
                .to_owned(),
        );
    }
    sentences
}

/// Which p values are adjusted for their number.
fn adjusted(input: &MethodsInput<'_>) -> Option<String> {
    let has = |table: &&Table| {
        table.position("p_holm").is_some() && table.iter().any(|row| row.real("p_holm").is_some())
    };
    let holm: Vec<(&str, &str)> = input.tables.iter().filter(has).map(|table| compared(table.name)).collect();
    let named: Vec<&str> = holm.iter().map(|(what, _)| *what).collect();
    let families: Vec<String> = holm.iter().map(|(what, family)| format!("{what}, {family}")).collect();
    (!holm.is_empty()).then(|| {
        format!(
            "P values of {} are adjusted by Holm’s method (Holm 1979, Scand J Stat 6:65–70), each within its family: {}. “More \
             than noise” stands for a p by Holm below {}.",
            listed(&named),
            families.join("; "),
            significant(1.0 - input.study.confidence, 2)
        )
    })
}

/// What the p values of a table compare, and which of them are one family.
fn compared(table: &str) -> (&str, &str) {
    match table {
        "heterogeneity" => (
            "tests whether groups differ",
            "all of the study by one method, where indices that order people alike count once",
        ),
        "cutoff_pairs" => (
            "pairs of groups",
            "those of one index, outcome, grouping and method, where those with everybody are a family of their own",
        ),
        "index_comparison" => {
            ("pairs of indices", "those of one outcome and group, without pairs that order people alike")
        }
        other => (other, "those of the table"),
    }
}

fn stated_by_tool() -> &'static str {
    match Stated::Tool {
        Stated::Tool => "tool",
        Stated::Study => "study",
    }
}

/// Program, seed, study and files.
pub(super) fn software(input: &MethodsInput<'_>) -> Vec<String> {
    let files: Vec<String> = input
        .inputs
        .iter()
        .map(|file| format!("{} ({} rows, SHA-256 {})", file.path, whole(file.rows as i64), file.sha256))
        .collect();
    vec![
        format!(
            "Computed with cutspan {}, seed {}, from a study whose resolved file has the SHA-256 {}.",
            input.version,
            input.study.resampling.seed,
            sha256(input.study.resolved_toml.as_bytes())
        ),
        format!("Files read: {}.", files.join("; ")),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_with_a_weight_are_counted_in_public_runs_only() {
        let facts = |drawn| DesignFacts { survey: "s".into(), frame: String::new(), people: 434, drawn };
        let said = |drawn_so, limit| drawn(&facts(drawn_so), false, limit);
        let clusters = Drawn::Clusters { strata: 11, psus: 22 };
        assert_eq!(
            said(clusters, None),
            "Variances follow the design: 434 people in 22 primary sampling units (PSUs) within 11 strata."
        );
        assert_eq!(
            said(clusters, Some(10)),
            "Variances follow the design: 22 primary sampling units (PSUs) within 11 strata."
        );
        for drawn in
            [clusters, Drawn::Clusters { strata: 1, psus: 434 }, Drawn::SuppliedReplicates(24), Drawn::People]
        {
            assert!(said(drawn, None).contains("434 people"), "{}", said(drawn, None));
            assert!(!said(drawn, Some(10)).contains("434"), "{}", said(drawn, Some(10)));
        }
    }
}
