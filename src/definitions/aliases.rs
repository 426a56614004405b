//! Everyday words for the names of rows.

use std::sync::LazyLock;

use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    alias: Vec<Alias>,
}

/// Words that people use, and the names that they may mean.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Alias {
    words: Vec<String>,
    names: Vec<String>,
}

static ALIASES: LazyLock<Vec<Alias>> = LazyLock::new(|| {
    toml::from_str::<File>(include_str!("aliases.toml"))
        .expect("the embedded aliases are read by a test")
        .alias
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
    let aliases = ALIASES.iter().filter(|alias| alias.words.contains(&word));
    aliases.flat_map(|alias| alias.names.iter().map(String::as_str)).collect()
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
        for alias in ALIASES.iter() {
            assert!(
                !alias.names.is_empty() && alias.words.iter().all(|word| plain(word) == *word),
                "{alias:?}"
            );
            assert!(alias.names.iter().all(|name| known.contains(&&**name)), "{alias:?}");
        }
        assert_eq!(meant("Race"), ["ancestry", "ancestry_detailed"]);
        assert_eq!(meant("MetS").len(), 5);
        assert!(meant("luck").is_empty());
        assert_eq!(plain(" HOMA-IR "), "homa_ir");
    }
}
