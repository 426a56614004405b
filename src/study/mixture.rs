//! A cutoff that asks for no outcome, where two distributions part: computed when a study asks for it.

use serde::{Deserialize, Serialize};

use super::error::{StudyError, Text};
use super::file::{At, StudyFile};

/// Fewer resamples show no 95 % interval: its ends are their outermost fortieths.
const RESAMPLES: std::ops::RangeInclusive<usize> = 100..=2000;

/// `[analysis.mixture]`; a study without it fits no mixtures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MixtureFile {
    #[serde(default = "resamples")]
    pub resamples: At<usize>,
}

fn resamples() -> At<usize> {
    At::new(0..0, 200)
}

/// How many resamples of people stand behind the interval of a mixture's cutoff; `None` without mixtures.
pub(super) fn mixture(file: &StudyFile, text: Text<'_>) -> Result<Option<usize>, StudyError> {
    let Some(written) = &file.analysis.mixture else { return Ok(None) };
    let resamples = *written.resamples.get_ref();
    if RESAMPLES.contains(&resamples) {
        return Ok(Some(resamples));
    }
    let (least, most) = (RESAMPLES.start(), RESAMPLES.end());
    let problem = format!("resamples of a mixture must lie between {least} and {most}, found {resamples}");
    Err(text.problem(written.resamples.span(), problem))
}
