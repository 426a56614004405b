//! Surveys the program knows, cycle by cycle: files, variable names, codes, weights, pooling.
//!
//! Everything is data: `nhanes.toml` (cycles), `nhanes_variables.toml` (how each quantity is read)
//! and `nhanes_notices.toml` (what a reader must know).

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use super::{Standing, Subsample};
use crate::notice::Weight;

/// A survey with its cycles, oldest first.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Survey {
    pub name: String,
    /// What it is called in tables and charts.
    pub label: String,
    pub title: String,
    /// Plain words for the people of the country whose people it draws: in its studies they say no more than people.
    #[serde(default)]
    pub nation: Vec<String>,
    /// Where the agency has the files.
    pub address: String,
    /// Variable that identifies a person in every file.
    pub person: String,
    pub stratum: String,
    pub psu: String,
    #[serde(rename = "cycle")]
    pub cycles: Vec<Cycle>,
    #[serde(default, rename = "variable")]
    pub variables: Vec<Variable>,
    #[serde(default, rename = "notice")]
    pub notices: Vec<CycleNotice>,
}

/// One release of a survey.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cycle {
    pub name: String,
    /// Years of data collection its weights stand for.
    pub years: f64,
    /// Age as which everybody older is released too.
    pub oldest: f64,
    /// When collection began, in calendar years; absent: at the start of the first year of its name.
    #[serde(default)]
    pub began: Option<f64>,
    pub standing: Standing,
    /// What was and was not verified, when the standing is not `published`.
    #[serde(default)]
    pub checked: String,
    pub insulin_assay: String,
    pub glucose_assay: String,
    /// Cycles that hold the same people.
    #[serde(default)]
    pub overlaps: Vec<String>,
    /// What must be said when it is pooled with other cycles.
    #[serde(default)]
    pub pooled_note: String,
    /// Cycle with which it shares weights made for both together.
    #[serde(default)]
    pub paired_with: Option<String>,
    /// Role of a file → its official name without extension.
    pub files: BTreeMap<String, String>,
    /// Role of a file the release does not have → why.
    #[serde(default)]
    pub absent: BTreeMap<String, String>,
    pub weights: BTreeMap<Subsample, WeightVariable>,
    /// Weights to use when the pair of cycles is pooled.
    #[serde(default)]
    pub weights_four_years: BTreeMap<Subsample, WeightVariable>,
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeightVariable {
    /// Role of the file.
    pub file: String,
    pub variable: String,
}

/// How one quantity is read in a range of cycles.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Variable {
    pub quantity: String,
    /// Role of the file.
    pub file: String,
    /// First cycle for which the row holds; the survey's first when absent.
    #[serde(default)]
    pub from: Option<String>,
    /// Last cycle for which the row holds; the survey's last when absent.
    #[serde(default)]
    pub until: Option<String>,
    #[serde(flatten)]
    pub recipe: Recipe,
}

/// From released variables to the values of a quantity.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "how", rename_all = "snake_case")]
pub enum Recipe {
    /// The variable as it stands, in a unit of the quantity.
    Number { variable: String, unit: String },
    /// A code turned into a label, `yes` or `no`.
    Codes {
        variable: String,
        codes: BTreeMap<String, String>,
        #[serde(default)]
        missing: Vec<f64>,
        /// For people without an answer: no when all variables of one entry hold one of the codes
        /// (an empty list stands for no answer).
        #[serde(default)]
        no_if: Vec<BTreeMap<String, Vec<f64>>>,
    },
    /// Yes where the variable holds exactly this value, no elsewhere.
    Equals { variable: String, value: f64 },
    /// The mean of repeated readings.
    Mean {
        variables: Vec<String>,
        /// Leave the first reading out when there are several.
        #[serde(default)]
        drop_first: bool,
        /// Leave zeros out of the mean.
        #[serde(default)]
        ignore_zero: bool,
    },
    /// Hours, minutes included.
    HoursAndMinutes { hours: String, minutes: String },
    /// Yes when one of the quantities is yes, no when all are no.
    AnyOf { quantities: Vec<String> },
    /// The same label for everybody in the file.
    Constant { label: String },
}

/// A remark printed when a study uses one of the quantities from one of the cycles.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CycleNotice {
    pub kind: String,
    pub weight: Weight,
    pub quantities: Vec<String>,
    #[serde(default)]
    pub from: Option<String>,
    #[serde(default)]
    pub until: Option<String>,
    pub message: String,
}

static NHANES: LazyLock<Survey> = LazyLock::new(|| {
    let text = [
        include_str!("nhanes.toml"),
        include_str!("nhanes_variables.toml"),
        include_str!("nhanes_notices.toml"),
    ];
    toml::from_str(&text.concat()).expect("the embedded nhanes files are read by a test")
});

/// Names of the surveys known.
pub const SURVEYS: &[&str] = &["nhanes"];

/// The survey of this name.
#[must_use]
pub fn survey(name: &str) -> Option<&'static Survey> {
    (name == "nhanes").then(|| &*NHANES)
}

/// Names of the cycles of a known survey, oldest first; `None` for an unknown survey.
#[must_use]
pub fn cycles(name: &str) -> Option<Vec<String>> {
    survey(name).map(|s| s.cycles.iter().map(|c| c.name.clone()).collect())
}

impl Survey {
    /// The cycle of this name, or words that list the known ones.
    pub fn cycle(&self, name: &str) -> Result<&Cycle, String> {
        self.cycles.iter().find(|c| c.name == name).ok_or_else(|| {
            let known: Vec<&str> = self.cycles.iter().map(|c| c.name.as_str()).collect();
            format!("unknown cycle `{name}` of {}; known: {}", self.name, known.join(", "))
        })
    }

    /// Rows that say how quantities are read in a cycle.
    pub fn variables_of(&self, cycle: &str) -> impl Iterator<Item = &Variable> {
        self.variables.iter().filter(move |v| self.holds(cycle, v.from.as_deref(), v.until.as_deref()))
    }

    /// Why a quantity is not known of anybody in a cycle; `None` where its file was released.
    #[must_use]
    pub fn why_absent<'s>(&'s self, cycle: &'s Cycle, quantity: &str) -> Option<&'s str> {
        let mut here = self.variables_of(&cycle.name).filter(|row| row.quantity == quantity);
        if here.any(|row| cycle.files.contains_key(&row.file)) {
            return None;
        }
        let anywhere = self.variables.iter().find(|row| row.quantity == quantity);
        let reason = anywhere.and_then(|row| cycle.absent.get(&row.file));
        Some(reason.map_or("not part of this release", String::as_str))
    }

    /// Remarks on a cycle.
    pub fn notices_of(&self, cycle: &str) -> impl Iterator<Item = &CycleNotice> {
        self.notices.iter().filter(move |n| self.holds(cycle, n.from.as_deref(), n.until.as_deref()))
    }

    fn holds(&self, cycle: &str, from: Option<&str>, until: Option<&str>) -> bool {
        let rank = |name: &str| self.cycles.iter().position(|c| c.name == name);
        let at = rank(cycle);
        from.is_none_or(|f| rank(f) <= at) && until.is_none_or(|u| rank(u) >= at)
    }
}

impl Cycle {
    /// The cycle of `pooled` with which this one shares four-year weights.
    #[must_use]
    pub fn partner_in<'a>(&'a self, pooled: &[String]) -> Option<&'a str> {
        self.paired_with.as_deref().filter(|p| pooled.iter().any(|c| c == p))
    }

    /// The middle of its data collection in calendar years: 2000.0 is the first day of 2000.
    #[must_use]
    pub fn midpoint(&self) -> Option<f64> {
        let named = || self.name.split('-').next()?.parse::<f64>().ok();
        Some(self.began.or_else(named)? + self.years / 2.0)
    }
}

impl Recipe {
    /// Released variables the recipe reads.
    #[must_use]
    pub fn reads(&self) -> Vec<&str> {
        match self {
            Self::Number { variable, .. } | Self::Equals { variable, .. } => vec![variable],
            Self::Codes { variable, no_if, .. } => {
                let others = no_if.iter().flat_map(BTreeMap::keys).map(String::as_str);
                std::iter::once(variable.as_str()).chain(others).collect()
            }
            Self::Mean { variables, .. } => variables.iter().map(String::as_str).collect(),
            Self::HoursAndMinutes { hours, minutes } => vec![hours, minutes],
            Self::AnyOf { .. } | Self::Constant { .. } => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::definitions::quantity::quantity;

    /// Sums of a handful of quotients.
    const ROUNDING: f64 = 1e-12;

    #[test]
    fn every_cycle_has_its_midpoint() {
        let survey = survey("nhanes").unwrap();
        let middle = |name: &str| survey.cycle(name).unwrap().midpoint().unwrap();
        // 1999 and 2000; January 2017 to March 2020; August 2021 to August 2023.
        assert!((middle("1999-2000") - 2000.0).abs() < ROUNDING);
        assert!((middle("2017-2020") - 2018.6).abs() < ROUNDING);
        assert!((middle("2021-2023") - 2022.6).abs() < 0.05);
        assert!(survey.cycles.iter().all(|c| c.midpoint().is_some()));
    }

    #[test]
    fn every_variable_row_fits_its_quantity_and_cycle() {
        let survey = survey("nhanes").unwrap();
        assert_eq!(survey.cycles.len(), 12);
        for cycle in &survey.cycles {
            let mut seen = BTreeSet::new();
            for row in survey.variables_of(&cycle.name) {
                let q = quantity(&row.quantity).unwrap_or_else(|| panic!("{} is no quantity", row.quantity));
                assert!(seen.insert(&row.quantity), "{} twice in {}", row.quantity, cycle.name);
                let known = cycle.files.contains_key(&row.file) || cycle.absent.contains_key(&row.file);
                assert!(known, "{} has no file {}", cycle.name, row.file);
                if let Recipe::Number { unit, .. } = &row.recipe {
                    assert!(q.units.iter().any(|u| u.unit == *unit), "{}", row.quantity);
                }
            }
            assert!(seen.len() >= 24, "{}: {}", cycle.name, seen.len());
            assert!(cycle.weights.values().all(|w| cycle.files.contains_key(&w.file)));
            assert_eq!(cycle.standing == Standing::Published, cycle.checked.is_empty());
        }
    }

    #[test]
    fn the_notice_of_every_cycle_says_how_readings_of_the_blood_pressure_are_averaged() {
        let survey = survey("nhanes").unwrap();
        for cycle in &survey.cycles {
            let said: Vec<&CycleNotice> =
                survey.notices_of(&cycle.name).filter(|n| n.kind == "blood_pressure_protocol").collect();
            let [said] = said[..] else { panic!("{}: {said:?}", cycle.name) };
            let means = survey.variables_of(&cycle.name).filter_map(|row| match row.recipe {
                Recipe::Mean { drop_first, ignore_zero, .. } => Some((drop_first, ignore_zero)),
                _ => None,
            });
            let (first, zeros): (Vec<bool>, Vec<bool>) = means.unzip();
            assert_eq!(first.len(), 2, "{}: systolic and diastolic", cycle.name);
            let whole = said.message.contains("mean of all readings, the first included");
            assert_eq!(said.message.contains("without the first"), first[0] && first[1], "{}", cycle.name);
            assert_eq!(whole, !first[0] && !first[1], "{}", cycle.name);
            assert_eq!(
                said.message.contains("diastolic readings of 0"),
                zeros.contains(&true),
                "{}",
                cycle.name
            );
        }
    }

    #[test]
    fn every_cycle_and_quantity_named_in_a_row_exists() {
        let survey = survey("nhanes").unwrap();
        let ends = survey.variables.iter().flat_map(|v| [&v.from, &v.until]);
        let ends = ends.chain(survey.notices.iter().flat_map(|n| [&n.from, &n.until])).flatten();
        assert!(ends.inspect(|name| assert!(survey.cycle(name).is_ok(), "{name}")).count() > 20);
        let named = survey.notices.iter().flat_map(|n| &n.quantities);
        assert!(named.inspect(|name| assert!(quantity(name).is_some(), "{name}")).count() > 10);
    }
}
