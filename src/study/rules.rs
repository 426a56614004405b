//! The cutoff rules of a study.

use super::StudyRule;
use super::error::{StudyError, Text};
use super::file::At;
use super::rule_file::RuleFile;
use crate::stats::rule::{RULES, Rule};

/// Resolves rules and their parameters; each may be named once for each set of parameters.
pub(super) fn rules(written: &[At<RuleFile>], text: Text<'_>) -> Result<Vec<StudyRule>, StudyError> {
    let mut rules: Vec<StudyRule> = Vec::new();
    for entry in written {
        let name = At::new(entry.span(), entry.get_ref().rule.clone());
        if RULES.iter().all(|row| row.name != *name.get_ref()) {
            return Err(text.unknown("rule", &name, RULES.iter().map(|row| row.name)));
        }
        let rule = Rule::from_name(name.get_ref(), &entry.get_ref().parameters())
            .map_err(|error| text.problem(entry.span(), error.to_string()))?;
        if rules.iter().any(|other| other.rule == rule) {
            return Err(text.problem(entry.span(), format!("the rule \"{}\" is named twice", rule.name())));
        }
        rules.push(StudyRule { rule, name: rule.name(), label: rule.label() });
    }
    Ok(rules)
}
