//! The tables of one index: percentiles, cutoffs, thresholds, and what one measurement is worth.

use super::place_format::Block;
use super::place_limits::{cutoffs, once, thresholds};
use super::place_printed::printed;
use super::place_second::{at_second, table};
use super::place_verdict::varies;
use super::place_words::{COHORT, NOBODY, group, header, percentile, value};
use crate::analysis::{Change, PlacedIndex, Rank};
use crate::chart::Labels;

/// The section of one index with everything.
pub(super) fn section(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let order = if index.lower_is_resistant { "lower" } else { "higher" };
    let title =
        format!("{} {} ({order} means more insulin resistant)", index.label, value(index, index.value));
    let mut blocks = vec![Block::Heading(title)];
    if let Some(then) = at_second(index) {
        blocks.push(Block::Paragraph("Both dates, by the first outcome and rule:".to_owned()));
        blocks.push(table(index, &then, labels));
        blocks.push(Block::Paragraph(
            "All that follows is of the first date, unless it names the second.".to_owned(),
        ));
    }
    blocks.extend(percentiles(index, labels));
    blocks.extend(cutoffs(index, labels));
    blocks.extend(thresholds(index, labels));
    blocks.extend(printed(index));
    blocks.extend(usual(index, labels));
    blocks
}

/// Percentiles in the person's groups, and beside each in its reference part.
fn percentiles(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let mut references: Vec<&str> = Vec::new();
    for rank in index.ranks.iter().filter(|rank| rank.population != COHORT) {
        if !references.contains(&rank.population.as_str()) {
            references.push(&rank.population);
        }
    }
    let mark =
        |position: usize| if references.len() > 1 { format!(" {}", position + 1) } else { String::new() };
    let mut names = header(&["among", "people", "percentile"]);
    for position in 0..references.len() {
        names.extend([format!("reference{}", mark(position)), "percentile in it".to_owned()]);
    }
    let row = |rank: &Rank| {
        let mut cells =
            vec![group(&rank.grouping, &rank.group, labels), rank.n.to_string(), percentile(rank)];
        for reference in &references {
            let same = |r: &&Rank| {
                r.population == *reference && r.grouping == rank.grouping && r.group == rank.group
            };
            let part = index.ranks.iter().find(same).filter(|r| r.n > 0);
            cells.push(part.map_or_else(|| NOBODY.to_owned(), |r| r.n.to_string()));
            cells.push(part.map_or_else(|| NOBODY.to_owned(), percentile));
        }
        cells
    };
    let rows = once(index.ranks.iter().filter(|rank| rank.population == COHORT).map(row));
    let mut blocks = vec![Block::Table(names, rows)];
    for (position, reference) in references.iter().enumerate() {
        blocks.push(Block::Paragraph(format!(
            "Reference{}: only {}; {NOBODY}: nobody of the group is among them.",
            mark(position),
            labels.people_of(reference)
        )));
    }
    blocks
}

/// The second measurement, where it may be placed.
pub(super) fn measured_again(index: &PlacedIndex) -> Option<&Change> {
    index.change.as_ref().filter(|change| !change.ranks.is_empty())
}

/// How far one measurement counts, and the most likely usual value in each of the smallest groups.
fn usual(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let Some(variation) = &index.variation else { return Vec::new() };
    let mut centres: Vec<String> = Vec::new();
    for usual in &index.usual {
        let Some(centre) = usual.usual else { continue };
        let words = format!("{} in {}", value(index, centre), group(&usual.grouping, &usual.group, labels));
        if !centres.contains(&words) {
            centres.push(words);
        }
    }
    let centre = if centres.is_empty() {
        String::new()
    } else {
        format!(" Given the group, the usual value is most likely {}.", centres.join(", "))
    };
    vec![Block::Paragraph(format!(
        "One measurement is not the usual value: {} is taken to vary {}; --within-person-cv and --analytical-cv replace \
         it.{centre}",
        index.label,
        varies(variation)
    ))]
}
