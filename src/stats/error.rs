//! What an estimator refuses.

use thiserror::Error;

/// Why an estimator gave no number.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StatError {
    #[error("no rows: the group is empty")]
    Empty,
    #[error("slices differ in length: {0} and {1}")]
    Length(usize, usize),
    #[error("row {row}: {what} {value} is not allowed here")]
    Value { row: usize, what: &'static str, value: f64 },
    #[error("all weights are zero")]
    NoWeight,
    #[error("{what} must lie in {range}, got {value}")]
    Parameter { what: &'static str, range: &'static str, value: f64 },
    #[error("nobody {0} the outcome")]
    OneClass(&'static str),
    #[error("stratum {0} has a single PSU")]
    LonelyPsu(String),
    #[error("{0}")]
    Undefined(&'static str),
}
