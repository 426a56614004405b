//! From files to cohort rows: formats (SAS transport, CSV, Parquet), the national survey's map, and
//! tables with a column map of the study's own.

mod above;
mod below;
mod columns;
mod dates;
mod delimited;
mod error;
mod exact;
mod file;
mod filled;
mod inspect;
mod join;
mod labels;
mod mention;
mod newlines;
mod parquet;
mod peek;
mod person;
mod pool;
mod quotes;
mod rare_labels;
mod raw;
mod recipe;
mod release;
mod replicate_weights;
mod rows;
mod slip;
#[cfg(feature = "statistical-files")]
mod statistical;
mod survey;
mod table;
mod units;
mod unlikely;
mod western;
mod xport;

use std::collections::BTreeMap;
use std::path::PathBuf;

use polars::prelude::{Column, DataFrame, DataType, Scalar};

use crate::definitions::Subsample;
use crate::definitions::limit::MeasurementLimit;
use crate::definitions::survey::survey as known_survey;
use crate::notice::Notice;
use crate::study::{Source, Study};

pub use error::SourceError;
pub use filled::note_empty;
pub use inspect::{Inspected, inspect};
pub use peek::{Peek, peek};
pub use person::person;
pub use pool::read_all;
pub use replicate_weights::FACTOR_BITS;

/// A file as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRecord {
    /// File name without folders.
    pub name: String,
    pub source: String,
    pub bytes: u64,
    pub sha256: String,
    pub rows: usize,
    /// Columns of the file, and how many of them are read.
    pub columns: usize,
    pub columns_read: usize,
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
    /// Factors of replicate weights that came with the data, by `psu` (after pooling: by source and `psu`), in
    /// whole numbers of 2^−[`FACTOR_BITS`]. Empty without.
    pub replicate_factors: BTreeMap<String, Vec<i64>>,
    pub files: Vec<FileRecord>,
    pub flow: Vec<FlowLine>,
    pub notices: Vec<Notice>,
    /// Limits that cells of a table give in place of a value; `survey` is the name of the source.
    pub detection: Vec<MeasurementLimit>,
}

/// Name of the weight column of a subsample.
#[must_use]
pub fn weight_column(subsample: Subsample) -> &'static str {
    match subsample {
        Subsample::Interview => "weight_interview",
        Subsample::Examination => "weight_examination",
        Subsample::Fasting => "weight_fasting",
        Subsample::GlucoseTolerance => "weight_glucose_tolerance",
    }
}

/// Reads one source of a study. `folders` may hold a known survey's files, or tables that are not where the study names
/// them, and are tried in order, before the study's own data folders.
pub fn read(study: &Study, source: &Source, folders: &[PathBuf]) -> Result<Loaded, SourceError> {
    let needs = mention::needs(study);
    match source {
        Source::Survey { survey: name, cycle, .. } => {
            let survey =
                known_survey(name).ok_or_else(|| SourceError::source(name, "no such survey is known"))?;
            let cycle = survey.cycle(cycle).map_err(|e| SourceError::source(name, e))?;
            let four_years = cycle.partner_in(&survey::pooled_cycles(study, name)).is_some();
            let request =
                survey::Request { survey, cycle, quantities: &study.quantities, needs: &needs, four_years };
            survey::read(&request, &all_folders(study, folders))
        }
        Source::Table(table) => table::read(table, study, &all_folders(study, folders), study.fewest_shown()),
    }
}

/// Name of a source as it stands in the `source` column and in messages: `NHANES 2017-2018`, or a table's own.
#[must_use]
pub fn name(source: &Source) -> String {
    match source {
        Source::Survey { survey, cycle, .. } => {
            let label = known_survey(survey).map_or(survey.as_str(), |known| &known.label);
            format!("{label} {cycle}")
        }
        Source::Table(table) => table.name.clone(),
    }
}

/// A text column with the same value for everybody.
fn constant_column(name: &str, value: &str, people: usize) -> Column {
    let value = Scalar::new(DataType::String, polars::prelude::AnyValue::StringOwned(value.into()));
    Column::new_scalar(name.into(), value, people)
}

fn all_folders(study: &Study, folders: &[PathBuf]) -> Vec<PathBuf> {
    let own = study.data_folders.iter().map(|f| study.folder.join(f));
    let mut all: Vec<PathBuf> = Vec::new();
    for folder in folders.iter().cloned().chain(own) {
        if !all.contains(&folder) {
            all.push(folder);
        }
    }
    all
}
