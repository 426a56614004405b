//! What a claim's page says about its study: what is shared, what the run tested, what was asked afterwards.

use crate::analysis::claim::{Question, Side, Stated};
use crate::finished::Origin;
use crate::study::{Study, shared_ingredients};
use crate::table::number::significant;
use crate::table::{Table, csv, schema, small};

/// An outcome that contains an ingredient of the index agrees with it by construction.
pub fn remarks(study: &Study, question: &Question) -> Vec<String> {
    let Some(outcome) = question.outcome else { return Vec::new() };
    let (index, outcome) = (&study.indices[question.index], &study.outcomes[outcome]);
    let shared = shared_ingredients(index, outcome);
    let text = format!(
        "The outcome, {}, counts {}: measured in {}, or treatment for what is; part of their agreement is built in.",
        outcome.row.label,
        shared.join(", ").replace('_', " "),
        index.row.label
    );
    (!shared.is_empty()).then_some(text).into_iter().collect()
}

/// A table of the finished run; none where there is no run, or it was not asked for or is gone.
pub fn table_of_run(origin: &Origin, name: &str) -> Option<Table> {
    let Origin::Run(folder) = origin else { return None };
    csv::read(schema::shape(name)?, &folder.join("tables").join(name).with_extension("csv")).ok()
}

/// Exclusions, and whom they leave out in the words of a headline. Who is treated or measured only is not all who know.
const MAIN: [(&[&str], &str); 4] = [
    (&["diagnosed_diabetes", "diabetes", "diabetes_any_test"], "known diabetes"),
    (&["pregnant", "pregnant_reported"], "pregnancy"),
    (&["lipid_drug"], "a drug for blood lipids"),
    (&["blood_pressure_drug"], "a drug for blood pressure"),
];

/// The main people whom a study leaves out, in a few words: known diabetes or pregnancy.
pub fn main_exclusions(study: &Study) -> Option<String> {
    let is_left_out =
        |names: &[&str]| study.exclusions.iter().any(|exclusion| names.contains(&&*exclusion.name));
    let words = MAIN.iter().filter(|(names, _)| is_left_out(names)).map(|(_, words)| *words);
    let words: Vec<&str> = words.collect();
    (!words.is_empty()).then(|| words.join(" or "))
}

/// What is left out of an answer about people who may not be shown in small counts.
pub fn small_counts(study: &Study) -> Option<String> {
    let limit = study.fewest_shown()?;
    Some(format!(
        "Counts of fewer than {limit} people, shares that stand for so few, and what would give them away are left out; {}.",
        small::rounding(limit)
    ))
}

/// Thresholds that the study does not state, or not with this side of the value itself.
pub fn asked(study: &Study, question: &Question) -> Vec<String> {
    let index = &study.indices[question.index];
    let sentence = |stated: &Stated| {
        let threshold = stated.threshold(question.index, index);
        let of_study =
            study.thresholds.iter().filter(|t| (t.index, t.value) == (threshold.index, threshold.value));
        let stricts: Vec<bool> = of_study.map(|t| t.strict).collect();
        let at = format!("{} {}", index.row.label, significant(stated.value, 6));
        match stricts.first() {
            _ if stricts.contains(&threshold.strict) => None,
            Some(strict) => Some(format!(
                "The study states {at} as “{}”; you asked “{}”, which puts people exactly there on the other side: asked \
                 afterwards, exploratory.",
                beyond(index.sign() > 0, *strict).words(),
                stated.side.words()
            )),
            None => Some(format!("The threshold {at} is not in the study: asked afterwards, exploratory.")),
        }
    };
    question.stated.iter().filter_map(sentence).collect()
}

/// The resistant side of a threshold as a study states it.
fn beyond(higher: bool, strict: bool) -> Side {
    match (higher, strict) {
        (true, false) => Side::AtLeast,
        (true, true) => Side::Above,
        (false, false) => Side::AtMost,
        (false, true) => Side::Below,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_main_people_left_out_are_named_once_each() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = crate::study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study");
        assert_eq!(main_exclusions(&study).as_deref(), Some("known diabetes or pregnancy"));
        let none = Study { exclusions: study.exclusions[..1].to_vec(), ..study };
        assert_eq!(main_exclusions(&none), None);
    }
}
