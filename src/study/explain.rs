//! A study in words: what is asked, for whom and by what, before anything is run.

use std::fmt::Display;

use super::explain_run::{self, percent, rounded};
use super::{
    ReplicateColumns, Source, Split, Study, StudyIndex, StudyOutcome, TableSource, Variable, remarks,
    sensitivity, taken_as_public, unlike_samples,
};
use crate::definitions::{Direction, Subsample};

/// What a study asks, for whom and by what, one section each; ends with the remarks.
#[must_use]
pub fn explain(study: &Study) -> String {
    explain_read(study, &[])
}

/// The same where sources were read: `people` counts each, in the study's order, as far as it is known.
#[must_use]
pub fn explain_read(study: &Study, people: &[Option<usize>]) -> String {
    let title = [study.title.as_str(), study.question.as_str()].join("\n");
    let sections = [
        section("Sources", study.sources.iter().map(source)),
        section("Samples", super::samples::in_words(study)),
        section("Who is studied", cohort(study)),
        section("Reference groups", references(study)),
        section("Indices", study.indices.iter().map(index)),
        section("Outcomes", study.every_outcome().map(outcome)),
        section("Cutoff rules", rules(study)),
        section("Thresholds judged in every group", thresholds(study)),
        section("Groups, besides everybody", groups(study)),
        section("Percentiles of every index in every group", percentiles(study)),
        section("Curves", explain_run::curves(study)),
        section("Compared on equal terms", explain_run::standardisation(study)),
        section("Cutoffs in print laid over the run", super::published::in_words(study)),
        section("Other choices, each beside the study's own", sensitivity::sentences(study)),
        section("How sure", explain_run::certainty(study)),
        section("Charts", [super::output::in_words(&study.output)]),
        section("Stated checks", checks(study)),
        section("Size and time", explain_run::size(study, people)),
        section(
            "Remarks",
            taken_as_public(study).into_iter().chain(remarks(study)).chain(unlike_samples(study)),
        ),
    ];
    format!("{}\n{}", title.trim_end(), sections.concat())
}

/// A headed list; nothing when it is empty.
fn section<T: Display>(heading: &str, lines: impl IntoIterator<Item = T>) -> String {
    let lines: Vec<String> = lines.into_iter().map(|line| format!("  {line}\n")).collect();
    if lines.is_empty() { String::new() } else { format!("\n{heading}\n{}", lines.concat()) }
}

/// Rules pick cutoffs against an outcome: without one there is none.
fn rules(study: &Study) -> Vec<String> {
    let asked = study.every_outcome().next().is_some();
    let one = |rule: &super::StudyRule| format!("{}: {}", rule.name, rule.label);
    study.rules.iter().filter(|_| asked).map(one).collect()
}

fn source(source: &Source) -> String {
    match source {
        Source::Survey { survey, cycle, weight_share } => {
            format!("{survey} {cycle}, weights × {}", rounded(*weight_share))
        }
        Source::Table(table) => table_source(table),
    }
}

fn table_source(table: &TableSource) -> String {
    let files: Vec<String> = table.files.iter().map(|file| file.display().to_string()).collect();
    let weight = match &table.weight {
        Some(weight) => format!("weight {weight} × {}", rounded(table.weight_share)),
        None => "no weights: everybody counts once".to_owned(),
    };
    let design = match (&table.stratum, &table.psu) {
        _ if table.replicate_weights.is_some() => replicate_weights(table),
        (Some(stratum), Some(psu)) => format!("PSUs {psu} within strata {stratum}"),
        (None, Some(psu)) => format!("PSUs {psu}, no strata"),
        (_, None) => "no design: intervals treat people as drawn one by one".to_owned(),
    };
    let invented = if table.invented { ", invented people" } else { "" };
    format!(
        "{}: {} ({} quantities), {weight}, {design}{invented}",
        table.name,
        files.join(" + "),
        table.columns.len()
    )
}

fn replicate_weights(table: &TableSource) -> String {
    match &table.replicate_weights {
        Some(ReplicateColumns::Beginning(beginning)) => format!("replicate weights {beginning}*"),
        Some(ReplicateColumns::Named(names)) => {
            format!("{} replicate weights, {} to {}", names.len(), names[0], names[names.len() - 1])
        }
        None => String::new(),
    }
}

fn cohort(study: &Study) -> Vec<String> {
    let everybody = study.design().everybody();
    let mut lines = vec![format!("{everybody}, less, in this order:")];
    lines.extend(study.exclusions.iter().enumerate().map(|(step, exclusion)| {
        let unknown = if exclusion.unknown_excludes { "" } else { " (unknown stays in)" };
        format!("{}. {}{unknown}", step + 1, exclusion.label)
    }));
    if study.exclusions.is_empty() {
        lines = vec![everybody.to_owned()];
    }
    lines
}

fn references(study: &Study) -> Vec<String> {
    let one = |reference: &super::Reference| {
        let without: Vec<&str> = reference.without.iter().map(|exclusion| exclusion.label.as_str()).collect();
        format!(
            "{}: {}; people of the cohort known to have none of: {}",
            reference.name,
            reference.label,
            without.join("; ")
        )
    };
    study.references.iter().map(one).collect()
}

fn index(index: &StudyIndex) -> String {
    let side = match index.row.direction {
        Direction::Higher => "higher",
        Direction::Lower => "lower",
    };
    let formula: Vec<&str> = index.row.formula.split_whitespace().collect();
    let sample = subsample(index.subsample);
    format!("{} = {}; {side} is more resistant; {sample}", index.row.name, formula.join(" "))
}

fn outcome(outcome: &StudyOutcome) -> String {
    let count = match outcome.row.at_least {
        Some(k) => {
            format!(", at least {k} of {} ({})", outcome.row.items.len(), outcome.row.items.join(", "))
        }
        None => String::new(),
    };
    let required = match outcome.row.required.as_slice() {
        [] => String::new(),
        names => format!(" and {}", names.join(" and ")),
    };
    format!("{}: {}{count}{required}; {}", outcome.row.name, outcome.row.label, subsample(outcome.subsample))
}

fn thresholds(study: &Study) -> Vec<String> {
    let one = |threshold: &super::Threshold| {
        let index = &study.indices[threshold.index].row;
        let beyond = match (threshold.strict, index.direction) {
            (false, Direction::Higher) => "at or above",
            (false, Direction::Lower) => "at or below",
            (true, Direction::Higher) => "above",
            (true, Direction::Lower) => "below",
        };
        let source = if threshold.source.is_empty() { "no source stated" } else { &threshold.source };
        format!("{} {beyond} {} ({source})", index.name, threshold.value)
    };
    study.thresholds.iter().map(one).collect()
}

fn percentiles(study: &Study) -> Option<String> {
    (!study.percentiles.is_empty()).then(|| percent(&study.percentiles))
}

fn groups(study: &Study) -> Vec<String> {
    let levels = |variable: &Variable| match &variable.split {
        Split::Bands { labels, .. } => labels.join(", "),
        Split::Levels { levels, .. } if levels.is_empty() => "as they occur in the data".to_owned(),
        Split::Levels { levels, .. } => levels.join(", "),
    };
    let one = |grouping: &Vec<usize>| match grouping.as_slice() {
        [only] => {
            let variable = &study.variables[*only];
            format!("{}: {}", variable.name, levels(variable))
        }
        several => {
            let names: Vec<&str> =
                several.iter().map(|position| study.variables[*position].name.as_str()).collect();
            names.join(" × ")
        }
    };
    study.groupings.iter().map(one).collect()
}

/// How many numbers are stated, and of which tables.
fn checks(study: &Study) -> Option<String> {
    let mut tables: Vec<(&str, usize)> = Vec::new();
    for check in &study.checks {
        match tables.iter_mut().find(|(name, _)| *name == check.table.name) {
            Some((_, count)) => *count += 1,
            None => tables.push((check.table.name, 1)),
        }
    }
    let each: Vec<String> = tables.iter().map(|(name, count)| format!("{count} in {name}")).collect();
    (!study.checks.is_empty()).then(|| {
        let all = counted(study.checks.len(), "cell");
        format!("{all} of the results compared with what the study states: {}", each.join(", "))
    })
}

/// `1 rule`, `2 rules`, `2 indices`.
pub(super) fn counted(count: usize, what: &str) -> String {
    match (count, what) {
        (1, _) => format!("1 {what}"),
        (_, "index") => format!("{count} indices"),
        (_, "pair of index and outcome") => format!("{count} pairs of index and outcome"),
        _ => format!("{count} {what}s"),
    }
}

/// The same, of what the study asks for at all.
pub(super) fn asked(count: usize, what: &str) -> Option<String> {
    (count > 0).then(|| counted(count, what))
}

fn subsample(subsample: Subsample) -> &'static str {
    match subsample {
        Subsample::Interview => "everybody interviewed",
        Subsample::Examination => "everybody examined",
        Subsample::Fasting => "the fasting sample",
        Subsample::GlucoseTolerance => "the glucose tolerance sample",
    }
}
