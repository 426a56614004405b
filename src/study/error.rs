//! What is wrong with a study file, and where.

use std::fmt;
use std::io;
use std::ops::Range;
use std::path::PathBuf;

use thiserror::Error;

use super::{keys, slip};
use crate::definitions::{DefinitionError, nearest};

/// A place in a study file; line and column count from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    pub file: String,
    pub line: usize,
    pub column: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// Why a study cannot be run.
#[derive(Debug, Error)]
pub enum StudyError {
    #[error("cannot read the study file {}{advice}", path.display())]
    Read { path: PathBuf, source: io::Error, advice: String },
    #[error("{}: {problem}", path.display())]
    NotAStudy { path: PathBuf, problem: String },
    #[error("{place}: {message}")]
    Syntax { place: Place, message: String },
    #[error("{place}: unknown {what} \"{found}\". {hint}")]
    UnknownName { place: Place, what: &'static str, found: String, hint: String },
    #[error("{place}: {problem}")]
    Value { place: Place, problem: String },
    #[error("{place}: this row cannot be used")]
    Definition { place: Place, source: DefinitionError },
}

/// The text of a study file, to turn a range of bytes into a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Text<'a> {
    pub name: &'a str,
    pub text: &'a str,
}

impl Text<'_> {
    pub fn place(&self, span: Range<usize>) -> Place {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Place {
            file: self.name.to_owned(),
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
        }
    }

    /// An error about a value.
    pub fn problem(&self, span: Range<usize>, problem: impl Into<String>) -> StudyError {
        StudyError::Value { place: self.place(span), problem: problem.into() }
    }

    /// An error about a row of definitions.
    pub fn definition(&self, span: Range<usize>, source: DefinitionError) -> StudyError {
        StudyError::Definition { place: self.place(span), source }
    }

    /// An error about a name that is not among the known ones.
    pub fn unknown<'k>(
        &self,
        what: &'static str,
        found: &toml::Spanned<String>,
        known: impl IntoIterator<Item = &'k str>,
    ) -> StudyError {
        StudyError::UnknownName {
            place: self.place(found.span()),
            what,
            found: found.get_ref().clone(),
            hint: nearest::hint(found.get_ref(), known),
        }
    }

    /// As [`Self::unknown`], with what else to do where no known name is near.
    pub fn unknown_or_own<'k>(
        &self,
        what: &'static str,
        found: &toml::Spanned<String>,
        known: impl IntoIterator<Item = &'k str>,
        advice: &str,
    ) -> StudyError {
        let mut error = self.unknown(what, found, known);
        if let StudyError::UnknownName { hint, .. } = &mut error
            && !hint.starts_with(nearest::MEANT)
        {
            hint.push_str(". ");
            hint.push_str(advice);
        }
        error
    }

    /// An error of the TOML reader: wrong syntax, a wrong kind of value, an unknown key.
    pub fn syntax(&self, error: &toml::de::Error) -> StudyError {
        let place = self.place(error.span().unwrap_or(0..0));
        let line = self.text.lines().nth(place.line - 1).unwrap_or_default();
        let message = keys::with_others(self, error, slip::in_words(error.message(), line));
        StudyError::Syntax { message, place }
    }
}
