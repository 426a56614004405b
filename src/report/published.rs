//! Cutoffs in print laid over the run, in a sentence.

use crate::chart::Labels;
use crate::table::number::{fixed, significant};
use crate::table::{Row, Table};

use super::percentiles::ordinal;

/// Fewer cutoffs of an index in print make no range.
const FEWEST: usize = 2;

/// One sentence for each index that cutoffs in print speak of, and a caution after the last.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "published_cutoffs") else {
        return Vec::new();
    };
    let mut indices: Vec<&str> = Vec::new();
    for row in table.iter() {
        if !indices.contains(&row.text("index")) {
            indices.push(row.text("index"));
        }
    }
    let mut sentences: Vec<String> =
        indices.into_iter().filter_map(|index| sentence(table, index, labels)).collect();
    if let Some(last) = sentences.last_mut() {
        last.push_str(
            " Each was found in other people, by its own rule and with its own assay, so a difference from these people \
             may be any of the three.",
        );
    }
    sentences
}

/// From the lowest to the highest cutoff for people like everybody here, and where they sit.
fn sentence(table: &Table, index: &str, labels: &Labels) -> Option<String> {
    let laid = table.iter().filter(|row| row.text("index") == index && row.text("grouping") == "everybody");
    let mut rows: Vec<(f64, Row<'_>)> = laid
        .filter(|row| row.text("matches") == "matches")
        .filter_map(|row| Some((row.real("threshold")?, row)))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    if rows.len() < FEWEST {
        return None;
    }
    let (low, high) = (rows.first()?, rows.last()?);
    let percentiles: Vec<f64> = rows.iter().filter_map(|(_, row)| row.real("percentile")).collect();
    let least = percentiles.iter().copied().fold(f64::INFINITY, f64::min);
    let most = percentiles.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let withheld = rows.len() - percentiles.len();
    let sit = match (percentiles.is_empty(), withheld) {
        (true, _) => "where they sit in these people is withheld".to_owned(),
        (false, 0) => format!("in these people they sit between {} and {}", place(least), place(most)),
        (false, _) => format!(
            "in these people they sit between {} and {} ({withheld} withheld)",
            place(least),
            place(most)
        ),
    };
    Some(format!(
        "{} cutoffs of {} in print, for both sexes, any BMI and ages that overlap, run from {} ({}) to {} ({}); {sit}.",
        rows.len(),
        labels.index_with_unit(index),
        significant(low.0, 4),
        what(&low.1),
        significant(high.0, 4),
        what(&high.1),
    ))
}

/// Whose cutoff it is, and by which rule.
fn what(row: &Row<'_>) -> String {
    let author = row.text("source").split(',').next().unwrap_or_default();
    let outcome = row.text("published_outcome");
    let against = if outcome.is_empty() { String::new() } else { format!(", {outcome}") };
    let converted = if row.text("conversion").is_empty() { "" } else { ", converted" };
    format!("{author}, {}{against}; {}{converted}", row.text("country"), row.text("published_rule"))
}

/// `the 30th percentile`.
fn place(percentile: f64) -> String {
    format!("the {} percentile", ordinal(&fixed(percentile, 0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_spoken() {
        let said = [1.0, 2.2, 13.0, 30.4, 82.0, 93.0].map(place);
        let want = ["1st", "2nd", "13th", "30th", "82nd", "93rd"].map(|p| format!("the {p} percentile"));
        assert_eq!(said, want);
    }
}
