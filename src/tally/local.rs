//! Tallies by polars, on one machine: a filtered GROUP BY.

use polars::prelude::*;

use super::{FrameTally, Tallies, Tally};
use crate::cohort::{Cohort, CohortError, DesignTable, Frame, square_column, weight_column};

const KEYS: [&str; 4] = ["cell", "flags", "outcomes", "unit"];

/// All tallies of a prepared cohort.
pub fn collect(cohort: &Cohort) -> Result<Tallies, CohortError> {
    let indices = cohort.frame_of.len();
    let frame_tally = |position: usize, frame: &Frame| {
        let design = DesignTable::new(cohort, frame)?;
        let rows = with_units(&cohort.rows, &design, frame)?;
        let one = |i: usize| {
            let used = cohort.frame_of[i].contains(&position);
            if used { tally(&rows, Some(i), frame) } else { Ok(Tally::default()) }
        };
        Ok::<_, CohortError>(FrameTally {
            frame: frame.clone(),
            people: tally(&rows, None, frame)?,
            indices: (0..indices).map(one).collect::<Result<_, _>>()?,
            design,
        })
    };
    let frames =
        cohort.frames.iter().enumerate().map(|(i, f)| frame_tally(i, f)).collect::<Result<_, _>>()?;
    Ok(Tallies {
        survey: cohort.survey.clone(),
        plan: cohort.plan.clone(),
        frames,
        frame_of: cohort.frame_of.clone(),
        joints: Vec::new(),
        has_design: cohort.has_design,
    })
}

/// People of a frame with the position of their unit in the design table.
pub(super) fn with_units(
    rows: &DataFrame,
    design: &DesignTable,
    frame: &Frame,
) -> Result<DataFrame, CohortError> {
    let labels = |f: fn(&crate::cohort::Unit) -> &str| -> Vec<&str> { design.units.iter().map(f).collect() };
    let units = df!(
        "stratum" => labels(|u| &u.stratum),
        "psu" => labels(|u| &u.psu),
        "unit" => (0..design.units.len() as i64).collect::<Vec<_>>(),
    )?;
    let on = [col("stratum"), col("psu")];
    Ok(rows
        .clone()
        .lazy()
        .filter(col(weight_column(frame)).gt(lit(0_i64)))
        .join(units.lazy(), on.clone(), on, JoinArgs::new(JoinType::Inner))
        .collect()?)
}

/// The tally of one index (`None`: of the people, without values) over rows that carry `unit`.
pub fn tally(rows: &DataFrame, index: Option<usize>, frame: &Frame) -> Result<Tally, CohortError> {
    let key = index.map_or_else(|| lit(0_i64), |i| col(format!("key_{i}"))).alias("key");
    let (mut keys, sums) = add_up(rows, vec![key], &["key"], frame)?;
    Ok(Tally { key: keys.remove(0), ..sums })
}

/// Sums over people who share the values of `keys` (named `names`), a cell, flags, outcomes and a unit;
/// people who lack a value are left out. Answers with the values, and with the sums beside them, whose own
/// key is empty; both sorted by all of these, in this order.
pub(super) fn add_up(
    rows: &DataFrame,
    keys: Vec<Expr>,
    names: &[&str],
    frame: &Frame,
) -> Result<(Vec<Vec<i64>>, Tally), CohortError> {
    let sorted: Vec<&str> = names.iter().copied().chain(KEYS).collect();
    let complete = names.iter().fold(lit(true), |all, name| all.and(col(*name).is_not_null()));
    let sums = rows
        .clone()
        .lazy()
        .group_by(keys.into_iter().chain(KEYS.map(col)).collect::<Vec<_>>())
        .agg([
            len().cast(DataType::Int64).alias("people"),
            col(weight_column(frame)).sum().alias("weight"),
            col(square_column(frame)).sum().alias("weight_squared"),
        ])
        .filter(complete)
        .sort(sorted, SortMultipleOptions::default())
        .collect()?;
    let column = |name: &str| -> PolarsResult<Vec<i64>> {
        Ok(sums.column(name)?.cast(&DataType::Int64)?.i64()?.iter().flatten().collect())
    };
    let keys = names.iter().map(|name| column(name)).collect::<Result<_, _>>()?;
    let sums = Tally {
        key: Vec::new(),
        cell: column("cell")?,
        flags: column("flags")?.into_iter().map(|v| v as u64).collect(),
        outcomes: column("outcomes")?.into_iter().map(|v| v as u64).collect(),
        unit: column("unit")?.into_iter().map(|v| v as u32).collect(),
        people: column("people")?.into_iter().map(|v| v as u32).collect(),
        weight: column("weight")?,
        weight_squared: column("weight_squared")?,
    };
    Ok((keys, sums))
}
