//! Single values that nobody can have, and values that hardly anybody has.

use super::columns::Values;
use super::join::Joined;
use super::slip::no_value;
use super::{SourceError, below};
use crate::definitions::Quantity;
use crate::definitions::plausible::{Likelihood, Plausible, plausible};
use crate::notice::Notice;
use crate::study::{MappedColumn, TableSource};

/// As many unusual values are named.
const NAMED: usize = 5;

/// Compares every value of a column with the bounds of its quantity: an impossible one is an error, unusual ones are
/// a caution, which names them where they may be `shown`.
pub(super) fn unlikely_values(
    source: &TableSource,
    joined: &Joined,
    (quantity, mapped, values): (&Quantity, &MappedColumn, &Values),
    shown: bool,
) -> Result<Option<Notice>, SourceError> {
    let Values::Number { values, unit, chosen, below } = values else { return Ok(None) };
    let Some(bounds) = plausible(&quantity.name) else { return Ok(None) };
    let row = &quantity.units[*unit];
    let below = below::people(below);
    let (mut impossible, mut unusual) = (Vec::new(), Vec::new());
    for (person, value) in values.iter().enumerate().filter_map(|(person, value)| Some((person, value?))) {
        match bounds.judge(row.to_first(value, *chosen)) {
            Likelihood::Impossible => impossible.push((person, as_written(value, source))),
            // The value of a person below a limit of detection is not a measured one.
            Likelihood::Unusual if !below.contains(&person) => {
                unusual.push((person, value));
            }
            Likelihood::Unusual | Likelihood::Usual => {}
        }
    }
    if !impossible.is_empty() {
        return Err(joined.cells_error(
            &mapped.column,
            &impossible,
            &format!("{}{}", range(bounds, quantity, *unit, *chosen), no_value(&impossible)),
        ));
    }
    if unusual.is_empty() {
        return Ok(None);
    }
    let one = |person: usize, value: f64| {
        let place = joined.place(person, &mapped.column);
        let other = other_unit(value, bounds, quantity, (*unit, *chosen));
        let other = other.map_or_else(String::new, |words| format!(", {words}"));
        format!("{value}, {place}{other}")
    };
    let which = if shown { named(&unusual, &one) } else { "; cutspan check names them".to_owned() };
    let (low, high) = ends(bounds.usual, quantity, *unit, *chosen);
    let message = format!(
        "{} in {} from column `{}`: {} outside the usual {low} to {high}{which}; another unit, or a slip?",
        quantity.label,
        row.unit,
        mapped.column,
        count(unusual.len(), shown),
    );
    Ok(Some(Notice::caution("unusual_values", source.name.as_str(), message)))
}

/// A count that small cells may forbid.
fn count(found: usize, shown: bool) -> String {
    match found {
        _ if !shown => "some values lie".to_owned(),
        1 => "1 value lies".to_owned(),
        _ => format!("{found} values lie"),
    }
}

/// A number as its cell holds it; sentences have a point.
fn as_written(value: f64, source: &TableSource) -> String {
    let text = value.to_string();
    if source.decimal_comma { text.replace('.', ",") } else { text }
}

/// The first of the unusual values, each in the words of `one`.
fn named(unusual: &[(usize, f64)], one: &dyn Fn(usize, f64) -> String) -> String {
    let first: Vec<String> = unusual.iter().take(NAMED).map(|(person, value)| one(*person, *value)).collect();
    let more = if unusual.len() > NAMED { " …" } else { "" };
    format!(" ({}{more})", first.join("; "))
}

/// The unit in which an unusual number would be a usual one, and what it is then in the unit of the column.
fn other_unit(
    value: f64,
    bounds: &Plausible,
    quantity: &Quantity,
    (unit, chosen): (usize, Option<f64>),
) -> Option<String> {
    let own = &quantity.units[unit];
    let mut others = quantity.units.iter().filter(|row| *row != own);
    others.find_map(|row| {
        let first = row.to_first(value, chosen);
        let usual = bounds.judge(first) == Likelihood::Usual;
        let here = three_digits(own.from_first(first, chosen));
        usual.then(|| format!("in {}? {value} {} = {here} {}", row.unit, row.unit, own.unit))
    })
}

/// What stands in place of an impossible value.
fn range(bounds: &Plausible, quantity: &Quantity, unit: usize, chosen: Option<f64>) -> String {
    let (low, high) = ends(bounds.possible, quantity, unit, chosen);
    format!(
        "{} between {low} and {high} {}; correct the cell or the unit of the column",
        quantity.label, quantity.units[unit].unit
    )
}

/// Bounds in the unit of the column, to three digits.
fn ends((low, high): (f64, f64), quantity: &Quantity, unit: usize, chosen: Option<f64>) -> (String, String) {
    let of = |first: f64| three_digits(quantity.units[unit].from_first(first, chosen));
    (of(low), of(high))
}

fn three_digits(value: f64) -> String {
    let digits = if value.abs() >= 100.0 || value == 0.0 {
        0
    } else {
        (2 - value.abs().log10().floor() as i32).clamp(0, 6) as usize
    };
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}
