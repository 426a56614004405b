//! Where one person's values stand, in words: for a clinician with a patient in front of them.

use serde::Serialize;
use serde_json::{Value, json};

use super::place_explained::{CONFIDENCE, EXPLAINED};
use super::place_first::first_lines;
use super::place_format::{Block, markdown, text};
use super::place_groups::{groups, sentences};
use super::place_lead::lead;
use super::place_outcomes::already_met;
use super::place_short::{by_words, in_full, in_short};
use crate::analysis::{Placed, PlacedIndex};
use crate::chart::Labels;

/// What must be known whatever the numbers say.
const CAUTIONS: &[&str] = &[
    "This is not a diagnosis: a value past a cutoff is a reason to talk to a licensed clinician, not a finding.",
    "Local guidance comes before any number here.",
    "Not accounted for: steroids, acute illness, haemolysis, insulin antibodies.",
    "Another assay gives another number for the same blood.",
    "One measurement varies from day to day; near a cutoff it can fall on either side tomorrow.",
    "Ancestry is what people answered in a survey, not biology.",
    "Nothing about the person is stored.",
];

/// The same in a short answer, whose sentences say the rest.
const CAUTIONS_BRIEFLY: &[&str] = &[CAUTIONS[0], CAUTIONS[1], CAUTIONS[2], CAUTIONS[5], CAUTIONS[6]];
/// Of an answer by people who may not be shown in small counts.
pub const NOT_TO_BE_SHARED: &str =
    "CAUTION: these are numbers of a run whose small counts may not be shared: not to be handed on.";

/// What the words of a short answer mean.
const BRIEFLY: &[&str] = &[
    "Percentile: of 100 people of the group, how many are less resistant. Chance beyond: that the usual value is at or beyond \
     the cutoff, and at the ends of its {confidence} interval; the usual value is taken to lie nearer to the group's middle than one \
     measurement. Likely: 80 % or more (short: 20 % or less), and on that side of \
     50 % at both ends. n: people whose outcome is known. --all lists everything; --group names one group.",
];

/// Everything the answer is made from.
#[derive(Debug, Clone, Copy)]
pub struct PlaceInput<'a> {
    pub placed: &'a Placed,
    pub labels: &'a Labels,
    /// What was given, as it was understood: (quantity, value with unit).
    pub given: &'a [(String, String)],
    pub citation: &'a PlaceCitation,
    /// Another study at hand for a person whom this one does not include: a sentence, then commands.
    pub elsewhere: &'a [String],
    /// Option that gives each quantity.
    pub flags: &'a [(&'static str, &'static str)],
    /// Whether every group, rule and published cutoff is listed.
    pub all: bool,
    /// Whether the indices were asked for by name.
    pub asked: bool,
}

impl PlaceInput<'_> {
    /// Whether an index is shown that another one may already answer.
    #[must_use]
    pub fn shows(&self, index: &PlacedIndex) -> bool {
        self.all || self.asked || index.twin_of.is_none()
    }
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

/// Lines as paragraphs of text, or of Markdown where there is no width.
#[must_use]
pub fn place_lines(lines: Vec<String>, width: Option<usize>) -> String {
    let blocks: Vec<Block> = lines.into_iter().map(Block::Paragraph).collect();
    width.map_or_else(|| markdown(&blocks), |width| text(&blocks, width))
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
    let leads = input.placed.indices.iter().flat_map(|index| lead(index, input.labels, true));
    let leads = leads.chain(input.placed.groups.iter().flat_map(|index| sentences(index, input.labels)));
    json!({
        "cautions": cautions(input),
        "elsewhere": input.elsewhere,
        "summary": already_met(input.placed).into_iter().chain(leads).collect::<Vec<_>>(),
        "person": given,
        "placed": input.placed,
        "always": CAUTIONS,
        "citation": input.citation,
    })
}

/// What must be read first, and whether the answer may be handed on: no small counts are taken out of it.
fn cautions(input: &PlaceInput<'_>) -> Vec<String> {
    let private = input.labels.fewest_shown.map(|_| NOT_TO_BE_SHARED.to_owned());
    first_lines(input).into_iter().chain(private).collect()
}

fn blocks(input: &PlaceInput<'_>) -> Vec<Block> {
    let placed = input.placed;
    let mut blocks: Vec<Block> = cautions(input).into_iter().map(Block::Paragraph).collect();
    if let [sentence, commands @ ..] = input.elsewhere {
        blocks.push(Block::Paragraph(sentence.clone()));
        blocks.push(Block::Commands(commands.to_vec()));
    }
    if placed.indices.is_empty() && placed.groups.is_none() {
        return blocks;
    }
    let given: Vec<String> = input.given.iter().map(|(name, value)| format!("{name} {value}")).collect();
    blocks.push(Block::Paragraph(format!(
        "Person: {}. Compared with {}.",
        given.join(", "),
        input.labels.survey
    )));
    if placed.groups.is_some() {
        blocks.extend(groups(input));
    } else {
        blocks.push(Block::Heading("The answer".to_owned()));
        blocks.extend(already_met(placed).map(Block::Paragraph));
        blocks.extend(if input.all { in_full(input) } else { in_short(input) });
    }
    if !placed.missing.is_empty() {
        let by_why = by_words(placed.missing.iter().map(|m| (m.label.clone(), m.why.clone())));
        let lines = by_why.into_iter().map(|(why, names)| format!("{} ({why})", names.join(", ")));
        let lines: Vec<String> = lines.collect();
        blocks.push(Block::Paragraph(format!("Not computed: {}.", lines.join("; "))));
    }
    blocks.push(Block::Heading("How to read this".to_owned()));
    let explained = if input.all { EXPLAINED } else { BRIEFLY };
    let explained = explained.iter().filter(|_| placed.standing.inside() && placed.groups.is_none());
    let confidence = input.labels.confidence.to_string();
    let explained = explained.map(|line| line.replace(CONFIDENCE, &confidence));
    blocks.extend(explained.map(|line| Block::Paragraph(format!("- {line}"))));
    let cautions = if input.all { CAUTIONS } else { CAUTIONS_BRIEFLY };
    blocks.push(Block::Paragraph(cautions.join(" ")));
    blocks.push(Block::Paragraph(format!("Cite as: {}", citation(input.citation))));
    blocks
}

fn citation(citation: &PlaceCitation) -> String {
    format!(
        "{}. {}. Study file sha256 {}. Computed with cutspan {}.",
        citation.survey, citation.title, citation.study_sha256, citation.version
    )
}
