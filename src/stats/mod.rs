//! Estimators: slices in, numbers out. Nothing here reads files or knows about the rest of the program.

pub mod delong;
pub mod design;
pub mod error;
pub mod interval;
pub mod least_squares;
pub mod mean;
pub mod proportion;
pub mod quantile;
pub mod quantile_regression;
pub mod reference_limit;
pub mod regressors;
pub mod replicate;
pub mod roc;
pub mod rule;
pub mod sample;
pub mod scan;
pub mod spline;
mod vertex;

pub use design::{Design, LonelyPsu};
pub use error::StatError;
pub use interval::Interval;
pub use regressors::Regressors;
pub use replicate::Replicates;
pub use rule::Rule;
pub use sample::Sample;
pub use spline::NaturalSpline;
