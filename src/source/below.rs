//! Cells that give a limit in place of a value: `<2` is a value below 2.

use polars::prelude::{BooleanChunked, Column, IntoColumn};

use super::columns::Values;
use super::join::Joined;
use super::table::missing;
use crate::definitions::limit::{LimitKind, MeasurementLimit};
use crate::definitions::{ColumnKind, Quantity, Standing};
use crate::notice::Notice;
use crate::study::{MappedColumn, TableSource};

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

/// What a reader must know of such values.
pub(super) fn notice(
    source: &TableSource,
    mapped: &MappedColumn,
    (limit, below): (&MeasurementLimit, &[(usize, f64)]),
    shown: bool,
) -> Notice {
    let people = if shown { below.len().to_string() } else { "some".to_owned() };
    let filled = match limit.fill {
        Some(fill) => {
            format!("below {} {}, and {fill:.3} ({} / √2) stands in", limit.limit, limit.unit, limit.limit)
        }
        None => format!("below limits up to {} {}, and each limit / √2 stands in", limit.limit, limit.unit),
    };
    let message = format!(
        "{} from column `{}`: {people} values are given as {filled}; low percentiles rest on that, high ones do not",
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
