//! Thresholds and cutoffs beside one person's value: the study's own, derived ones and those in print.

use super::place_format::Block;
use super::place_words::{
    EVERYBODY, count, group, header, leading, own_name, percentile, range, unreliable, unsure, value, yes_no,
};
use crate::analysis::{Equivalent, PlacedCutoff, PlacedIndex, PublishedMark, ThresholdMark};
use crate::chart::Labels;
use crate::table::number::significant;

/// The study's own thresholds, where each lies, and the value that lies there in the person's own group.
pub(super) fn thresholds(index: &PlacedIndex, labels: &Labels) -> Block {
    let own = index.own.map(|at| (&index.ranks[at].grouping, &index.ranks[at].group));
    let row = |mark: &ThresholdMark| {
        let is_own = |grouping: &String, group: &String| own == Some((grouping, group));
        let everybody = mark.ranks.iter().find(|r| r.grouping == EVERYBODY);
        let in_own = mark.ranks.iter().find(|r| is_own(&r.grouping, &r.group));
        let equal =
            index.equivalents.iter().find(|e| e.threshold == mark.value && is_own(&e.grouping, &e.group));
        let strict = if mark.strict { "above " } else { "" };
        let passed = |e: &Equivalent| e.passed.map(yes_no).unwrap_or_default();
        vec![
            format!("{strict}{} ({})", significant(mark.value, 6), mark.source),
            yes_no(mark.passed),
            everybody.map(percentile).unwrap_or_default(),
            in_own.map(percentile).unwrap_or_default(),
            equal.and_then(|e| e.equivalent).map_or_else(|| "withheld".to_owned(), |v| value(index, v)),
            equal.map(passed).unwrap_or_default(),
        ]
    };
    let group = own_name(index, labels).unwrap_or_else(|| "own group".to_owned());
    let names = [
        "threshold".to_owned(),
        "passed".to_owned(),
        "its percentile in everybody".to_owned(),
        "in own group".to_owned(),
        format!("equivalent in {group}"),
        "passed".to_owned(),
    ];
    Block::Table(names.to_vec(), index.thresholds.iter().map(row).collect())
}

/// Derived cutoffs, outcome by outcome: the leading rule in everybody and in one group, or all.
pub(super) fn cutoffs(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<Block> {
    let shown: Vec<&PlacedCutoff> = if all {
        index.cutoffs.iter().collect()
    } else {
        leading(index).into_iter().filter(|c| c.own || c.grouping == EVERYBODY).collect()
    };
    let mut blocks = Vec::new();
    let mut rest = &shown[..];
    while let Some(first) = rest.first() {
        let same = rest.iter().take_while(|c| c.outcome == first.outcome).count();
        let rule = if all { "Cutoffs".to_owned() } else { format!("Best cutoff ({})", first.rule_label) };
        blocks.push(Block::Paragraph(format!("{rule} for {}:", first.outcome_label)));
        let rows = rest[..same].iter().map(|c| cutoff_row(index, c, labels, all)).collect();
        blocks.push(Block::Table(
            header(&["among", "people", "cutoff", "95 % interval", "about as good", "passed"]),
            rows,
        ));
        rest = &rest[same..];
    }
    blocks
}

fn cutoff_row(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels, all: bool) -> Vec<String> {
    let rule = if all { format!("{}: ", cutoff.rule_label) } else { String::new() };
    let words = format!("{rule}{}", group(&cutoff.grouping, &cutoff.group, labels));
    let n = cutoff.n.to_string();
    let Some(limit) = cutoff.cutoff else {
        let why = format!("withheld: {}", cutoff.withheld);
        return vec![words, n, why, String::new(), String::new(), String::new()];
    };
    vec![
        words,
        n,
        value(index, limit),
        range(index, cutoff.lower, cutoff.upper),
        range(index, cutoff.flat_from, cutoff.flat_to),
        format!(
            "{}{}{}",
            cutoff.passed.map(yes_no).unwrap_or_default(),
            unsure(cutoff),
            unreliable(&cutoff.notices)
        ),
    ]
}

/// How many of the cutoffs not listed are passed, and cutoffs in print.
pub(super) fn further(index: &PlacedIndex, all: bool) -> Vec<Block> {
    let mut blocks = Vec::new();
    let printed: Vec<bool> = index.cutoffs.iter().filter_map(|c| c.passed).collect();
    if !all && !printed.is_empty() {
        blocks.push(Block::Paragraph(format!(
            "By all rules, outcomes and groups of the person: {} of {} derived cutoffs passed (--all lists them).",
            count(&printed),
            printed.len()
        )));
    }
    let published: Vec<bool> = index.published.iter().map(|p| p.passed).collect();
    if let (Some(first), Some(last)) = (index.published.first(), index.published.last()) {
        let more = if all { "" } else { "; --all lists them" };
        blocks.push(Block::Paragraph(format!(
            "In print: {} of {} cutoffs passed, from {} to {}, each for its own people, rule and assay{more}.",
            count(&published),
            published.len(),
            value(index, first.value),
            value(index, last.value)
        )));
    }
    if all && !index.published.is_empty() {
        let rows = index.published.iter().map(|p| published_row(index, p)).collect();
        blocks.push(Block::Table(header(&["in print", "passed", "people", "rule", "source"]), rows));
        let converted = index.published.iter().map(|p| &p.conversion).find(|words| !words.is_empty());
        blocks.extend(converted.map(|words| Block::Paragraph(format!("* {words}."))));
    }
    blocks
}

fn published_row(index: &PlacedIndex, published: &PublishedMark) -> Vec<String> {
    let rule = if published.outcome.is_empty() {
        published.rule.clone()
    } else {
        format!("{}, {}", published.rule, published.outcome)
    };
    let passed = if published.at { "at it".to_owned() } else { yes_no(published.passed) };
    let other = if published.matches { "" } else { "; another age or BMI" };
    let people = format!("{}: {} (n = {}{other})", published.country, published.population, published.n);
    let star = if published.conversion.is_empty() { "" } else { "*" };
    vec![format!("{}{star}", value(index, published.value)), passed, people, rule, published.source.clone()]
}
