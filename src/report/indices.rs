//! Which index separates best, for whom, in sentences.

use crate::chart::Labels;
use crate::table::number::{fixed, whole};
use crate::table::schema::NONE_SEPARATES;
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
    let built_in = listed(row, "built_in", labels);
    let built_in = if built_in.is_empty() {
        String::new()
    } else {
        format!(" The outcome counts a part of {}: their agreement is partly built in.", joined(&built_in))
    };
    if none_separates(row) {
        let elsewhere = elsewhere(groups);
        let highest = format!("the highest area is that of {} ({area})", labels.index_label(index));
        return Some(format!(
            "For {outcome}, no index separates better than chance: {highest}.{elsewhere}{built_in}"
        ));
    }
    let (alike, lower) = (listed(row, "not_distinguishable", labels), listed(row, "lower_indices", labels));
    let left_out = listed(row, "left_out", labels);
    let (among, beside) = if left_out.is_empty() {
        ("", String::new())
    } else {
        (" of those compared", format!("; {} {} not compared with it", joined(&left_out), is(&left_out)))
    };
    let standing = match (alike.is_empty(), lower.is_empty()) {
        (true, _) => {
            let lower = format!("{} {} lower by more than noise", joined(&lower), is(&lower));
            format!("separates best{among} ({area}): {lower}{beside}")
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
    Some(format!("For {outcome}, {}{twins} {standing}.{across}{built_in}", labels.index_label(index)))
}

fn none_separates(row: &Row<'_>) -> bool {
    row.text("conclusion") == NONE_SEPARATES
}

/// Groups with an area, parted into those in which some index separates better than chance and the others.
fn judged<'r, 'a>(groups: &'r [Row<'a>]) -> (Vec<&'r Row<'a>>, Vec<&'r Row<'a>>) {
    groups.iter().filter(|row| row.shown("auc").is_some()).partition(|row| !none_separates(row))
}

/// In how many groups an index does what none does in everybody.
fn elsewhere(groups: &[Row<'_>]) -> String {
    let (separating, none) = judged(groups);
    match (separating.len(), none.len()) {
        (0, 0) => String::new(),
        (0, 1) => " Nor does any in the one group by a single variable.".to_owned(),
        (0, all) => format!(" Nor does any in the {all} groups by single variables."),
        (some, others) => format!(" In {some} of {} groups by single variables one does.", some + others),
    }
}

/// In how many groups the index holds its place, and where another does better; where none separates none holds a place.
fn across(index: &str, groups: &[Row<'_>], labels: &Labels) -> String {
    let (judged, none) = judged(groups);
    let none = match none.len() {
        0 => String::new(),
        1 => " In one group no index separates better than chance.".to_owned(),
        others => format!(" In {others} groups no index separates better than chance."),
    };
    if judged.is_empty() {
        return none;
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
    let groups = if none.is_empty() { "groups" } else { "other groups" };
    if holds == all && all == 1 {
        let group = if none.is_empty() { "group" } else { "other group" };
        return format!("{none} In the one {group} by a single variable {place}.");
    }
    if holds == all {
        return format!("{none} In all {all} {groups} by single variables {place}.");
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
    format!("{none} In {holds} of {all} {groups} by single variables {place}{better}.")
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema::{NOT_DISTINGUISHABLE, shape};

    /// The sentence of everybody and two groups, each with its conclusion.
    fn said(everybody: &str, groups: [&str; 2]) -> String {
        let mut which = Table::new(shape("which_index").expect("a table"));
        let places = [("everybody", everybody), ("sex", groups[0]), ("sex", groups[1])];
        for (grouping, conclusion) in places {
            let row = which.row().text("outcome", "o").text("grouping", grouping).text("group", "a");
            let row = row.text("index", "tyg").text("not_distinguishable", "homa_ir").whole("n", Some(90));
            let row = row.real("auc", Some(0.495)).whole("compared", Some(2));
            row.text("conclusion", conclusion).done().expect("a row");
        }
        sentences(&[which], &Labels::default()).concat()
    }

    #[test]
    fn where_no_index_separates_none_is_crowned() {
        let none = "For o, no index separates better than chance: the highest area is that of tyg (AUC 0.495, n = 90).";
        assert_eq!(
            said(NONE_SEPARATES, [NONE_SEPARATES; 2]),
            format!("{none} Nor does any in the 2 groups by single variables.")
        );
        let one = said(NONE_SEPARATES, [NONE_SEPARATES, NOT_DISTINGUISHABLE]);
        assert_eq!(one, format!("{none} In 1 of 2 groups by single variables one does."));
    }

    #[test]
    fn a_group_in_which_none_separates_gives_no_index_a_place() {
        let said = |groups| said(NOT_DISTINGUISHABLE, groups);
        let place = "groups by single variables it is the highest or not distinguishable from the highest.";
        assert!(said([NOT_DISTINGUISHABLE; 2]).ends_with(&format!(". In all 2 {place}")));
        let one = said([NOT_DISTINGUISHABLE, NONE_SEPARATES]);
        let none = "In one group no index separates better than chance.";
        let alone = "In the one other group by a single variable it is the highest or not distinguishable from the highest.";
        assert!(one.ends_with(&format!("{none} {alone}")), "{one}");
        let neither = said([NONE_SEPARATES; 2]);
        assert!(neither.ends_with("In 2 groups no index separates better than chance."), "{neither}");
    }

    #[test]
    fn what_was_not_compared_is_named() {
        let said = |left_out: &str| {
            let mut which = Table::new(shape("which_index").expect("a table"));
            let row = which.row().text("outcome", "o").text("grouping", "everybody").text("group", "a");
            let row = row.text("index", "tyg").text("lower_indices", "homa_ir").text("left_out", left_out);
            let row = row.real("auc", Some(0.7)).whole("n", Some(90)).whole("compared", Some(2));
            row.text("conclusion", "").done().expect("a row");
            sentences(&[which], &Labels::default()).concat()
        };
        let area = "(AUC 0.700, n = 90): homa_ir is lower by more than noise";
        assert_eq!(said(""), format!("For o, tyg separates best {area}."));
        assert_eq!(
            said("mets_ir"),
            format!("For o, tyg separates best of those compared {area}; mets_ir is not compared with it.")
        );
    }
}
