//! How much a measurement of one person varies from day to day and by its assay.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;

/// Coefficients of variation of one quantity, as shares.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VariationRow {
    pub quantity: String,
    pub within_person: f64,
    pub analytical: f64,
    pub source: String,
    pub standing: Standing,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct VariationFile {
    variation: Vec<VariationRow>,
}

static VARIATIONS: LazyLock<Vec<VariationRow>> = LazyLock::new(|| {
    toml::from_str::<VariationFile>(include_str!("variation.toml"))
        .expect("the embedded rows are read by a test")
        .variation
});

/// The variation of a quantity, where one is known.
#[must_use]
pub fn variation(quantity: &str) -> Option<&'static VariationRow> {
    VARIATIONS.iter().find(|row| row.quantity == quantity)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    #[test]
    fn every_row_is_of_a_known_number_and_says_that_it_was_not_read_again() {
        assert!(VARIATIONS.len() >= 4);
        for row in VARIATIONS.iter() {
            assert!(quantity(&row.quantity).is_some_and(|q| !q.units.is_empty()), "{}", row.quantity);
            assert!((0.0..0.5).contains(&row.within_person) && (0.0..0.2).contains(&row.analytical));
            assert_eq!(row.standing, Standing::FromMemory);
            assert!(!row.source.is_empty());
        }
        assert_eq!(variation("sex"), None);
    }
}
