//! Sentences on people whose outcome is unknown.

use crate::chart::Labels;
use crate::table::number::{fixed, whole};
use crate::table::{Row, Table};

use super::samples;

/// One sentence for each outcome, and each survey and frame that has one.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "outcome_items") else { return Vec::new() };
    let outcomes: Vec<Row<'_>> = table
        .iter()
        .filter(|row| row.text("part") == "outcome" && row.text("grouping") == "everybody")
        .collect();
    let several = samples::surveys(tables).len() > 1;
    let frames = |row: &Row<'_>| {
        let same = |other: &&Row<'_>| ["survey", "outcome"].iter().all(|c| other.text(c) == row.text(c));
        outcomes.iter().filter(same).count()
    };
    let sentence = |row: &Row<'_>| {
        let survey = several.then(|| row.text("survey"));
        let frame = (frames(row) > 1).then(|| format!("with a positive {} weight", row.text("frame")));
        let place: Vec<String> = survey.map(str::to_owned).into_iter().chain(frame).collect();
        let place = if place.is_empty() { String::new() } else { format!(" ({})", place.join(", ")) };
        outcome(row, &place, labels)
    };
    outcomes.iter().map(sentence).collect()
}

fn outcome(row: &Row<'_>, place: &str, labels: &Labels) -> String {
    let what = labels.outcome(row.text("outcome"));
    let people = |column: &str| row.whole(column).map(whole);
    let (Some(n), Some(unknown)) = (people("n"), people("n_unknown")) else {
        let why = match row.text("withheld") {
            "" => "so few people may not be shown",
            why => why,
        };
        return format!("How often {what}{place} is unknown is withheld: {why}.");
    };
    let percent = row.real("unknown_percent").map(|p| fixed(p, labels.percent_places(1))).unwrap_or_default();
    let weighted = if labels.design.is_sample { ", weighted" } else { "" };
    let said = format!(
        "Of {n} people of the cohort{place}, {unknown} have an unknown outcome ({percent} %{weighted}): {what}"
    );
    let decided = row.whole("decided_yes").zip(row.whole("decided_no")).map(|(yes, no)| whole(yes + no));
    match (decided, people("n_item_unknown")) {
        (Some(decided), Some(missing)) => {
            format!("{said}; the three-valued rule decided {decided} of the {missing} with a missing item.")
        }
        _ => format!("{said}."),
    }
}
