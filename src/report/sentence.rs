//! Words for numbers: the pieces from which the page's sentences are put together.

use crate::table::Row;
use crate::table::number::{aligned, decimals};

/// The lowest and highest printed estimates of a set of rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ends<'a> {
    pub low: (f64, Row<'a>),
    pub high: (f64, Row<'a>),
    /// Rows whose estimate is withheld.
    pub withheld: usize,
}

/// The ends of a column over rows; `None` with fewer than two printed estimates.
pub(super) fn ends<'a>(rows: &[Row<'a>], column: &str) -> Option<Ends<'a>> {
    let mut shown: Vec<(f64, Row<'a>)> =
        rows.iter().filter_map(|row| Some((row.shown(column)?, *row))).collect();
    shown.sort_by(|a, b| a.0.total_cmp(&b.0));
    if shown.len() < 2 {
        return None;
    }
    Some(Ends { low: shown[0], high: shown[shown.len() - 1], withheld: rows.len() - shown.len() })
}

/// `; one group is withheld` or nothing.
pub(super) fn withheld(count: usize) -> String {
    match count {
        0 => String::new(),
        1 => "; one group is withheld".to_owned(),
        _ => format!("; {count} groups are withheld"),
    }
}

/// ` (20.1–25.3)`, or nothing without an interval.
pub(super) fn range(row: &Row<'_>, places: usize) -> String {
    ends_text(row, places).map(|text| format!(" ({text})")).unwrap_or_default()
}

/// ` (20.1–25.3) in “women”`: the interval and the group it belongs to.
pub(super) fn range_of_group(row: &Row<'_>, places: usize) -> String {
    format!("{} in “{}”", range(row, places), row.text("group"))
}

fn ends_text(row: &Row<'_>, places: usize) -> Option<String> {
    let (lower, upper) = (row.shown("lower")?, row.shown("upper")?);
    let between = if lower < 0.0 || upper < 0.0 { " to " } else { "–" };
    Some(format!("{}{between}{}", aligned(lower, places), aligned(upper, places)))
}

/// Decimals that show three significant digits of a value.
pub(super) fn places(value: f64) -> usize {
    decimals(&[value], 3)
}

/// The first letter in upper case.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
