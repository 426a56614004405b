//! The rows that estimators work on.

/// People of one domain, summed over those who share a value and a sampling unit.
///
/// Rows are sorted by `value`, ascending, and values are finite. `value` runs in the order of
/// resistance: the index itself when higher is more resistant, its negative otherwise.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sample {
    pub value: Vec<f64>,
    /// Sum of the people's weights.
    pub weight: Vec<f64>,
    /// Sum of the people's squared weights.
    pub weight_squared: Vec<f64>,
    /// Number of people.
    pub people: Vec<u32>,
    /// Position of the PSU (or pseudo-PSU) in the design.
    pub unit: Vec<u32>,
}

impl Sample {
    #[must_use]
    pub fn len(&self) -> usize {
        self.value.len()
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.value.is_empty()
    }
}
