//! Stata, SPSS and SAS files (feature `statistical-files`).

use std::fmt::Display;
use std::path::Path;

use polars::prelude::DataFrame;
use polars_readstat_rs::{Sas7bdatReader, SpssReader, StataReader};

use super::raw::{RawTable, is_wanted};
use super::{SourceError, parquet};

/// Reads the wanted columns that the file has (all when `None`). Coded values stay the numbers they are,
/// value labels are not read; special missing values are missing.
pub(super) fn read(path: &Path, extension: &str, wanted: Option<&[&str]>) -> Result<RawTable, SourceError> {
    let frame = match extension {
        "dta" => StataReader::open(path)
            .and_then(|r| r.read().value_labels_as_strings(false).finish())
            .map_err(|e| broken(path, "Stata", &e))?,
        "sas7bdat" => {
            Sas7bdatReader::open(path).and_then(|r| r.read().finish()).map_err(|e| broken(path, "SAS", &e))?
        }
        _ => SpssReader::open(path)
            .and_then(|r| r.read().value_labels_as_strings(false).finish())
            .map_err(|e| broken(path, "SPSS", &e))?,
    };
    let names: Vec<String> = frame.get_column_names().iter().map(ToString::to_string).collect();
    parquet::table(path, &kept(&frame, wanted), names)
}

fn kept(frame: &DataFrame, wanted: Option<&[&str]>) -> DataFrame {
    let columns = frame.columns().iter().filter(|c| is_wanted(wanted, c.name())).cloned().collect();
    DataFrame::new(frame.height(), columns).unwrap_or_else(|_| frame.clone())
}

fn broken(path: &Path, kind: &str, cause: &dyn Display) -> SourceError {
    SourceError::file(path, format!("not a readable {kind} file: {cause}"))
}
