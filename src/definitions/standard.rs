//! Standard populations: how a group's ages are weighted when groups are compared on equal terms.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;

/// Shares of a population in the levels of one variable.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StandardPopulation {
    pub name: String,
    pub label: String,
    /// Name of the group variable whose levels have shares.
    pub variable: String,
    pub levels: Vec<String>,
    /// One per level; taken relative to their sum.
    pub shares: Vec<f64>,
    pub source: String,
    pub standing: Standing,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StandardFile {
    standard: Vec<StandardPopulation>,
}

static STANDARDS: LazyLock<Vec<StandardPopulation>> = LazyLock::new(|| {
    let file: StandardFile =
        toml::from_str(include_str!("standards.toml")).expect("the embedded rows are read by a test");
    file.standard
});

/// Standard populations, in the order of their file.
#[must_use]
pub fn standards() -> &'static [StandardPopulation] {
    &STANDARDS
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::groups;

    /// Six decimals of three shares.
    const ROUNDED: f64 = 2e-6;

    #[test]
    fn every_standard_shares_out_one_population_over_levels_of_its_variable() {
        for row in standards() {
            let variable = groups().iter().find(|group| group.name == row.variable).expect("a known group");
            assert!(row.levels.iter().all(|level| variable.labels.contains(level)), "{}", row.name);
            assert_eq!(row.levels.len(), row.shares.len(), "{}", row.name);
            assert!((row.shares.iter().sum::<f64>() - 1.0).abs() < ROUNDED, "{}", row.name);
            assert!(!row.label.is_empty() && !row.source.is_empty(), "{}", row.name);
        }
    }
}
