//! A study in words: what is asked, for whom and by what, before anything is run.

use std::collections::BTreeSet;
use std::fmt::Display;

use super::{
    LonelyPsu, ReplicateColumns, Source, Split, Study, StudyIndex, StudyOutcome, TableSource, Variable,
    Withhold, remarks, sensitivity,
};
use crate::definitions::{Direction, Subsample};

/// What a study asks, for whom and by what, one section each; ends with the remarks.
#[must_use]
pub fn explain(study: &Study) -> String {
    let title = [study.title.as_str(), study.question.as_str()].join("\n");
    let sections = [
        section("Sources", study.sources.iter().map(source)),
        section("Samples", super::samples::in_words(study)),
        section("Who is studied", cohort(study)),
        section("Reference groups", references(study)),
        section("Indices", study.indices.iter().map(index)),
        section("Outcomes", study.outcomes.iter().map(outcome)),
        section("Cutoff rules", study.rules.iter().map(|rule| format!("{}: {}", rule.name, rule.label))),
        section("Thresholds judged in every group", thresholds(study)),
        section("Groups, besides everybody", groups(study)),
        section("Other choices, each beside the study's own", sensitivity::sentences(study)),
        section("How sure", certainty(study)),
        section("Charts", [super::output::in_words(&study.output)]),
        section("Stated checks", checks(study)),
        section("Size", size(study)),
        section("Remarks", remarks(study)),
    ];
    format!("{}\n{}", title.trim_end(), sections.concat())
}

/// A headed list; nothing when it is empty.
fn section<T: Display>(heading: &str, lines: impl IntoIterator<Item = T>) -> String {
    let lines: Vec<String> = lines.into_iter().map(|line| format!("  {line}\n")).collect();
    if lines.is_empty() { String::new() } else { format!("\n{heading}\n{}", lines.concat()) }
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
    format!("{}: {} ({} columns), {weight}, {design}", table.name, files.join(" + "), table.columns.len())
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
    let mut lines = vec!["everybody with a positive weight, less, in this order:".to_owned()];
    lines.extend(study.exclusions.iter().enumerate().map(|(step, exclusion)| {
        let unknown = if exclusion.unknown_excludes { "" } else { " (unknown stays in)" };
        format!("{}. {}{unknown}", step + 1, exclusion.label)
    }));
    if study.exclusions.is_empty() {
        lines = vec!["everybody with a positive weight".to_owned()];
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
        Some(k) => format!(", at least {k} of {}", outcome.row.items.len()),
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

fn certainty(study: &Study) -> Vec<String> {
    let lonely = match study.lonely_psu {
        LonelyPsu::Fail => "is an error",
        LonelyPsu::Adjust => "is centred at the mean of all PSUs",
        LonelyPsu::Certainty => "adds no variance",
    };
    let unreliable = match study.withhold {
        Withhold::Withhold => "withheld, with the reason",
        Withhold::Flag => "printed and flagged",
    };
    let mut lines = vec![
        format!(
            "{} % intervals; {}",
            rounded(study.confidence * 100.0),
            super::resampling::in_words(&study.resampling)
        ),
        format!("a stratum with a single PSU {lonely}"),
        format!("unreliable estimates are {unreliable}"),
    ];
    if let Some(resamples) = study.mixture {
        lines.push(format!(
            "where two distributions part, without an outcome and unweighted; {resamples} resamples of people"
        ));
    }
    if !study.public {
        lines.push(format!("not public: cells of fewer than {} people are withheld", study.minimum_cell));
    }
    lines
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

/// Upper bounds on what is computed and kept, as far as the study alone tells.
fn size(study: &Study) -> Vec<String> {
    let count = |variable: &Variable| match &variable.split {
        Split::Bands { labels, .. } => Some(labels.len()),
        Split::Levels { levels, .. } if levels.is_empty() => None,
        Split::Levels { levels, .. } => Some(levels.len()),
    };
    let known = |grouping: &Vec<usize>| {
        grouping.iter().map(|p| count(&study.variables[*p])).product::<Option<usize>>()
    };
    let groups: usize = 1 + study.groupings.iter().filter_map(known).sum::<usize>();
    let open = study.groupings.iter().filter(|grouping| known(grouping).is_none()).count();
    let and_open = match open {
        0 => String::new(),
        1 => " and those of 1 grouping whose levels come from the data".to_owned(),
        _ => format!(" and those of {open} groupings whose levels come from the data"),
    };
    let pairs = study.indices.len() * study.outcomes.len();
    vec![
        format!(
            "{groups} groups{and_open}, in the cohort and {}",
            counted(study.references.len(), "reference group")
        ),
        format!(
            "{}, {}, {}, {}",
            counted(study.indices.len(), "index"),
            counted(pairs, "pair of index and outcome"),
            counted(study.rules.len(), "rule"),
            counted(study.thresholds.len(), "threshold")
        ),
        format!("tallies: at most {} for each person read", counted(tallies(study), "row")),
    ]
}

/// One tally for each index and each sample that it is used in.
fn tallies(study: &Study) -> usize {
    let of = |index: &StudyIndex| {
        let with_outcomes = study.outcomes.iter().map(|outcome| outcome.subsample.max(index.subsample));
        with_outcomes.chain([index.subsample]).collect::<BTreeSet<_>>().len()
    };
    study.indices.iter().map(of).sum()
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

fn subsample(subsample: Subsample) -> &'static str {
    match subsample {
        Subsample::Interview => "everybody interviewed",
        Subsample::Examination => "everybody examined",
        Subsample::Fasting => "the fasting sample",
        Subsample::GlucoseTolerance => "the glucose tolerance sample",
    }
}

/// A number for reading: at most four decimals.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
