//! From the variables of a release to the values of a quantity.

use std::collections::BTreeMap;

use polars::prelude::{BooleanChunked, ChunkedArray, Float64Chunked, NewChunkedArray, StringChunked};

use super::SourceError;
use super::columns::Values;
use super::release::Release;
use crate::definitions::survey::{Recipe, Variable};
use crate::definitions::{ColumnKind, Quantity};

const MINUTES_PER_HOUR: f64 = 60.0;

/// Values already read, by quantity.
pub(super) type Done = BTreeMap<String, Values>;

/// The values of the quantity of `row` for every person of the release.
pub(super) fn evaluate(
    release: &Release,
    row: &Variable,
    quantity: &Quantity,
    done: &Done,
) -> Result<Values, SourceError> {
    match &row.recipe {
        Recipe::Number { variable, unit } => {
            let cells = release.variable(&row.file, variable)?.cells;
            number(quantity, cells, unit)
        }
        Recipe::Codes { .. } => Ok(labelled(quantity, &labels(release, row)?)),
        Recipe::Equals { variable, value } => {
            let cells = release.variable(&row.file, variable)?.cells;
            Ok(Values::YesNo(yes_no(cells.iter().map(|x| x.map(|x| x == *value)))))
        }
        Recipe::Mean { variables, drop_first, ignore_zero } => {
            let readings = variables.iter().map(|v| Ok(release.variable(&row.file, v)?.cells));
            let readings = readings.collect::<Result<Vec<_>, SourceError>>()?;
            let people = 0..release.people.len();
            let of = |person: usize| readings.iter().filter_map(|r| r[person]).collect::<Vec<f64>>();
            let means = people.map(|person| mean_reading(&of(person), *drop_first, *ignore_zero)).collect();
            number(quantity, means, &quantity.units[0].unit)
        }
        Recipe::HoursAndMinutes { hours, minutes } => {
            let hours = release.variable(&row.file, hours)?.cells;
            let minutes = release.variable(&row.file, minutes)?.cells;
            let both =
                hours.iter().zip(&minutes).map(|(h, m)| Some((*h)? + (*m)? / MINUTES_PER_HOUR)).collect();
            number(quantity, both, &quantity.units[0].unit)
        }
        Recipe::AnyOf { quantities } => Ok(Values::YesNo(any_of(release, quantities, done))),
        Recipe::Constant { label } => {
            let labels = release.present(&row.file).into_iter().map(|here| here.then_some(label.as_str()));
            Ok(Values::Category(ChunkedArray::from_iter_options("".into(), labels)))
        }
    }
}

fn number(quantity: &Quantity, cells: Vec<Option<f64>>, unit: &str) -> Result<Values, SourceError> {
    let position = quantity.units.iter().position(|u| u.unit == unit);
    let unit = position.ok_or_else(|| {
        SourceError::source(&quantity.name, format!("has no unit `{unit}` in this study's quantities"))
    })?;
    let values = Float64Chunked::from_iter_options("".into(), cells.into_iter());
    Ok(Values::Number { values, unit, chosen: None, below: Vec::new() })
}

/// The mean of the readings at hand, by the rule of the survey's own averages: with `drop_first` the
/// first reading is left out when there are several; with `ignore_zero` zeros are left out, and when that
/// leaves nothing the first reading comes back. No reading, or nothing but zeros, is missing.
fn mean_reading(readings: &[f64], drop_first: bool, ignore_zero: bool) -> Option<f64> {
    let later = if drop_first && readings.len() > 1 { &readings[1..] } else { readings };
    let counted = |readings: &[f64]| {
        let kept: Vec<f64> = readings.iter().copied().filter(|x| !(ignore_zero && *x == 0.0)).collect();
        (!kept.is_empty()).then(|| kept.iter().sum::<f64>() / kept.len() as f64)
    };
    counted(later).or_else(|| counted(readings))
}

/// Labels of a coded variable; a code that is neither known nor known to be missing is an error.
fn labels<'a>(release: &Release, row: &'a Variable) -> Result<Vec<Option<&'a str>>, SourceError> {
    let Recipe::Codes { variable, codes, missing, no_if } = &row.recipe else { return Ok(Vec::new()) };
    let asked = release.variable(&row.file, variable)?;
    let known = codes
        .iter()
        .map(|(code, label)| Some((code.parse::<f64>().ok()?, label.as_str())))
        .collect::<Option<Vec<_>>>()
        .ok_or_else(|| SourceError::source(variable, "a code is not a number"))?;
    let mut labels = Vec::with_capacity(asked.cells.len());
    for (person, cell) in asked.cells.iter().enumerate() {
        let label = cell.and_then(|x| known.iter().find(|(code, _)| *code == x)).map(|(_, label)| *label);
        if let (Some(x), None) = (cell, label)
            && !missing.contains(x)
        {
            let codes: Vec<String> = known.iter().map(|(code, label)| format!("{code} ({label})")).collect();
            return Err(asked
                .error(person, &format!("one of the codes {}, or missing {missing:?}", codes.join(", "))));
        }
        labels.push(label);
    }
    for conditions in no_if {
        let no = holds(release, &row.file, conditions)?;
        for (person, label) in labels.iter_mut().enumerate() {
            if asked.cells[person].is_none() && no[person] {
                *label = Some("no");
            }
        }
    }
    Ok(labels)
}

/// For each person, whether all variables hold one of their codes (none of them: are without an answer).
fn holds(
    release: &Release,
    role: &str,
    conditions: &BTreeMap<String, Vec<f64>>,
) -> Result<Vec<bool>, SourceError> {
    let mut all = vec![true; release.people.len()];
    for (name, codes) in conditions {
        let cells = release.variable(role, name)?.cells;
        for (holds, cell) in all.iter_mut().zip(&cells) {
            *holds &= cell.map_or(codes.is_empty(), |x| codes.contains(&x));
        }
    }
    Ok(all)
}

fn labelled(quantity: &Quantity, labels: &[Option<&str>]) -> Values {
    if quantity.kind == ColumnKind::YesNo {
        Values::YesNo(yes_no(labels.iter().map(|label| label.map(|l| l == "yes"))))
    } else {
        Values::Category(StringChunked::from_iter_options("".into(), labels.iter().copied()))
    }
}

fn yes_no(cells: impl ExactSizeIterator<Item = Option<bool>>) -> BooleanChunked {
    ChunkedArray::from_iter_options("".into(), cells)
}

/// Yes when one is yes, no when all are no, else unknown.
fn any_of(release: &Release, quantities: &[String], done: &Done) -> BooleanChunked {
    let mut any: Vec<Option<bool>> = vec![Some(false); release.people.len()];
    for name in quantities {
        let Some(Values::YesNo(cells)) = done.get(name) else {
            for any in &mut any {
                *any = any.filter(|yes| *yes);
            }
            continue;
        };
        for (any, cell) in any.iter_mut().zip(cells.iter()) {
            *any = match (*any, cell) {
                (Some(true), _) | (_, Some(true)) => Some(true),
                (Some(false), Some(false)) => Some(false),
                _ => None,
            };
        }
    }
    yes_no(any.into_iter())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_reading_is_left_out_when_there_are_several_and_zeros_after_that() {
        // published: released averages BPXSAR and BPXDAR of 1999-2000
        assert_eq!(mean_reading(&[120.0], true, true), Some(120.0));
        assert_eq!(mean_reading(&[130.0, 120.0, 110.0], true, true), Some(115.0));
        assert_eq!(mean_reading(&[0.0, 16.0, 44.0], true, true), Some(30.0));
        assert_eq!(mean_reading(&[0.0, 12.0, 20.0], true, true), Some(16.0));
        assert_eq!(mean_reading(&[40.0, 0.0, 0.0], true, true), Some(40.0));
        assert_eq!(mean_reading(&[0.0, 0.0, 0.0], true, true), None);
        assert_eq!(mean_reading(&[], true, false), None);
        assert_eq!(mean_reading(&[130.0, 120.0, 110.0], false, false), Some(120.0));
    }
}
