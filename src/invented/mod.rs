//! An invented survey with a complex design and a known truth, for demonstrations and tests.
//!
//! Veldmark, the Veldmark Hearthlight Survey, the ancestry groups Brinnic, Calduen, Orvane and
//! Sithrel and every person in it are made up. [`model`] states the superpopulation, [`person`]
//! draws from it, [`design`] samples it in waves, strata and PSUs, and [`mod@truth`] integrates it, so
//! that an estimate made from a sample can be held against the number it estimates.

pub mod design;
pub mod draws;
pub mod file;
pub mod model;
pub mod person;
pub mod truth;

pub use design::{DesignError, USUAL_PEOPLE, USUAL_SEED, contrast_survey, survey};
pub use file::{InventError, SURVEY_FILE, TRUTH_FILE, write};
pub use person::Person;
pub use truth::truth;
