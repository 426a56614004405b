//! What thresholds promise: how many of those short of the first are without the outcome, what "below is fine" says, and how
//! many of those beyond each other one have it.

use crate::chart::Labels;
use crate::table::estimate::of_share;
use crate::table::number::significant;
use crate::table::{Row, Table};

use super::answer::widest_grouping;
use super::claim_findings::side_option;
use super::ends::{ends, is_uniform, outside, withheld};
use super::finding::Finding;
use super::percentiles::says_yes_or_no;
use super::sentence::{beyond, short_of};
use super::strip::{Number, Scale, Strip, across, outer};

/// What a row of accuracy is about besides its measure, threshold and group.
const ABOUT: [&str; 3] = ["index", "outcome", "population"];

/// Sentences about the thresholds of the first index, by the first outcome they are judged by.
#[derive(Debug, Default)]
pub(super) struct Promises {
    /// What the first promises of those short of it, and each other one of those beyond.
    pub lead: Option<Finding>,
    /// Whom the next one finds.
    pub more: Option<String>,
}

pub(super) fn promises(tables: &[Table], labels: &Labels, adjusting: &[&str]) -> Promises {
    let Some(table) = tables.iter().find(|table| table.name == "threshold_accuracy") else {
        return Promises::default();
    };
    let cohort = |row: &Row<'_>| row.text("population") == "cohort";
    let Some(first) = table.iter().find(cohort) else { return Promises::default() };
    let rows: Vec<Row<'_>> = table
        .iter()
        .filter(|row| ABOUT.iter().all(|column| row.text(column) == first.text(column)))
        .collect();
    let at = |row: &Row<'_>| (row.real("threshold"), row.text("strict") == "yes");
    let mut thresholds: Vec<_> = Vec::new();
    for row in &rows {
        if !thresholds.contains(&at(row)) {
            thresholds.push(at(row));
        }
    }
    let told = |of: &(Option<f64>, bool)| Told {
        rows: rows.iter().copied().filter(|row| at(row) == *of).collect(),
        labels,
        adjusting,
    };
    let spared = told(&at(&first)).spared();
    let asked = spared.is_some() && !says_yes_or_no(tables, labels, first.text("index"));
    let command = if asked { verdict(&first, labels) } else { None };
    let mut lead: Vec<String> = spared.into_iter().collect();
    let mut parts: Vec<(String, Vec<Number>)> = told(&at(&first)).marked("npv", true).into_iter().collect();
    for (position, other) in thresholds[1..].iter().enumerate() {
        lead.extend(told(other).have_it(lead.is_empty(), position == 0));
        parts.extend(told(other).marked("ppv", position == 0));
    }
    let strip = Strip::new(Scale::Percent, parts);
    let finding = |text| Finding { heading: "What the threshold says of the outcome", text, command, strip };
    Promises {
        lead: Some(lead.join(" ")).filter(|text| !text.is_empty()).map(finding),
        more: thresholds.get(1).and_then(|next| told(next).found()),
    }
}

/// The command that holds "this side is fine" against every group.
fn verdict(first: &Row<'_>, labels: &Labels) -> Option<String> {
    let (index, outcome) = (first.text("index"), first.text("outcome"));
    let option = side_option(labels.short_of(index, first.text("strict") == "yes"));
    let value = significant(first.real("threshold")?, 6);
    Some(format!(
        "cutspan claim --index {index} {option} {value} --outcome {outcome} --says \"npv at least 90 %\" FOLDER"
    ))
}

/// The rows about one threshold.
struct Told<'a> {
    rows: Vec<Row<'a>>,
    labels: &'a Labels,
    adjusting: &'a [&'a str],
}

impl<'a> Told<'a> {
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

    /// How many of those at or beyond it have the outcome, which is named where nothing was said of it yet.
    fn have_it(&self, named: bool, by_group: bool) -> Option<String> {
        let (all, share, across) = self.measured("ppv")?;
        let side = self.side(&all)?;
        let across = if by_group { across } else { String::new() };
        Some(if named {
            format!(
                "In {}, of the people {side}, {share} have the outcome, {}{across}.",
                self.labels.survey(all.text("survey")),
                self.labels.outcome(all.text("outcome")),
            )
        } else {
            format!("Of those {side}, {share} have it{across}.")
        })
    }

    /// How many of those who have the outcome are at or beyond it.
    fn found(&self) -> Option<String> {
        let (all, share, across) = self.measured("sensitivity")?;
        Some(format!(
            "In {}, of all people with the outcome, {}, {share} are {}{across}.",
            self.labels.survey(all.text("survey")),
            self.labels.outcome(all.text("outcome")),
            self.side(&all)?,
        ))
    }

    /// A measure as marks: of those short of the threshold or beyond it, everybody's share and those of the outer groups.
    fn marked(&self, measure: &str, by_group: bool) -> Option<(String, Vec<Number>)> {
        let all = self.of_everybody(measure)?;
        let (index, strict) = (all.text("index"), all.text("strict") == "yes");
        let title = match measure {
            "npv" => {
                let side = short_of(self.labels, index, strict, all.real("threshold")?);
                format!("without the outcome, of those {side}")
            }
            _ => format!("with the outcome, of those {}", self.side(&all)?),
        };
        let groups = if by_group { self.groups(measure) } else { Vec::new() };
        let number = |row: &Row<'_>| Number::of(row, "value", 100.0, share(row)?);
        let ends = ends(&groups, "value");
        Some((across(title, ends.as_ref(), self.labels), outer(Some(all), ends.as_ref(), number)))
    }

    fn side(&self, row: &Row<'_>) -> Option<String> {
        Some(beyond(self.labels, row.text("index"), row.text("strict") == "yes", row.real("threshold")?))
    }

    fn of(&self, measure: &str) -> impl Iterator<Item = Row<'a>> {
        self.rows.iter().copied().filter(move |row| row.text("measure") == measure)
    }

    fn of_everybody(&self, measure: &str) -> Option<Row<'a>> {
        self.of(measure).find(|row| row.text("grouping") == "everybody")
    }

    /// The groups between which a measure lies furthest apart.
    fn groups(&self, measure: &str) -> Vec<Row<'a>> {
        let ranked = self.of(measure).filter(|row| !is_uniform(row));
        widest_grouping(ranked, "value", self.adjusting)
    }

    /// Everybody's row of a measure, its share, and between which groups that runs; `None` where it is withheld.
    fn measured(&self, measure: &str) -> Option<(Row<'a>, String, String)> {
        let all = self.of_everybody(measure)?;
        let across = ends(&self.groups(measure), "value").map(|ends| {
            format!(
                "; across {} this runs from {} in “{}” to {} in “{}”{}{}",
                self.labels.grouping(ends.low.1.text("grouping")),
                share(&ends.low.1).unwrap_or_default(),
                ends.low.1.text("group"),
                share(&ends.high.1).unwrap_or_default(),
                ends.high.1.text("group"),
                withheld("share", ends.withheld),
                all.shown("value").map_or("", |everybody| outside(everybody, &ends)),
            )
        });
        Some((all, share(&all)?, across.unwrap_or_default()))
    }
}

/// `81 % (78–84)`, in whole per cent as a claim has it; `None` where it is withheld.
fn share(row: &Row<'_>) -> Option<String> {
    let percent = |column: &str| row.shown(column).map(|share| 100.0 * share);
    let ends = percent("lower").zip(percent("upper"));
    let (share, interval) = of_share(percent("value")?, ends, 0);
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
            ("ppv", 3.0, "o", "everybody", "everybody", Some(0.7)),
            ("ppv", 3.0, "o", "age", "20-39", Some(0.4)),
            ("ppv", 3.0, "o", "age", "40-59", Some(0.5)),
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
        promises(&[table], &Labels::default(), adjusting).lead.expect("a finding").text
    }

    #[test]
    fn those_short_of_the_threshold_without_the_outcome_are_told_for_everybody_and_the_outer_groups() {
        let start = "In , of the people below homa_ir 2, 81\u{a0}% (76–85) are without the outcome, o";
        let groups =
            "across age this runs from 55\u{a0}% (50–59) in “60 and over” to 95\u{a0}% (90–99) in “20-39”";
        assert!(said(judged(Some(0.5528)), &[]).starts_with(&format!("{start}; {groups}. Of those ")));
        let outside = "everybody’s lies outside these: the groups shown leave some people out";
        let end = format!("in “20-39”; the share of one group is withheld; {outside}. Of those ");
        assert!(said(judged(None), &[]).contains(&end), "82 % to 95 % where everybody has 81 %");
        let alone = said(judged(None), &["age"]);
        assert!(alone.starts_with(&format!("{start}. Of those ")), "age only adjusts: {alone}");
    }

    #[test]
    fn nothing_is_told_without_an_outcome() {
        assert!(promises(&[], &Labels::default(), &[]).lead.is_none());
    }

    #[test]
    fn of_each_other_threshold_it_is_told_in_the_same_paragraph_how_many_beyond_it_have_the_outcome() {
        let said = said(judged(None), &[]);
        let others = "Of those at or above homa_ir 2.5, 58\u{a0}% (53–62) have it; across age this runs from 31\u{a0}% \
                      (26–35) in “20-39” to 72\u{a0}% (67–76) in “60 and over”. Of those at or above homa_ir 3, \
                      70\u{a0}% (65–74) have it.";
        assert!(said.ends_with(others), "{said}");
        let found = promises(&[judged(None)], &Labels::default(), &[]).more;
        let finds = "In , of all people with the outcome, o, 66\u{a0}% (61–70) are at or above homa_ir 2.5.";
        assert_eq!(found.as_deref(), Some(finds));
    }

    #[test]
    fn the_outcome_is_named_where_nothing_is_known_of_those_short_of_the_first() {
        let mut table = judged(None);
        let measure = table.position("measure").expect("a column");
        table.rows.retain(|row| row[measure] != crate::table::Cell::Text("npv".to_owned()));
        let lead = promises(&[table], &Labels::default(), &[]).lead.expect("a finding");
        let text = &lead.text;
        assert!(text.starts_with("In , of the people at or above homa_ir 2.5, 58\u{a0}%"), "{text}");
        assert!(text.contains("have the outcome, o; across age") && lead.command.is_none(), "{text}");
    }

    #[test]
    fn how_to_ask_for_a_verdict_is_said_in_one_clause() {
        let said = promises(&[judged(None)], &Labels::default(), &[]).lead.expect("a finding");
        let command =
            "cutspan claim --index homa_ir --below 2 --outcome o --says \"npv at least 90 %\" FOLDER";
        assert_eq!(said.command.as_deref(), Some(command));
        assert!(said.into_text().ends_with(&format!("have it. For a verdict: {command}.")));
    }
}
