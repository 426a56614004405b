//! Sentences on trends over survey cycles, and why there are none.

use crate::chart::Labels;
use crate::table::number::{aligned, p_is, significant};
use crate::table::{Row, Table};

const RELEASED: &str = "as_released";

/// For each index: how the share beyond its first threshold changes over the cycles, by each route that
/// allows a trend, and why there is none by the others. Without a threshold, the geometric mean.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "trend") else { return Vec::new() };
    let everybody: Vec<Row<'_>> = table.iter().filter(|row| row.text("grouping") == "everybody").collect();
    let mut said: Vec<&str> = Vec::new();
    let mut sentences = Vec::new();
    for row in &everybody {
        let index = row.text("index");
        if said.contains(&index) {
            continue;
        }
        said.push(index);
        let of_index = || everybody.iter().filter(|other| other.text("index") == index);
        let leading = of_index().find(|row| row.text("measure") == "share_beyond").unwrap_or(row);
        let same = |other: &&Row<'_>| {
            other.text("measure") == leading.text("measure")
                && other.real("threshold") == leading.real("threshold")
                && other.text("strict") == leading.text("strict")
        };
        sentences.push(sentence(&of_index().filter(same).collect::<Vec<_>>(), labels));
    }
    sentences
}

/// One sentence about one measure by every route.
fn sentence(rows: &[&Row<'_>], labels: &Labels) -> String {
    let first = rows[0];
    let what = what(first, labels);
    let changes: Vec<String> = rows.iter().filter_map(|row| change(row)).collect();
    let refused: Vec<String> =
        rows.iter().filter(|row| row.shown("slope").is_none()).map(|row| reason(row)).collect();
    let refused = refused.join("; ");
    if changes.is_empty() {
        return format!("No trend of {what} over the cycles is given: {refused}.");
    }
    let (from, to) = (first.text("first_cycle"), first.text("last_cycle"));
    let refused = if refused.is_empty() { String::new() } else { format!("; no trend is given {refused}") };
    format!("Between {from} and {to} {what} changes {}{refused}.", changes.join("; "))
}

fn what(row: &Row<'_>, labels: &Labels) -> String {
    let index = row.text("index");
    match row.real("threshold") {
        Some(threshold) => {
            let value = significant(threshold, 6).replace('-', "\u{2212}");
            let beyond = labels.beyond(index, row.text("strict") == "yes");
            format!("the share {beyond} {}", labels.index_at(index, &value))
        }
        None => format!("the geometric mean of {}", labels.index_with_unit(index)),
    }
}

/// `by the route “all as Mercodia ELISA” by +2.31 percentage points per two years (2.02 to 2.60; p < 0.001)`.
fn change(row: &Row<'_>) -> Option<String> {
    let slope = row.shown("slope")?;
    let unit = if row.real("threshold").is_some() { " percentage points" } else { "" };
    let plus = if slope > 0.0 { "+" } else { "" };
    let interval = row.shown("lower").zip(row.shown("upper"));
    let interval = interval.map(|(low, high)| format!("{} to {}; ", aligned(low, 2), aligned(high, 2)));
    let p = row.shown("p").map_or_else(String::new, |p| format!("p {}", p_is(p)));
    let straight = match row.shown("departure_p") {
        Some(p) if p < 0.05 => ", though not along a straight line",
        _ => "",
    };
    let route = match row.text("route") {
        RELEASED => String::new(),
        _ => format!("by the route “{}” ", row.text("route_label")),
    };
    Some(format!(
        "{route}by {plus}{}{unit} per two years ({}{p}){straight}",
        aligned(slope, 2),
        interval.unwrap_or_default()
    ))
}

fn reason(row: &Row<'_>) -> String {
    let route = match row.text("route") {
        RELEASED => "as released".to_owned(),
        _ => format!("by the route “{}”", row.text("route_label")),
    };
    let withheld = row.text("withheld");
    format!("{route}, because {}", withheld.strip_prefix("by this route ").unwrap_or(withheld))
}
