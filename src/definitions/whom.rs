//! Words for people that no grouping need have: everybody, people of an age, people of a condition that studies leave out.

use std::sync::LazyLock;

use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    everybody: Vec<String>,
    unsaid_ages: Vec<String>,
    not: Vec<String>,
    named_by_not: Vec<String>,
    near: Vec<String>,
    ages: Vec<Ages>,
    condition: Vec<Condition>,
}

/// Words for people of some ages.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Ages {
    words: Vec<String>,
    #[serde(default)]
    from: Option<f64>,
    #[serde(default)]
    below: Option<f64>,
}

/// Words for people of a condition, and the exclusions that leave them out.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Condition {
    words: Vec<String>,
    exclusions: Vec<String>,
}

static WHOM: LazyLock<File> = LazyLock::new(|| {
    toml::from_str(include_str!("whom.toml")).expect("the embedded words are read by a test")
});

/// Whether a word says no more than that people are meant.
#[must_use]
pub fn is_everybody(word: &str) -> bool {
    WHOM.everybody.iter().any(|known| known == word)
}

/// Whether a word speaks of an age without a number of years.
#[must_use]
pub fn leaves_age_unsaid(word: &str) -> bool {
    WHOM.unsaid_ages.iter().any(|known| known == word)
}

/// Where a list of words begins to say what people are not.
#[must_use]
pub fn negated_from(words: &[&str]) -> Option<usize> {
    let is = |list: &[String], word: &str| list.iter().any(|known| known == word);
    let denies = |at: &usize| {
        let names = words.get(at + 1).is_some_and(|next| is(&WHOM.named_by_not, next));
        is(&WHOM.not, words[*at]) && !names
    };
    (0..words.len()).find(denies)
}

/// Whether a word beside the name of a condition means other people than those who have it.
#[must_use]
pub fn is_near(word: &str) -> bool {
    WHOM.near.iter().any(|known| known == word)
}

/// The ages that a word means, from the first number of years to below the second.
#[must_use]
pub fn ages(word: &str) -> Option<(f64, f64)> {
    let row = WHOM.ages.iter().find(|row| row.words.iter().any(|known| known == word))?;
    Some((row.from.unwrap_or(f64::NEG_INFINITY), row.below.unwrap_or(f64::INFINITY)))
}

/// The exclusions that leave out the people of whom a word speaks; none for another word.
#[must_use]
pub fn left_out_by(word: &str) -> &'static [String] {
    let row = WHOM.condition.iter().find(|row| row.words.iter().any(|known| known == word));
    row.map(|row| &row.exclusions[..]).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::aliases::plain;
    use crate::definitions::{exclusions, outcomes};

    #[test]
    fn words_are_written_plainly_and_exclusions_exist() {
        let known: Vec<&str> = exclusions()
            .iter()
            .map(|row| row.name.as_str())
            .chain(outcomes().iter().map(|row| row.name.as_str()))
            .collect();
        let words = WHOM.everybody.iter().chain(&WHOM.unsaid_ages).chain(&WHOM.not).chain(&WHOM.named_by_not);
        let words = words.chain(WHOM.ages.iter().flat_map(|row| &row.words));
        for word in words.chain(WHOM.condition.iter().flat_map(|row| &row.words)) {
            assert!(plain(word) == *word && !word.contains('_'), "{word}");
        }
        for exclusion in WHOM.condition.iter().flat_map(|row| &row.exclusions) {
            assert!(known.contains(&&**exclusion), "{exclusion}");
        }
        assert_eq!(ages("teens"), Some((13.0, 20.0)));
        assert_eq!([ages("adults"), ages("luck")], [Some((18.0, f64::INFINITY)), None]);
        assert!(is_everybody("people") && leaves_age_unsaid("elderly") && is_near("pre"));
        assert_eq!(negated_from(&["women", "without", "diabetes"]), Some(1));
        assert_eq!(negated_from(&["non", "hispanic", "black"]), None, "a name");
        assert_eq!(left_out_by("pregnant"), ["pregnant", "pregnant_reported"]);
        assert!(left_out_by("luck").is_empty());
    }
}
