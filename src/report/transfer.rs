//! Sentences on what a cutoff of one sample does in another.

use crate::chart::Labels;
use crate::table::number::fixed;
use crate::table::{Row, Table};

use super::sentence::places;

/// One sentence for each direction: the first index, outcome and rule, everybody's cutoff.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "transfer") else { return Vec::new() };
    let everybody: Vec<Row<'_>> = table
        .iter()
        .filter(|row| row.text("group") == "everybody" && row.text("derived_from") == "everybody")
        .collect();
    let Some(first) = everybody.first().copied() else { return Vec::new() };
    let same = |row: &Row<'_>| ["index", "outcome", "rule"].iter().all(|c| row.text(c) == first.text(c));
    let rows: Vec<Row<'_>> = everybody.into_iter().filter(same).collect();
    let mut directions: Vec<(&str, &str)> = Vec::new();
    for row in &rows {
        let direction = (row.text("survey"), row.text("judged_in"));
        if !directions.contains(&direction) {
            directions.push(direction);
        }
    }
    directions.iter().filter_map(|direction| sentence(&rows, *direction, labels)).collect()
}

fn sentence(rows: &[Row<'_>], (from, to): (&str, &str), labels: &Labels) -> Option<String> {
    let measure = |name: &str| {
        rows.iter().find(|row| {
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
    let share = |name: &str| measure(name).map_or_else(|| "withheld".to_owned(), percent);
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

/// `68.1 % (62.0–73.8)`, or that it is withheld.
fn percent(row: &Row<'_>) -> String {
    let one = |column: &str| row.shown(column).map(|value| fixed(100.0 * value, 1));
    match (one("value"), one("lower"), one("upper")) {
        (Some(value), Some(lower), Some(upper)) => format!("{value} % ({lower}–{upper})"),
        (Some(value), ..) => format!("{value} %"),
        (None, ..) => "a withheld share".to_owned(),
    }
}
