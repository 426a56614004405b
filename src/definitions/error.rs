//! What is wrong with a row of definitions.

use thiserror::Error;

/// Why a row cannot be used. The row is named; a study file adds the line.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DefinitionError {
    #[error(
        "the formula of \"{row}\" is not a SQL expression that can be read: {reason}. The formula: {formula}"
    )]
    Syntax { row: String, formula: String, reason: String },
    #[error("the formula of \"{row}\" reads the column \"{column}\", which no quantity has. {hint}")]
    UnknownColumn { row: String, column: String, hint: String },
    #[error("\"{row}\" counts \"{item}\", which is not an outcome. {hint}")]
    UnknownItem { row: String, item: String, hint: String },
    #[error("\"{row}\" counts itself, through {path}")]
    Circular { row: String, path: String },
    #[error("\"{row}\" needs either a formula, or items and at_least (between 1 and the number of items)")]
    NoCondition { row: String },
    #[error("\"{row}\": {problem}")]
    Row { row: String, problem: String },
}
