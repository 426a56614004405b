//! The tables of one index: percentiles, cutoffs, thresholds, and what one measurement is worth.

use super::place_format::Block;
use super::place_limits::{cutoffs, others, printed, thresholds};
use super::place_words::{COHORT, NOBODY, group, header, percentile, value};
use crate::analysis::{Change, PlacedIndex, Rank, VariationUsed};
use crate::chart::Labels;
use crate::table::number::{fixed, reading, significant};

/// The section of one index.
pub(super) fn section(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<Block> {
    let order = if index.lower_is_resistant { "lower" } else { "higher" };
    let title =
        format!("{} {} ({order} means more insulin resistant)", index.label, value(index, index.value));
    let mut blocks = vec![Block::Heading(title)];
    blocks.extend(percentiles(index, labels));
    blocks.extend(cutoffs(index, labels, all));
    if !all {
        blocks.extend(others(index, labels));
    }
    blocks.extend(thresholds(index, labels));
    blocks.extend(printed(index, all));
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
    let mut rows: Vec<Vec<String>> =
        index.ranks.iter().filter(|rank| rank.population == COHORT).map(row).collect();
    // Two classifications may have one group in common.
    rows.dedup();
    let mut blocks = vec![Block::Table(names, rows)];
    for (position, reference) in references.iter().enumerate() {
        blocks.push(Block::Paragraph(format!(
            "Reference{}: only people with {}; {NOBODY}: nobody of the group is among them.",
            mark(position),
            labels.population(reference)
        )));
    }
    blocks
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
        "One measurement is not the usual value. {}{centre}",
        variation_words(index, variation)
    ))]
}

fn variation_words(index: &PlacedIndex, variation: &VariationUsed) -> String {
    let origin = if variation.stated {
        "as stated"
    } else {
        "assumed or from memory where not stated; --within-person-cv and --analytical-cv replace them"
    };
    format!(
        "{} is taken to vary {} % from day to day in one person and {} % by assay ({origin}).",
        index.label,
        reading(100.0 * variation.within_person, 2),
        reading(100.0 * variation.analytical, 2)
    )
}

/// A second value beside the first, as one line.
pub(super) fn change(index: &PlacedIndex, change: &Change) -> String {
    let Some(second) = change.second else {
        return format!("Second measurement: {} cannot be compared; {}.", index.label, change.why_not);
    };
    let pair = format!("{} {} → {}", index.label, value(index, change.first), value(index, second));
    let (Some(by), Some(beyond)) = (change.change, change.beyond_chance) else {
        return format!("{pair}: the change is not judged; {}.", change.why_not);
    };
    let signed = |percent: f64| format!("{}{} %", if percent > 0.0 { "+" } else { "" }, fixed(percent, 0));
    let reach = if by < 0.0 { -change.fall.unwrap_or_default() } else { change.rise.unwrap_or_default() };
    let (verdict, side) = if beyond { ("more than noise", "more") } else { ("not more than noise", "less") };
    let turns = change.turns_at.map_or_else(
        || "no day-to-day variation would turn it".to_owned(),
        |cv| format!("it would turn at {} % or {side}", fixed(cv, 0)),
    );
    let assumed = index.variation.as_ref().map_or(0.0, |v| 100.0 * v.within_person);
    format!(
        "{pair} ({}) in {} months: {verdict} (chance alone reaches {}). Day-to-day and assay variation only, not season or \
         months. It rests on a day-to-day variation of {} %: {turns}. {}{}",
        signed(by),
        significant(change.months, 3),
        signed(reach),
        fixed(assumed, 0),
        if beyond { "It does not say why it changed." } else { "It does not show that nothing has changed." },
        second_stands(index, change)
    )
}

/// Where the second value stands: percentile among everybody, and on which side of the leading cutoffs.
fn second_stands(index: &PlacedIndex, change: &Change) -> String {
    let Some(second) = change.second else { return String::new() };
    let everybody =
        change.ranks.iter().find(|r| r.population == COHORT && r.grouping == super::place_words::EVERYBODY);
    let percentile =
        everybody.map(|rank| format!(" {} now: percentile {}", value(index, second), percentile(rank)));
    let sign = if index.lower_is_resistant { -1.0 } else { 1.0 };
    let sides: Vec<String> = super::place_words::first_screen(index)
        .into_iter()
        .filter_map(|cutoff| {
            let past = if sign * second >= sign * cutoff.cutoff? { "past" } else { "short of" };
            Some(format!("{past} {}", value(index, cutoff.cutoff?)))
        })
        .collect();
    match percentile {
        Some(percentile) if sides.is_empty() => format!("{percentile}."),
        Some(percentile) => format!("{percentile}, {}.", sides.join(", ")),
        None => String::new(),
    }
}
