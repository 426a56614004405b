//! Tables and remarks made from counts of the cohort: what is missing, and where a measurement ends.

use super::context::Context;
use super::withhold::decimals;
use super::{AnalysisError, Results, cycle_people, measurement_limits, outcome_items};
use crate::cohort::{Counts, Unanswered, subsample_name};
use crate::notice::Notice;
use crate::table::number::fixed;
use crate::table::small;

/// People and share of the cohort (weighted) from which on it is said that an exclusion could not be answered.
const FEWEST: u64 = 10;
const SMALLEST: f64 = 0.01;

/// The tables and notices of all counts.
pub fn counted(context: &Context, counts: &Counts) -> Result<Results, AnalysisError> {
    let mut all = outcome_items::results(context, &counts.answers)?;
    let limits = measurement_limits::results(context, &counts.limits)?;
    all.tables.extend(limits.tables);
    for table in &mut all.tables {
        cycle_people::leave_out(context.study, table);
    }
    all.notices.extend(limits.notices);
    let narrower = counts.unanswered.iter().filter(|one| one.narrower);
    all.notices.extend(narrower.map(|one| beyond_frame(context, one)));
    let fewest = context.study.fewest_shown().map_or(FEWEST, |limit| FEWEST.max(limit as u64));
    let few = |one: &&Unanswered| one.unknown < fewest || one.share() < SMALLEST || one.unknown == one.people;
    let missing = counts.unanswered.iter().filter(|one| !one.narrower && !few(one));
    all.notices.extend(missing.map(|one| stay_in(context, one)));
    Ok(all)
}

/// A caution on an exclusion by a measurement that part of the cohort lack.
fn stay_in(context: &Context, one: &Unanswered) -> Notice {
    let exclusion = &context.study.exclusions[one.exclusion];
    let (name, label) = (exclusion.name.as_str(), &exclusion.label);
    let has_weights = context.tallies.frames[one.frame].frame.subsample.is_some();
    let weighted = if has_weights { ", weighted" } else { "" };
    let percent = fixed(100.0 * one.share(), decimals(context.study));
    let many = match context.study.fewest_shown() {
        Some(limit) => format!("about {}", small::rounded(one.unknown as i64, limit)),
        None => format!("{} of {}", one.unknown, one.people),
    };
    let message = format!(
        "for {many} people of the cohort ({percent} %{weighted}) it is not known whether “{label}” holds, and they stay in. A \
         reference group with without = [\"{name}\"] holds only people of whom it is known"
    );
    Notice::caution("exclusion_unanswered", name, message)
}

/// A caution on an exclusion that only part of a frame was asked.
fn beyond_frame(context: &Context, one: &Unanswered) -> Notice {
    let exclusion = &context.study.exclusions[one.exclusion];
    let frame = context.frame_name(one.frame);
    let asked = subsample_name(context.study.subsample_of(exclusion));
    let message = if exclusion.unknown_excludes {
        format!(
            "only the {asked} subsample was asked, and everybody else is left out: those who remain carry {frame} weights, \
             which do not make up for that. State an index or outcome of the {asked} subsample, or drop the requirement"
        )
    } else {
        let percent = fixed(100.0 * one.share(), decimals(context.study));
        format!(
            "only the {asked} subsample was asked, and the {frame} frame is wider: the answer is unknown for {percent} % of \
             the cohort (weighted), who stay in. A frame follows index and outcome, not the exclusions"
        )
    };
    Notice::caution("exclusion_beyond_frame", format!("{}, frame {frame}", exclusion.name), message)
}
