//! How far the shares beyond the first threshold lie apart by ancestry, as they are and after the fullest adjustment, and what
//! each adjustment takes of that: cutoffs that cannot be told apart do not make shares alike.

use crate::chart::Labels;
use crate::table::number::fixed;
use crate::table::{Row, Table};

use super::ends::{Ends, ends, has_interval};
use super::finding::Finding;
use super::glance::rows;
use super::sentence::{beyond, percent};
use super::strip::{Number, Scale, Strip, outer};

/// One finding for every grouping by ancestry, about the index of the first threshold.
pub(super) fn findings(tables: &[Table], labels: &Labels) -> Vec<Finding> {
    let Some(index) = rows(tables, "threshold_shares").next().map(|row| row.text("index")) else {
        return Vec::new();
    };
    let wanted = |row: &Row<'_>| {
        row.text("grouping").starts_with("ancestry")
            && row.text("population") == "cohort"
            && row.text("index") == index
            && row.text("measure") == "share_beyond"
    };
    let all: Vec<Row<'_>> = rows(tables, "standardised_values").filter(wanted).collect();
    let mut groupings: Vec<&str> = all.iter().map(|row| row.text("grouping")).collect();
    groupings.dedup();
    let of = |grouping: &&str| {
        let of: Vec<Row<'_>> = all.iter().copied().filter(|row| row.text("grouping") == *grouping).collect();
        finding(&of, labels)
    };
    groupings.iter().filter_map(of).collect()
}

/// The shares of one grouping beyond the first of its thresholds.
fn finding(rows: &[Row<'_>], labels: &Labels) -> Option<Finding> {
    let asked = rows.first()?;
    let threshold = asked.real("threshold")?;
    let first = |row: &&Row<'_>| {
        row.real("threshold") == Some(threshold) && row.text("strict") == asked.text("strict")
    };
    let rows: Vec<&Row<'_>> = rows.iter().filter(first).collect();
    let mut adjustments: Vec<Adjustment<'_>> = Vec::new();
    for row in &rows {
        let name = row.text("adjusted_for");
        if adjustments.iter().all(|known| known.name != name) {
            let of: Vec<Row<'_>> =
                rows.iter().filter(|other| other.text("adjusted_for") == name).map(|row| **row).collect();
            let none = row.text("adjustment") == "none";
            adjustments.extend(ends(&of, "value").map(|ends| Adjustment { name, none, ends }));
        }
    }
    let (raw, last) = adjustments.split_first().and_then(|(raw, rest)| Some((raw, rest.last()?)))?;
    let parts = [raw, last].map(|one| one.range(labels.percent_places(1)));
    let strip =
        Strip::new(Scale::Percent, [raw, last].map(|one| one.marked(labels.percent_places(1))).into());
    let text = format!(
        "The shares {} by {}, among the people who can be adjusted, run {}.{}",
        beyond(labels, asked.text("index"), asked.text("strict") == "yes", threshold),
        labels.grouping(asked.text("grouping")).split(',').next().unwrap_or_default(),
        parts.join("; "),
        taken(&adjustments).unwrap_or_default()
    );
    Some(Finding { heading: "By ancestry, before and after adjusting", text, command: None, strip })
}

/// What the people are made alike in, and the outermost groups then.
struct Adjustment<'a> {
    name: &'a str,
    none: bool,
    ends: Ends<'a>,
}

impl Adjustment<'_> {
    fn range(&self, places: usize) -> String {
        let end = |(share, row): &(f64, Row<'_>)| {
            let unsure = if has_interval(row) { "" } else { " (no interval)" };
            format!("{}{unsure} in “{}”", percent((*share, row), places), row.text("group"))
        };
        let range = format!("from {} to {}", end(&self.ends.low), end(&self.ends.high));
        if self.none {
            format!("{range} as they are")
        } else {
            format!("after adjusting for {} {range}", self.name)
        }
    }

    /// Both ends as marks, under what was done.
    fn marked(&self, places: usize) -> (String, Vec<Number>) {
        let title =
            if self.none { "as they are".to_owned() } else { format!("after adjusting for {}", self.name) };
        let number =
            |row: &Row<'_>| Number::of(row, "value", 1.0, percent((row.shown("value")?, row), places));
        (title, outer(None, Some(&self.ends), number))
    }

    /// Whether both ends are printed with their intervals.
    fn is_certain(&self) -> bool {
        has_interval(&self.ends.low.1) && has_interval(&self.ends.high.1)
    }

    fn gap(&self) -> f64 {
        self.ends.high.0 - self.ends.low.0
    }
}

/// How much of the gap each adjustment takes, where its ends have intervals.
fn taken(adjustments: &[Adjustment<'_>]) -> Option<String> {
    let raw = adjustments.iter().find(|one| one.none).map(Adjustment::gap).filter(|gap| *gap > 0.0)?;
    let part = |one: &Adjustment<'_>| {
        let taken = 100.0 * (raw - one.gap()) / raw;
        let (verb, size) = if taken < 0.0 { ("adds", -taken) } else { ("takes", taken) };
        format!("adjusting for {} {verb} {}\u{a0}%", one.name, fixed(size, 0))
    };
    let parts: Vec<String> =
        adjustments.iter().filter(|one| !one.none && one.is_certain()).map(part).collect();
    if parts.is_empty() {
        return None;
    }
    Some(format!(
        " Of the gap of {} percentage points, {}; the gap holds noise too.",
        fixed(raw, 1),
        parts.join(", ")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn shares_by_ancestry_are_told_as_they_are_and_after_the_fullest_adjustment() {
        let mut table = Table::new(schema::shape("standardised_values").expect("a table"));
        for (threshold, adjustment, adjusted_for, shares) in [
            (2.0, "none", "nothing", [34.3, 65.02]),
            (2.5, "none", "nothing", [1.0, 2.0]),
            (2.0, "age", "age", [33.9, 65.3]),
            (2.0, "age × bmi", "age and body mass index", [38.0, 61.04]),
            (2.0, "age × bmi × x", "all", [50.0, 51.0]),
        ] {
            for (group, share) in ["north", "south"].into_iter().zip(shares) {
                let row = table.row().text("index", "homa_ir").text("population", "cohort");
                let row = row.text("grouping", "ancestry").text("group", group).text("strict", "no");
                let row = row.text("measure", "share_beyond").real("threshold", Some(threshold));
                let row = row.text("adjustment", adjustment).text("adjusted_for", adjusted_for);
                let ends = [share - 2.0, share + 2.0].map(|end| Some(end).filter(|_| adjusted_for != "all"));
                let row = row.real("lower", ends[0]).real("upper", ends[1]);
                row.real("value", Some(share)).done().expect("a row");
            }
        }
        let mut asked = Table::new(schema::shape("threshold_shares").expect("a table"));
        asked.row().text("index", "homa_ir").done().expect("a row");
        let said = findings(&[asked, table], &Labels::default());
        assert_eq!(said.len(), 1);
        let said = said[0].text.replace('\u{a0}', " ");
        assert!(said.starts_with("The shares at or above homa_ir 2 by ancestry, "), "{said}");
        assert!(
            said.contains(
                "run from 34.3 % (32.3–36.3) in “north” to 65.0 % (63.0–67.0) in “south” as they are; after adjusting for all from \
                 50.0 % (no interval) in “north” to 51.0 % (no interval) in “south”. Of the gap"
            ),
            "{said}"
        );
        // 30.72 as they are; 31.4 and 23.04 are left.
        assert!(
            said.ends_with(
                "Of the gap of 30.7 percentage points, adjusting for age adds 2 %, adjusting for age \
                 and body mass index takes 25 %; the gap holds noise too."
            ),
            "{said}"
        );
    }
}
