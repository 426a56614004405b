//! The cutoffs of a person's groups where no value of any index is given.

use super::AnalysisError;
use super::context::Context;
use super::place::{Person, PlacedIndex, bare};
use super::place_cutoffs::without_value;
use super::place_tests::Tested;
use crate::cohort::Subject;

/// The first index that is asked for, or else of the study, without a value: the cutoffs of the person's groups, and whether
/// cutoffs differ between groups.
pub(super) fn of_groups(
    context: &Context,
    subject: &Subject,
    (person, tested): (&Person, &mut Tested),
) -> Result<Option<PlacedIndex>, AnalysisError> {
    let index = person.indices.first().copied().unwrap_or_default();
    let Some(row) = context.study.indices.get(index) else { return Ok(None) };
    let (_, tests) = tested.of(context, (subject, &person.answers), index)?;
    let cutoffs = without_value(context, subject, (index, person.grouping))?;
    Ok(Some(PlacedIndex { cutoffs, tests, ..bare(row, f64::NAN) }))
}
