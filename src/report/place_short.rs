//! The answer about every index: the first in a block, the others in a line where they add something; or all in full.

use super::place::PlaceInput;
use super::place_change::brief;
use super::place_fit::{self, Said, answer, other_outcomes};
use super::place_format::Block;
use super::place_index::{measured_again, section, variation_words};
use super::place_lead::lead;
use super::place_limits::{limits_row, passed_in_print, threshold_line};
use super::place_second::{of_first, shown, table};
use super::place_words::{by_factors, first_screen, header, listed, named};
use crate::analysis::PlacedIndex;
use crate::chart::Labels;

/// Every index with everything.
pub(super) fn in_full(input: &PlaceInput<'_>) -> Vec<Block> {
    let indices = &input.placed.indices;
    let leads = indices.iter().filter(|index| index.withheld.is_empty());
    let leads = leads.flat_map(|index| lead(index, input.labels, true)).map(Block::Paragraph);
    let leads = withheld(indices).into_iter().chain(leads);
    let sections = indices.iter().filter(|index| !index.ranks.is_empty());
    leads.chain(sections.flat_map(|index| section(index, input.labels))).collect()
}

/// The indices that say nothing of this person, and why.
fn withheld(indices: &[PlacedIndex]) -> Option<Block> {
    let withheld: Vec<&PlacedIndex> = indices.iter().filter(|index| !index.withheld.is_empty()).collect();
    let why = &withheld.first()?.withheld;
    let names: Vec<String> = withheld.iter().map(|index| index.label.clone()).collect();
    Some(Block::Paragraph(format!("Withheld, as {why}: {}.", names.join("; "))))
}

/// The first index, or those asked for, in a block each; the others in a line.
pub(super) fn in_short(input: &PlaceInput<'_>) -> Vec<Block> {
    let said = input.placed.indices.iter().filter(|index| index.withheld.is_empty());
    let (shown, twins): (Vec<&PlacedIndex>, Vec<&PlacedIndex>) = said.partition(|index| input.shows(index));
    let (first, rest) = shown.split_at(if input.asked { shown.len() } else { shown.len().min(1) });
    let mut blocks: Vec<Block> = withheld(&input.placed.indices).into_iter().collect();
    blocks.extend(first.iter().flat_map(|index| block(index, input.labels)));
    if let Some(first) = first.first() {
        blocks.extend(others(first, rest, input.labels).into_iter().map(Block::Paragraph));
    }
    if let Some(one) = twins.first() {
        let names: Vec<String> = twins.iter().map(|index| named(index, index.value)).collect();
        blocks.push(Block::Paragraph(format!(
            "{} rises or falls with {} and says the same; --all or --index {} shows it.",
            listed(&names),
            one.twin_of.as_deref().unwrap_or_default(),
            one.index
        )));
    }
    blocks
}

/// Sentences and one table of the groups.
fn block(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let mut blocks: Vec<Block> = lead(index, labels, false).into_iter().map(Block::Paragraph).collect();
    if index.ranks.is_empty() {
        return blocks;
    }
    blocks.push(groups(index, labels));
    let thresholds = index.thresholds.iter().map(|mark| threshold_line(index, labels, mark));
    let of_first_date = other_outcomes(index, labels).into_iter().chain(passed_in_print(index));
    let rest = thresholds.chain(of_first_date.map(|line| of_first(index, &line)));
    blocks.extend(rest.map(Block::Paragraph));
    blocks.extend(index.variation.as_ref().map(|used| Block::Paragraph(variation_words(index, used))));
    blocks
}

/// Everybody and the person's smallest groups: percentile, cutoff and verdict, of both dates where there are two.
fn groups(index: &PlacedIndex, labels: &Labels) -> Block {
    if let Some(change) = measured_again(index) {
        return table(index, change, labels);
    }
    let rows = shown(&index.ranks, &index.own).into_iter();
    let rows = rows.map(|rank| limits_row(index, rank, labels)).collect();
    let names = ["among", "people", "percentile", "cutoff", "chance beyond, %", "usual value"];
    Block::Table(header(&names), rows)
}

/// Indices after the first: those of the same answer in one line, each other one in a sentence.
fn others(first: &PlacedIndex, rest: &[&PlacedIndex], labels: &Labels) -> Vec<String> {
    let mut lines = Vec::new();
    let mut same = Vec::new();
    for index in rest {
        let name = named(index, index.value);
        if index.ranks.is_empty() {
            lines.push(format!("{}.", by_factors(index)));
        } else if answers(index) == answers(first) {
            same.push(by_factors(index));
        } else {
            lines.push(of_first(index, &place_fit::in_short(index, labels, &name)));
        }
        lines.extend(index.change.iter().map(|change| brief(index, change)));
    }
    if !same.is_empty() {
        let line = format!("The same answer as by {}: {}.", first.label, listed(&same));
        lines.push(of_first(first, &line));
    }
    lines
}

/// What the cutoffs of the person's groups say, group by group.
fn answers(index: &PlacedIndex) -> Vec<(&str, Said)> {
    let shown = first_screen(&index.cutoffs).into_iter();
    shown.map(|c| (c.group.as_str(), answer(c))).collect()
}
