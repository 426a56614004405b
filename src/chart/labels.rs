//! What names are called in charts and report.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::table::number::significant;

/// How an index is called and read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct IndexLabel {
    pub label: String,
    /// `1` for a pure number.
    pub unit: String,
    /// Whether lower values mean more insulin resistance.
    pub lower_is_resistant: bool,
}

/// What is said of people, by what is known of how they were drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DesignWords {
    /// Whether they stand for a population.
    pub is_sample: bool,
    /// After "shares and medians are".
    pub weighted: &'static str,
    /// After "lines and brackets are".
    pub intervals: &'static str,
    /// After "replicates of".
    pub drawn: &'static str,
    /// After "in 95 of 100 such".
    pub many: &'static str,
    /// After "binomial intervals for as many people as".
    pub worth: &'static str,
}

/// How many intervals hold the truth, in words: `95 %`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Confidence(String);

impl Confidence {
    #[must_use]
    pub fn of(share: f64) -> Self {
        Self(format!("{} %", significant(100.0 * share, 6)))
    }
}

/// That of a study which states none.
impl Default for Confidence {
    fn default() -> Self {
        Self::of(0.95)
    }
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Labels for the names that stand in the tables. A name without a label is shown as it is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Labels {
    /// What the sources together are called.
    pub survey: String,
    pub design: DesignWords,
    /// Of the study's intervals.
    pub confidence: Confidence,
    pub indices: BTreeMap<String, IndexLabel>,
    pub outcomes: BTreeMap<String, String>,
    /// Indices, each with an outcome that counts a part of it, or treatment for it.
    pub counted_parts: BTreeSet<(String, String)>,
    pub groupings: BTreeMap<String, String>,
    pub populations: BTreeMap<String, String>,
    pub rules: BTreeMap<String, String>,
    /// The fewest people that may be shown; `None` where any number may.
    pub fewest_shown: Option<i64>,
    /// Whether the weights of the people add up to those of a population.
    pub weights_are_people: bool,
    /// Levels of a grouping in their order; groups not listed follow in the order of the table.
    pub levels: BTreeMap<String, Vec<String>>,
}

impl Labels {
    #[must_use]
    pub fn index_label<'a>(&'a self, name: &'a str) -> &'a str {
        self.indices.get(name).map_or(name, |index| &index.label)
    }

    /// Label and unit of an index: `Insulin (µU/mL)`, or the label alone for a pure number.
    #[must_use]
    pub fn index_with_unit(&self, name: &str) -> String {
        match self.indices.get(name) {
            Some(index) if index.unit != "1" && !index.unit.is_empty() => {
                format!("{} ({})", index.label, index.unit)
            }
            _ => self.index_label(name).to_owned(),
        }
    }

    /// An index and one of its values in a sentence: `Insulin 12 µU/mL`, `HOMA-IR 2.5`.
    #[must_use]
    pub fn index_at(&self, name: &str, value: &str) -> String {
        match self.indices.get(name) {
            Some(index) if index.unit != "1" && !index.unit.is_empty() => {
                format!("{} {value} {}", index.label, index.unit)
            }
            _ => format!("{} {value}", self.index_label(name)),
        }
    }

    #[must_use]
    pub fn lower_is_resistant(&self, index: &str) -> bool {
        self.indices.get(index).is_some_and(|index| index.lower_is_resistant)
    }

    /// Decimals of a percentage: of people who may not be shown in small counts whole per cent are known.
    #[must_use]
    pub fn percent_places(&self, usual: usize) -> usize {
        if self.fewest_shown.is_some() { 0 } else { usual }
    }

    /// How a value past a threshold is spoken of: `at or above`, `below` …
    #[must_use]
    pub fn beyond(&self, index: &str, strict: bool) -> &'static str {
        match (self.lower_is_resistant(index), strict) {
            (false, false) => "at or above",
            (false, true) => "above",
            (true, false) => "at or below",
            (true, true) => "below",
        }
    }

    /// The side of everybody else: `below`.
    #[must_use]
    pub fn short_of(&self, index: &str, strict: bool) -> &'static str {
        other_side(self.beyond(index, strict))
    }

    #[must_use]
    pub fn outcome<'a>(&'a self, name: &'a str) -> &'a str {
        lookup(&self.outcomes, name)
    }

    /// Whether an outcome counts what an index is made of.
    #[must_use]
    pub fn counts_part_of(&self, index: &str, outcome: &str) -> bool {
        self.counted_parts.contains(&(index.to_owned(), outcome.to_owned()))
    }

    /// A sentence after others, where it does.
    #[must_use]
    pub fn built_in(&self, index: &str, outcome: &str) -> String {
        if !self.counts_part_of(index, outcome) {
            return String::new();
        }
        format!(
            " The outcome counts a part of {}: their agreement is partly built in.",
            self.index_label(index)
        )
    }

    #[must_use]
    pub fn grouping<'a>(&'a self, name: &'a str) -> &'a str {
        lookup(&self.groupings, name)
    }

    #[must_use]
    pub fn population<'a>(&'a self, name: &'a str) -> &'a str {
        match (self.populations.get(name), name) {
            (Some(label), _) => label,
            (None, "cohort") => "the whole cohort",
            (None, _) => name,
        }
    }

    /// The people of a reference group: those with what its label says, or of its name where it has none.
    #[must_use]
    pub fn people_of(&self, name: &str) -> String {
        let words = name.replace('_', " ");
        match self.populations.get(name).filter(|label| **label != words) {
            Some(label) => format!("people with {label}"),
            None => format!("people of the reference group “{words}”"),
        }
    }

    #[must_use]
    pub fn rule<'a>(&'a self, name: &'a str) -> &'a str {
        lookup(&self.rules, name)
    }

    /// The label of the survey, or the name in the tables when it has none.
    #[must_use]
    pub fn survey<'a>(&'a self, name: &'a str) -> &'a str {
        if self.survey.is_empty() { name } else { &self.survey }
    }
}

fn lookup<'a>(labels: &'a BTreeMap<String, String>, name: &'a str) -> &'a str {
    labels.get(name).map_or(name, String::as_str)
}

/// The side of a threshold on which those are who are not on this one.
#[must_use]
pub fn other_side(side: &str) -> &'static str {
    match side {
        "below" => "at or above",
        "at or below" => "above",
        "at or above" => "below",
        _ => "at or below",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn confidence_is_said_in_per_cent() {
        let said = [0.9, 0.95, 0.99, 0.999].map(|share| Confidence::of(share).to_string());
        assert_eq!(said, ["90 %", "95 %", "99 %", "99.9 %"]);
        assert_eq!(Labels::default().confidence, Confidence::of(0.95));
    }

    #[test]
    fn a_reference_group_without_a_label_is_called_by_its_name() {
        let populations = [("lean", "BMI under 25"), ("no_drugs", "no drugs")];
        let populations = populations.map(|(name, label)| (name.to_owned(), label.to_owned())).into();
        let labels = Labels { populations, ..Labels::default() };
        assert_eq!(labels.people_of("lean"), "people with BMI under 25");
        assert_eq!(labels.people_of("no_drugs"), "people of the reference group “no drugs”");
    }
}
