//! Tables and remarks made from counts of the cohort: what is missing, and where a measurement ends.

use super::context::Context;
use super::{AnalysisError, Results, measurement_limits, outcome_items};
use crate::cohort::{Counts, Unasked, subsample_name};
use crate::notice::Notice;

/// The tables and notices of all counts.
pub fn counted(context: &Context, counts: &Counts) -> Result<Results, AnalysisError> {
    let mut all = outcome_items::results(context, &counts.answers)?;
    let limits = measurement_limits::results(context, &counts.limits)?;
    all.tables.extend(limits.tables);
    all.notices.extend(limits.notices);
    all.notices.extend(counts.unasked.iter().map(|one| narrower(context, one)));
    Ok(all)
}

/// A caution on an exclusion that only part of a frame was asked.
fn narrower(context: &Context, one: &Unasked) -> Notice {
    let exclusion = &context.study.exclusions[one.exclusion];
    let frame = context.frame_name(one.frame);
    let asked = subsample_name(context.study.subsample_of(exclusion));
    let message = if exclusion.unknown_excludes {
        format!(
            "only the {asked} subsample was asked, and everybody else is left out: those who remain carry {frame} weights, \
             which do not make up for that. State an index or outcome of the {asked} subsample, or drop the requirement"
        )
    } else {
        let weight = one.weight.max(1) as f64;
        let percent = 100.0 * (one.unknown_weight as f64 / weight);
        format!(
            "only the {asked} subsample was asked, and the {frame} frame is wider: the answer is unknown for {percent:.1} % of \
             the cohort (weighted), who stay in. A frame follows index and outcome, not the exclusions"
        )
    };
    Notice::caution("exclusion_beyond_frame", format!("{}, frame {frame}", exclusion.name), message)
}
