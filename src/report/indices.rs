//! Which index separates best, for whom, in sentences.

use crate::chart::Labels;
use crate::table::number::{fixed, whole};
use crate::table::{Row, Table};

use super::common;
use super::sentence::range;

/// Groups named in a sentence; more are counted.
const MOST_NAMED: usize = 4;

/// One sentence for each outcome that has more than one index to compare.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "which_index") else { return Vec::new() };
    let everybody = table.iter().filter(|row| row.text("grouping") == "everybody");
    everybody
        .filter_map(|row| {
            let same = |other: &Row<'_>| {
                other.text("outcome") == row.text("outcome") && other.text("grouping") != "everybody"
            };
            sentence(tables, &row, &table.iter().filter(same).collect::<Vec<_>>(), labels)
        })
        .collect()
}

fn sentence(tables: &[Table], row: &Row<'_>, groups: &[Row<'_>], labels: &Labels) -> Option<String> {
    let outcome = labels.outcome(row.text("outcome"));
    let Some(auc) = row.shown("auc") else {
        return Some(format!(
            "Which index tells {outcome} apart best is withheld: {}.",
            row.text("withheld")
        ));
    };
    if row.whole("compared")? < 2 {
        return None;
    }
    let index = row.text("index");
    let area = format!(
        "AUC {}{}, n = {}{}",
        fixed(auc, 3),
        range(row, 3),
        row.whole("n").map(whole).unwrap_or_default(),
        common::nearest(tables, row, labels).unwrap_or_default()
    );
    let (alike, lower) = (listed(row, "not_distinguishable", labels), listed(row, "lower_indices", labels));
    let standing = match (alike.is_empty(), lower.is_empty()) {
        (true, _) => {
            format!("separates best ({area}): {} {} lower by more than noise", joined(&lower), is(&lower))
        }
        (false, true) => {
            format!("has the highest area ({area}) but is not distinguishable from {}", joined(&alike))
        }
        (false, false) => format!(
            "has the highest area ({area}) but is not distinguishable from {}; {} {} lower by more than noise",
            joined(&alike),
            joined(&lower),
            is(&lower)
        ),
    };
    let twins = listed(row, "twins", labels);
    let twins =
        if twins.is_empty() { String::new() } else { format!(", the same order as {},", joined(&twins)) };
    let across = across(index, groups, labels);
    let built_in = listed(row, "built_in", labels);
    let built_in = if built_in.is_empty() {
        String::new()
    } else {
        format!(" The outcome counts a part of {}: their agreement is partly built in.", joined(&built_in))
    };
    Some(format!("For {outcome}, {}{twins} {standing}.{across}{built_in}", labels.index_label(index)))
}

/// In how many groups the index holds its place, and where another does better.
fn across(index: &str, groups: &[Row<'_>], labels: &Labels) -> String {
    let judged: Vec<&Row<'_>> = groups.iter().filter(|row| row.shown("auc").is_some()).collect();
    if judged.is_empty() {
        return String::new();
    }
    let named = |row: &Row<'_>, column: &str| row.text(column).split(", ").any(|name| name == index);
    let holds = judged.iter().filter(|row| row.text("index") == index || named(row, "not_distinguishable"));
    let better: Vec<String> = judged
        .iter()
        .filter(|row| named(row, "lower_indices"))
        .map(|row| format!("{} ({})", row.text("group"), labels.index_label(row.text("index"))))
        .collect();
    let (holds, all) = (holds.count(), judged.len());
    let place = "it is the highest or not distinguishable from the highest";
    if holds == all {
        return format!(" In all {all} groups by single variables {place}.");
    }
    let more = if better.len() > MOST_NAMED {
        format!(" and {} more", better.len() - MOST_NAMED)
    } else {
        String::new()
    };
    let shown = better[..better.len().min(MOST_NAMED)].join(", ");
    let better = if better.is_empty() {
        String::new()
    } else {
        format!("; another index does better by more than noise in {shown}{more}")
    };
    format!(" In {holds} of {all} groups by single variables {place}{better}.")
}

fn listed<'a>(row: &Row<'a>, column: &str, labels: &'a Labels) -> Vec<&'a str> {
    row.text(column)
        .split(", ")
        .filter(|name| !name.is_empty())
        .map(|name| labels.index_label(name))
        .collect()
}

/// `a`, `a and b`, `a, b and c`.
fn joined(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn is(names: &[&str]) -> &'static str {
    if names.len() == 1 { "is" } else { "are" }
}
