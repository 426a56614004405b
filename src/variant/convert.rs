//! Measured columns as another method would have given them.

use polars::prelude::*;
use polars::sql::sql_expr;

use super::{converted_mark, floored_mark};
use crate::definitions::Quantity;
use crate::definitions::chain::Chain;
use crate::definitions::crosswalk::{Below, Crosswalk, Method, methods};
use crate::source::Loaded;
use crate::study::{Conversion, Route, Study};
use crate::table::schema::UNIT_FACTOR;

/// Columns that exist while a quantity is converted.
const VALUE: &str = "route_value";
const RAW: &str = "route_raw";
const FLOORED: &str = "route_floored";
const LOST: &str = "route_lost";

/// What a route did to a quantity of a cycle, and to how many people.
#[derive(Debug, Clone, PartialEq)]
pub struct Converted {
    pub route: String,
    pub label: String,
    pub quantity: String,
    pub cycle: String,
    /// Methods passed, equations and their sources; empty where nothing is done.
    pub path: String,
    pub equations: String,
    pub sources: String,
    /// People with a value as released, with a converted one, put at the floor, and left without a value.
    pub people: usize,
    pub converted: usize,
    pub floored: usize,
    pub lost: usize,
    pub note: String,
}

/// The people of a study measured by a route, and what that did. Reported and converted columns follow,
/// so exclusions and outcomes move with the indices.
pub fn convert(study: &Study, loaded: &Loaded, route: &Route) -> PolarsResult<(Loaded, Vec<Converted>)> {
    let mut frame = loaded.frame.clone();
    let mut done = Vec::new();
    for name in route.quantities() {
        let Some(quantity) = study.quantities.iter().find(|q| q.name == *name) else { continue };
        let of_quantity: Vec<&Conversion> = route.conversions.iter().filter(|c| c.quantity == name).collect();
        let released = frame.column(&first_column(quantity))?.clone();
        let mut working = start(frame, quantity)?;
        for conversion in &of_quantity {
            working = apply(working, conversion)?;
        }
        done.extend(count(route, &of_quantity, &released, &working)?);
        frame = put_back(working, quantity)?;
    }
    if let (Some(factor), Some(insulin)) =
        (route.insulin_factor, study.quantities.iter().find(|q| q.name == "insulin"))
    {
        let (read, converted) = by_factor(frame, insulin, route, factor)?;
        frame = read;
        done.push(converted);
    }
    Ok((Loaded { frame, ..loaded.clone() }, done))
}

/// The column of a quantity that equations and formulas read: its first unit.
fn first_column(quantity: &Quantity) -> String {
    quantity.column(&quantity.units[0])
}

fn start(frame: DataFrame, quantity: &Quantity) -> PolarsResult<DataFrame> {
    let value = col(first_column(quantity)).alias(VALUE);
    frame.lazy().with_columns([value, lit(false).alias(FLOORED), lit(false).alias(LOST)]).collect()
}

/// The chain of one cycle, equation by equation; a value that a method could not have measured is put at
/// its floor before the next equation.
fn apply(mut frame: DataFrame, conversion: &Conversion) -> PolarsResult<DataFrame> {
    let here = || col("cycle").eq(lit(conversion.cycle.as_str())).fill_null(lit(false));
    for step in &conversion.chain.steps {
        let below = methods().iter().find(|m| m.name == step.to).map_or(Below::Missing, Method::below);
        let outside = step.highest.map_or(lit(false), |highest| col(VALUE).gt(lit(highest)));
        let raw = when(outside).then(lit(NULL)).otherwise(sql_expr(step.raw_sql(VALUE))?);
        frame = frame.lazy().with_columns([raw.cast(DataType::Float64).alias(RAW)]).collect()?;
        let (kept, floored) = match below {
            Below::Missing => (when(col(RAW).gt(lit(0.0))).then(col(RAW)).otherwise(lit(NULL)), lit(false)),
            Below::Floor(limit) => {
                let low = || col(RAW).lt(lit(limit));
                let floor = lit(limit / std::f64::consts::SQRT_2);
                (when(low()).then(floor).otherwise(col(RAW)), low().fill_null(lit(false)))
            }
        };
        let lost = here().and(col(VALUE).is_not_null()).and(kept.clone().is_null());
        frame = frame
            .lazy()
            .with_columns([
                when(here()).then(kept).otherwise(col(VALUE)).alias(VALUE),
                col(FLOORED).or(here().and(floored)).alias(FLOORED),
                col(LOST).or(lost).alias(LOST),
            ])
            .collect()?;
    }
    Ok(frame)
}

/// How many people each cycle's conversion concerned.
fn count(
    route: &Route,
    conversions: &[&Conversion],
    released: &Column,
    working: &DataFrame,
) -> PolarsResult<Vec<Converted>> {
    let cycles = working.column("cycle")?.str()?;
    let (floored, lost) = (working.column(FLOORED)?.bool()?, working.column(LOST)?.bool()?);
    let released = released.f64()?;
    let one = |conversion: &&Conversion| {
        let here = |row: &usize| cycles.get(*row) == Some(conversion.cycle.as_str());
        let rows: Vec<usize> = (0..working.height()).filter(here).collect();
        let among = |yes: &dyn Fn(usize) -> bool| rows.iter().filter(|&&row| yes(row)).count();
        let people = among(&|row| released.get(row).is_some());
        let lost = among(&|row| lost.get(row) == Some(true));
        Converted {
            people,
            converted: if conversion.chain.steps.is_empty() { 0 } else { people - lost },
            floored: among(&|row| floored.get(row) == Some(true)),
            lost,
            ..described(route, conversion)
        }
    };
    Ok(conversions.iter().map(one).collect())
}

fn described(route: &Route, conversion: &Conversion) -> Converted {
    let chain = &conversion.chain;
    let notes: Vec<String> = [conversion.note.clone(), floors(chain), ranges(chain)].into();
    Converted {
        route: route.name.clone(),
        label: route.label.clone(),
        quantity: conversion.quantity.clone(),
        cycle: conversion.cycle.clone(),
        path: chain.path(),
        equations: chain.equations(),
        sources: chain.sources(),
        people: 0,
        converted: 0,
        floored: 0,
        lost: 0,
        note: notes.into_iter().filter(|note| !note.is_empty()).collect::<Vec<_>>().join("; "),
    }
}

/// Which floors the chain puts values at.
fn floors(chain: &Chain) -> String {
    let floor = |step: &&Crosswalk| {
        let method = methods().iter().find(|m| m.name == step.to)?;
        let limit = method.detection_limit?;
        let name = &method.label;
        Some(format!(
            "below {name}'s detection limit of {limit:?} uU/mL: {limit:?} / √2, as the agency fills it"
        ))
    };
    chain.steps.iter().filter_map(floor).collect::<Vec<_>>().join("; ")
}

/// Which values the chain is not applied to.
fn ranges(chain: &Chain) -> String {
    let range = |step: &&Crosswalk| {
        step.highest.map(|highest| format!("above {highest} the equation falls again: no value"))
    };
    chain.steps.iter().filter_map(range).collect::<Vec<_>>().join("; ")
}

/// The converted values in every column of the quantity, and the marks of the people.
fn put_back(working: DataFrame, quantity: &Quantity) -> PolarsResult<DataFrame> {
    let new = working.column(VALUE)?.f64()?.clone();
    let old = working.column(&first_column(quantity))?.f64()?.clone();
    let changed: BooleanChunked = old.iter().zip(new.iter()).map(|(old, new)| Some(old != new)).collect();
    let mut frame = working;
    for (position, unit) in quantity.units.iter().enumerate() {
        let in_unit: Float64Chunked = new.iter().map(|x| x.map(|x| unit.from_first(x, None))).collect();
        replace(&mut frame, &quantity.column(unit), &changed, &in_unit)?;
        if quantity.units.len() > 1 {
            let reported = quantity.reported_column(unit);
            let value =
                if position == 0 { new.clone() } else { Float64Chunked::full_null("".into(), new.len()) };
            replace(&mut frame, &reported, &changed, &value)?;
        }
    }
    let present: BooleanChunked = changed
        .iter()
        .zip(new.iter())
        .map(|(changed, x)| Some(changed == Some(true) && x.is_some()))
        .collect();
    frame
        .with_column(present.into_series().with_name(converted_mark(&quantity.name).into()).into_column())?;
    frame.rename(FLOORED, floored_mark(&quantity.name).into())?;
    Ok(frame.drop_many([VALUE, RAW, LOST]))
}

/// Puts other values into the rows of a column that changed.
fn replace(
    frame: &mut DataFrame,
    column: &str,
    changed: &BooleanChunked,
    new: &Float64Chunked,
) -> PolarsResult<()> {
    let old = frame.column(column)?.f64()?.clone();
    let mixed = new.zip_with(changed, &old)?;
    frame.with_column(mixed.with_name(column.into()).into_column())?;
    Ok(())
}

/// Insulin read from the pmol/L of the source by another factor. The national survey releases it in both
/// units, 6.00 pmol/L in one uU/mL.
fn by_factor(
    mut frame: DataFrame,
    insulin: &Quantity,
    route: &Route,
    factor: f64,
) -> PolarsResult<(DataFrame, Converted)> {
    let [first, pmol] = &insulin.units[..] else {
        return Err(polars_err!(ComputeError: "insulin has two units, uU/mL and pmol/L"));
    };
    let in_pmol = frame.column(&insulin.column(pmol))?.f64()?.clone();
    let present = in_pmol.is_not_null();
    let new: Float64Chunked = in_pmol.iter().map(|x| x.map(|x| pmol.to_first(x, Some(factor)))).collect();
    replace(&mut frame, &insulin.column(first), &present, &new)?;
    replace(&mut frame, &insulin.reported_column(pmol), &present, &in_pmol)?;
    let none = Float64Chunked::full_null("".into(), in_pmol.len());
    replace(&mut frame, &insulin.reported_column(first), &present, &none)?;
    let people = in_pmol.len() - in_pmol.null_count();
    let mark = present.into_series().with_name(converted_mark("insulin").into()).into_column();
    frame.with_column(mark)?;
    let unmarked = BooleanChunked::full(floored_mark("insulin").into(), false, frame.height());
    frame.with_column(unmarked.into_column())?;
    let converted = Converted {
        route: route.name.clone(),
        label: route.label.clone(),
        quantity: "insulin".to_owned(),
        cycle: "every source".to_owned(),
        path: UNIT_FACTOR.to_owned(),
        equations: format!("x / {factor}"),
        sources: pmol.source.clone(),
        people,
        converted: people,
        floored: 0,
        lost: 0,
        note: "pmol/L as the source reports it; the national survey's is uU/mL × 6.00".to_owned(),
    };
    Ok((frame, converted))
}
