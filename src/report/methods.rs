//! `methods.md`: what was done and what was found, as paragraphs for a paper, and what reporting
//! guidelines ask. Made from the resolved study and the tables alone, so that no sentence says what
//! the run did not do.

use serde::Serialize;

use crate::chart::Labels;
use crate::study::Study;
use crate::study::provenance::citation;
use crate::table::Table;
use crate::table::digest::sha256;

use super::markdown::escaped;
use super::{
    InputFile, answer, built_in, checklists, methods_certainty, methods_design, methods_estimates,
    methods_limits, methods_measures, methods_people, methods_results, percentiles, short,
};

/// What the text is put together from.
#[derive(Debug, Clone, Copy)]
pub struct MethodsInput<'a> {
    pub study: &'a Study,
    pub tables: &'a [Table],
    pub labels: &'a Labels,
    pub inputs: &'a [InputFile],
    pub designs: &'a [DesignFacts],
    pub version: &'a str,
}

/// How the people of one frame were drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DesignFacts {
    pub survey: String,
    /// Name of the frame; empty when the sample has one only.
    pub frame: String,
    pub people: u64,
    pub drawn: Drawn,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawn {
    /// In clusters within strata.
    Clusters { strata: usize, psus: usize },
    /// As replicate weights that came with the data tell, so many of them.
    SuppliedReplicates(usize),
    /// One by one, as far as is known; so many units stand for them in replicates.
    People { units: usize },
}

/// Paragraphs for a paper.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct PaperText {
    pub methods: Vec<String>,
    pub results: Vec<String>,
    pub limits: Vec<String>,
}

/// The paragraphs, each of several sentences.
#[must_use]
pub fn paper_text(input: &MethodsInput<'_>) -> PaperText {
    let methods = [
        methods_people::source(input),
        methods_people::participants(input),
        methods_measures::indices(input.study),
        methods_measures::outcomes(input),
        methods_measures::groups(input.study),
        methods_estimates::estimates(input),
        methods_design::design(input),
        methods_certainty::intervals(input),
        methods_certainty::reliability(input),
        methods_certainty::software(input),
    ];
    let labels = short::labels(input.labels);
    let found = answer::besides_percentiles(input.tables, &labels);
    let people = methods_results::people(input.tables, &labels);
    let results = [
        people,
        found.lead.into_iter().map(|finding| finding.text).chain(found.more).collect(),
        found.further,
        percentiles::sentences(input.tables, &labels),
        found.which,
        built_in::results(input.study, input.tables, &labels),
        found.moves,
        found.comparisons,
        found.assays,
        found.print,
    ];
    let limits = methods_limits::limits(input, &labels);
    PaperText { methods: paragraphs(methods), results: paragraphs(results), limits: paragraphs([limits]) }
}

/// `methods.md`.
#[must_use]
pub fn methods(input: &MethodsInput<'_>, text: &PaperText) -> String {
    let section = |paragraphs: &[String]| escaped_each(paragraphs).join("\n\n");
    format!(
        "# {}: text for a paper\n\n## Methods\n\n{}\n\n## Results\n\n{}\n\n## Limits\n\n{}\n\n## To cite these data\n\n{}\n\n{}\n{}",
        escaped(&input.study.title),
        section(&text.methods),
        if text.results.is_empty() {
            "This run judges no threshold and derives no cutoff; its results are in its tables.".to_owned()
        } else {
            section(&text.results)
        },
        section(&text.limits),
        escaped(&citation(input.study, input.version, &sha256(input.study.resolved_toml.as_bytes()))),
        methods_limits::blanks(input),
        checklists::checklists(input.tables)
    )
}

fn escaped_each(paragraphs: &[String]) -> Vec<String> {
    paragraphs.iter().map(|paragraph| escaped(paragraph)).collect()
}

/// Sentences of one paragraph each, empty ones left out.
fn paragraphs(parts: impl IntoIterator<Item = Vec<String>>) -> Vec<String> {
    parts.into_iter().map(|sentences| sentences.join(" ")).filter(|text| !text.is_empty()).collect()
}

/// `a, b and c`.
pub(super) fn listed<T: AsRef<str>>(items: &[T]) -> String {
    match items {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// The rows of a table, none when the run has no such table.
pub(super) fn filled<'a>(tables: &'a [Table], name: &str) -> Option<&'a Table> {
    tables.iter().find(|table| table.name == name && !table.rows.is_empty())
}
