//! Cutoffs in print: what others found, with their population and rule.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;

/// A stage of life that neither age nor sex tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    BeforePuberty,
    InPuberty,
    BeforeMenopause,
    AfterMenopause,
}

impl Stage {
    /// The stage in words: `before menopause`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::BeforePuberty => "before puberty",
            Self::InPuberty => "in puberty",
            Self::BeforeMenopause => "before menopause",
            Self::AfterMenopause => "after menopause",
        }
    }
}

/// A cutoff of one index as a source prints it, in the unit of the index.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Published {
    pub name: String,
    pub index: String,
    pub value: f64,
    /// The unit as printed, where it is not the index's.
    #[serde(default)]
    pub unit: String,
    /// Why the number has no place on the index although it is often laid beside it; empty where it has one.
    #[serde(default)]
    pub form: String,
    /// Whether the cutoff itself counts as not beyond; `None` where the source does not say.
    pub strict: Option<bool>,
    pub country: String,
    pub population: String,
    /// People the cutoff rests on.
    pub n: u32,
    pub sex: String,
    pub age_from: Option<f64>,
    pub age_below: Option<f64>,
    pub bmi_from: Option<f64>,
    pub bmi_below: Option<f64>,
    /// The stage of life of its people, where the source has one.
    pub stage: Option<Stage>,
    pub rule: String,
    /// Percentile in the order of resistance, where the cutoff is one.
    pub percentile: Option<f64>,
    /// Whether the percentile is one of a reference group.
    #[serde(default)]
    pub of_reference: bool,
    /// Rules of this program that are the source's.
    #[serde(default)]
    pub rules: Vec<String>,
    /// Empty for a percentile.
    pub outcome: String,
    /// Outcomes of this program that are the source's: names, or how names begin, best first.
    #[serde(default)]
    pub outcome_names: Vec<String>,
    /// Of insulin; empty where the source does not state it.
    #[serde(default)]
    pub assay: String,
    pub source: String,
    pub standing: Standing,
    #[serde(default)]
    pub note: String,
}

impl Published {
    /// What counts as beyond, in words.
    #[must_use]
    pub fn comparison(&self) -> &'static str {
        match self.strict {
            Some(true) => "beyond",
            Some(false) => "at or beyond",
            None => "not stated",
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PublishedFile {
    published: Vec<Published>,
}

static PUBLISHED: LazyLock<Vec<Published>> = LazyLock::new(|| {
    let file: PublishedFile =
        toml::from_str(include_str!("published.toml")).expect("the embedded rows are read by a test");
    file.published
});

/// Cutoffs in print, in the order of their file.
#[must_use]
pub fn published() -> &'static [Published] {
    &PUBLISHED
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::{indices, outcomes};
    use crate::stats::rule::RULES;

    #[test]
    fn every_published_cutoff_names_a_known_index_and_people() {
        assert!(!published().is_empty());
        for (at, row) in published().iter().enumerate() {
            assert!(published()[..at].iter().all(|other| other.name != row.name), "{}", row.name);
            assert!(indices().iter().any(|i| i.name == row.index), "{}: {}", row.name, row.index);
            assert!(row.value > 0.0 && row.n > 0, "{}", row.name);
            assert!(["both", "male", "female"].contains(&row.sex.as_str()), "{}", row.sex);
            assert_eq!(row.standing, Standing::Published, "{}: only what was read in its source", row.name);
            assert!(
                row.unit.is_empty() || !row.form.is_empty(),
                "{}: a unit of its own needs a form",
                row.name
            );
        }
    }

    #[test]
    fn every_published_cutoff_names_rules_outcomes_and_limits_that_exist() {
        for row in published() {
            for rule in &row.rules {
                assert!(RULES.iter().any(|known| known.name == *rule), "{}: {rule}", row.name);
            }
            for name in &row.outcome_names {
                assert!(outcomes().iter().any(|known| known.name.starts_with(name)), "{}: {name}", row.name);
            }
            assert!(row.percentile.is_none_or(|p| p > 50.0 && p < 100.0), "{}", row.name);
            assert!(row.percentile.is_none() || row.rules.is_empty(), "{}: one rule", row.name);
            for (from, below) in [(row.age_from, row.age_below), (row.bmi_from, row.bmi_below)] {
                assert!(from.zip(below).is_none_or(|(from, below)| from < below), "{}", row.name);
            }
        }
    }

    #[test]
    fn what_a_population_is_said_to_be_is_what_the_row_is_held_against() {
        let stages = [Stage::BeforePuberty, Stage::InPuberty, Stage::BeforeMenopause, Stage::AfterMenopause];
        let named = ["prepubertal", "pubertal", "premenopausal", "postmenopausal"];
        for row in published() {
            let says = |words: &str| row.population.contains(words);
            let without = says("non-obese") || says("without obesity");
            assert_eq!(row.bmi_below == Some(30.0), without, "{}: no obesity", row.name);
            assert_eq!(row.bmi_below == Some(25.0), says("BMI < 25"), "{}", row.name);
            assert_eq!(row.bmi_from == Some(30.0), says("with obesity"), "{}: obesity", row.name);
            assert_eq!(row.bmi_from == Some(25.0), says("overweight"), "{}", row.name);
            let stage = stages.iter().zip(named).find(|(_, name)| row.population.starts_with(name));
            assert_eq!(row.stage, stage.map(|(stage, _)| *stage), "{}", row.name);
            assert!(row.stage.is_some() || !says("puber") && !says("menopaus"), "{}", row.name);
        }
    }
}
