//! One person put to the formulas of a study: the same SQL on a table of one row.

use polars::prelude::*;

use super::CohortError;
use super::cells::{CellPlan, formula};
use super::prepare::key;
use crate::definitions::Exclusion;
use crate::study::Study;

/// What a study's formulas say of one person.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// Value of each index as a whole number of its resolution; `None` where an ingredient is missing
    /// or the formula does not hold.
    pub keys: Vec<Option<i64>>,
    /// Level of each variable, `None` where unknown.
    pub levels: Vec<Option<u8>>,
    /// Answer to each exclusion of the cohort, in the study's order; `None` where unknown.
    pub exclusions: Vec<Option<bool>>,
    /// Whether the person is known to belong to each reference group, known not to, or neither.
    pub references: Vec<Option<bool>>,
}

impl Subject {
    /// Puts a person (see [`crate::source::person`]) to the study's formulas; `plan` is the one by
    /// which its people were tallied.
    pub fn new(study: &Study, plan: &CellPlan, row: &DataFrame) -> Result<Self, CohortError> {
        let mut columns = vec![plan.expression()?];
        for (position, index) in study.indices.iter().enumerate() {
            columns.push(key(&index.row)?.alias(format!("key_{position}")));
        }
        let found = row.clone().lazy().select(columns).collect()?;
        let whole = |name: &str| Ok::<_, PolarsError>(found.column(name)?.i64()?.get(0));
        let keys = (0..study.indices.len()).map(|i| whole(&format!("key_{i}"))).collect::<Result<_, _>>()?;
        let levels = whole("cell")?.map_or_else(|| vec![None; plan.variables.len()], |c| plan.levels_of(c));
        let exclusions = study.exclusions.iter().map(|e| answer(row, e)).collect::<Result<_, _>>()?;
        let references = study.references.iter().map(|r| free_of(row, &r.without));
        Ok(Self { keys, levels, exclusions, references: references.collect::<Result<_, _>>()? })
    }
}

/// Whether the condition holds for the person: yes, no or unknown.
pub fn answer(row: &DataFrame, condition: &Exclusion) -> Result<Option<bool>, CohortError> {
    let asked = formula(&condition.name, &condition.formula)?.cast(DataType::Boolean).alias("answer");
    Ok(row.clone().lazy().select([asked]).collect()?.column("answer")?.bool()?.get(0))
}

/// Known to be free of every condition, known to have one, or neither.
fn free_of(row: &DataFrame, conditions: &[Exclusion]) -> Result<Option<bool>, CohortError> {
    let mut free = Some(true);
    for condition in conditions {
        match answer(row, condition)? {
            Some(true) => return Ok(Some(false)),
            None => free = None,
            Some(false) => {}
        }
    }
    Ok(free)
}

/// The value of a formula for the person, without rounding.
pub fn evaluate(row: &DataFrame, what: &str, sql: &str) -> Result<Option<f64>, CohortError> {
    let value = formula(what, sql)?.cast(DataType::Float64).alias("value");
    let value = row.clone().lazy().select([value]).collect()?.column("value")?.f64()?.get(0);
    Ok(value.filter(|v| v.is_finite()))
}
