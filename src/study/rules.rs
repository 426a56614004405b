//! Names of cutoff rules and the parameters they take.

use super::StudyRule;
use super::error::{StudyError, Text};
use super::file::At;
use super::rule_file::RuleFile;
use crate::stats::rule::Rule;

/// A cutoff rule that a study can name.
#[derive(Debug, Clone, Copy)]
pub struct RuleRow {
    pub name: &'static str,
    pub label: &'static str,
    /// Parameters, all of them required.
    pub parameters: &'static [&'static str],
    pub source: &'static str,
    /// Makes the rule from its parameters in the order above.
    make: fn(&[f64]) -> Rule,
}

/// All rules.
pub const RULES: &[RuleRow] = &[
    RuleRow {
        name: "youden",
        label: "largest sensitivity + specificity − 1 (Youden's J)",
        parameters: &[],
        source: "Youden 1950, Cancer 3:32–35",
        make: |_| Rule::Youden,
    },
    RuleRow {
        name: "closest_to_corner",
        label: "nearest to sensitivity 1 and specificity 1",
        parameters: &[],
        source: "Perkins and Schisterman 2006, Am J Epidemiol 163:670–675",
        make: |_| Rule::ClosestToCorner,
    },
    RuleRow {
        name: "largest_product",
        label: "largest sensitivity × specificity",
        parameters: &[],
        source: "Liu 2012, Stat Med 31:2676–2686",
        make: |_| Rule::LargestProduct,
    },
    RuleRow {
        name: "smallest_difference",
        label: "smallest difference between sensitivity and specificity",
        parameters: &[],
        source: "common practice",
        make: |_| Rule::SmallestDifference,
    },
    RuleRow {
        name: "sensitivity_at_least",
        label: "highest specificity with sensitivity at least",
        parameters: &["value"],
        source: "common practice",
        make: |given| Rule::SensitivityAtLeast(given[0]),
    },
    RuleRow {
        name: "specificity_at_least",
        label: "highest sensitivity with specificity at least",
        parameters: &["value"],
        source: "common practice",
        make: |given| Rule::SpecificityAtLeast(given[0]),
    },
    RuleRow {
        name: "lowest_cost",
        label: "lowest expected cost at prevalence and cost of a miss to a false alarm",
        parameters: &["prevalence", "miss_to_false_alarm"],
        source: "decision theory",
        make: |given| Rule::LowestCost { prevalence: given[0], miss_to_false_alarm: given[1] },
    },
    RuleRow {
        name: "net_benefit",
        label: "largest net benefit at threshold probability",
        parameters: &["threshold_probability"],
        source: "Vickers and Elkin 2006, Med Decis Making 26:565–574",
        make: |given| Rule::NetBenefit { threshold_probability: given[0] },
    },
];

/// The rules of a study, each with its parameters in its name.
pub(super) fn rules(written: &[At<RuleFile>], text: Text<'_>) -> Result<Vec<StudyRule>, StudyError> {
    let mut rules: Vec<StudyRule> = Vec::new();
    for entry in written {
        let rule = rule(entry, text)?;
        if rules.iter().any(|other| other.name == rule.name) {
            return Err(text.problem(entry.span(), format!("the rule \"{}\" is named twice", rule.name)));
        }
        rules.push(rule);
    }
    Ok(rules)
}

fn rule(entry: &At<RuleFile>, text: Text<'_>) -> Result<StudyRule, StudyError> {
    let name = At::new(entry.span(), entry.get_ref().rule.clone());
    let row = RULES
        .iter()
        .find(|row| row.name == *name.get_ref())
        .ok_or_else(|| text.unknown("rule", &name, RULES.iter().map(|row| row.name)))?;
    let given = entry.get_ref().parameters();
    let names: Vec<&str> = given.iter().map(|(parameter, _)| *parameter).collect();
    if names != row.parameters {
        let needs =
            if row.parameters.is_empty() { "no parameter".to_owned() } else { row.parameters.join(" and ") };
        let found = if names.is_empty() { "none".to_owned() } else { names.join(" and ") };
        return Err(
            text.problem(entry.span(), format!("the rule \"{}\" takes {needs}, found {found}", row.name))
        );
    }
    if let Some((parameter, value)) = given.iter().find(|(parameter, value)| !allowed(parameter, *value)) {
        let range =
            if *parameter == "miss_to_false_alarm" { "must be above 0" } else { "must lie between 0 and 1" };
        return Err(text.problem(entry.span(), format!("{parameter} {range}, found {value}")));
    }
    let values: Vec<f64> = given.iter().map(|(_, value)| *value).collect();
    let numbers: Vec<String> = values.iter().map(|value| decimals(*value)).collect();
    Ok(StudyRule {
        rule: (row.make)(&values),
        name: [vec![row.name.to_owned()], numbers.clone()].concat().join("_"),
        label: [vec![row.label.to_owned()], vec![numbers.join(" and ")]]
            .concat()
            .join(" ")
            .trim_end()
            .to_owned(),
    })
}

/// Shares lie strictly between 0 and 1; the ratio of costs is any positive number.
fn allowed(parameter: &str, value: f64) -> bool {
    value.is_finite() && value > 0.0 && (parameter == "miss_to_false_alarm" || value < 1.0)
}

/// At least two decimals, more when the number has more: 0.80, 0.875.
fn decimals(value: f64) -> String {
    let two = format!("{value:.2}");
    if two.parse() == Ok(value) { two } else { value.to_string() }
}
