//! Cutoffs in print: what others found, with their population and rule.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;

/// A cutoff of one index as a source prints it, in the unit of the index.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Published {
    pub index: String,
    pub value: f64,
    /// Whether the cutoff itself counts as not beyond; `None` where the source does not say.
    pub strict: Option<bool>,
    pub country: String,
    pub population: String,
    /// People the cutoff rests on.
    pub n: u32,
    pub sex: String,
    pub rule: String,
    /// Empty for a percentile.
    pub outcome: String,
    pub source: String,
    pub standing: Standing,
    #[serde(default)]
    pub note: String,
}

impl Published {
    /// What counts as beyond, in words.
    #[must_use]
    pub fn comparison(&self) -> &'static str {
        match self.strict {
            Some(true) => "beyond",
            Some(false) => "at or beyond",
            None => "not stated",
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PublishedFile {
    published: Vec<Published>,
}

static PUBLISHED: LazyLock<Vec<Published>> = LazyLock::new(|| {
    let file: PublishedFile =
        toml::from_str(include_str!("published.toml")).expect("the embedded rows are read by a test");
    file.published
});

/// Cutoffs in print, in the order of their file.
#[must_use]
pub fn published() -> &'static [Published] {
    &PUBLISHED
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::indices;

    #[test]
    fn every_published_cutoff_names_a_known_index_and_people() {
        assert!(!published().is_empty());
        for row in published() {
            assert!(indices().iter().any(|i| i.name == row.index), "{}: {}", row.source, row.index);
            assert!(row.value > 0.0 && row.n > 0, "{}", row.source);
            assert!(["both", "male", "female"].contains(&row.sex.as_str()), "{}", row.sex);
        }
    }
}
