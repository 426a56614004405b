//! Tables and remarks made from counts of the cohort: what is missing, and where a measurement ends.

use super::context::Context;
use super::{AnalysisError, Results, outcome_items};
use crate::cohort::Counts;

/// The tables and notices of all counts.
pub fn counted(context: &Context, counts: &Counts) -> Result<Results, AnalysisError> {
    outcome_items::results(context, &counts.answers)
}
