//! Estimators: slices in, numbers out. Nothing here reads files or knows about the rest of the program.

pub mod binormal;
pub mod covariance;
pub mod delong;
pub mod design;
pub mod error;
pub mod external;
pub mod heterogeneity;
pub mod interval;
pub mod logistic;
mod matrix;
pub mod mean;
pub mod mixture;
pub mod multiplicity;
pub mod net_benefit;
mod numeric;
pub mod paired;
pub mod place;
pub mod proportion;
pub mod quantile;
pub mod reference_limit;
pub mod replicate;
pub mod roc;
pub mod rule;
pub mod sample;
pub mod scale;
pub mod scan;
pub mod smooth;
pub mod spread;
pub mod standardize;
pub mod unit_sums;

pub use design::{Design, LonelyPsu};
pub use error::StatError;
pub use interval::Interval;
pub use replicate::Replicates;
pub use rule::Rule;
pub use sample::Sample;
