//! One index of a person: percentiles, thresholds and cutoffs, the usual value, and a change.

use super::place_format::Block;
use crate::analysis::{
    Change, Equivalent, Placed, PlacedCutoff, PlacedIndex, PublishedMark, Rank, ThresholdMark, Usual,
    VariationUsed,
};
use crate::chart::Labels;
use crate::table::number::{fixed, reading, significant};

const EVERYBODY: &str = "everybody";
const COHORT: &str = "cohort";

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

fn own_name(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    index.own.map(|at| group(&index.ranks[at].grouping, &index.ranks[at].group, labels))
}

/// The first rule's cutoffs, outcome by outcome.
fn leading(index: &PlacedIndex) -> Vec<&PlacedCutoff> {
    let rule = index.cutoffs.first().map(|c| c.rule.as_str());
    index.cutoffs.iter().filter(|c| Some(c.rule.as_str()) == rule).collect()
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

/// The study's own thresholds, where each lies, and the value that lies there in the person's own group.
fn thresholds(index: &PlacedIndex, labels: &Labels) -> Block {
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
fn cutoffs(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<Block> {
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

/// The answer could be the other one: the interval of the cutoff holds the value.
fn unsure(cutoff: &PlacedCutoff) -> &'static str {
    if cutoff.undecided == Some(true) { ", not sure" } else { "" }
}

/// How many of the cutoffs not listed are passed, and cutoffs in print.
fn further(index: &PlacedIndex, all: bool) -> Vec<Block> {
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
    let people = format!("{}: {} (n = {})", published.country, published.population, published.n);
    vec![value(index, published.value), passed, people, rule, published.source.clone()]
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

/// A value against a cutoff, in three words and its interval.
fn against(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    let Some(limit) = cutoff.cutoff else { return "withheld".to_owned() };
    let word = if cutoff.passed == Some(true) { "passes" } else { "short of" };
    format!("{word} {} ({}){}", reading(limit, 3), range(index, cutoff.lower, cutoff.upper), unsure(cutoff))
}

fn percentile(rank: &Rank) -> String {
    match (rank.percentile, rank.at_least) {
        (Some(p), _) => {
            let (lower, upper) = (rank.lower.unwrap_or(p), rank.upper.unwrap_or(p));
            format!("{} ({}–{}){}", share(p), share(lower), share(upper), unreliable(&rank.notices))
        }
        (None, Some(least)) => format!("above {}", fixed(least, 0)),
        (None, None) if rank.n == 0 => "none".to_owned(),
        (None, None) => format!("withheld: {}", rank.withheld),
    }
}

/// The mark of a number that a study shows although the rules would withhold it.
fn unreliable(notices: &str) -> &'static str {
    if notices.contains("unreliable: ") { " unreliable" } else { "" }
}

/// A percentile: whole in the middle, one decimal where a whole one would read 0 or 100.
fn share(p: f64) -> String {
    let middle = (1.0..=99.0).contains(&p) || p <= 0.0 || p >= 100.0;
    fixed(p, usize::from(!middle))
}

fn value(index: &PlacedIndex, value: f64) -> String {
    let unit = if index.unit == "1" { String::new() } else { format!(" {}", index.unit) };
    format!("{}{unit}", reading(value, 3))
}

fn range(index: &PlacedIndex, lower: Option<f64>, upper: Option<f64>) -> String {
    let plain = |v: f64| reading(v, 3);
    match (lower, upper) {
        (Some(lower), Some(upper)) if index.lower_is_resistant && lower > upper => {
            format!("{}–{}", plain(upper), plain(lower))
        }
        (Some(lower), Some(upper)) => format!("{}–{}", plain(lower), plain(upper)),
        _ => "none".to_owned(),
    }
}

/// A group and what it is a group of: `30 and over (body mass index, WHO classes)`.
fn group(grouping: &str, group: &str, labels: &Labels) -> String {
    if grouping == EVERYBODY || grouping == "sex" || grouping.contains(" × ") {
        return group.to_owned();
    }
    format!("{group} ({})", labels.grouping(grouping))
}

fn yes_no(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}

fn count(answers: &[bool]) -> usize {
    answers.iter().filter(|yes| **yes).count()
}

fn header(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn squeeze(formula: &str) -> String {
    formula.split_whitespace().collect::<Vec<_>>().join(" ")
}
