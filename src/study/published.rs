//! Which cutoffs in print are laid over a run.

use serde::{Deserialize, Serialize};

use super::Study;
use super::error::{StudyError, Text};
use super::file::{At, StudyFile};
use crate::definitions::overlay::{ANY, Laid, laid_over};
use crate::definitions::published as in_print;

/// `published = true`, `false`, or the names of some.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "expected true, false or a list of names (cutspan list published)")]
pub(super) enum PublishedFile {
    All(bool),
    Named(Vec<String>),
}

/// Cutoffs in print that a study asks for, and the ages of its cohort, which they are held against.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyPublished {
    /// Names of rows; `None` for all.
    names: Option<Vec<String>>,
    /// From the first number of years to below the second.
    pub age: (f64, f64),
}

/// All cutoffs, for people of any age.
impl Default for StudyPublished {
    fn default() -> Self {
        Self { names: None, age: ANY }
    }
}

impl StudyPublished {
    /// The cutoffs that speak of an index and are asked for.
    #[must_use]
    pub fn laid_over(&self, index: &str) -> Vec<Laid> {
        let asked = |laid: &Laid| self.names.as_ref().is_none_or(|names| names.contains(&laid.row.name));
        laid_over(index).into_iter().filter(asked).collect()
    }
}

/// Resolves the names of cutoffs in print.
pub(super) fn published(file: &StudyFile, text: Text<'_>) -> Result<StudyPublished, StudyError> {
    let written = &file.analysis.published;
    let names = match written.get_ref() {
        PublishedFile::All(true) => None,
        PublishedFile::All(false) => Some(Vec::new()),
        PublishedFile::Named(names) => {
            for name in names {
                known(&At::new(written.span(), name.clone()), text)?;
            }
            Some(names.clone())
        }
    };
    let age = file.cohort.age.as_ref().map(|age| *age.get_ref());
    let age = age.map_or(ANY, |age| (age.from.unwrap_or(ANY.0), age.below.unwrap_or(ANY.1)));
    Ok(StudyPublished { names, age })
}

fn known(name: &At<String>, text: Text<'_>) -> Result<(), StudyError> {
    let names = || in_print().iter().map(|row| row.name.as_str());
    if names().any(|known| known == name.get_ref()) {
        return Ok(());
    }
    Err(text.unknown("cutoff in print", name, names()))
}

/// How many cutoffs are laid over each index.
pub(super) fn in_words(study: &Study) -> Vec<String> {
    let count = |name: &str| {
        let laid = study.published.laid_over(name);
        let numbers = laid.iter().filter(|laid| laid.value().is_some()).count();
        let other = laid.len() - numbers;
        let warned = if other > 0 {
            format!(", and {other} of another form, named without numbers")
        } else {
            String::new()
        };
        (!laid.is_empty()).then(|| format!("{name}: {numbers}{warned}"))
    };
    study.indices.iter().filter_map(|index| count(&index.row.name)).collect()
}
