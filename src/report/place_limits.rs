//! Thresholds and cutoffs beside one person's value: derived ones and the study's own.

use super::place_factor::{side as side_of, sides_of};
use super::place_format::Block;
use super::place_index::measured_again;
use super::place_printed::passed_in_print;
use super::place_second::of_first;
use super::place_sides::{put_then, sides};
use super::place_verdict::{chance, past, verdict};
use super::place_words::{EVERYBODY, NOBODY, group, header, limit, listed, percentile, range, share, value};
use crate::analysis::{PlacedCutoff, PlacedIndex, Rank, ThresholdMark};
use crate::chart::Labels;
use crate::table::number::{reading, significant};

/// The study's own thresholds: where each lies in everybody and in the smallest groups, and what stands for it there.
pub(super) fn thresholds(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    index.thresholds.iter().flat_map(|mark| threshold(index, labels, mark)).collect()
}

/// The study's own thresholds in one sentence: on which side of each the value is.
fn thresholds_line(index: &PlacedIndex) -> Option<String> {
    let one = |mark: &ThresholdMark| {
        format!("{} ({})", side_of(sides_of(index, mark), &limit_of(mark)), mark.source)
    };
    let words: Vec<String> = index.thresholds.iter().map(one).collect();
    let guess = index.doubt.as_ref().is_some_and(|doubt| doubt.stands_in);
    let what = if guess { "The guess" } else { "The value" };
    (!words.is_empty()).then(|| format!("{what} is {}.", listed(&words)))
}

/// The study's own thresholds and cutoffs in print: in one line, or of two dates each threshold in a sentence.
pub(super) fn marks(index: &PlacedIndex, labels: &Labels) -> Vec<String> {
    let printed = passed_in_print(index);
    if measured_again(index).is_some() {
        let both = index.thresholds.iter().map(|mark| threshold_line(index, labels, mark));
        return both.chain(printed.map(|line| of_first(index, &line))).collect();
    }
    let words: Vec<String> = thresholds_line(index).into_iter().chain(printed).collect();
    if words.is_empty() { words } else { vec![words.join(" ")] }
}

/// A stated threshold in a sentence: on which side the value is, and where the threshold stands in the smallest groups of
/// either date.
fn threshold_line(index: &PlacedIndex, labels: &Labels, mark: &ThresholdMark) -> String {
    let of = |rank: &Rank, date: &str| {
        let among = group(&rank.grouping, &rank.group, labels);
        Some(format!("{} of 100 in {among}{date}", share(rank.percentile?)))
    };
    let first = mark.ranks.iter().filter(|rank| is_shown(index, rank)).filter_map(|rank| of(rank, ""));
    let then = then_alone(index, mark);
    let then = then.into_iter().filter_map(|rank| of(rank, ", the group of the second date"));
    let shown: Vec<String> = first.chain(then).collect();
    let less = if index.lower_is_resistant { "above" } else { "below" };
    let ranks = if shown.is_empty() { String::new() } else { format!("; {less} it are {}", listed(&shown)) };
    let source = if mark.source.is_empty() { String::new() } else { format!(" ({})", mark.source) };
    format!("Threshold {}{source}: {}{ranks}.", limit_of(mark), sides(index, mark))
}

fn limit_of(mark: &ThresholdMark) -> String {
    format!("{}{}", if mark.strict { "above " } else { "" }, significant(mark.value, 6))
}

/// The threshold in the smallest groups to which the person belongs at the second date alone.
fn then_alone<'a>(index: &'a PlacedIndex, mark: &ThresholdMark) -> Vec<&'a Rank> {
    let Some((change, found)) =
        measured_again(index).and_then(|change| Some((change, put_then(change, mark)?)))
    else {
        return Vec::new();
    };
    let same = |a: &Rank, b: &Rank| (&a.grouping, &a.group) == (&b.grouping, &b.group);
    let own = |rank: &&Rank| change.own.iter().any(|&at| same(&change.ranks[at], rank));
    let known = |rank: &&Rank| is_shown(index, rank);
    found.ranks.iter().filter(own).filter(|rank| !known(rank)).collect()
}

/// Everybody and the person's smallest groups.
fn is_shown(index: &PlacedIndex, rank: &Rank) -> bool {
    let is =
        |&at: &usize| (&index.ranks[at].grouping, &index.ranks[at].group) == (&rank.grouping, &rank.group);
    rank.grouping == EVERYBODY || index.own.iter().any(is)
}

fn threshold(index: &PlacedIndex, labels: &Labels, mark: &ThresholdMark) -> [Block; 2] {
    let name = significant(mark.value, 6);
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
        let usual = usual.filter(|_| index.doubt.is_none());
        let chance = usual.and_then(|u| u.probability.or(u.flat_probability));
        vec![
            group(&rank.grouping, &rank.group, labels),
            percentile(rank),
            stands_for,
            if side.is_empty() { side } else { format!("{side} that") },
            chance.map_or_else(|| NOBODY.to_owned(), |chance| format!("{} %", share(chance))),
        ]
    };
    let words = format!(
        "{} Stands for it: the value with the same percentile in the group. Chance: that the usual value is beyond {name} itself.",
        threshold_line(index, labels, mark),
    );
    let names = vec![
        "among".to_owned(),
        format!("percentile of {name}"),
        "stands for it".to_owned(),
        format!("{} is", value(index, index.value)),
        format!("chance beyond {name}"),
    ];
    let rows = mark.ranks.iter().filter(|rank| is_shown(index, rank)).map(row).collect();
    [Block::Paragraph(words), Block::Table(names, rows)]
}

fn side(passed: Option<bool>) -> String {
    passed.map_or_else(String::new, |passed| past(Some(passed)).to_owned())
}

/// Derived cutoffs, by outcome and rule.
pub(super) fn cutoffs(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let mut tables: Vec<(&PlacedCutoff, Vec<&PlacedCutoff>)> = Vec::new();
    for cutoff in &index.cutoffs {
        match tables.iter_mut().find(|(t, _)| (&t.outcome, &t.rule) == (&cutoff.outcome, &cutoff.rule)) {
            Some((_, rows)) => rows.push(cutoff),
            None => tables.push((cutoff, vec![cutoff])),
        }
    }
    tables.into_iter().flat_map(|(of, rows)| table(index, labels, (of, &rows))).collect()
}

fn table(index: &PlacedIndex, labels: &Labels, (of, rows): (&PlacedCutoff, &[&PlacedCutoff])) -> Vec<Block> {
    let met = if of.already_met { ", which the person already meets (of the index alone)" } else { "" };
    let mut blocks =
        vec![Block::Paragraph(format!("Cutoffs by {} for {}{met}:", of.rule_label, of.outcome_label))];
    let smoothed = rows.iter().any(|c| c.smoothed.is_some());
    let confidence = &labels.confidence;
    let mut names = header(&["among", "people", &format!("cutoff ({confidence})"), "finds/spares"]);
    names.extend(smoothed.then(|| format!("smoothed ({confidence})")));
    names.extend(header(&["chance beyond, %", "usual value"]));
    let (printed, withheld): (Vec<&PlacedCutoff>, Vec<&PlacedCutoff>) =
        rows.iter().partition(|c| c.cutoff.is_some());
    let cells = |c: &&PlacedCutoff| cutoff_row(index, c, labels, smoothed);
    if !printed.is_empty() {
        blocks.push(Block::Table(names, once(printed.iter().map(cells))));
    }
    let withheld = withheld.into_iter().map(|c| {
        let among = group(&c.grouping, &c.group, labels);
        format!("Withheld in {among} ({} people): {}.", c.n, c.withheld)
    });
    blocks.extend(once(withheld).into_iter().map(Block::Paragraph));
    for cutoff in rows.iter().filter(|c| !c.instead_of.is_empty()) {
        let shown = group(&cutoff.grouping, &cutoff.group, labels);
        blocks.extend(cutoff.instead_of.iter().map(|instead| {
            let among = group(&instead.grouping, &instead.group, labels);
            Block::Paragraph(format!("Withheld in {among}: {}. Shown instead: {shown}.", instead.why))
        }));
    }
    let flat = rows.iter().filter(|c| c.flat_from.is_some() && c.flat_from != c.flat_to);
    let flat = once(flat.map(|c| {
        let among = group(&c.grouping, &c.group, labels);
        format!("{} in {among}", range(index, c.flat_from, c.flat_to))
    }));
    if !flat.is_empty() {
        blocks.push(Block::Paragraph(format!("About as good a cutoff: {}.", flat.join("; "))));
    }
    blocks
}

/// Rows or lines without repetition: two classifications may have one group in common.
pub(super) fn once<T: PartialEq>(all: impl Iterator<Item = T>) -> Vec<T> {
    let mut found: Vec<T> = Vec::new();
    for one in all {
        if !found.contains(&one) {
            found.push(one);
        }
    }
    found
}

/// One group in a row: people, percentile, the leading cutoff of the first outcome, and what it says.
pub(super) fn limits_row(index: &PlacedIndex, rank: &Rank, labels: &Labels) -> Vec<String> {
    let leading = index.cutoffs.first();
    let of_group = |c: &&PlacedCutoff| {
        leading.is_some_and(|first| (&first.outcome, &first.rule) == (&c.outcome, &c.rule))
            && (&c.grouping, &c.group) == (&rank.grouping, &rank.group)
    };
    let cutoff = index.cutoffs.iter().find(of_group);
    let shown = cutoff.filter(|c| c.cutoff.is_some());
    let nobody = || NOBODY.to_owned();
    vec![
        group(&rank.grouping, &rank.group, labels),
        rank.n.to_string(),
        percentile(rank),
        limit_cell(index, cutoff),
        shown.map_or_else(nobody, |c| chance(index, c)),
        shown.map_or_else(nobody, |c| verdict(index, c)),
    ]
}

/// A cutoff with its interval in a cell of a table.
pub(super) fn limit_cell(index: &PlacedIndex, cutoff: Option<&PlacedCutoff>) -> String {
    match cutoff {
        None => NOBODY.to_owned(),
        Some(cutoff) if cutoff.cutoff.is_none() => "withheld".to_owned(),
        Some(cutoff) => limit(index, cutoff),
    }
}

fn cutoff_row(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels, smoothed: bool) -> Vec<String> {
    let percent = |share: Option<f64>| share.map_or_else(|| "withheld".to_owned(), self::share);
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
    row.extend([chance(index, cutoff), verdict(index, cutoff)]);
    row
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Confidence;
    use crate::report::place_fixture::{by_the_older_factor, of_two_dates};

    #[test]
    fn a_threshold_at_which_the_factor_decides_is_said_by_both() {
        let mark = ThresholdMark {
            value: 2.0,
            strict: false,
            source: "often quoted".to_owned(),
            passed: true,
            passed_by_other: Some(true),
            ranks: Vec::new(),
        };
        let other = by_the_older_factor(1.9);
        let mut index =
            PlacedIndex { thresholds: vec![mark], other_factor: Some(other), ..PlacedIndex::default() };
        assert_eq!(marks(&index, &Labels::default()), ["The value is past 2 (often quoted)."]);
        index.thresholds[0].passed_by_other = Some(false);
        let torn = "The value is past 2 by the factor 6.00, short of it by 6.945 (often quoted).";
        assert_eq!(marks(&index, &Labels::default()), [torn]);
    }

    #[test]
    fn a_table_of_cutoffs_says_the_confidence_of_the_study() {
        let labels = Labels { confidence: Confidence::of(0.9), ..Labels::default() };
        let blocks = cutoffs(&of_two_dates(), &labels);
        let header = blocks.iter().find_map(|block| match block {
            Block::Table(header, _) => Some(header.join(", ")),
            _ => None,
        });
        assert!(header.is_some_and(|names| names.contains("cutoff (90 %)")), "{blocks:?}");
    }

    #[test]
    fn a_row_of_two_classifications_is_shown_once() {
        let rows = [vec!["BMI 30 and over", "1034"], vec!["female", "1464"], vec!["BMI 30 and over", "1034"]];
        assert_eq!(once(rows.iter()), [&rows[0], &rows[1]]);
    }
}
