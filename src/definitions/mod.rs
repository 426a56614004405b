//! Definitions as data: quantities, indices, outcomes, exclusions, groups and waist tables are rows
//! of the TOML files in this folder. A formula is a SQL expression over cohort columns.

mod model;
pub mod quantity;
pub mod survey;

pub use model::*;
