//! What can go wrong while files are read: where, what was found, what was expected, what to do.

use std::path::Path;

/// An error that stops the reading of a source.
#[derive(Debug, thiserror::Error)]
pub enum SourceError {
    #[error("{file}: {message}")]
    File { file: String, message: String },
    #[error("{file}, {place}, column `{column}`: found `{found}`, expected {expected}")]
    Cell { file: String, place: String, column: String, found: String, expected: String },
    /// Several cells of a column with the same fault: `found` holds the first of them.
    #[error("{file}, column `{column}`: expected {expected}; found in {count} rows {}", first_of(found, *count))]
    Cells { file: String, column: String, expected: String, found: Vec<FoundCell>, count: usize },
    #[error("{file}: no {}; its columns are: {known}", named(columns))]
    Columns { file: String, columns: Vec<String>, known: String },
    #[error("{} things are wrong\n{}", .0.len(), listed(.0))]
    Several(Vec<Self>),
    #[error("{source_name}: {message}")]
    Source { source_name: String, message: String },
    #[error("the columns of {source_name} could not be put into a table")]
    Table { source_name: String, source: polars::error::PolarsError },
}

/// Of one kind of problem, as many are shown.
const SHOWN: usize = 20;

/// A cell that is not as expected, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundCell {
    pub place: String,
    pub found: String,
}

fn first_of(cells: &[FoundCell], count: usize) -> String {
    let each = cells.iter().take(SHOWN).map(|cell| format!("`{}` ({})", cell.found, cell.place));
    let more = if count > SHOWN { format!(" and {} more", count - SHOWN) } else { String::new() };
    each.collect::<Vec<_>>().join(", ") + &more
}

fn named(columns: &[String]) -> String {
    let what = if columns.len() == 1 { "column" } else { "columns" };
    let names: Vec<String> = columns.iter().map(|name| format!("`{name}`")).collect();
    format!("{what} {}", names.join(", "))
}

fn listed(problems: &[SourceError]) -> String {
    problems.iter().map(|problem| format!("  - {problem}")).collect::<Vec<_>>().join("\n")
}

/// What is wrong with a source, gathered so that everything is told at once.
#[derive(Debug, Default)]
pub(super) struct Problems(Vec<SourceError>);

impl Problems {
    /// The value, or nothing with the problem kept.
    pub fn keep<T>(&mut self, result: Result<T, SourceError>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(problem) => {
                self.add(problem);
                None
            }
        }
    }

    pub fn add(&mut self, problem: SourceError) {
        match problem {
            SourceError::Several(own) => own.into_iter().for_each(|one| self.add(one)),
            SourceError::Columns { file, columns, known } => self.absent(file, columns, known),
            // A column that is read twice, as a weight is, has its faults once.
            other if self.0.iter().any(|known| known.to_string() == other.to_string()) => {}
            other => self.0.push(other),
        }
    }

    /// Absent columns of one file are one problem.
    fn absent(&mut self, file: String, columns: Vec<String>, known: String) {
        for other in &mut self.0 {
            if let SourceError::Columns { file: same, columns: before, .. } = other
                && *same == file
            {
                let new: Vec<String> = columns.into_iter().filter(|name| !before.contains(name)).collect();
                before.extend(new);
                return;
            }
        }
        self.0.push(SourceError::Columns { file, columns, known });
    }

    /// Nothing when nothing is wrong, else one error for all of it.
    pub fn finish(mut self) -> Result<(), SourceError> {
        match (self.0.pop(), self.0.is_empty()) {
            (None, _) => Ok(()),
            (Some(only), true) => Err(only),
            (Some(last), false) => {
                self.0.push(last);
                Err(SourceError::Several(self.0))
            }
        }
    }
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
