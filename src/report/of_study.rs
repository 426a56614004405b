//! The definitions of a study, as run, for the page.

use super::definition::DefinitionRow;
use crate::definitions::{Exclusion, Standing};
use crate::study::{Reference, Split, Study, StudyIndex, StudyOutcome, Variable};

/// Every formula that a study runs, in the order in which it stands there.
#[must_use]
pub fn definitions(study: &Study) -> Vec<DefinitionRow> {
    let indices = study.indices.iter().map(index);
    let outcomes = study.every_outcome().map(outcome);
    let exclusions = study.exclusions.iter().map(|e| exclusion("Left out of the cohort, in this order", e));
    let references = study.references.iter().map(reference);
    let groups = study.variables.iter().map(group);
    indices.chain(outcomes).chain(exclusions).chain(references).chain(groups).collect()
}

fn index(index: &StudyIndex) -> DefinitionRow {
    DefinitionRow {
        kind: "Indices",
        name: index.row.name.clone(),
        label: index.row.label.clone(),
        formula: index.row.sql(),
        unit: index.row.unit.clone(),
        source: index.row.source.clone(),
        standing: index.row.standing,
    }
}

fn outcome(outcome: &StudyOutcome) -> DefinitionRow {
    DefinitionRow {
        kind: "Outcomes",
        name: outcome.row.name.clone(),
        label: outcome.row.label.clone(),
        formula: outcome_in_words(outcome),
        unit: String::new(),
        source: outcome.row.source.clone(),
        standing: outcome.row.standing,
    }
}

/// The conditions that an outcome counts, in words; its formula where it is a plain one.
fn outcome_in_words(outcome: &StudyOutcome) -> String {
    if outcome.items.is_empty() {
        return readable(&outcome.sql, &outcome.row.label);
    }
    let labels = |required: bool| {
        let of = outcome.items.iter().filter(|item| item.required == required);
        of.map(|item| item.label.as_str()).collect::<Vec<_>>().join("; ")
    };
    let least = outcome.row.at_least.unwrap_or(1);
    let required = labels(true);
    let also = if required.is_empty() { String::new() } else { format!(", and in any case: {required}") };
    format!("at least {least} of: {}{also} ({})", labels(false), known_when(outcome))
}

/// What an outcome that counts items makes of an unknown one.
pub(super) fn known_when(outcome: &StudyOutcome) -> &'static str {
    if outcome.row.complete_case {
        "unknown as soon as one is"
    } else {
        "known as soon as the known ones decide it"
    }
}

/// A formula as run, or its label where it is a chain of cases that nobody reads.
fn readable(sql: &str, label: &str) -> String {
    if sql.contains("CASE") { format!("{label}; as run, see study.toml") } else { sql.to_owned() }
}

fn exclusion(kind: &'static str, exclusion: &Exclusion) -> DefinitionRow {
    let unknown = if exclusion.unknown_excludes { " (unknown leaves out too)" } else { "" };
    DefinitionRow {
        kind,
        name: exclusion.name.clone(),
        label: exclusion.label.clone(),
        formula: format!("{}{unknown}", readable(&exclusion.formula, &exclusion.label)),
        unit: String::new(),
        source: exclusion.source.clone(),
        standing: exclusion.standing,
    }
}

fn reference(reference: &Reference) -> DefinitionRow {
    let without: Vec<&str> = reference.without.iter().map(|e| e.name.as_str()).collect();
    DefinitionRow {
        kind: "Reference groups",
        name: reference.name.clone(),
        label: reference.label.clone(),
        formula: format!("people of the cohort known to have none of: {}", without.join(", ")),
        unit: String::new(),
        source: "this study".to_owned(),
        standing: Standing::Study,
    }
}

fn group(variable: &Variable) -> DefinitionRow {
    let formula = match &variable.split {
        Split::Bands { column, cuts, .. } => {
            let cuts: Vec<String> = cuts.iter().map(f64::to_string).collect();
            format!("{column} cut at {}; a value at a cut belongs to the upper band", cuts.join(", "))
        }
        Split::Levels { sql, levels } if sql.contains("CASE") => format!("one of: {}", levels.join("; ")),
        Split::Levels { sql, .. } => sql.clone(),
    };
    DefinitionRow {
        kind: "Groups",
        name: variable.name.clone(),
        label: variable.label.clone(),
        formula,
        unit: String::new(),
        source: variable.source.clone(),
        standing: Standing::CommonPractice,
    }
}
