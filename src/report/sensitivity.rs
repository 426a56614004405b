//! Sentences on how far the choices and the assay move a cutoff.

use crate::chart::Labels;
use crate::table::number::{aligned, decimals, fixed, significant};
use crate::table::{Row, Table};

use super::sentence::places;

const SMOOTHED: &str = "kernel_smoothed_youden";

/// How far each choice alone, and all together, move everybody's cutoff of the first index.
pub(super) fn lead(tables: &[Table], labels: &Labels) -> Option<String> {
    let ranges = tables.iter().find(|table| table.name == "choice_ranges")?;
    let first = ranges.iter().find(|row| row.text("grouping") == "everybody")?;
    let same = |row: &Row<'_>| {
        ["index", "grouping", "kind"].iter().all(|column| row.text(column) == first.text(column))
    };
    let rows: Vec<Row<'_>> = ranges.iter().filter(same).collect();
    let base = first.shown("base")?;
    let places = places(base).min(4);
    let moved = |row: &Row<'_>| {
        let (low, high) = (row.shown("smallest")?, row.shown("largest")?);
        Some(match (row.text("choice"), low == high) {
            ("all", _) => {
                format!(
                    "all {} together from {} to {}",
                    row.whole("shown")?,
                    fixed(low, places),
                    fixed(high, places)
                )
            }
            (choice, true) => format!("{} not at all", words(choice)),
            (choice, false) => {
                format!("{} from {} to {}", words(choice), fixed(low, places), fixed(high, places))
            }
        })
    };
    let mut parts: Vec<String> = rows.iter().filter_map(moved).collect();
    if parts.is_empty() {
        return None;
    }
    let together = if rows.last()?.text("choice") == "all" { parts.pop() } else { None };
    let together = together.map(|text| format!("; {text}")).unwrap_or_default();
    Some(format!(
        "The cutoff {} of {} for everybody rests on choices. Each alone moves it: {}{together}.",
        fixed(base, places),
        labels.index_with_unit(first.text("index")),
        parts.join(", "),
    ))
}

fn words(choice: &str) -> &str {
    match choice {
        "rule" => "the rule",
        "outcome" => "the outcome",
        "percentile" => "the percentile",
        "reference" => "the reference group",
        "exclusions" => "who is left out",
        "route" => "the assay",
        other => other,
    }
}

/// What the best cutoff of each index would be by every other assay, and where a release stands out.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "assay_routes") else { return Vec::new() };
    let everybody = |row: &Row<'_>| row.text("grouping") == "everybody" && row.text("method") == SMOOTHED;
    let mut sentences = Vec::new();
    let mut said: Vec<(&str, &str)> = Vec::new();
    for row in table.iter().filter(everybody) {
        let key = (row.text("index"), row.text("route"));
        if row.text("route") == "as_released" || said.contains(&key) {
            continue;
        }
        said.push(key);
        let released = table.iter().filter(everybody).find(|other| {
            other.text("route") == "as_released"
                && ["index", "outcome"].iter().all(|column| other.text(column) == row.text(column))
        });
        sentences.extend(released.and_then(|released| by_route(&row, &released, labels)));
    }
    sentences.extend(peaks(table, labels));
    sentences
}

fn by_route(row: &Row<'_>, released: &Row<'_>, labels: &Labels) -> Option<String> {
    let (new, old) = (row.shown("estimate")?, released.shown("estimate")?);
    let places = decimals(&[new, old], 3);
    let interval = row.shown("ratio_lower").zip(row.shown("ratio_upper"));
    let interval =
        interval.map(|(low, high)| format!(", {}–{}", aligned(low, 2), aligned(high, 2))).unwrap_or_default();
    Some(format!(
        "Measured otherwise ({}), the smoothed best cutoff of {} for {} would be {} instead of {} (ratio {}{interval}).",
        row.text("route_label"),
        labels.index_with_unit(row.text("index")),
        labels.outcome(row.text("outcome")),
        fixed(new, places),
        fixed(old, places),
        aligned(row.shown("ratio")?, 2),
    ))
}

/// In which release the share beyond a threshold is largest, by every route: an assay can make a peak.
fn peaks(table: &Table, labels: &Labels) -> Vec<String> {
    let of_cycles = |row: &Row<'_>| row.text("grouping") == "cycle" && row.text("method") == "share_beyond";
    let rows: Vec<Row<'_>> = table.iter().filter(of_cycles).collect();
    let mut sentences = Vec::new();
    let mut said: Vec<&str> = Vec::new();
    for first in &rows {
        let index = first.text("index");
        let Some(threshold) = first.real("threshold").filter(|_| !said.contains(&index)) else { continue };
        said.push(index);
        let mut routes: Vec<(&str, Row<'_>)> = Vec::new();
        for row in rows.iter().filter(|r| r.text("index") == index && r.real("threshold") == Some(threshold))
        {
            let Some(share) = row.shown("estimate") else { continue };
            match routes.iter_mut().find(|(route, _)| *route == row.text("route")) {
                Some((_, best)) if best.shown("estimate").is_some_and(|other| other >= share) => {}
                Some((_, best)) => *best = *row,
                None => routes.push((row.text("route"), *row)),
            }
        }
        let peak = |(_, row): &(&str, Row<'_>)| {
            let share = row.shown("estimate")?;
            Some(format!("{} ({} %) {}", row.text("group"), fixed(share, 1), row.text("route_label")))
        };
        let peaks: Vec<String> = routes.iter().filter_map(peak).collect();
        let value = significant(threshold, 6).replace('-', "\u{2212}");
        sentences.push(format!(
            "The release with the largest share of people {} {} depends on the assay: {}.",
            labels.beyond(index, first.text("strict") == "yes"),
            labels.index_at(index, &value),
            peaks.join("; ")
        ));
    }
    sentences
}
