//! One person as a table of one row, in the same columns as the people of a survey.

use polars::prelude::{BooleanChunked, Column, DataFrame, DataType, Float64Chunked, Scalar, StringChunked};
use polars::prelude::{ChunkedArray, NewChunkedArray};

use super::SourceError;
use super::columns::{Values, columns};
use crate::definitions::Quantity;
use crate::definitions::answer::{Answer, Given};

/// Columns that say where people come from; unknown for a person who is in no survey.
const ORIGIN: [&str; 2] = ["survey", "cycle"];

/// The answers in cohort columns, null where nothing was answered. A number fills the column of the
/// unit it was reported in and, converted, those of the other units, as in a survey.
pub fn person(quantities: &[Quantity], answers: &[Answer]) -> Result<DataFrame, SourceError> {
    let null = |name: &str, kind: DataType| Column::new_scalar(name.into(), Scalar::null(kind), 1);
    let mut all: Vec<Column> = ORIGIN.iter().map(|name| null(name, DataType::String)).collect();
    for quantity in quantities {
        if let Some(answer) = answers.iter().find(|answer| answer.quantity == quantity.name) {
            all.extend(columns(quantity, &values(&answer.given)));
        } else {
            all.extend(quantity.columns().iter().map(|name| null(name, quantity.data_type())));
        }
    }
    DataFrame::new(1, all).map_err(|cause| SourceError::table("the person", cause))
}

fn values(given: &Given) -> Values {
    match given {
        Given::Number { value, unit, factor } => Values::Number {
            values: Float64Chunked::from_slice("".into(), &[*value]),
            unit: *unit,
            chosen: *factor,
            below: Vec::new(),
        },
        Given::YesNo(yes) => Values::YesNo(BooleanChunked::from_slice("".into(), &[*yes])),
        Given::Label(label) => {
            let cells: StringChunked =
                ChunkedArray::from_iter_values("".into(), [label.as_str()].into_iter());
            Values::Category(cells)
        }
    }
}
