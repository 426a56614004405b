//! How many of those short of the first threshold are without the outcome: what "below is fine" promises.

use crate::chart::Labels;
use crate::table::number::fixed;
use crate::table::{Row, Table};

use super::answer::widest_grouping;
use super::sentence::{ends, outside, short_of, withheld};

const MEASURE: &str = "npv";

/// One sentence about the first threshold and the first outcome it is judged by.
pub(super) fn sentence(tables: &[Table], labels: &Labels, adjusting: &[&str]) -> Option<String> {
    let table = tables.iter().find(|table| table.name == "threshold_accuracy")?;
    let judged = |row: &Row<'_>| row.text("measure") == MEASURE && row.text("population") == "cohort";
    let all = table.iter().filter(judged).find(|row| row.text("grouping") == "everybody")?;
    let same = |row: &Row<'_>| {
        let texts = ["index", "outcome", "strict"];
        judged(row)
            && row.real("threshold") == all.real("threshold")
            && texts.iter().all(|column| row.text(column) == all.text(column))
    };
    let groups = widest_grouping(table.iter().filter(same), "value", adjusting);
    let across = ends(&groups, "value").map(|ends| {
        format!(
            "; across {} this runs from {} in “{}” to {} in “{}”{}{}",
            labels.grouping(ends.low.1.text("grouping")),
            share(&ends.low.1, labels).unwrap_or_default(),
            ends.low.1.text("group"),
            share(&ends.high.1, labels).unwrap_or_default(),
            ends.high.1.text("group"),
            withheld("share", ends.withheld),
            all.shown("value").map_or("", |everybody| outside(everybody, &ends)),
        )
    });
    Some(format!(
        "In {}, of the people {}, {} are without the outcome, {}{}.",
        labels.survey(all.text("survey")),
        short_of(labels, all.text("index"), all.text("strict") == "yes", all.real("threshold")?),
        share(&all, labels)?,
        labels.outcome(all.text("outcome")),
        across.unwrap_or_default()
    ))
}

/// `81.2 % (77.9–84.2)`; `None` where it is withheld.
fn share(row: &Row<'_>, labels: &Labels) -> Option<String> {
    let percent =
        |column: &str| row.shown(column).map(|share| fixed(100.0 * share, labels.percent_places(1)));
    let range = percent("lower").zip(percent("upper")).map(|(lower, upper)| format!(" ({lower}–{upper})"));
    Some(format!("{} %{}", percent("value")?, range.unwrap_or_default()))
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
            ("npv", 2.5, "o", "age", "20-39", Some(0.1)),
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
        sentence(&[table], &Labels::default(), adjusting).expect("a sentence")
    }

    #[test]
    fn those_short_of_the_threshold_without_the_outcome_are_told_for_everybody_and_the_outer_groups() {
        let start = "In , of the people below homa_ir 2, 81.2 % (76.2–85.2) are without the outcome, o";
        assert_eq!(
            said(judged(Some(0.5528)), &[]),
            format!(
                "{start}; across age this runs from 55.3 % (50.3–59.3) in “60 and over” to 95.1 % (90.1–99.1) in “20-39”."
            )
        );
        let outside = "everybody’s lies outside these: the groups shown leave some people out";
        let end = format!("in “20-39”; the share of one group is withheld; {outside}.");
        assert!(said(judged(None), &[]).ends_with(&end), "82.2 % to 95.1 % where everybody has 81.2 %");
        assert_eq!(said(judged(None), &["age"]), format!("{start}."), "age only adjusts");
    }

    #[test]
    fn nothing_is_told_without_an_outcome() {
        assert_eq!(sentence(&[], &Labels::default(), &[]), None);
    }
}
