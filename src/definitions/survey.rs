//! Surveys the program knows, cycle by cycle: files, variable names, codes, weights, pooling.

/// Names of the cycles of a known survey, oldest first; `None` for an unknown survey.
#[must_use]
pub fn cycles(_survey: &str) -> Option<Vec<String>> {
    None
}

/// Factors by which the weights of the listed cycles are multiplied when they are pooled, in the
/// order given; they sum to 1. An overlap of releases or an unknown name is an error in words.
pub fn pooling_shares(_survey: &str, _cycles: &[String]) -> Result<Vec<f64>, String> {
    Err("no survey is known".to_owned())
}
