//! A study in words.

use super::Study;

/// What a study asks, for whom and by what.
#[must_use]
pub fn explain(study: &Study) -> String {
    study.title.clone()
}
