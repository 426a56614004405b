//! Definitions as data: quantities, indices, outcomes, exclusions, groups and waist tables are rows
//! of the TOML files in this folder. A formula is a SQL expression over cohort columns.
//!
//! [`Definitions`] holds the built-in rows and those of a study; it turns a row into the SQL that
//! is run, and tells which raw quantities that SQL rests on.

mod add;
pub mod alarm;
pub mod aliases;
mod alternatives;
pub mod answer;
mod built_in;
pub mod chain;
pub mod crosswalk;
mod doubt;
mod error;
mod expand;
pub mod finer;
mod formula;
pub mod level_words;
pub mod limit;
mod model;
pub mod nearest;
pub mod other_form;
pub mod overlay;
pub mod plausible;
pub mod pooling;
mod published;
pub mod quantity;
mod standard;
pub mod survey;
pub mod variation;
pub mod whom;
mod written;
mod yes_no;

pub use add::is_of_the_cohort;
pub use built_in::{Definitions, exclusions, groups, indices, outcomes, waist_tables};
pub use error::DefinitionError;
pub use formula::{ORIGIN_COLUMNS, columns_read, sql_number};
pub use model::*;
pub use published::{Published, Stage, published};
pub use standard::{StandardPopulation, standards};
pub use written::bound;
pub use yes_no::plain_answer;
