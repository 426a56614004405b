//! Sentences on how much of the range of cutoffs remains after adjusting.

use crate::chart::Labels;
use crate::table::number::{aligned, decimals, fixed};
use crate::table::schema::NOT_DISTINGUISHABLE;
use crate::table::{Row, Table};

use super::moves::LEADING;

/// One sentence for every grouping that was compared by the index and outcome of the answer.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    if let Some(why) = absent(tables) {
        return vec![why.to_owned()];
    }
    let Some(ranges) = table("decomposition") else { return Vec::new() };
    let asked = table("threshold_shares").and_then(|t| t.iter().next()).map(|row| row.text("index"));
    let Some(first) = ranges.iter().find(|row| asked.is_none_or(|index| row.text("index") == index)) else {
        return Vec::new();
    };
    let same = |row: &Row<'_>| ["index", "outcome"].iter().all(|c| row.text(c) == first.text(c));
    let leading = |row: &Row<'_>| same(row) && row.text("method") == LEADING;
    let rows: Vec<Row<'_>> = ranges.iter().filter(leading).collect();
    let noise = |grouping: &str| {
        let tests = table("heterogeneity").into_iter().flat_map(Table::iter);
        let own = |row: &Row<'_>| leading(row) && row.text("grouping") == grouping;
        tests.filter(own).any(|row| row.text("conclusion") == NOT_DISTINGUISHABLE)
    };
    let mut groupings: Vec<&str> = rows.iter().map(|row| row.text("grouping")).collect();
    groupings.dedup();
    let of_grouping = |grouping: &&str| {
        let of: Vec<Row<'_>> = rows.iter().copied().filter(|r| r.text("grouping") == *grouping).collect();
        sentence(&of, noise(grouping), labels)
    };
    groupings.iter().filter_map(of_grouping).collect()
}

fn sentence(rows: &[Row<'_>], noise: bool, labels: &Labels) -> Option<String> {
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
                "{} the {what} run from {} (as they are, among the same people: {})",
                after.replacen("after", "After", 1),
                range(row)?,
                range(raw)?
            )
        } else {
            format!("{after} from {}", range(row)?)
        });
    }
    Some(format!("{}.{}{}{}", parts.join("; "), taken(adjusted, raw, noise), chance(raw), lost(raw)))
}

/// How much of the range each adjustment takes, and whether there is a difference to explain at all.
fn taken(adjusted: &[Row<'_>], raw: &Row<'_>, noise: bool) -> String {
    if raw.shown("ratio").zip(raw.shown("ratio_under_equality")).is_some_and(|(ratio, equal)| ratio < equal) {
        return " There is no difference to share out.".to_owned();
    }
    let share = |row: &Row<'_>| {
        let left = row.shown("log_range_remaining")?;
        let taken = 100.0 - left;
        let (verb, size) = if taken < 0.0 { ("adds", -taken) } else { ("takes", taken) };
        Some(format!("adjusting for {} {verb} {} %", row.text("adjusted_for"), fixed(size, 0)))
    };
    let shares: Vec<String> = adjusted.iter().filter_map(share).collect();
    if shares.is_empty() {
        return String::new();
    }
    let noise = if noise {
        "; the difference itself is not more than noise, so there may be nothing to explain"
    } else {
        ""
    };
    format!(" Of the range, on the scale of ratios, {}{noise}.", shares.join(", "))
}

/// Why nothing is compared on equal terms, when nothing is.
pub(super) fn absent(tables: &[Table]) -> Option<&'static str> {
    let filled = |name: &str| tables.iter().any(|table| table.name == name && !table.rows.is_empty());
    (filled("cutoffs") && !filled("decomposition")).then_some(
        "How much of the differences is age or body mass was not computed: it needs an age group and a BMI group among the \
         groups of the study, and groups by sex or ancestry to compare; or a section [analysis.standardize] that names them.",
    )
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
