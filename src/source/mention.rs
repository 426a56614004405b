//! Which quantities a study speaks of: files that hold them are needed, others are welcome.

use std::collections::BTreeSet;

use crate::definitions::{Exclusion, Subsample};
use crate::study::{Split, Study};

/// What a study needs from its sources.
#[derive(Debug, Default)]
pub(super) struct Needs {
    quantities: BTreeSet<String>,
    /// Subsamples of its indices and outcomes.
    pub subsamples: BTreeSet<Subsample>,
}

impl Needs {
    pub fn quantity(&self, name: &str) -> bool {
        self.quantities.contains(name)
    }
}

/// Reads the quantities out of every SQL text and ingredient of the study.
pub(super) fn needs(study: &Study) -> Needs {
    let mut words = BTreeSet::new();
    for index in &study.indices {
        add_words(&mut words, &index.row.formula);
        add_words(&mut words, index.row.valid_if.as_deref().unwrap_or_default());
        words.extend(index.ingredients.iter().map(String::as_str));
    }
    for outcome in study.every_outcome() {
        add_words(&mut words, &outcome.sql);
        words.extend(outcome.ingredients.iter().map(String::as_str));
    }
    let other_sets = study.sensitivity.iter().flat_map(|s| &s.exclusions).flat_map(|set| &set.exclusions);
    let without = study.references.iter().flat_map(|reference| &reference.without);
    let exclusions: Vec<&Exclusion> = study.exclusions.iter().chain(without).chain(other_sets).collect();
    for exclusion in exclusions {
        add_words(&mut words, &exclusion.formula);
    }
    for variable in &study.variables {
        match &variable.split {
            Split::Bands { column, .. } => add_words(&mut words, column),
            Split::Levels { sql, .. } => add_words(&mut words, sql),
        }
    }
    let spoken = study.quantities.iter().filter(|q| {
        words.contains(q.name.as_str()) || q.columns().iter().any(|column| words.contains(column.as_str()))
    });
    let quantities: BTreeSet<String> = spoken.clone().map(|q| q.name.clone()).collect();
    let subsamples = spoken.map(|q| q.subsample);
    let subsamples = subsamples.chain(study.indices.iter().map(|i| i.subsample)).collect();
    Needs { quantities, subsamples }
}

fn add_words<'a>(words: &mut BTreeSet<&'a str>, sql: &'a str) {
    words.extend(sql.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')));
}
