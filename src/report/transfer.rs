//! Sentences on what a cutoff of one sample does in another.

use std::cmp::Ordering::Equal;

use crate::chart::Labels;
use crate::table::number::fixed;
use crate::table::{Row, Table};

use super::sentence::places;

const EVERYBODY: &str = "everybody";
const SAME_GROUP: &str = "same group";

/// For each direction, by the first index, outcome and rule: what everybody's cutoff does, and what it and the groups'
/// own do across the grouping where they find the most different shares.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "transfer") else { return Vec::new() };
    let of_everybody =
        |row: &Row<'_>| row.text("group") == EVERYBODY && row.text("derived_from") == EVERYBODY;
    let Some(first) = table.iter().find(of_everybody) else { return Vec::new() };
    let same = |row: &Row<'_>| ["index", "outcome", "rule"].iter().all(|c| row.text(c) == first.text(c));
    let rows: Vec<Row<'_>> = table.iter().filter(same).collect();
    let mut directions: Vec<(&str, &str)> = Vec::new();
    for row in &rows {
        let direction = (row.text("survey"), row.text("judged_in"));
        if !directions.contains(&direction) {
            directions.push(direction);
        }
    }
    let both = |direction: &(&str, &str)| {
        [sentence(&rows, *direction, labels), groups_sentence(&rows, *direction, labels)]
            .into_iter()
            .flatten()
    };
    directions.iter().flat_map(both).collect()
}

/// How far the share found runs apart between groups, by everybody's cutoff and by the groups' own.
fn groups_sentence(rows: &[Row<'_>], direction: (&str, &str), labels: &Labels) -> Option<String> {
    let mut groupings: Vec<&str> = rows.iter().map(|row| row.text("grouping")).collect();
    groupings.dedup();
    let apart = |found: &Found<'_>| Some(found.most.real("value")? - found.least.real("value")?);
    let pooled = groupings.iter().filter_map(|grouping| found(rows, direction, (grouping, EVERYBODY)));
    let pooled = pooled.max_by(|a, b| apart(a).partial_cmp(&apart(b)).unwrap_or(Equal))?;
    let grouping = pooled.least.text("grouping");
    let (from, to) = direction;
    let own = found(rows, direction, (grouping, SAME_GROUP));
    let own = own.map_or_else(String::new, |own| {
        format!("; with each group’s own cutoff from {from} it is {}", own.in_words(labels))
    });
    Some(format!(
        "Of those with the outcome in {to}, everybody’s cutoff from {from} finds, across {}, {}{own}.",
        labels.grouping(grouping),
        pooled.in_words(labels)
    ))
}

/// The groups of a grouping where the smallest and the largest share of those with the outcome is found.
struct Found<'r> {
    least: Row<'r>,
    most: Row<'r>,
    withheld: usize,
}

/// `None` where fewer than two groups have a share that is shown.
fn found<'r>(
    rows: &[Row<'r>],
    (from, to): (&str, &str),
    (grouping, derived_from): (&str, &str),
) -> Option<Found<'r>> {
    let wanted = [
        ("survey", from),
        ("judged_in", to),
        ("grouping", grouping),
        ("derived_from", derived_from),
        ("measure", "sensitivity"),
        ("cutoff_uncertainty", "fixed"),
    ];
    let all = rows.iter().filter(|row| wanted.iter().all(|(column, text)| row.text(column) == *text));
    let (mut shown, withheld): (Vec<Row<'r>>, Vec<Row<'r>>) =
        all.copied().partition(|row| row.shown("value").is_some());
    shown.sort_by(|a, b| a.real("value").unwrap_or(0.0).total_cmp(&b.real("value").unwrap_or(0.0)));
    let [least, .., most] = shown[..] else { return None };
    Some(Found { least, most, withheld: withheld.len() })
}

impl Found<'_> {
    fn in_words(&self, labels: &Labels) -> String {
        let withheld = match self.withheld {
            0 => String::new(),
            1 => ", one group withheld".to_owned(),
            several => format!(", {several} groups withheld"),
        };
        format!("{} to {}{withheld}", of_group(&self.least, labels), of_group(&self.most, labels))
    }
}

fn sentence(rows: &[Row<'_>], (from, to): (&str, &str), labels: &Labels) -> Option<String> {
    let measure = |name: &str| {
        rows.iter()
            .filter(|row| row.text("group") == EVERYBODY && row.text("derived_from") == EVERYBODY)
            .find(|row| {
                (row.text("survey"), row.text("judged_in"), row.text("measure")) == (from, to, name)
                    && row.text("cutoff_uncertainty") == "fixed"
            })
    };
    let youden = measure("youden")?;
    let index = youden.text("index");
    let Some(cutoff) = youden.real("cutoff") else {
        return Some(format!(
            "What the cutoff of {from} does in {to} is withheld: {}.",
            youden.text("withheld")
        ));
    };
    let share = |name: &str| measure(name).map_or_else(|| "withheld".to_owned(), |row| percent(row, labels));
    let loss = measure("youden_loss").and_then(|row| row.shown("value")).map_or_else(String::new, |loss| {
        format!("; its Youden index there is {} below that of {to}’s own cutoff", fixed(loss, 3))
    });
    let value = fixed(cutoff, places(cutoff)).replace('-', "\u{2212}");
    Some(format!(
        "The cutoff {} for {} by the rule “{}” derived in {from} finds {} of those with the outcome in {to} and leaves \
         out {} of those without{loss}.",
        labels.index_at(index, &value),
        labels.outcome(youden.text("outcome")),
        labels.rule(youden.text("rule")),
        share("sensitivity"),
        share("specificity"),
    ))
}

/// `68.1 % (62.0–73.8; female)`.
fn of_group(row: &Row<'_>, labels: &Labels) -> String {
    let (share, group) = (percent(row, labels), row.text("group"));
    share.strip_suffix(')').map_or_else(|| format!("{share} ({group})"), |share| format!("{share}; {group})"))
}

/// `68.1 % (62.0–73.8)`, or that it is withheld.
fn percent(row: &Row<'_>, labels: &Labels) -> String {
    let one = |column: &str| row.shown(column).map(|value| fixed(100.0 * value, labels.percent_places(1)));
    match (one("value"), one("lower"), one("upper")) {
        (Some(value), Some(lower), Some(upper)) => format!("{value} % ({lower}–{upper})"),
        (Some(value), ..) => format!("{value} %"),
        (None, ..) => "a withheld share".to_owned(),
    }
}
