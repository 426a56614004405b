//! Thresholds and cutoffs beside one person's value: derived ones, the study's own and those in print.

use super::place_format::Block;
use super::place_words::{
    EVERYBODY, chance, group, header, leading, limit, of_outcome, percentile, range, share, sided, value,
    verdict,
};
use crate::analysis::{PlacedCutoff, PlacedIndex, PublishedMark, Rank, ThresholdMark};
use crate::chart::Labels;
use crate::table::number::{reading, significant};

/// The study's own thresholds: where each lies in everybody and in the smallest groups, and what stands for it there.
pub(super) fn thresholds(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    index.thresholds.iter().flat_map(|mark| threshold(index, labels, mark)).collect()
}

fn threshold(index: &PlacedIndex, labels: &Labels, mark: &ThresholdMark) -> [Block; 2] {
    let strict = if mark.strict { "above " } else { "" };
    let own = |rank: &&Rank| {
        let is = |&at: &usize| {
            (&index.ranks[at].grouping, &index.ranks[at].group) == (&rank.grouping, &rank.group)
        };
        rank.grouping == EVERYBODY || index.own.iter().any(is)
    };
    let row = |rank: &Rank| {
        let same = |grouping: &str, group: &str| rank.grouping == grouping && rank.group == group;
        let equal =
            index.equivalents.iter().find(|e| e.threshold == mark.value && same(&e.grouping, &e.group));
        let usual = index.usual.iter().find(|u| u.threshold == mark.value && same(&u.grouping, &u.group));
        let (stands_for, side) = if rank.grouping == EVERYBODY {
            (value(index, mark.value), side(Some(mark.passed)))
        } else {
            let limit = equal.and_then(|e| e.equivalent);
            let words = limit.map_or_else(|| "withheld".to_owned(), |v| value(index, v));
            (words, side(equal.and_then(|e| e.passed)))
        };
        let chance = usual.and_then(|u| u.probability.or(u.flat_probability));
        vec![
            group(&rank.grouping, &rank.group, labels),
            percentile(rank),
            stands_for,
            side,
            chance.map_or_else(String::new, share),
        ]
    };
    let name = format!("{strict}{}", significant(mark.value, 6));
    let words = format!(
        "Threshold {name} ({}): the value is {} it. Same percentile: the value that stands in a group where {name} stands in \
         everybody, and on which side of that the person is. Chance: that the usual value is beyond {name}, in percent.",
        mark.source,
        if mark.passed { "past" } else { "short of" }
    );
    let names = header(&["among", "its percentile", "same percentile", "person", "chance"]);
    let rows = mark.ranks.iter().filter(own).map(row).collect();
    [Block::Paragraph(words), Block::Table(names, rows)]
}

fn side(passed: Option<bool>) -> String {
    match passed {
        Some(true) => "past".to_owned(),
        Some(false) => "short".to_owned(),
        None => String::new(),
    }
}

/// Derived cutoffs: those of the first outcome in everybody and the smallest groups, or all by outcome and rule.
pub(super) fn cutoffs(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<Block> {
    let first = index.cutoffs.first().map(|c| c.outcome.as_str());
    let shown: Vec<&PlacedCutoff> = if all {
        index.cutoffs.iter().collect()
    } else {
        let own = |c: &&PlacedCutoff| c.own || c.grouping == EVERYBODY;
        leading(index).into_iter().filter(own).filter(|c| Some(c.outcome.as_str()) == first).collect()
    };
    let mut tables: Vec<(&PlacedCutoff, Vec<&PlacedCutoff>)> = Vec::new();
    for cutoff in shown {
        match tables.iter_mut().find(|(t, _)| (&t.outcome, &t.rule) == (&cutoff.outcome, &cutoff.rule)) {
            Some((_, rows)) => rows.push(cutoff),
            None => tables.push((cutoff, vec![cutoff])),
        }
    }
    tables.into_iter().flat_map(|(of, rows)| table(index, labels, (of, &rows))).collect()
}

fn table(index: &PlacedIndex, labels: &Labels, (of, rows): (&PlacedCutoff, &[&PlacedCutoff])) -> Vec<Block> {
    let mut blocks =
        vec![Block::Paragraph(format!("Cutoffs by {} for {}:", of.rule_label, of.outcome_label))];
    let smoothed = rows.iter().any(|c| c.smoothed.is_some());
    let mut names = header(&["among", "people", "cutoff (95 %)", "finds/spares"]);
    names.extend(smoothed.then(|| "smoothed (95 %)".to_owned()));
    names.extend(header(&["chance", "verdict"]));
    let (printed, withheld): (Vec<&PlacedCutoff>, Vec<&PlacedCutoff>) =
        rows.iter().partition(|c| c.cutoff.is_some());
    let cells = |c: &&PlacedCutoff| cutoff_row(index, c, labels, smoothed);
    if !printed.is_empty() {
        blocks.push(Block::Table(names, printed.iter().map(cells).collect()));
    }
    blocks.extend(withheld.into_iter().map(|c| {
        let among = group(&c.grouping, &c.group, labels);
        Block::Paragraph(format!("Withheld in {among} ({} people): {}.", c.n, c.withheld))
    }));
    for cutoff in rows.iter().filter(|c| !c.instead_of.is_empty()) {
        let shown = group(&cutoff.grouping, &cutoff.group, labels);
        blocks.extend(cutoff.instead_of.iter().map(|instead| {
            let among = group(&instead.grouping, &instead.group, labels);
            Block::Paragraph(format!("Withheld in {among}: {}. Shown instead: {shown}.", instead.why))
        }));
    }
    let flat = rows.iter().filter(|c| c.flat_from.is_some() && c.flat_from != c.flat_to);
    let flat: Vec<String> = flat
        .map(|c| {
            let among = group(&c.grouping, &c.group, labels);
            format!("{} in {among}", range(index, c.flat_from, c.flat_to))
        })
        .collect();
    if !flat.is_empty() {
        blocks.push(Block::Paragraph(format!("About as good a cutoff: {}.", flat.join("; "))));
    }
    blocks
}

fn cutoff_row(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels, smoothed: bool) -> Vec<String> {
    let percent = |share: Option<f64>| share.map_or_else(|| "?".to_owned(), self::share);
    let mut row = vec![
        group(&cutoff.grouping, &cutoff.group, labels),
        cutoff.n.to_string(),
        limit(index, cutoff),
        format!("{}/{}", percent(cutoff.sensitivity), percent(cutoff.specificity)),
    ];
    if smoothed {
        let range = range(index, cutoff.smoothed_lower, cutoff.smoothed_upper);
        row.push(cutoff.smoothed.map_or_else(String::new, |v| format!("{} ({range})", reading(v, 3))));
    }
    row.extend([chance(cutoff), verdict(cutoff).to_owned()]);
    row
}

/// The other outcomes in a line each.
pub(super) fn others(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let leading = leading(index);
    let mut outcomes: Vec<&PlacedCutoff> = Vec::new();
    for cutoff in &leading {
        if outcomes.iter().all(|o| o.outcome != cutoff.outcome) {
            outcomes.push(cutoff);
        }
    }
    outcomes
        .into_iter()
        .skip(1)
        .map(|outcome| {
            let groups = of_outcome(&leading, &outcome.outcome);
            let words: Vec<String> = groups
                .into_iter()
                .map(|c| {
                    let among = group(&c.grouping, &c.group, labels);
                    let instead = c.instead_of.iter().map(|w| group(&w.grouping, &w.group, labels));
                    let instead: Vec<String> = instead.collect();
                    let instead = if instead.is_empty() {
                        String::new()
                    } else {
                        format!(", withheld in {}", instead.join(" and "))
                    };
                    format!("{among}: {}{instead}", sided(index, c))
                })
                .collect();
            let words =
                if words.is_empty() { "withheld in every group".to_owned() } else { words.join("; ") };
            Block::Paragraph(format!("For {}: {words}.", outcome.outcome_label))
        })
        .collect()
}

/// Cutoffs in print: how many of those for people like this are passed, and all of them on demand.
pub(super) fn printed(index: &PlacedIndex, all: bool) -> Vec<Block> {
    let mut blocks = Vec::new();
    let fitting: Vec<&PublishedMark> = index.published.iter().filter(|p| p.matches).collect();
    if let (Some(first), Some(last)) = (fitting.first(), fitting.last()) {
        let passed = fitting.iter().filter(|p| p.passed).count();
        blocks.push(Block::Paragraph(format!(
            "In print for people of this sex, age and BMI: the value is past {passed} of {} cutoffs, from {} to {}, each for \
             its own country, rule and assay{}.",
            fitting.len(),
            value(index, first.value),
            value(index, last.value),
            if all { "" } else { "; --all lists them" }
        )));
    }
    if all && !index.published.is_empty() {
        let rows = index.published.iter().map(|p| published_row(index, p)).collect();
        blocks.push(Block::Table(header(&["in print", "person", "people", "rule", "source"]), rows));
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
    let side = if published.at { "at it".to_owned() } else { side(Some(published.passed)) };
    let other = if published.matches { "" } else { "; another age or BMI" };
    let people = format!("{}: {} (n = {}{other})", published.country, published.population, published.n);
    let star = if published.conversion.is_empty() { "" } else { "*" };
    vec![format!("{}{star}", value(index, published.value)), side, people, rule, published.source.clone()]
}
