//! One index of a person: percentiles, the usual value, and a change.

use super::place_format::Block;
use super::place_limits::{cutoffs, further, thresholds};
use super::place_words::{
    COHORT, EVERYBODY, against, group, header, leading, own_name, percentile, share, squeeze, value,
};
use crate::analysis::{Change, Placed, PlacedIndex, Rank, Usual, VariationUsed};
use crate::chart::Labels;
use crate::table::number::{fixed, reading, significant};

/// One row for each index: the first thing to read.
pub(super) fn summary(placed: &Placed, labels: &Labels) -> Vec<Block> {
    if !placed.standing.inside() {
        let rows = placed.indices.iter().map(|i| vec![i.label.clone(), value(i, i.value)]).collect();
        return vec![Block::Table(header(&["index", "value"]), rows)];
    }
    let names = [
        "index",
        "value",
        "percentile, everybody",
        "across own groups",
        "own group*",
        "best cutoff, own group*",
    ];
    let rows = placed.indices.iter().map(summary_row).collect();
    let mut blocks = vec![Block::Table(header(&names), rows)];
    blocks.push(Block::Paragraph(
        "Percentile: how many of 100 people are less insulin resistant by this index (95 % interval). Across own groups: \
         lowest and highest percentile among the groups listed below. Not sure: the value lies within the cutoff's 95 % \
         interval. About as good, further below: cutoffs whose Youden index is within 0.01 of the best."
            .to_owned(),
    ));
    let mut own: Vec<String> = placed.indices.iter().filter_map(|i| own_name(i, labels)).collect();
    own.dedup();
    let cutoff = placed.indices.first().and_then(|i| i.cutoffs.first());
    let best = cutoff
        .map(|c| format!(" Best cutoff: {} for {}.", c.rule_label, c.outcome_label))
        .unwrap_or_default();
    if let [group] = &own[..] {
        let words = format!(
            "* {group}: the one asked for with --group, else the smallest with a printed percentile.{best}"
        );
        blocks.push(Block::Paragraph(words));
    }
    blocks
}

fn summary_row(index: &PlacedIndex) -> Vec<String> {
    let printed = |rank: &&Rank| rank.population == COHORT && rank.grouping != EVERYBODY;
    let groups = index.ranks.iter().filter(printed).filter_map(|rank| rank.percentile);
    let ends = groups.fold(None, |ends: Option<(f64, f64)>, p| {
        Some(ends.map_or((p, p), |(low, high)| (low.min(p), high.max(p))))
    });
    let everybody = index.ranks.iter().find(|r| r.grouping == EVERYBODY && r.population == COHORT);
    vec![
        index.label.clone(),
        value(index, index.value),
        everybody.map(percentile).unwrap_or_default(),
        ends.map_or_else(
            || "none printed".to_owned(),
            |(low, high)| format!("{} to {}", share(low), share(high)),
        ),
        index.own.map(|at| percentile(&index.ranks[at])).unwrap_or_default(),
        leading(index)
            .into_iter()
            .find(|c| c.own)
            .map_or_else(|| "none printed".to_owned(), |c| against(index, c)),
    ]
}

/// The section of one index.
pub(super) fn section(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<Block> {
    let order = if index.lower_is_resistant { "lower" } else { "higher" };
    let title =
        format!("{} {} ({order} means more insulin resistant)", index.label, value(index, index.value));
    let mut blocks = vec![Block::Heading(title)];
    if index.ranks.is_empty() {
        blocks.push(Block::Paragraph(format!("Formula as run: {}.", squeeze(&index.formula))));
        return blocks;
    }
    blocks.extend(percentiles(index, labels));
    if !index.thresholds.is_empty() {
        blocks.push(thresholds(index, labels));
    }
    blocks.extend(cutoffs(index, labels, all));
    blocks.extend(further(index, all));
    blocks.extend(usual(index, labels));
    if let Some(of) = &index.change {
        blocks.push(Block::Paragraph(change(index, of)));
    }
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
    let mut names = header(&["among", "people", "percentile"]);
    for position in 0..references.len() {
        let mark = if references.len() > 1 { format!(" {}", position + 1) } else { String::new() };
        names.extend([format!("reference{mark}"), "percentile in it".to_owned()]);
    }
    let row = |rank: &Rank| {
        let mut cells =
            vec![group(&rank.grouping, &rank.group, labels), rank.n.to_string(), percentile(rank)];
        for reference in &references {
            let same = |r: &&Rank| {
                r.population == *reference && r.grouping == rank.grouping && r.group == rank.group
            };
            let part = index.ranks.iter().find(same);
            cells.push(part.map_or_else(String::new, |r| r.n.to_string()));
            cells.push(part.map(percentile).unwrap_or_default());
        }
        cells
    };
    let rows = index.ranks.iter().filter(|rank| rank.population == COHORT).map(row).collect();
    let mut blocks = vec![Block::Table(names, rows)];
    for (position, reference) in references.iter().enumerate() {
        let mark = if references.len() > 1 { format!(" {}", position + 1) } else { String::new() };
        blocks.push(Block::Paragraph(format!(
            "Reference{mark}: only people with {}.",
            labels.population(reference)
        )));
    }
    blocks
}

fn usual(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let (Some(variation), Some(first)) = (&index.variation, index.usual.first()) else { return Vec::new() };
    let group = own_name(index, labels).unwrap_or_else(|| first.group.clone());
    let centre =
        first.usual.map(|usual| format!(" Knowing {group}, it is most likely {}.", value(index, usual)));
    let words = format!(
        "One measurement is not the usual value. {}{}",
        variation_words(index, variation),
        centre.unwrap_or_default()
    );
    let side = if index.lower_is_resistant { "at or below" } else { "at or above" };
    // The stated thresholds and the cutoff for the first outcome; JSON holds the others.
    let first_outcome = index.cutoffs.first().map_or("", |c| c.outcome.as_str());
    let shown = index.usual.iter().filter(|u| u.outcome.is_empty() || u.outcome == first_outcome);
    let rows = shown.map(|usual| usual_row(index, usual)).collect();
    let names = [
        &format!("chance that the usual value is {side}"),
        "which is",
        "knowing the group",
        "knowing nothing else",
    ];
    vec![Block::Paragraph(words), Block::Table(header(&names), rows)]
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

fn usual_row(index: &PlacedIndex, usual: &Usual) -> Vec<String> {
    let chance = |p: Option<f64>| {
        p.map_or_else(|| format!("none: {}", usual.why_not), |p| format!("{} %", fixed(p, 0)))
    };
    vec![
        value(index, usual.threshold),
        usual.of.clone(),
        chance(usual.probability),
        chance(usual.flat_probability),
    ]
}

fn change(index: &PlacedIndex, change: &Change) -> String {
    let (Some(second), Some(by), Some(beyond)) = (change.second, change.change, change.beyond_chance) else {
        return format!("Second measurement: {} cannot be compared; {}.", index.label, change.why_not);
    };
    let (rise, fall) = (change.rise.unwrap_or_default(), change.fall.unwrap_or_default());
    let verdict = if beyond {
        "more than day-to-day and assay variation explain in 95 of 100 unchanged people. It does not say why: weight, drugs, \
         an illness, fasting or another laboratory can each do it"
    } else {
        "within what day-to-day and assay variation explain. It does not show that nothing has changed, only that these two \
         measurements cannot tell"
    };
    format!(
        "Second measurement, {} months later: {}, a change of {} %. From {} a rise of up to {} % or a fall of up to {} % can be \
         chance alone; this change is {verdict}.",
        significant(change.months, 3),
        value(index, second),
        fixed(by, 0),
        value(index, change.first),
        fixed(rise, 0),
        fixed(fall, 0)
    )
}
