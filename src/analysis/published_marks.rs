//! Cutoffs in print on the scale of an index of the study.

use super::context::{Context, resistance};
use super::published_derived::OF_THE_SOURCE;
use crate::definitions::overlay::Laid;
use crate::study::Threshold;

/// The first outcome of the study, which the source does not name.
const FIRST: &str = "first";

/// A cutoff in print on the scale of an index of the study.
pub(super) struct Mark {
    pub laid: Laid,
    pub threshold: Threshold,
    /// The outcome it is judged by, and whether the source names it.
    pub outcome: Option<usize>,
    pub outcome_is: &'static str,
}

/// The cutoffs with a place on the index, least resistant first, and those without.
pub(super) fn marks(context: &Context, index: usize) -> (Vec<Mark>, Vec<Laid>) {
    let study = context.study;
    let laid = study.published.laid_over(&study.indices[index].row.name);
    let (numbers, warnings): (Vec<Laid>, Vec<Laid>) =
        laid.into_iter().partition(|laid| laid.value().is_some());
    let mark = |laid: Laid| {
        let value = laid.value().unwrap_or(f64::NAN);
        let source = laid.row.source.clone();
        let threshold = Threshold { index, value, strict: laid.row.strict == Some(true), source };
        let (outcome, outcome_is) = outcome(context, &laid);
        Mark { laid, threshold, outcome, outcome_is }
    };
    let mut marks: Vec<Mark> = numbers.into_iter().map(mark).collect();
    let at = |mark: &Mark| resistance(mark.threshold.value, &study.indices[index]);
    marks.sort_by(|a, b| at(a).total_cmp(&at(b)).then(a.threshold.strict.cmp(&b.threshold.strict)));
    (marks, warnings)
}

/// The outcome that the source names when the study has it, else the study's first.
fn outcome(context: &Context, laid: &Laid) -> (Option<usize>, &'static str) {
    let named = |wanted: &String| {
        let names = || context.study.outcomes.iter().map(|o| o.row.name.as_str());
        names()
            .position(|name| name == wanted)
            .or_else(|| names().position(|name| name.starts_with(wanted.as_str())))
    };
    match laid.row.outcome_names.iter().find_map(named) {
        Some(outcome) => (Some(outcome), OF_THE_SOURCE),
        None => (if context.study.outcomes.is_empty() { None } else { Some(0) }, FIRST),
    }
}
