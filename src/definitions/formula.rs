//! Reading a formula: the columns it names, the quantities these belong to, numbers as SQL text.

use polars::sql::sql_expr;

use super::{ColumnKind, DefinitionError, Definitions, Quantity, Subsample, nearest::hint};

/// Columns that name where a person comes from; no quantity of their own.
pub const ORIGIN_COLUMNS: [&str; 2] = ["survey", "cycle"];

/// Cohort columns a formula reads, sorted.
pub fn columns_read(row: &str, formula: &str) -> Result<Vec<String>, DefinitionError> {
    let expression = sql_expr(formula).map_err(|error| DefinitionError::Syntax {
        row: row.to_owned(),
        formula: formula.to_owned(),
        reason: error.to_string(),
    })?;
    let mut columns: Vec<String> =
        expression.meta().root_names().into_iter().map(|name| name.to_string()).collect();
    columns.sort();
    columns.dedup();
    Ok(columns)
}

/// A number as SQL text, always with a decimal point, so that no engine divides integers.
#[must_use]
pub fn sql_number(value: f64) -> String {
    let text = value.to_string();
    if text.contains('.') { text } else { format!("{text}.0") }
}

impl Definitions {
    /// Raw quantities that a formula rests on, sorted by name.
    pub fn ingredients(&self, row: &str, formula: &str) -> Result<Vec<String>, DefinitionError> {
        let mut names = Vec::new();
        for column in columns_read(row, formula)? {
            if ORIGIN_COLUMNS.contains(&column.as_str()) {
                continue;
            }
            names.push(self.quantity_of_column(row, &column)?.name.clone());
        }
        names.sort();
        names.dedup();
        Ok(names)
    }

    /// The most restrictive subsample among quantities: its weight is the one to use.
    #[must_use]
    pub fn subsample(&self, ingredients: &[String]) -> Subsample {
        self.quantities
            .iter()
            .filter(|quantity| ingredients.contains(&quantity.name))
            .map(|quantity| quantity.subsample)
            .max()
            .unwrap_or(Subsample::Interview)
    }

    /// What a column holds.
    pub fn kind_of_column(&self, row: &str, column: &str) -> Result<ColumnKind, DefinitionError> {
        if ORIGIN_COLUMNS.contains(&column) {
            return Ok(ColumnKind::Category);
        }
        Ok(self.quantity_of_column(row, column)?.kind)
    }

    /// The quantity that fills a column.
    fn quantity_of_column(&self, row: &str, column: &str) -> Result<&Quantity, DefinitionError> {
        self.quantities
            .iter()
            .find(|quantity| quantity.columns().iter().any(|name| name == column))
            .ok_or_else(|| {
                let known: Vec<String> = self.quantities.iter().flat_map(Quantity::columns).collect();
                DefinitionError::UnknownColumn {
                    row: row.to_owned(),
                    column: column.to_owned(),
                    hint: hint(column, known.iter().map(String::as_str)),
                }
            })
    }
}
