//! Estimators: slices in, numbers out. Nothing here reads files or knows about the rest of the program.

pub mod band;
pub mod covariate_roc;
pub mod delong;
pub mod design;
pub mod error;
pub mod fit_scale;
pub mod interval;
pub mod least_squares;
pub mod lms;
pub mod mean;
pub mod percentile_curve;
pub mod proportion;
pub mod quantile;
pub mod quantile_regression;
pub mod rearrange;
pub mod reference_limit;
pub mod regressors;
pub mod replicate;
pub mod roc;
pub mod rule;
pub mod sample;
pub mod scan;
mod shifted;
pub mod spline;
mod vertex;

pub use band::Band;
pub use design::{Design, LonelyPsu};
pub use error::StatError;
pub use fit_scale::FitScale;
pub use interval::Interval;
pub use regressors::Regressors;
pub use replicate::Replicates;
pub use rule::Rule;
pub use sample::Sample;
pub use spline::NaturalSpline;
