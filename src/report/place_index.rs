//! One index of a person: percentiles, thresholds and cutoffs, the usual value, and a change.

use super::place_format::Block;
use crate::analysis::{Change, Placed, PlacedCutoff, PlacedIndex, PublishedMark, Rank, Usual, VariationUsed};
use crate::chart::Labels;
use crate::table::number::{fixed, reading};

const EVERYBODY: &str = "everybody";
const COHORT: &str = "cohort";

/// One row for each index: the first thing to read.
pub(super) fn summary(placed: &Placed) -> Vec<Block> {
    if !placed.standing.inside() {
        let rows = placed.indices.iter().map(|i| vec![i.label.clone(), value(i, i.value)]).collect();
        return vec![Block::Table(header(&["index", "value"]), rows)];
    }
    let names = ["index", "value", "percentile, everybody", "percentile, own group", "best cutoff, own group"];
    let rows = placed.indices.iter().map(summary_row).collect();
    let mut blocks = vec![
        Block::Table(header(&names), rows),
        Block::Paragraph(
            "Percentile: of 100 people, how many are less insulin resistant by this index (95 % interval).".to_owned(),
        ),
    ];
    let mut own: Vec<&str> =
        placed.indices.iter().filter_map(|i| i.own.map(|at| i.ranks[at].group.as_str())).collect();
    own.dedup();
    if let [group] = own[..] {
        let words = format!("Own group: {group}, the smallest of the person's groups with a printed percentile.");
        blocks.push(Block::Paragraph(words));
    }
    blocks
}

fn summary_row(index: &PlacedIndex) -> Vec<String> {
    let everybody = index.ranks.iter().find(|r| r.grouping == EVERYBODY && r.population == COHORT);
    let own = index.own.map(|at| &index.ranks[at]);
    let leading = leading(index).into_iter().find(|c| c.own);
    vec![
        index.label.clone(),
        value(index, index.value),
        everybody.map(percentile).unwrap_or_default(),
        own.map(percentile).unwrap_or_default(),
        leading.map_or_else(|| "none printed".to_owned(), |c| against(index, c)),
    ]
}

/// The first rule's cutoffs, outcome by outcome.
fn leading(index: &PlacedIndex) -> Vec<&PlacedCutoff> {
    let rule = index.cutoffs.first().map(|c| c.rule.as_str());
    index.cutoffs.iter().filter(|c| Some(c.rule.as_str()) == rule).collect()
}

/// The section of one index.
pub(super) fn section(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<Block> {
    let order = if index.lower_is_resistant { "lower" } else { "higher" };
    let title = format!("{} {}: {order} means more insulin resistant", index.label, value(index, index.value));
    let mut blocks = vec![Block::Heading(title)];
    if index.ranks.is_empty() {
        blocks.push(Block::Paragraph(format!("Formula as run: {}.", squeeze(&index.formula))));
        return blocks;
    }
    blocks.push(percentiles(index, labels, all));
    blocks.push(limits(index, labels, all));
    blocks.extend(further(index, all));
    blocks.extend(usual(index));
    if let Some(of) = &index.change {
        blocks.push(Block::Paragraph(change(index, of)));
    }
    blocks
}

fn percentiles(index: &PlacedIndex, labels: &Labels, all: bool) -> Block {
    let shown = |rank: &&Rank| all || rank.withheld.is_empty() || rank.at_least.is_some();
    let rows = index.ranks.iter().filter(shown).map(|rank| {
        let people = if rank.population == COHORT {
            String::new()
        } else {
            format!("; only {}", labels.population(&rank.population))
        };
        vec![format!("{}{people}", group(&rank.grouping, &rank.group, labels)), rank.n.to_string(), percentile(rank)]
    });
    Block::Table(header(&["among", "people", "percentile"]), rows.collect())
}

fn limits(index: &PlacedIndex, labels: &Labels, all: bool) -> Block {
    let mut rows = Vec::new();
    for threshold in &index.thresholds {
        let strict = if threshold.strict { ", strictly" } else { "" };
        let words = format!("threshold {} ({}{strict})", value(index, threshold.value), threshold.source);
        rows.push(vec![words, value(index, threshold.value), String::new(), String::new(), yes_no(threshold.passed)]);
    }
    let own = index.own.map(|at| &index.ranks[at]);
    let of_own = |grouping: &str, group: &str| own.is_some_and(|r| r.grouping == grouping && r.group == group);
    for equal in index.equivalents.iter().filter(|e| all || of_own(&e.grouping, &e.group)) {
        let Some(limit) = equal.equivalent else { continue };
        let of = group(&equal.grouping, &equal.group, labels);
        let words = format!("same percentile as {} has in everybody, among {of}", value(index, equal.threshold));
        let passed = equal.passed.map(yes_no).unwrap_or_default();
        rows.push(vec![words, value(index, limit), String::new(), String::new(), passed]);
    }
    let cutoffs = if all { index.cutoffs.iter().collect() } else { leading(index) };
    for cutoff in cutoffs.into_iter().filter(|c| all || c.own || c.grouping == EVERYBODY) {
        rows.push(cutoff_row(index, cutoff, labels));
    }
    Block::Table(header(&["threshold or cutoff", "value", "95 % interval", "about as good", "passed"]), rows)
}

fn cutoff_row(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels) -> Vec<String> {
    let words = format!(
        "{} for {}, among {}",
        cutoff.rule_label,
        cutoff.outcome_label,
        group(&cutoff.grouping, &cutoff.group, labels)
    );
    let Some(limit) = cutoff.cutoff else {
        return vec![words, format!("withheld: {}", cutoff.withheld), String::new(), String::new(), String::new()];
    };
    let passed = cutoff.passed.map(yes_no).unwrap_or_default();
    let unsure = if cutoff.undecided == Some(true) { ", not sure" } else { "" };
    vec![
        words,
        value(index, limit),
        range(index, cutoff.lower, cutoff.upper),
        range(index, cutoff.flat_from, cutoff.flat_to),
        format!("{passed}{unsure}"),
    ]
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

fn usual(index: &PlacedIndex) -> Vec<Block> {
    let (Some(variation), Some(first)) = (&index.variation, index.usual.first()) else { return Vec::new() };
    let centre = first.usual.map(|usual| {
        format!(" The usual value is most likely {} (pulled towards {}).", value(index, usual), first.group)
    });
    let words = format!("One measurement is not the usual value. {}{}", variation_words(index, variation), centre.unwrap_or_default());
    let side = if index.lower_is_resistant { "at or below" } else { "at or above" };
    let rows = index.usual.iter().map(|usual| usual_row(index, usual)).collect();
    let names = [&format!("chance that the usual value is {side}"), "knowing the group", "knowing nothing else"];
    vec![Block::Paragraph(words), Block::Table(header(&names), rows)]
}

fn variation_words(index: &PlacedIndex, variation: &VariationUsed) -> String {
    let origin = if variation.stated {
        "as stated"
    } else {
        "assumed or from memory, not read again; --within-person-cv and --analytical-cv replace them"
    };
    format!(
        "{} is taken to vary {} % from day to day in one person and {} % by assay ({origin}).",
        index.label,
        reading(100.0 * variation.within_person, 2),
        reading(100.0 * variation.analytical, 2)
    )
}

fn usual_row(index: &PlacedIndex, usual: &Usual) -> Vec<String> {
    let chance = |p: Option<f64>| p.map_or_else(|| format!("none: {}", usual.why_not), |p| format!("{} %", fixed(p, 0)));
    let words = format!("{} ({})", value(index, usual.threshold), usual.of);
    vec![words, chance(usual.probability), chance(usual.flat_probability)]
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
        "Second measurement, {} months later: {}, a change of {} %. From {} a rise of up to {} % or a fall of up to {} % is \
         chance alone; this change is {verdict}.",
        reading(change.months, 2).trim_end_matches(".0"),
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
    let unsure = if cutoff.undecided == Some(true) { ", not sure" } else { "" };
    format!("{word} {} ({}){unsure}", value(index, limit), range(index, cutoff.lower, cutoff.upper))
}

fn percentile(rank: &Rank) -> String {
    match (rank.percentile, rank.at_least) {
        (Some(p), _) => format!("{} ({}–{})", share(p), share(rank.lower.unwrap_or(p)), share(rank.upper.unwrap_or(p))),
        (None, Some(least)) => format!("above {} (exact one withheld: {})", fixed(least, 0), rank.withheld),
        (None, None) => format!("withheld: {}", rank.withheld),
    }
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
        (Some(lower), Some(upper)) if index.lower_is_resistant && lower > upper => format!("{}–{}", plain(upper), plain(lower)),
        (Some(lower), Some(upper)) => format!("{}–{}", plain(lower), plain(upper)),
        _ => "none".to_owned(),
    }
}

/// A group and what it is a group of: `30 and over (body mass index, WHO classes)`.
fn group(grouping: &str, group: &str, labels: &Labels) -> String {
    if grouping == EVERYBODY || grouping == "sex" {
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
