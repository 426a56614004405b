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
    #[error(
        "stratum {0} has a single PSU: merge it with a neighbouring stratum, or state how it shall count"
    )]
    LonelyPsu(String),
    #[error(
        "stratum {stratum} has {units} PSUs, and balanced half-samples need exactly two in every stratum"
    )]
    NotPaired { stratum: String, units: usize },
    #[error(
        "{replicates} replicates of {units} sampling units need {} million factors on weights, and no more than {most} million are \
         kept: {instead}",
        .units.saturating_mul(*.replicates) / 1_000_000
    )]
    TooManyFactors { units: usize, replicates: usize, most: usize, instead: &'static str },
    #[error("unknown rule `{name}`; known rules: {known}")]
    UnknownRule { name: String, known: String },
    #[error("rule `{rule}` takes {expected}, got {found}")]
    RuleParameters { rule: &'static str, expected: String, found: String },
    #[error("{0}")]
    Undefined(&'static str),
}
