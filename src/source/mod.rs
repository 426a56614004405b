//! From files to cohort rows: formats (SAS transport, CSV, Parquet), the national survey's map, and
//! tables with a column map of the study's own.

use polars::prelude::DataFrame;

use crate::definitions::Subsample;
use crate::notice::Notice;

/// A file as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRecord {
    /// File name without folders.
    pub name: String,
    pub source: String,
    pub bytes: u64,
    pub sha256: String,
    pub rows: usize,
}

/// A line of the participant flow that happened while files were read and joined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlowLine {
    pub source: String,
    pub step: String,
    pub people: usize,
}

/// One source, read: one row per person, in cohort columns.
///
/// Columns: `person` (String, unique over the study), `source` (String), `survey`, `cycle` (String),
/// every quantity the source has (see [`crate::definitions::Quantity`] for names and types),
/// `weight_<subsample>` (Float64, null or 0 outside the subsample) for each entry of `weights`,
/// `stratum` and `psu` (String; absent without a design).
#[derive(Debug, Clone)]
pub struct Loaded {
    pub frame: DataFrame,
    /// Subsamples for which the source has a weight of their own, least restrictive first. Empty: no weights.
    pub weights: Vec<Subsample>,
    pub has_design: bool,
    pub files: Vec<FileRecord>,
    pub flow: Vec<FlowLine>,
    pub notices: Vec<Notice>,
}
