//! Where one person's values stand, in words: for a clinician with a patient in front of them.

use serde::Serialize;
use serde_json::{Value, json};

use super::place_first::first_lines;
use super::place_format::{Block, markdown, text};
use super::place_index::section;
use super::place_lead::lead;
use super::place_words::value;
use crate::analysis::{Placed, PlacedIndex};
use crate::chart::Labels;

/// What must be known whatever the numbers say.
const CAUTIONS: &[&str] = &[
    "This is not a diagnosis: a value past a threshold is a reason to talk to a licensed clinician, not a finding.",
    "Assays are not interchangeable: another laboratory gives another number for the same blood.",
    "One measurement varies from day to day; near a threshold it can fall on either side tomorrow.",
    "Ancestry is what people answered in a survey, a survey category and not biology.",
    "Local guidance and a licensed clinician come before any number here.",
    "Nothing about the person is stored.",
];

/// What the columns are.
const EXPLAINED: &[&str] = &[
    "Percentile: how many of 100 people of the group are less insulin resistant by this index (95 % interval).",
    "Finds/spares: of 100 people with the outcome, how many are at or beyond the cutoff (sensitivity); of 100 without it, how \
     many are short of it (specificity). The Youden index is their sum less 100. Smoothed: the same cutoff from smoothed \
     distributions, which jumps less from sample to sample.",
    "Chance: in percent, that the person's usual value is at or beyond the cutoff, given one measurement and the group; in \
     brackets, if the true cutoff were at either end of its interval.",
    "Verdict: likely beyond, if the chance is at least 80 % and at least 50 % at both ends; likely short, if at most 20 % and at \
     most 50 % at both ends; cannot tell in every other case.",
    "Test between groups: of the smoothed cutoffs for the first outcome, p adjusted by Holm's method for the groupings tested.",
    "The groups are the smallest that the person belongs to: --group names one, --all lists every group, rule, outcome and \
     cutoff in print.",
];

/// Everything the answer is made from.
#[derive(Debug, Clone, Copy)]
pub struct PlaceInput<'a> {
    pub placed: &'a Placed,
    pub labels: &'a Labels,
    /// What was given, as it was understood: (quantity, value with unit).
    pub given: &'a [(String, String)],
    pub citation: &'a PlaceCitation,
    /// Another study at hand for a person whom this one does not include.
    pub elsewhere: Option<&'a str>,
    /// Option that gives each quantity.
    pub flags: &'a [(&'static str, &'static str)],
    /// Whether every group, rule and published cutoff is listed.
    pub all: bool,
    /// Whether indices are shown that another one already answers.
    pub twins: bool,
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
        "summary": input.placed.indices.iter().flat_map(|index| lead(index, input.labels)).collect::<Vec<_>>(),
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
    let (shown, twins): (Vec<&PlacedIndex>, Vec<&PlacedIndex>) =
        placed.indices.iter().partition(|index| input.twins || index.twin_of.is_none());
    blocks.extend(shown.iter().flat_map(|index| lead(index, input.labels)).map(Block::Paragraph));
    blocks.extend(twins.into_iter().map(twin));
    for index in shown.iter().filter(|index| !index.ranks.is_empty()) {
        blocks.extend(section(index, input.labels, input.all));
    }
    if placed.standing.inside() {
        blocks.push(Block::Heading("How to read this".to_owned()));
        blocks.extend(EXPLAINED.iter().map(|line| Block::Paragraph(format!("- {line}"))));
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

/// An index that another one already answers.
fn twin(index: &PlacedIndex) -> Block {
    Block::Paragraph(format!(
        "{} {} rises or falls with {} and says the same; --all or --index {} shows it.",
        index.label,
        value(index, index.value),
        index.twin_of.as_deref().unwrap_or_default(),
        index.index
    ))
}

fn citation(citation: &PlaceCitation) -> String {
    format!(
        "{}. {}. Study file sha256 {}. Computed with cutspan {}.",
        citation.survey, citation.title, citation.study_sha256, citation.version
    )
}
