//! A study file as written (`file`), and as checked, with every name resolved to its row (`model`).

mod answers;
mod asked;
mod assay_route;
mod births;
mod check;
mod check_rows;
mod checks;
mod cohort;
mod column_names;
mod complete;
mod control;
mod curves;
mod define;
mod design;
mod draft;
mod draft_further;
mod draft_own;
mod draft_plan;
mod error;
mod explain;
mod explain_run;
mod families;
mod few_replicates;
mod file;
mod formula_types;
mod groups;
mod guess;
mod headers;
mod ingredients;
mod invented;
mod keys;
mod mixture;
mod model;
mod needs;
mod open;
mod output;
mod own_outcome;
mod percent;
pub mod provenance;
mod published;
mod resampling;
mod rule_file;
mod rules;
mod samples;
mod schema;
mod schema_define_keys;
mod schema_keys;
mod schema_source_keys;
mod sensitivity;
mod slip;
mod sources;
mod standardize;
mod survey_weight;
mod thresholds;
mod treatment;
mod unreleased;
mod unstated;

use std::path::Path;

pub use answers::Answers;
pub use assay_route::{Conversion, Route};
pub use births::{Birth, age_by_hand, is_birth};
pub use check_rows::{NoSuchGroup, is_called, no_such_groups};
pub use checks::{Check, Expectation, Pick, Wanted, row_in_words};
pub use cohort::{NEGATED, OUTSIDE_AGE};
pub use control::is_control;
pub use curves::{LmsPower, Over, StudyCurves};
pub use design::Design;
pub use draft::{Draft, DraftSource};
pub use draft_own::OwnNames;
pub use error::{Place, StudyError};
pub use explain::{explain, explain_read};
pub use groups::crossed;
pub use guess::{FewTexts, Guessed, Map, Seen, guess};
pub use ingredients::{remarks, shared_ingredients};
pub use invented::{Invented, is_invented, named_invented};
pub use model::*;
pub use output::{Format, StudyOutput};
pub use percent::written_as_shares;
pub use published::StudyPublished;
pub use resampling::{cutoffs_by_replicates, in_words as resampling_in_words};
pub use samples::StudySample;
pub use schema::schema;
pub use sensitivity::{ExclusionSet, Sensitivity};
pub use unreleased::{empty_columns, known_of_nobody};
pub use unstated::{taken_as_public, unlike_samples};

/// Reads and checks a study file.
pub fn load(path: &Path) -> Result<Study, StudyError> {
    let text = open::text(path)?;
    let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    parse(&text, &path.display().to_string(), folder)
}

/// Checks the text of a study file. `name` stands in messages, `folder` is where relative paths start.
pub fn parse(text: &str, name: &str, folder: &Path) -> Result<Study, StudyError> {
    let text = error::Text { name, text };
    let file = toml::from_str(text.text).map_err(|error| text.syntax(&error))?;
    control::refuse(text)?;
    check::check(file, text, folder)
}
