//! From the values of a quantity, as reported, to its cohort columns.

use polars::prelude::{BooleanChunked, ChunkFullNull, Column, Float64Chunked, IntoColumn, StringChunked};

use crate::definitions::{Quantity, UnitRow};

/// The values of one quantity for every person of a source.
#[derive(Debug, Clone)]
pub(super) enum Values {
    /// Numbers in the unit at this position of the quantity's units; the factor the study chose for it.
    Number {
        values: Float64Chunked,
        unit: usize,
        chosen: Option<f64>,
        /// People whose value is given as below a limit, and the limit.
        below: Vec<(usize, f64)>,
    },
    YesNo(BooleanChunked),
    Category(StringChunked),
}

impl Values {
    /// How many people have a value.
    pub fn present(&self) -> usize {
        match self {
            Self::Number { values, .. } => values.len() - values.null_count(),
            Self::YesNo(values) => values.len() - values.null_count(),
            Self::Category(values) => values.len() - values.null_count(),
        }
    }
}

/// The columns of [`Quantity::columns`], in their order: the reported unit as it stands, every other
/// unit by conversion.
pub(super) fn columns(quantity: &Quantity, values: &Values) -> Vec<Column> {
    match values {
        Values::Number { values, unit, chosen, .. } => number_columns(quantity, values, *unit, *chosen),
        Values::YesNo(values) => vec![values.clone().with_name(quantity.name.as_str().into()).into_column()],
        Values::Category(values) => {
            vec![values.clone().with_name(quantity.name.as_str().into()).into_column()]
        }
    }
}

fn number_columns(
    quantity: &Quantity,
    values: &Float64Chunked,
    unit: usize,
    chosen: Option<f64>,
) -> Vec<Column> {
    let named = |values: Float64Chunked, name: String| values.with_name(name.into()).into_column();
    let converted = |other: &UnitRow| {
        let reported = &quantity.units[unit];
        let convert = |x: f64| other.from_first(reported.to_first(x, chosen), None);
        if other == reported { values.clone() } else { values.iter().map(|x| x.map(convert)).collect() }
    };
    let mut columns = Vec::new();
    if quantity.units.len() > 1 {
        for (position, row) in quantity.units.iter().enumerate() {
            let held = if position == unit {
                values.clone()
            } else {
                Float64Chunked::full_null("".into(), values.len())
            };
            columns.push(named(held, quantity.reported_column(row)));
        }
    }
    columns.extend(quantity.units.iter().map(|row| named(converted(row), quantity.column(row))));
    columns
}
