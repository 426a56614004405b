//! Where one person's values stand, in words: for a clinician with a patient in front of them.

use serde::Serialize;
use serde_json::{Value, json};

use super::place_format::{Block, markdown, text};
use super::place_index::{section, summary};
use crate::analysis::{Placed, Standing};
use crate::chart::Labels;

/// What must be known whatever the numbers say.
const CAUTIONS: &[&str] = &[
    "This is not a diagnosis: a value past a threshold is a reason to talk to a licensed clinician, not a finding.",
    "Assays are not interchangeable: another laboratory gives another number for the same blood.",
    "One measurement varies from day to day; near a threshold it can fall on either side tomorrow.",
    "Ancestry is what people answered in a survey, a survey category and not biology.",
    "Local guidance and a licensed clinician come before any number here.",
    "Nothing about the person is stored: what was typed is used for this answer and then forgotten.",
];

/// Everything the answer is made from.
#[derive(Debug, Clone, Copy)]
pub struct PlaceInput<'a> {
    pub placed: &'a Placed,
    pub labels: &'a Labels,
    /// What was given, as it was understood: (quantity, value with unit).
    pub given: &'a [(String, String)],
    pub citation: &'a PlaceCitation,
    /// Option that gives each quantity.
    pub flags: &'a [(&'static str, &'static str)],
    /// Whether every group, rule and published cutoff is listed.
    pub all: bool,
}

/// Where the numbers about people come from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlaceCitation {
    pub survey: String,
    pub title: String,
    pub study_sha256: String,
    pub version: String,
}

/// The answer as text, no line of a paragraph longer than `width`.
#[must_use]
pub fn place_text(input: &PlaceInput<'_>, width: usize) -> String {
    text(&blocks(input), width)
}

#[must_use]
pub fn place_markdown(input: &PlaceInput<'_>) -> String {
    markdown(&blocks(input))
}

/// The answer as JSON: every number in full, cautions first.
#[must_use]
pub fn place_json(input: &PlaceInput<'_>) -> Value {
    let given: serde_json::Map<String, Value> =
        input.given.iter().map(|(name, value)| (name.clone(), Value::from(value.as_str()))).collect();
    json!({
        "cautions": first_lines(input),
        "person": given,
        "placed": input.placed,
        "always": CAUTIONS,
        "citation": input.citation,
    })
}

fn blocks(input: &PlaceInput<'_>) -> Vec<Block> {
    let placed = input.placed;
    let mut blocks: Vec<Block> = first_lines(input).into_iter().map(Block::Paragraph).collect();
    let given: Vec<String> = input.given.iter().map(|(name, value)| format!("{name} {value}")).collect();
    blocks.push(Block::Paragraph(format!("Person: {}.", given.join(", "))));
    blocks.push(Block::Paragraph(format!("Compared with {}: {}.", input.labels.survey, placed.title)));
    blocks.push(Block::Heading("Where the values stand".to_owned()));
    blocks.extend(summary(placed, input.labels));
    for index in &placed.indices {
        blocks.extend(section(index, input.labels, input.all));
    }
    if !placed.missing.is_empty() {
        blocks.push(Block::Heading("Not computed".to_owned()));
        let lines = placed.missing.iter().map(|m| format!("{}: {}.", m.label, m.why));
        blocks.extend(lines.map(Block::Paragraph));
    }
    blocks.push(Block::Heading("Read with this in mind".to_owned()));
    blocks.extend(CAUTIONS.iter().map(|line| Block::Paragraph(format!("- {line}"))));
    blocks.push(Block::Heading("Cite as".to_owned()));
    blocks.push(Block::Paragraph(citation(input.citation)));
    blocks
}

/// Cautions by name: outside the study's people first, then what is not known, then the rest.
fn first_lines(input: &PlaceInput<'_>) -> Vec<String> {
    let standing = &input.placed.standing;
    let mut lines = Vec::new();
    if !standing.outside.is_empty() {
        lines.push(format!(
            "CAUTION: outside the study's people: {}. No percentile and no cutoff is given.",
            standing.outside.join("; ")
        ));
    }
    if !standing.unknown.is_empty() {
        lines.push(unknown(standing, input.flags));
    }
    lines.extend(standing.cautions.iter().map(|caution| format!("CAUTION: {caution}.")));
    if lines.is_empty() {
        lines.push("The study's people include this person, as far as the values given tell.".to_owned());
    }
    lines
}

/// What is not known, and the options that would tell.
fn unknown(standing: &Standing, flags: &[(&str, &str)]) -> String {
    let reasons: Vec<&str> = standing.unknown.iter().map(|u| u.reason.as_str()).collect();
    let mut options: Vec<String> = Vec::new();
    for name in standing.unknown.iter().flat_map(|u| &u.needs) {
        let flag = flags.iter().find(|(quantity, _)| quantity == name);
        let option = flag.map_or_else(|| format!("--value {name}=…"), |(_, flag)| (*flag).to_owned());
        if !options.contains(&option) {
            options.push(option);
        }
    }
    let (reasons, options) = (reasons.join("; "), options.join(", "));
    if standing.inside() {
        format!(
            "CAUTION: not known whether: {reasons}. What follows holds only if none of these is so; {options} would tell."
        )
    } else {
        format!("CAUTION: not known whether: {reasons}; {options} would tell.")
    }
}

fn citation(citation: &PlaceCitation) -> String {
    format!(
        "{}. {}. Study file sha256 {}. Computed with cutspan {}.",
        citation.survey, citation.title, citation.study_sha256, citation.version
    )
}
