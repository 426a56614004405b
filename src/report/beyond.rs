//! How many are beyond the study's thresholds.

use crate::chart::Labels;
use crate::table::{Row, Table};

use super::answer::widest_grouping;
use super::ends::{Ends, ends, is_uniform, outside, shares_run};
use super::finding::Finding;
use super::glance::rows;
use super::methods::listed;
use super::people::{self, counted};
use super::sentence::{beyond, percent};
use super::strip::{Number, Scale, Strip, across, outer};

/// How many are beyond the first threshold, and a sentence for each other one.
pub(super) fn findings(
    tables: &[Table],
    labels: &Labels,
    adjusting: &[&str],
) -> (Option<Finding>, Vec<String>) {
    let mut all = sentences(tables, labels, adjusting).into_iter();
    let first = all.next().map(|first| Finding {
        heading: "How many are beyond the threshold",
        text: first + &people::sentence(tables, labels) + &others(tables, labels),
        command: None,
        strip: strip(tables, labels, adjusting),
    });
    (first, all.collect())
}

/// Everybody's share beyond each threshold, about the cohort.
fn of_everybody(tables: &[Table]) -> impl Iterator<Item = Row<'_>> {
    rows(tables, "threshold_shares")
        .filter(|row| row.text("grouping") == "everybody" && row.text("population") == "cohort")
}

/// The groups of a threshold, about the cohort, across which its shares lie furthest apart.
fn groups_of<'a>(tables: &'a [Table], row: &Row<'_>, adjusting: &[&str]) -> Vec<Row<'a>> {
    let same = |other: &Row<'_>| {
        ["index", "strict"].iter().all(|column| other.text(column) == row.text(column))
            && other.real("threshold") == row.real("threshold")
            && other.text("population") == "cohort"
    };
    // A share of nobody or all of few people is an end of no range.
    let ranked = rows(tables, "threshold_shares").filter(same).filter(|row| !is_uniform(row));
    widest_grouping(ranked, "share_beyond", adjusting)
}

/// The share beyond the first threshold, with those of the outer groups, and everybody's beyond each other one of its index.
fn strip(tables: &[Table], labels: &Labels, adjusting: &[&str]) -> Option<Strip> {
    let first = of_everybody(tables).next()?;
    let number = |row: &Row<'_>| {
        let text = percent((row.shown("share_beyond")?, row), labels.percent_places(1));
        Number::of(row, "share_beyond", 1.0, text)
    };
    let same = of_everybody(tables).filter(|row| row.text("index") == first.text("index"));
    let part = |(place, row): (usize, Row<'_>)| {
        let groups = if place == 0 { groups_of(tables, &row, adjusting) } else { Vec::new() };
        let title = beyond(labels, row.text("index"), row.text("strict") == "yes", row.real("threshold")?);
        let ends = ends(&groups, "share_beyond");
        Some((across(title, ends.as_ref(), labels), outer(Some(row), ends.as_ref(), number)))
    };
    Strip::new(Scale::Percent, same.enumerate().filter_map(part).collect())
}

/// A sentence for each threshold, about the cohort.
fn sentences(tables: &[Table], labels: &Labels, adjusting: &[&str]) -> Vec<String> {
    let one = |(place, row): (usize, Row<'_>)| {
        let unknown = if place == 0 { people::unknown(tables, &row, labels) } else { String::new() };
        let of = format!("{} (n\u{a0}=\u{a0}{}{unknown})", labels.population("cohort"), counted(&row, "n"));
        sentence(&row, &of, &groups_of(tables, &row, adjusting), labels)
    };
    of_everybody(tables).enumerate().filter_map(one).collect()
}

/// How many are beyond the other thresholds: of these the question speaks as well.
fn others(tables: &[Table], labels: &Labels) -> String {
    let one = |row: Row<'_>| {
        let what = beyond(labels, row.text("index"), row.text("strict") == "yes", row.real("threshold")?);
        Some(match row.shown("share_beyond") {
            Some(share) => format!("{} are {what}", percent((share, &row), labels.percent_places(1))),
            None => format!("the share {what} is withheld ({})", row.text("withheld")),
        })
    };
    let each: Vec<String> = of_everybody(tables).skip(1).filter_map(one).collect();
    if each.is_empty() { String::new() } else { format!(" Of the cohort, {}.", listed(&each)) }
}

fn sentence(row: &Row<'_>, of: &str, groups: &[Row<'_>], labels: &Labels) -> Option<String> {
    let index = row.text("index");
    let what = beyond(labels, index, row.text("strict") == "yes", row.real("threshold")?);
    let survey = labels.survey(row.text("survey"));
    let Some(share) = row.shown("share_beyond") else {
        return Some(format!("In {survey}, the share of {of} {what} is withheld: {}.", row.text("withheld")));
    };
    let across = |ends| across_shares(share, &ends, labels);
    let across = ends(groups, "share_beyond").map(across).unwrap_or_default();
    Some(format!(
        "In {survey}, {} of {of} are {what}{across}.",
        percent((share, row), labels.percent_places(1))
    ))
}

fn across_shares(everybody: f64, ends: &Ends<'_>, labels: &Labels) -> String {
    let (by, outside) = (labels.grouping(ends.low.1.text("grouping")), outside(everybody, ends));
    format!("; across {by} this {}{outside}", shares_run(ends, labels))
}
