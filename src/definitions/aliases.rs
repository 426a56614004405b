//! Everyday words for the names of rows.

use std::sync::LazyLock;

use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    alias: Vec<Alias>,
    level: Vec<Level>,
}

/// Words that people use, and the names that they may mean.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Alias {
    words: Vec<String>,
    names: Vec<String>,
}

/// Words that people use for one group, and the labels that they may mean.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Level {
    words: Vec<String>,
    labels: Vec<String>,
}

static ALIASES: LazyLock<File> = LazyLock::new(|| {
    toml::from_str(include_str!("aliases.toml")).expect("the embedded aliases are read by a test")
});

/// A name without what does not count in it: capitals, hyphens and blanks.
#[must_use]
pub fn plain(name: &str) -> String {
    let letter = |c: char| {
        if c.is_alphanumeric() || c == '×' { c.to_lowercase().to_string() } else { "_".to_owned() }
    };
    let text: String = name.trim().chars().map(letter).collect();
    text.split('_').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("_")
}

/// The names that an everyday word may mean; none for a word that is not in the list.
#[must_use]
pub fn meant(word: &str) -> Vec<&'static str> {
    let word = plain(word);
    let aliases = ALIASES.alias.iter().filter(|alias| alias.words.contains(&word));
    aliases.flat_map(|alias| alias.names.iter().map(String::as_str)).collect()
}

/// Plain words of which each has lost the ending of a plural: Mexican Americans as Mexican American.
#[must_use]
pub fn singular(plain: &str) -> String {
    let word = |word: &str| {
        let stem = word.strip_suffix('s').filter(|stem| stem.len() >= FEWEST_LETTERS && !stem.ends_with('s'));
        stem.unwrap_or(word).to_owned()
    };
    plain.split('_').map(word).collect::<Vec<_>>().join("_")
}

/// A shorter word is no plural without its last letter.
const FEWEST_LETTERS: usize = 3;

/// The labels of groups that an everyday word, or its plural, may mean.
#[must_use]
pub fn levels_meant(word: &str) -> Vec<&'static str> {
    let word = plain(word);
    let one = singular(&word);
    let is_meant = |level: &&Level| level.words.contains(&word) || level.words.contains(&one);
    let levels = ALIASES.level.iter().filter(is_meant);
    levels.flat_map(|level| level.labels.iter().map(String::as_str)).collect()
}

/// Every everyday word for one of these labels.
pub fn words_for<'l>(labels: &'l [&str]) -> impl Iterator<Item = &'static str> + 'l {
    let means_one = |level: &&Level| level.labels.iter().any(|label| labels.contains(&label.as_str()));
    ALIASES.level.iter().filter(means_one).flat_map(|level| level.words.iter().map(String::as_str))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::{groups, indices, outcomes};

    #[test]
    fn every_alias_means_rows_that_exist_and_is_written_plainly() {
        let known: Vec<&str> = indices()
            .iter()
            .map(|row| row.name.as_str())
            .chain(outcomes().iter().map(|row| row.name.as_str()))
            .chain(groups().iter().map(|row| row.name.as_str()))
            .collect();
        for alias in &ALIASES.alias {
            assert!(
                !alias.names.is_empty() && alias.words.iter().all(|word| plain(word) == *word),
                "{alias:?}"
            );
            assert!(alias.names.iter().all(|name| known.contains(&&**name)), "{alias:?}");
        }
        // Categories of a survey are no rows of groups.
        let categories = [
            "Mexican American",
            "Other Hispanic",
            "Non-Hispanic Black",
            "Non-Hispanic White",
            "Non-Hispanic Asian",
        ]
        .map(str::to_owned);
        let labels: Vec<&String> = groups().iter().flat_map(|row| &row.labels).chain(&categories).collect();
        for level in &ALIASES.level {
            assert!(level.words.iter().all(|word| plain(word) == *word), "{level:?}");
            assert!(
                !level.labels.is_empty() && level.labels.iter().all(|l| labels.contains(&l)),
                "{level:?}"
            );
        }
        assert_eq!(levels_meant("Women"), ["female"]);
        assert_eq!(levels_meant("Hispanics"), levels_meant("hispanic"));
        assert_eq!(levels_meant("African Americans"), ["Non-Hispanic Black"]);
        assert!(!levels_meant("hispanic").is_empty());
        let plurals = ["mexican_americans", "asians", "class", "as"].map(singular);
        assert_eq!(plurals, ["mexican_american", "asian", "class", "as"]);
        assert!(words_for(&["female"]).any(|word| word == "women"));
        assert_eq!(meant("Race"), ["ancestry", "ancestry_detailed"]);
        assert_eq!(meant("MetS").len(), 5);
        assert!(meant("luck").is_empty());
        assert_eq!(plain(" HOMA-IR "), "homa_ir");
    }
}
