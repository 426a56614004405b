//! One group of a grouping, as `--group` names it: by its label, an everyday word, or words of its label.

use anyhow::{Error, Result, anyhow, bail};

use super::claim_alike::alike;
use super::claim_bands::of_span;
use super::claim_groups::name_of;
use super::claim_names::{quoted, squeezed};
use crate::definitions::aliases::{levels_meant, plain, singular};
use crate::definitions::level_words::has_the_words;
use crate::finished::Opened;

/// What a name asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    pub grouping: usize,
    /// Single groups of it; empty for all of them.
    pub groups: Vec<String>,
    /// Other names of the same people in this run.
    pub same: Vec<String>,
}

impl Found {
    pub fn of(grouping: usize, groups: Vec<String>) -> Self {
        Self { grouping, groups, same: Vec::new() }
    }
}

/// The groups of a grouping of one variable that a word means; an error where several groupings have such.
pub(super) fn group(
    opened: &Opened,
    known: &[(String, String)],
    (name, test): (&str, fn(&str, &str) -> bool),
) -> Result<Option<Found>> {
    let candidates: Vec<Found> = (0..known.len())
        .filter(|&at| opened.study.groupings[at].len() == 1)
        .map(|grouping| Found::of(grouping, meant_of(opened, grouping, (name, test))))
        .filter(|found| !found.groups.is_empty())
        .collect();
    match candidates.as_slice() {
        [] => of_crossing(opened, known, (name, test)).map_or(Ok(None), Err),
        // An everyday word may mean several groups; a word of a label must mean one.
        [only] if only.groups.len() > 1 && levels_meant(name).is_empty() => {
            Err(any_of(opened, name, &candidates))
        }
        _ => alike(opened, name, &candidates).map(Some),
    }
}

/// What is said of a name that several groups have.
pub(super) fn any_of(opened: &Opened, name: &str, several: &[Found]) -> Error {
    let all: Vec<String> = several.iter().flat_map(|found| full(opened, found)).collect();
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    anyhow!("“{name}” could be any of {}: write one of them", quoted(&all))
}

/// `sex × obesity=female × BMI 30 and over`.
pub(super) fn full(opened: &Opened, found: &Found) -> Vec<String> {
    let grouping = name_of(&opened.study, found.grouping);
    found.groups.iter().map(|group| format!("{grouping}={group}")).collect()
}

/// What is said of a word for people whom only a crossing tells apart.
fn of_crossing(
    opened: &Opened,
    known: &[(String, String)],
    (name, test): (&str, fn(&str, &str) -> bool),
) -> Option<Error> {
    let has = |variable: &usize| {
        opened.tallies.plan.variables[*variable].labels.iter().any(|label| test(label, name))
    };
    let at = (0..known.len()).find(|&at| opened.study.groupings[at].iter().any(has))?;
    let crossing = &known[at].0;
    Some(anyhow!("“{name}” is told apart only in {crossing}: --group \"{crossing}\""))
}

/// The groups of a grouping of one variable that a word means.
fn meant_of(opened: &Opened, grouping: usize, (name, test): (&str, fn(&str, &str) -> bool)) -> Vec<String> {
    let variable = opened.study.groupings[grouping][0];
    let labels = opened.tallies.plan.variables[variable].labels.iter();
    labels.filter(|label| test(label, name)).cloned().collect()
}

/// `bmi_class=30 and over`, of a grouping of one variable.
pub(super) fn group_of(
    opened: &Opened,
    known: &[(String, String)],
    (grouping, group): (usize, &str),
) -> Result<Found> {
    let name = &known[grouping].0;
    let variable = opened.study.groupings[grouping][0];
    let mut groups = meant_of(opened, grouping, (group, is_level));
    if groups.is_empty() {
        let bands = of_span(opened, &plain(group)).into_iter();
        groups = bands.filter(|(of, _)| *of == variable).map(|(_, label)| label).collect();
    }
    if groups.is_empty() {
        let labels = &opened.tallies.plan.variables[variable].labels;
        let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
        bail!("{name} has no group “{group}”. It has {}", quoted(&labels));
    }
    Ok(Found::of(grouping, groups))
}

/// Whether a word is a group's label or its plural, or an everyday word for it.
pub(super) fn is_level(label: &str, name: &str) -> bool {
    squeezed(label) == squeezed(name)
        || singular(&plain(label)) == singular(&plain(name))
        || levels_meant(name).contains(&label)
}

/// Whether words of a label are meant, and not one of its numbers, which an age may have too.
pub(super) fn has_a_word(label: &str, name: &str) -> bool {
    !name.contains(|c: char| c.is_ascii_digit()) && has_the_words(label, name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_of_a_label_is_enough_and_a_number_is_not() {
        assert!(
            has_a_word("Non-Hispanic Black", "black") && has_a_word("Non-Hispanic Black", "Non-Hispanic")
        );
        assert!(!has_a_word("Non-Hispanic Black", "ack") && !has_a_word("female", "male"));
        assert!(!has_a_word("40 and over (III)", "over 40"));
        assert!(is_level("Mexican American", "mexican americans") && !is_level("female", "male"));
    }
}
