//! What thresholds promise: how many of those short of the first are without the outcome, what "below is fine" says, and how
//! many of those beyond the next have it.

use crate::chart::Labels;
use crate::table::estimate::of_share;
use crate::table::{Row, Table};

use super::answer::widest_grouping;
use super::sentence::{beyond, ends, outside, short_of, withheld};

/// What a row of accuracy is about besides its measure, threshold and group.
const ABOUT: [&str; 3] = ["index", "outcome", "population"];

/// One sentence about the first threshold and one about the next of its index, by the first outcome they are judged by.
pub(super) fn sentences(tables: &[Table], labels: &Labels, adjusting: &[&str]) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "threshold_accuracy") else {
        return Vec::new();
    };
    let cohort = |row: &Row<'_>| row.text("population") == "cohort";
    let Some(first) = table.iter().find(cohort) else { return Vec::new() };
    let rows: Vec<Row<'_>> = table
        .iter()
        .filter(|row| ABOUT.iter().all(|column| row.text(column) == first.text(column)))
        .collect();
    let at = |row: &Row<'_>| (row.real("threshold"), row.text("strict") == "yes");
    let next = rows.iter().find(|row| at(row) != at(&first));
    let told = |of: &Row<'_>| Told {
        rows: rows.iter().copied().filter(|row| at(row) == at(of)).collect(),
        labels,
        adjusting,
    };
    [told(&first).spared(), next.and_then(|next| told(next).found())].into_iter().flatten().collect()
}

/// The rows about one threshold.
struct Told<'a> {
    rows: Vec<Row<'a>>,
    labels: &'a Labels,
    adjusting: &'a [&'a str],
}

impl Told<'_> {
    /// How many of those short of it are without the outcome.
    fn spared(&self) -> Option<String> {
        let (all, share, across) = self.measured("npv")?;
        let (index, strict) = (all.text("index"), all.text("strict") == "yes");
        Some(format!(
            "In {}, of the people {}, {share} are without the outcome, {}{across}.",
            self.labels.survey(all.text("survey")),
            short_of(self.labels, index, strict, all.real("threshold")?),
            self.labels.outcome(all.text("outcome")),
        ))
    }

    /// How many of those at or beyond it have the outcome, and how many of those who have it they are.
    fn found(&self) -> Option<String> {
        let (all, share, across) = self.measured("ppv")?;
        let side =
            beyond(self.labels, all.text("index"), all.text("strict") == "yes", all.real("threshold")?);
        let finds = self.measured("sensitivity").map_or_else(String::new, |(_, share, across)| {
            format!(" Of all people with the outcome, {share} are {side}{across}.")
        });
        Some(format!(
            "In {}, of the people {side}, {share} have the outcome, {}{across}.{finds}",
            self.labels.survey(all.text("survey")),
            self.labels.outcome(all.text("outcome")),
        ))
    }

    /// Everybody's row of a measure, its share, and between which groups that runs; `None` where it is withheld.
    fn measured(&self, measure: &str) -> Option<(Row<'_>, String, String)> {
        let of = || self.rows.iter().copied().filter(|row| row.text("measure") == measure);
        let all = of().find(|row| row.text("grouping") == "everybody")?;
        let groups = widest_grouping(of(), "value", self.adjusting);
        let across = ends(&groups, "value").map(|ends| {
            format!(
                "; across {} this runs from {} in “{}” to {} in “{}”{}{}",
                self.labels.grouping(ends.low.1.text("grouping")),
                share(&ends.low.1, self.labels).unwrap_or_default(),
                ends.low.1.text("group"),
                share(&ends.high.1, self.labels).unwrap_or_default(),
                ends.high.1.text("group"),
                withheld("share", ends.withheld),
                all.shown("value").map_or("", |everybody| outside(everybody, &ends)),
            )
        });
        Some((all, share(&all, self.labels)?, across.unwrap_or_default()))
    }
}

/// `81.2 % (77.9–84.2)`; `None` where it is withheld.
fn share(row: &Row<'_>, labels: &Labels) -> Option<String> {
    let percent = |column: &str| row.shown(column).map(|share| 100.0 * share);
    let ends = percent("lower").zip(percent("upper"));
    let (share, interval) = of_share(percent("value")?, ends, labels.percent_places(1));
    Some(format!("{share}\u{a0}%{interval}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    /// Everybody and two groups, and rows of another measure, threshold and outcome that must not be told.
    fn judged(of_old: Option<f64>) -> Table {
        let mut table = Table::new(schema::shape("threshold_accuracy").expect("a table"));
        for (measure, threshold, outcome, grouping, group, value) in [
            ("sensitivity", 2.0, "o", "everybody", "everybody", Some(0.1)),
            ("npv", 2.0, "o", "everybody", "everybody", Some(0.8122)),
            ("npv", 2.0, "o", "age", "20-39", Some(0.9509)),
            ("npv", 2.0, "o", "age", "60 and over", of_old),
            ("npv", 2.0, "o", "age", "40-59", Some(0.8218)),
            ("ppv", 2.5, "o", "everybody", "everybody", Some(0.581)),
            ("ppv", 2.5, "o", "age", "20-39", Some(0.31)),
            ("ppv", 2.5, "o", "age", "60 and over", Some(0.72)),
            ("npv", 2.5, "o", "age", "20-39", Some(0.1)),
            ("sensitivity", 2.5, "o", "everybody", "everybody", Some(0.66)),
            ("npv", 2.0, "other", "age", "20-39", Some(0.2)),
        ] {
            let row = table.row().text("index", "homa_ir").text("population", "cohort").text("strict", "no");
            let row =
                row.text("measure", measure).real("threshold", Some(threshold)).text("outcome", outcome);
            let row = row.text("grouping", grouping).text("group", group).real("value", value);
            let row = row.real("lower", value.map(|v| v - 0.05)).real("upper", value.map(|v| v + 0.04));
            row.text("withheld", if value.is_none() { "few" } else { "" }).done().expect("a row");
        }
        table
    }

    fn said(table: Table, adjusting: &[&str]) -> String {
        sentences(&[table], &Labels::default(), adjusting).into_iter().next().expect("a sentence")
    }

    #[test]
    fn those_short_of_the_threshold_without_the_outcome_are_told_for_everybody_and_the_outer_groups() {
        let start = "In , of the people below homa_ir 2, 81.2\u{a0}% (76.2–85.2) are without the outcome, o";
        assert_eq!(
            said(judged(Some(0.5528)), &[]),
            format!(
                "{start}; across age this runs from 55.3\u{a0}% (50.3–59.3) in “60 and over” to 95.1\u{a0}% (90.1–99.1) in “20-39”."
            )
        );
        let outside = "everybody’s lies outside these: the groups shown leave some people out";
        let end = format!("in “20-39”; the share of one group is withheld; {outside}.");
        assert!(said(judged(None), &[]).ends_with(&end), "82.2 % to 95.1 % where everybody has 81.2 %");
        assert_eq!(said(judged(None), &["age"]), format!("{start}."), "age only adjusts");
    }

    #[test]
    fn nothing_is_told_without_an_outcome() {
        assert!(sentences(&[], &Labels::default(), &[]).is_empty());
    }

    #[test]
    fn of_the_next_threshold_it_is_told_how_many_beyond_it_have_the_outcome_and_whom_it_finds() {
        let said = sentences(&[judged(None)], &Labels::default(), &[]);
        assert_eq!(said.len(), 2);
        assert_eq!(
            said[1],
            "In , of the people at or above homa_ir 2.5, 58.1\u{a0}% (53.1–62.1) have the outcome, o; across age this runs from \
             31.0\u{a0}% (26.0–35.0) in “20-39” to 72.0\u{a0}% (67.0–76.0) in “60 and over”. Of all people with the outcome, \
             66.0\u{a0}% (61.0–70.0) are at or above homa_ir 2.5."
        );
    }
}
