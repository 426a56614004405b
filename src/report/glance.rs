//! The first screen's table: by each variable of the study, how far the share beyond the threshold and the best cutoff
//! move, whether that is more than noise, and what is left after adjusting.

use serde::Serialize;

use crate::chart::Labels;
use crate::table::number::{aligned, fixed, significant};
use crate::table::{Row, Table};

use super::moves::{LEADING, p_value};
use super::samples;
use super::sentence::{ends, places, range_of_group};

/// One row for each variable that splits the cohort.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Glance {
    /// What the rows are about: index, threshold and outcome.
    pub caption: String,
    /// `% at or above HOMA-IR 2`.
    pub beyond: String,
    pub rows: Vec<GlanceRow>,
}

/// The groups of one variable, from the lowest to the highest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct GlanceRow {
    pub variable: String,
    pub share: String,
    pub cutoff: String,
    pub noise: String,
    pub adjusted: String,
}

/// `None` without a threshold, without groups, or when several samples stand side by side.
pub(super) fn glance(tables: &[Table], labels: &Labels) -> Option<Glance> {
    if samples::surveys(tables).len() > 1 {
        return None;
    }
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let shares = table("threshold_shares")?;
    let first = shares.iter().next()?;
    let index = first.text("index");
    let tests: Vec<Row<'_>> = rows(table("heterogeneity"), index, LEADING);
    let outcome = tests.first().map_or("", |row| row.text("outcome"));
    let of_outcome = |row: &Row<'_>| row.text("outcome") == outcome;
    let parts = Parts {
        shares: same_threshold(shares, &first),
        cutoffs: rows(table("smoothed_cutoffs"), index, LEADING).into_iter().filter(of_outcome).collect(),
        tests: tests.iter().copied().filter(of_outcome).collect(),
        adjusted: rows(table("decomposition"), index, LEADING).into_iter().filter(of_outcome).collect(),
    };
    let mut groupings: Vec<&str> = parts.shares.iter().map(|row| row.text("grouping")).collect();
    groupings.dedup();
    let single = |name: &&str| *name != "everybody" && !name.contains(" × ");
    let rows: Vec<GlanceRow> =
        groupings.into_iter().filter(single).map(|name| parts.row(name, labels)).collect();
    let against =
        if outcome.is_empty() { String::new() } else { format!(" for {}", labels.outcome(outcome)) };
    let value = significant(first.real("threshold")?, 6).replace('-', "\u{2212}");
    (!rows.is_empty()).then(|| Glance {
        caption: format!("{}{against}: from the lowest to the highest group", labels.index_with_unit(index)),
        beyond: format!(
            "% {} {}",
            labels.beyond(index, first.text("strict") == "yes"),
            labels.index_at(index, &value)
        ),
        rows,
    })
}

/// The rows that the table is put together from.
struct Parts<'a> {
    shares: Vec<Row<'a>>,
    cutoffs: Vec<Row<'a>>,
    tests: Vec<Row<'a>>,
    adjusted: Vec<Row<'a>>,
}

impl Parts<'_> {
    fn row(&self, grouping: &str, labels: &Labels) -> GlanceRow {
        GlanceRow {
            variable: labels.grouping(grouping).to_owned(),
            share: span(&self.shares, grouping, "share_beyond", |_| 1),
            cutoff: span(&self.cutoffs, grouping, "cutoff", |value| places(value).min(4)),
            noise: self
                .tests
                .iter()
                .find(|row| row.text("grouping") == grouping)
                .map_or_else(String::new, noise),
            adjusted: self.adjusted(grouping),
        }
    }

    /// `1.53 as they are, 1.48 after adjusting for age, …`: largest over smallest on the same people.
    fn adjusted(&self, grouping: &str) -> String {
        let of = self.adjusted.iter().filter(|row| row.text("grouping") == grouping);
        let ratio = |row: &Row<'_>| {
            let ratio = aligned(row.shown("ratio")?, 2);
            Some(match row.text("adjustment") {
                "none" => format!("{ratio} as they are"),
                _ => format!("{ratio} after adjusting for {}", row.text("adjusted_for")),
            })
        };
        of.filter_map(ratio).collect::<Vec<_>>().join(", ")
    }
}

fn rows<'a>(table: Option<&'a Table>, index: &str, method: &str) -> Vec<Row<'a>> {
    let wanted = |row: &Row<'_>| row.text("index") == index && row.text("method") == method;
    table.into_iter().flat_map(Table::iter).filter(wanted).collect()
}

fn same_threshold<'a>(shares: &'a Table, first: &Row<'_>) -> Vec<Row<'a>> {
    let same = |row: &Row<'_>| {
        let texts = ["index", "strict", "population"];
        texts.iter().all(|column| row.text(column) == first.text(column))
            && row.real("threshold") == first.real("threshold")
    };
    shares.iter().filter(same).collect()
}

/// `23.6 (17.5–30.6; BMI under 25) to 84.1 (81.2–86.7; BMI 30 and over)`.
fn span(rows: &[Row<'_>], grouping: &str, column: &str, digits: impl Fn(f64) -> usize) -> String {
    let of: Vec<Row<'_>> = rows.iter().copied().filter(|row| row.text("grouping") == grouping).collect();
    let Some(ends) = ends(&of, column) else { return "withheld".to_owned() };
    let digits = digits(ends.low.0).max(digits(ends.high.0));
    let end =
        |(value, row): &(f64, Row<'_>)| format!("{}{}", fixed(*value, digits), range_of_group(row, digits));
    format!("{} to {}", end(&ends.low), end(&ends.high))
}

fn noise(test: &Row<'_>) -> String {
    let Some(p) = test.shown("p_holm") else { return format!("not tested: {}", test.text("withheld")) };
    let verdict = match test.text("conclusion") {
        "differ by more than noise" => "yes",
        _ => "not distinguishable",
    };
    format!("{verdict} (adjusted p {})", p_value(p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;

    #[test]
    fn no_threshold_no_table() {
        assert_eq!(glance(&[], &Labels::default()), None);
    }
}
