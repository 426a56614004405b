//! Estimators: slices in, numbers out. Nothing here reads files or knows about the rest of the program.

pub mod error;
pub mod rule;
pub mod sample;

pub use error::StatError;
pub use sample::Sample;
