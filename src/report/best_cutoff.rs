//! Where the best cutoff lies: everybody's, and between which groups' it lies.

use crate::chart::Labels;
use crate::table::number::{fixed, whole};
use crate::table::{Row, Table, directions};

use super::answer::widest_grouping;
use super::ends::{Ends, ends, withheld};
use super::finding::Finding;
use super::glance::rows;
use super::people::counted;
use super::sentence::{places, range, range_of_group};
use super::strip::{Number, Scale, Strip, across, outer};

/// The first rule's cutoff of the first threshold's index.
pub(super) fn finding(
    (tables, table): (&[Table], &Table),
    index: Option<&str>,
    labels: &Labels,
    adjusting: &[&str],
) -> Option<Finding> {
    let row = table
        .iter()
        .filter(|row| row.text("grouping") == "everybody")
        .find(|row| index.is_none_or(|index| row.text("index") == index))?;
    let same = ["index", "outcome", "population", "rule"];
    let others =
        table.iter().filter(|other| same.iter().all(|column| other.text(column) == row.text(column)));
    let groups = widest_grouping(others, "cutoff", adjusting);
    let ends = ends(&groups, "cutoff");
    let opposite = directions::sentence(&groups, rows(tables, "smoothed_cutoffs"));
    let number = |row: &Row<'_>| {
        let value = row.shown("cutoff")?;
        Number::of(row, "cutoff", 1.0, fixed(value, places(value)) + &range(row, places(value)))
    };
    let title = format!("best cutoff of {}", labels.index_with_unit(row.text("index")));
    let title = across(title, ends.as_ref(), labels);
    let strip = Strip::new(Scale::Own, vec![(title, outer(Some(row), ends.as_ref(), number))]);
    let text = sentence(&row, ends.as_ref(), labels) + &opposite;
    Some(Finding { heading: "Where the best cutoff lies", text, command: None, strip })
}

/// Everybody's cutoff and between which groups it lies.
fn sentence(row: &Row<'_>, ends: Option<&Ends<'_>>, labels: &Labels) -> String {
    let what = cutoff_of(row, labels);
    let outside =
        |ends: &Ends<'_>| row.shown("cutoff").is_some_and(|all| all < ends.low.0 || all > ends.high.0);
    let outside = if ends.is_some_and(outside) {
        " Everybody’s lies outside the groups’: it is chosen anew among all people at once, and is no mean of theirs."
    } else {
        ""
    };
    match (row.shown("cutoff"), ends.map(|ends| between(ends, labels))) {
        (Some(value), between) => {
            let single = format!("{}{}", fixed(value, places(value)), range(row, places(value)));
            let groups = between.map(|text| format!(" and lies between {text}")).unwrap_or_default();
            format!("{what} is {single} for everybody{groups}.{outside}")
        }
        (None, Some(text)) => {
            format!("{what} is withheld for everybody ({}); it lies between {text}.", row.text("withheld"))
        }
        (None, None) => format!("{what} is withheld: {}.", row.text("withheld")),
    }
}

/// Which cutoff it is: rule, outcome, reference, survey and n.
fn cutoff_of(row: &Row<'_>, labels: &Labels) -> String {
    let both = if row.whole("n").is_some() { " with index and outcome known" } else { "" };
    let with = match row.whole("n_with") {
        Some(with) => format!("{} with the outcome", whole(with)),
        None => "how many with the outcome is withheld".to_owned(),
    };
    format!(
        "In {}, the best cutoff of {} for {} by the rule “{}” in {} (n = {}{both}, {with}, compared with people without it)",
        labels.survey(row.text("survey")),
        labels.index_with_unit(row.text("index")),
        labels.outcome(row.text("outcome")),
        labels.rule(row.text("rule")),
        labels.population(row.text("population")),
        counted(row, "n"),
    )
}

fn between(ends: &Ends<'_>, labels: &Labels) -> String {
    let places = places(ends.low.0).max(places(ends.high.0)).min(4);
    format!(
        "{}{} and {}{} across {}{}",
        fixed(ends.low.0, places),
        range_of_group(&ends.low.1, places),
        fixed(ends.high.0, places),
        range_of_group(&ends.high.1, places),
        labels.grouping(ends.low.1.text("grouping")),
        withheld("cutoff", ends.withheld),
    )
}
