//! Words for the numbers of one person: a value, a percentile, a cutoff.

use crate::analysis::{PlacedCutoff, PlacedIndex, Rank};
use crate::chart::Labels;
use crate::table::number::{fixed, reading};

pub(super) const EVERYBODY: &str = "everybody";
pub(super) const COHORT: &str = "cohort";

/// The first rule's cutoffs, outcome by outcome.
pub(super) fn leading(index: &PlacedIndex) -> Vec<&PlacedCutoff> {
    let rule = index.cutoffs.first().map(|c| c.rule.as_str());
    index.cutoffs.iter().filter(|c| Some(c.rule.as_str()) == rule).collect()
}

pub(super) fn own_name(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    index.own.map(|at| group(&index.ranks[at].grouping, &index.ranks[at].group, labels))
}

/// A value against a cutoff, in three words and its interval.
pub(super) fn against(index: &PlacedIndex, cutoff: &PlacedCutoff) -> String {
    let Some(limit) = cutoff.cutoff else { return "withheld".to_owned() };
    let word = if cutoff.passed == Some(true) { "passes" } else { "short of" };
    format!("{word} {} ({}){}", reading(limit, 3), range(index, cutoff.lower, cutoff.upper), unsure(cutoff))
}

pub(super) fn percentile(rank: &Rank) -> String {
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
pub(super) fn unreliable(notices: &str) -> &'static str {
    if notices.contains("unreliable: ") { " unreliable" } else { "" }
}

/// The answer could be the other one: the interval of the cutoff holds the value.
pub(super) fn unsure(cutoff: &PlacedCutoff) -> &'static str {
    if cutoff.undecided == Some(true) { ", not sure" } else { "" }
}

/// A percentile: whole in the middle, one decimal where a whole one would read 0 or 100.
pub(super) fn share(p: f64) -> String {
    let middle = (1.0..=99.0).contains(&p) || p <= 0.0 || p >= 100.0;
    fixed(p, usize::from(!middle))
}

pub(super) fn value(index: &PlacedIndex, value: f64) -> String {
    let unit = if index.unit == "1" { String::new() } else { format!(" {}", index.unit) };
    format!("{}{unit}", reading(value, 3))
}

pub(super) fn range(index: &PlacedIndex, lower: Option<f64>, upper: Option<f64>) -> String {
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
pub(super) fn group(grouping: &str, group: &str, labels: &Labels) -> String {
    if grouping == EVERYBODY || grouping == "sex" || grouping.contains(" × ") {
        return group.to_owned();
    }
    format!("{group} ({})", labels.grouping(grouping))
}

pub(super) fn yes_no(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}

pub(super) fn count(answers: &[bool]) -> usize {
    answers.iter().filter(|yes| **yes).count()
}

pub(super) fn header(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

pub(super) fn squeeze(formula: &str) -> String {
    formula.split_whitespace().collect::<Vec<_>>().join(" ")
}
