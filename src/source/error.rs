//! What can go wrong while files are read: where, what was found, what was expected, what to do.

use std::path::Path;

/// An error that stops the reading of a source.
#[derive(Debug, thiserror::Error)]
pub enum SourceError {
    #[error("{file}: {message}")]
    File { file: String, message: String },
    #[error("{file}, {place}, column `{column}`: found `{found}`, expected {expected}")]
    Cell { file: String, place: String, column: String, found: String, expected: String },
    #[error("{file}: no column `{column}`; its columns are: {known}")]
    Column { file: String, column: String, known: String },
    #[error("{source_name}: {message}")]
    Source { source_name: String, message: String },
    #[error("the columns of {source_name} could not be put into a table")]
    Table { source_name: String, source: polars::error::PolarsError },
}

impl SourceError {
    pub(super) fn file(path: &Path, message: impl Into<String>) -> Self {
        Self::File { file: path.display().to_string(), message: message.into() }
    }

    pub(super) fn source(name: &str, message: impl Into<String>) -> Self {
        Self::Source { source_name: name.to_owned(), message: message.into() }
    }

    pub(super) fn table(name: &str, source: polars::error::PolarsError) -> Self {
        Self::Table { source_name: name.to_owned(), source }
    }
}
