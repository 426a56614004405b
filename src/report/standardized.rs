//! Sentences on how much of the range of cutoffs remains after adjusting.

use crate::chart::Labels;
use crate::table::number::{aligned, decimals, fixed};
use crate::table::{Row, Table};

use super::moves::LEADING;

/// One sentence for every grouping that was compared by the index and outcome of the answer.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let Some(ranges) = table("decomposition") else { return Vec::new() };
    let asked = table("threshold_shares").and_then(|t| t.iter().next()).map(|row| row.text("index"));
    let Some(first) = ranges.iter().find(|row| asked.is_none_or(|index| row.text("index") == index)) else {
        return Vec::new();
    };
    let same = |row: &Row<'_>| ["index", "outcome"].iter().all(|c| row.text(c) == first.text(c));
    let leading = |row: &Row<'_>| same(row) && row.text("method") == LEADING;
    let rows: Vec<Row<'_>> = ranges.iter().filter(leading).collect();
    let mut groupings: Vec<&str> = rows.iter().map(|row| row.text("grouping")).collect();
    groupings.dedup();
    groupings
        .iter()
        .filter_map(|grouping| {
            let of: Vec<Row<'_>> = rows.iter().copied().filter(|r| r.text("grouping") == *grouping).collect();
            sentence(&of, labels)
        })
        .collect()
}

fn sentence(rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    let (raw, adjusted) = rows.split_first()?;
    // "ancestry, as the survey asks" is compared as "ancestry".
    let grouping = labels.grouping(raw.text("grouping")).split(',').next().unwrap_or_default();
    let index = labels.index_with_unit(raw.text("index"));
    let what =
        format!("smoothed best cutoffs of {index} for {} by {grouping}", labels.outcome(raw.text("outcome")));
    if !raw.text("withheld").is_empty() {
        return Some(format!(
            "How far the {what} lie apart after adjusting is withheld: {}.",
            raw.text("withheld")
        ));
    }
    let values: Vec<f64> = rows.iter().filter_map(|row| row.shown("smallest")).collect();
    let places = decimals(&values, 3);
    let range = |row: &Row<'_>| {
        let (low, high) = (row.shown("smallest")?, row.shown("largest")?);
        Some(format!("{} to {}", aligned(low, places), aligned(high, places)))
    };
    let mut parts = Vec::new();
    for (position, row) in adjusted.iter().enumerate() {
        let after = format!("after adjusting for {}", row.text("adjusted_for"));
        parts.push(if position == 0 {
            format!(
                "{} the {what} run from {} (as they are: {})",
                after.replacen("after", "After", 1),
                range(row)?,
                range(raw)?
            )
        } else {
            format!("{after} from {}", range(row)?)
        });
    }
    Some(format!("{}.{}{}", parts.join("; "), chance(raw), lost(raw)))
}

/// What chance alone would make of equal groups, so that a range is not read as a difference.
fn chance(raw: &Row<'_>) -> String {
    let (Some(ratio), Some(equal)) = (raw.shown("ratio"), raw.shown("ratio_under_equality")) else {
        return String::new();
    };
    format!(
        " As they are, the largest is {} times the smallest; equal groups would show about {} by chance alone.",
        aligned(ratio, 2),
        aligned(equal, 2)
    )
}

fn lost(raw: &Row<'_>) -> String {
    match raw.real("lost_share") {
        Some(lost) if lost > 0.0 => {
            format!(" {} % of the standard are left out, for want of people in some group.", fixed(lost, 1))
        }
        _ => String::new(),
    }
}
