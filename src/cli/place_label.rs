//! A person's category among those that the study's people have: ancestry, as the survey asks.

use anyhow::{Result, bail};

use crate::definitions::aliases::levels_meant;
use crate::definitions::answer::{Answer, Given};
use crate::definitions::finer::{finer, told_apart};
use crate::definitions::nearest::hint_of_labels;
use crate::definitions::survey::{Survey, survey};
use crate::finished::Opened;
use crate::study::{Source, Split};

/// How a category begins in which a survey counts people of all that it does not name.
const OTHERS: &str = "other";
/// What may follow it there; `Other Hispanic` is a category of its own.
const OF_ANY: [&str; 3] = ["or", "and", "race"];

/// A label that groups are made of must be one of the survey's; its spelling is the survey's.
pub(super) fn known_level(opened: &Opened, answer: &mut Answer) -> Result<()> {
    let Given::Label(label) = &mut answer.given else { return Ok(()) };
    for (variable, map) in opened.study.variables.iter().zip(&opened.tallies.plan.variables) {
        let Split::Levels { sql, .. } = &variable.split else { continue };
        if *sql != answer.quantity {
            continue;
        }
        match map.labels.iter().find(|known| known.eq_ignore_ascii_case(label)) {
            Some(known) => label.clone_from(known),
            None => bail!(
                "{}: found \"{label}\", which the study's people do not have. {}{}",
                answer.quantity,
                fitting(label, &map.labels),
                surveys(opened).find_map(|survey| apart(survey, &answer.quantity, label)).unwrap_or_default()
            ),
        }
    }
    Ok(())
}

fn surveys(opened: &Opened) -> impl Iterator<Item = &'static Survey> {
    opened.study.sources.iter().filter_map(|source| match source {
        Source::Survey { survey: name, .. } => survey(name),
        Source::Table(_) => None,
    })
}

/// The labels that hold what was written, or one that differs in spelling alone; else where people of no category are
/// counted.
fn fitting(written: &str, known: &[String]) -> String {
    let lower = written.to_lowercase();
    // Hispanic is no part of Non-Hispanic.
    let has = |label: &str| {
        let words = format!(" {} ", label.to_lowercase());
        words.contains(&format!(" {lower} ")) || label.to_lowercase().starts_with(&lower)
    };
    let meant = levels_meant(written);
    let fit = known.iter().filter(|label| has(label) || meant.contains(&label.as_str()));
    let quoted: Vec<String> = fit.map(|label| format!("\"{label}\"")).collect();
    if !quoted.is_empty() {
        return format!("Write one of those that fit in full: {}", quoted.join(" or "));
    }
    let hint = hint_of_labels(written, known.iter().map(String::as_str));
    match known.iter().find(|label| is_of_others(label)) {
        Some(others) => format!("{hint}. People of other categories are counted in \"{others}\""),
        None => hint,
    }
}

/// Whether a category is that of people whom no other names.
fn is_of_others(label: &str) -> bool {
    let lower = label.to_lowercase();
    let mut words = lower.split_whitespace();
    words.next() == Some(OTHERS) && words.next().is_none_or(|word| OF_ANY.contains(&word))
}

/// That a finer question of the survey tells such people apart.
fn apart(survey: &Survey, asked: &str, written: &str) -> Option<String> {
    let finer = finer(asked)?;
    let (labels, first) = told_apart(survey, asked, finer)?;
    let lower = written.to_lowercase();
    let label = labels.into_iter().find(|label| label.to_lowercase().contains(&lower))?;
    Some(format!(
        ". \"{label}\" is told apart by {finer}, which the survey asks since {first}: a study with {finer} among its \
         groups compares within it"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: [&str; 5] = [
        "Mexican American",
        "Other Hispanic",
        "Non-Hispanic White",
        "Non-Hispanic Black",
        "Other or multiracial",
    ];

    #[test]
    fn one_category_of_people_is_not_suggested_for_another() {
        let known = KNOWN.map(str::to_owned);
        let said = fitting("Non-Hispanic Asian", &known);
        assert!(said.starts_with("Known: Mexican American, "), "{said}");
        assert!(
            said.ends_with("People of other categories are counted in \"Other or multiracial\""),
            "{said}"
        );
        assert!(fitting("White", &known).ends_with("in full: \"Non-Hispanic White\""));
        let hispanic = fitting("Hispanic", &known);
        assert!(hispanic.ends_with("in full: \"Mexican American\" or \"Other Hispanic\""), "{hispanic}");
        assert!(fitting("Mexican Amercan", &known).starts_with("Did you mean \"Mexican American\"?"));
        assert!(!fitting("x", &["hill", "coast"].map(str::to_owned)).contains("other categories"));
    }

    #[test]
    fn a_question_that_tells_them_apart_is_named() {
        let nhanes = survey("nhanes").expect("a known survey");
        let said = apart(nhanes, "ancestry", "asian").expect("told apart");
        assert!(
            said.contains("told apart by ancestry_detailed, which the survey asks since 2011-2012"),
            "{said}"
        );
        assert_eq!(apart(nhanes, "ancestry", "Martian"), None);
    }
}
