//! What a claim's page says about its study: what is shared, what the run tested, what was asked afterwards.

use crate::analysis::claim::{Answer, Doubt, Question, Side, Stated};
use crate::definitions::Exclusion;
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
const MAIN: [(&[&str], &str); 5] = [
    (&["diagnosed_diabetes", "diabetes", "diabetes_any_test"], "known diabetes"),
    (&["diabetes_by_fasting_glucose"], "fasting glucose in the diabetes range"),
    (&["pregnant", "pregnant_reported"], "pregnancy"),
    (&["lipid_drug"], "a drug for blood lipids"),
    (&["blood_pressure_drug"], "a drug for blood pressure"),
];

/// The ages of the study's people, where it names them: aged 20 and over.
pub fn ages(study: &Study) -> Option<String> {
    aged(study.published.age)
}

/// Ages from the first number of years to below the second, in words; none of all ages.
pub(super) fn aged((from, below): (f64, f64)) -> Option<String> {
    match (from.is_finite(), below.is_finite()) {
        (true, true) if below.fract() == 0.0 => Some(format!("aged {from} to {}", below - 1.0)),
        (true, true) => Some(format!("aged {from} to under {below}")),
        (true, false) => Some(format!("aged {from} and over")),
        (false, true) => Some(format!("under {below} years old")),
        (false, false) => None,
    }
}

/// The exclusions of a study that leave people out of this answer; its ages are told apart from them, and always named.
pub fn left_out<'s>(study: &'s Study, answer: &Answer) -> Vec<&'s Exclusion> {
    let ages = usize::from(answer.left_out.is_some_and(|counted| counted.ages));
    let leaves = |(position, _): &(usize, &Exclusion)| {
        *position < ages || answer.leaves.get(*position).is_none_or(|leaves| *leaves)
    };
    study.exclusions.iter().enumerate().filter(leaves).map(|(_, exclusion)| exclusion).collect()
}

/// The main people who are left out, in a few words: known diabetes or pregnancy.
pub fn main_exclusions(left_out: &[&Exclusion]) -> Option<String> {
    let is_left_out = |names: &[&str]| left_out.iter().any(|exclusion| names.contains(&&*exclusion.name));
    let words = MAIN.iter().filter(|(names, _)| is_left_out(names)).map(|(_, words)| *words);
    let words: Vec<&str> = words.collect();
    match words.as_slice() {
        [] => None,
        [one] => Some((*one).to_owned()),
        [first @ .., last] => Some(format!("{} or {last}", first.join(", "))),
    }
}

/// What is left out of an answer about people who may not be shown in small counts.
pub fn small_counts(study: &Study) -> Option<String> {
    let limit = study.fewest_shown()?;
    Some(format!(
        "Counts of fewer than {limit} people, shares that stand for so few, and what would give them away are left out; {}.",
        small::rounding(limit)
    ))
}

/// Thresholds that the study does not state, or not with this side of the value itself; nothing of those in doubt, of which
/// nothing is to be cited.
pub fn asked(study: &Study, question: &Question, doubts: &[Doubt]) -> Vec<String> {
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
    let is_sure = |stated: &&Stated| doubts.iter().all(|doubt| doubt.stated != **stated);
    question.stated.iter().filter(is_sure).filter_map(sentence).collect()
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
    use crate::analysis::claim::LeftOut;

    #[test]
    fn the_main_people_left_out_are_named_once_each() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = crate::study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let all: Vec<&Exclusion> = study.exclusions.iter().collect();
        let words = "known diabetes, fasting glucose in the diabetes range or pregnancy";
        assert_eq!(main_exclusions(&all).as_deref(), Some(words));
        assert_eq!(main_exclusions(&all[..2]).as_deref(), Some("pregnancy"));
        assert_eq!(main_exclusions(&all[..1]), None);
    }

    #[test]
    fn the_ages_of_a_study_are_said_as_people_say_them() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let of = |file: &str| ages(&crate::study::load(&root.join(file)).expect("a study"));
        assert_eq!(of("nhanes-2017-2020-adults.toml").as_deref(), Some("aged 20 and over"));
        assert_eq!(of("nhanes-2017-2020-adolescents.toml").as_deref(), Some("aged 12 to 19"));
        assert_eq!(of("reaven-miller-1979.toml"), None);
    }

    #[test]
    fn exclusions_that_leave_nobody_out_are_not_named() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = crate::study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let counted = LeftOut { people: 868, of: 3801, ages: true, left_in: 2933, without_index: 61 };
        let mut answer = Answer {
            table: Table::new(schema::shape("claim").expect("a table")),
            range: None,
            all_positive: true,
            left_out: Some(counted),
            leaves: study.exclusions.iter().map(|exclusion| exclusion.name != "insulin_treated").collect(),
            doubts: Vec::new(),
        };
        answer.leaves[0] = false;
        let named: Vec<&str> = left_out(&study, &answer).iter().map(|exclusion| &*exclusion.name).collect();
        let all = study.exclusions.iter().map(|exclusion| &*exclusion.name);
        assert_eq!(named, all.filter(|name| *name != "insulin_treated").collect::<Vec<_>>());
        assert!(named.len() + 1 == study.exclusions.len() && named[0] == study.exclusions[0].name);
    }
}
