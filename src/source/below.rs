//! Cells that give a limit in place of a value: `<2` is a value below 2.

use std::collections::HashSet;

use polars::prelude::{BooleanChunked, Column, IntoColumn};

use super::SourceError;
use super::columns::Values;
use super::join::Joined;
use super::table::missing;
use crate::definitions::limit::{LimitKind, MeasurementLimit};
use crate::definitions::{ColumnKind, Quantity, Standing};
use crate::notice::Notice;
use crate::study::{MappedColumn, Study, StudyIndex, TableSource};

/// The people whose value is given as below a limit: what stands in for it was measured in nobody.
pub(super) fn people(below: &[(usize, f64)]) -> HashSet<usize> {
    below.iter().map(|(person, _)| *person).collect()
}

/// The limit of a column in which cells are given as below one, as a row of limits: the highest when there are several.
pub(super) fn limit(
    source: &TableSource,
    quantity: &Quantity,
    mapped: &MappedColumn,
    below: &[(usize, f64)],
) -> Option<MeasurementLimit> {
    let mark = mapped.below_detection.as_ref()?;
    let highest = below.iter().map(|(_, limit)| *limit).max_by(f64::total_cmp)?;
    let single = below.iter().all(|(_, limit)| *limit == highest);
    Some(MeasurementLimit {
        quantity: quantity.name.clone(),
        survey: source.name.clone(),
        from: None,
        until: None,
        kind: LimitKind::Detection,
        unit: mapped.unit.clone().unwrap_or_default(),
        limit: highest,
        fill: single.then(|| highest / std::f64::consts::SQRT_2),
        found_by: format!("cells that begin with {mark}"),
        source: "the table; filled with limit / √2".to_owned(),
        standing: Standing::Study,
    })
}

/// The column that marks such people, where the quantity has one and the table none of its own.
pub(super) fn marks(
    source: &TableSource,
    quantities: &[Quantity],
    limit: &MeasurementLimit,
    values: &Values,
) -> Option<Column> {
    let name = format!("{}_below_detection", limit.quantity);
    quantities.iter().find(|q| q.name == name && q.kind == ColumnKind::YesNo)?;
    if source.columns.iter().any(|mapped| mapped.quantity == name) {
        return None;
    }
    let Values::Number { values, below, .. } = values else { return None };
    let mut marks: Vec<Option<bool>> = values.iter().map(|value| value.map(|_| false)).collect();
    for (person, _) in below {
        marks[*person] = Some(true);
    }
    let marks: BooleanChunked = marks.into_iter().collect();
    Some(marks.with_name(name.as_str().into()).into_column())
}

/// Refuses a column of which most values are below detection where an index is made from it: half of the people and more
/// would have the same value, which nobody measured.
pub(super) fn refuse_most(
    study: &Study,
    source: &TableSource,
    (quantity, mapped): (&Quantity, &MappedColumn),
    (values, below): (usize, &[(usize, f64)]),
) -> Result<(), SourceError> {
    let made = |index: &&StudyIndex| index.ingredients.contains(&quantity.name);
    let made: Vec<&str> = study.indices.iter().filter(made).map(|index| index.row.name.as_str()).collect();
    if made.is_empty() || 2 * below.len() <= values {
        return Ok(());
    }
    let share = if below.len() == values { "all" } else { "more than half of the" };
    let message = format!(
        "{} from column `{}`: {share} values are below detection, and what stands in for them was measured in nobody: no \
         percentile or cutoff of {} can be told from that. Leave {} out of `indices`",
        quantity.name,
        mapped.column,
        made.join(", "),
        if made.len() == 1 { "it" } else { "them" },
    );
    Err(SourceError::source(&source.name, message))
}

/// What a reader must know of such values; `fewest`: the fewest people that may be counted.
pub(super) fn notice(
    source: &TableSource,
    mapped: &MappedColumn,
    (limit, below): (&MeasurementLimit, &[(usize, f64)]),
    (values, fewest): (usize, Option<i64>),
) -> Notice {
    let filled = match limit.fill {
        Some(fill) => {
            format!("below {} {}, and {fill:.3} ({} / √2) stands in", limit.limit, limit.unit, limit.limit)
        }
        None => format!("below limits up to {} {}, and each limit / √2 stands in", limit.limit, limit.unit),
    };
    let rest = values - below.len();
    let shown = |people: usize| people == 0 || fewest.is_none_or(|fewest| people as i64 >= fewest);
    let percent = 100.0 * below.len() as f64 / values as f64;
    let (which, reach) = if shown(below.len()) && shown(rest) {
        let which = match fewest {
            // A number of values would tell how many are missing.
            Some(_) => format!("about {percent:.0} % of the values are given as {filled}"),
            None => format!("{} of {values} values ({percent:.1} %) are given as {filled}", below.len()),
        };
        (which, format!("percentiles up to P{:.0}", percent.ceil()))
    } else {
        (format!("some values are given as {filled}"), "low percentiles".to_owned())
    };
    let message = format!(
        "{} from column `{}`: {which}; {reach} rest on that, and higher ones in a group with more such values",
        limit.quantity, mapped.column
    );
    Notice::caution("below_detection", source.name.as_str(), message)
}

/// A caution when texts that say "below a limit" are read as missing: the least resistant people drop out.
pub(super) fn missing_notice(source: &TableSource, joined: &Joined, mapped: &MappedColumn) -> Option<Notice> {
    let texts = missing(source, mapped);
    let text =
        texts.iter().find(|text| text.starts_with(['<', '≤']) && joined.count(&mapped.column, text) > 0)?;
    let message = format!(
        "`{text}` in column `{}` is read as missing: the people with the lowest values drop out, and every percentile moves \
         up; below_detection = \"<\" in place of that keeps them",
        mapped.column
    );
    Some(Notice::caution("low_values_missing", source.name.as_str(), message))
}
