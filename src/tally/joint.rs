//! The joint tally: for tasks that need two values of a person at once.

use polars::prelude::*;

use super::local::with_units;
use crate::cohort::{Cohort, CohortError, DesignTable, square_column, weight_column};

/// A value of a person that a joint tally keeps beside others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum JointColumn {
    /// An index of the study, by position, as its value key.
    Index(usize),
    /// Age in whole years.
    Age,
    /// Body mass index in tenths of kg/m².
    Bmi,
}

impl JointColumn {
    fn name(self) -> String {
        match self {
            Self::Index(i) => format!("key_{i}"),
            Self::Age => "age".to_owned(),
            Self::Bmi => "bmi_tenths".to_owned(),
        }
    }
}

/// Sums over people who share all the listed values, a cell, flags, outcomes and a unit. People who
/// lack one of the values are not in it. Sorted by all of these, in this order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct JointTally {
    /// Position of the frame among the study's frames.
    pub frame: usize,
    pub columns: Vec<JointColumn>,
    /// One vector per column.
    pub keys: Vec<Vec<i64>>,
    pub cell: Vec<i64>,
    pub flags: Vec<u64>,
    pub outcomes: Vec<u64>,
    pub unit: Vec<u32>,
    pub people: Vec<u32>,
    pub weight: Vec<i64>,
    pub weight_squared: Vec<i64>,
}

/// The joint tally of some values in one frame.
pub fn joint(cohort: &Cohort, frame: usize, columns: &[JointColumn]) -> Result<JointTally, CohortError> {
    let weights = &cohort.frames[frame];
    let design = DesignTable::new(&cohort.rows, &weight_column(weights))?;
    let rows = with_units(&cohort.rows, &design, weights)?;
    let names: Vec<String> = columns.iter().map(|c| c.name()).collect();
    let by: Vec<&str> =
        names.iter().map(String::as_str).chain(["cell", "flags", "outcomes", "unit"]).collect();
    let complete = names.iter().fold(lit(true), |all, name| all.and(col(name.as_str()).is_not_null()));
    let sums = rows
        .lazy()
        .filter(complete)
        .group_by(by.iter().map(|name| col(*name)).collect::<Vec<_>>())
        .agg([
            len().cast(DataType::Int64).alias("people"),
            col(weight_column(weights)).sum().alias("weight"),
            col(square_column(weights)).sum().alias("weight_squared"),
        ])
        .sort(by, SortMultipleOptions::default())
        .collect()?;
    let column = |name: &str| -> PolarsResult<Vec<i64>> {
        Ok(sums.column(name)?.cast(&DataType::Int64)?.i64()?.iter().flatten().collect())
    };
    Ok(JointTally {
        frame,
        columns: columns.to_vec(),
        keys: names.iter().map(|n| column(n)).collect::<Result<_, _>>()?,
        cell: column("cell")?,
        flags: column("flags")?.into_iter().map(|v| v as u64).collect(),
        outcomes: column("outcomes")?.into_iter().map(|v| v as u64).collect(),
        unit: column("unit")?.into_iter().map(|v| v as u32).collect(),
        people: column("people")?.into_iter().map(|v| v as u32).collect(),
        weight: column("weight")?,
        weight_squared: column("weight_squared")?,
    })
}
