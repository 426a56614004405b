//! Whether the numbers of a column can be in the unit that was declared.

use super::columns::Values;
use super::{SourceError, below};
use crate::definitions::Quantity;
use crate::notice::Notice;
use crate::study::{MappedColumn, TableSource};
use crate::table::number::significant;

/// A median this many times off the plausible value is doubted, if another unit explains it.
const REMARKED: f64 = 2.0;
/// Significant digits of a median of people who may not be shown in small counts: it is the value of one of them.
const DIGITS: usize = 3;
/// By how much closer (on the log) the other unit must come to explain the numbers.
const CLOSER: f64 = 4.0;

/// Compares the median of a column with the quantity's plausible value, in the declared unit and in the
/// others. A median that another unit explains far better is an error, unless the study says that the unit was looked
/// up (`unit_checked`): then it is a caution. `fewest`: the fewest people of whom a value may be told.
pub(super) fn doubtful_unit(
    source: &TableSource,
    quantity: &Quantity,
    mapped: &MappedColumn,
    (values, fewest): (&Values, Option<i64>),
) -> Result<Option<Notice>, SourceError> {
    let (Values::Number { values, unit, chosen, below }, Some(plausible)) = (values, quantity.plausible)
    else {
        return Ok(None);
    };
    // What stands in for a value below detection says nothing of the unit.
    let below = below::people(below);
    let measured = values.iter().enumerate().filter(|(person, _)| !below.contains(person));
    let mut present: Vec<f64> = measured.filter_map(|(_, value)| value).collect();
    present.sort_by(f64::total_cmp);
    let Some(median) = present.get(present.len() / 2).copied().filter(|m| *m > 0.0) else { return Ok(None) };
    let distance = |position: usize| {
        let first = quantity.units[position].to_first(median, *chosen);
        if first > 0.0 { (first / plausible).ln().abs() } else { f64::INFINITY }
    };
    let declared = distance(*unit);
    let others = (0..quantity.units.len()).filter(|other| other != unit);
    let Some(likely) = others.min_by(|a, b| distance(*a).total_cmp(&distance(*b))) else { return Ok(None) };
    if declared <= REMARKED.ln() || distance(likely) * CLOSER > declared {
        return Ok(None);
    }
    let message = format!(
        "{} from column `{}`: the median{} is unlikely in the declared unit {} and plausible in {}",
        quantity.name,
        mapped.column,
        told(median, present.len(), fewest),
        quantity.units[*unit].unit,
        quantity.units[likely].unit
    );
    if !mapped.unit_checked {
        let advice =
            "correct the unit; or, if the laboratory confirms it, add unit_checked = true to the column";
        return Err(SourceError::source(&source.name, format!("{message}: {advice}")));
    }
    Ok(Some(Notice::caution("unit_doubtful", source.name.as_str(), message)))
}

/// The median as far as it may be told.
fn told(median: f64, people: usize, fewest: Option<i64>) -> String {
    match fewest {
        Some(fewest) if (people as i64) < fewest => String::new(),
        Some(_) => format!(", about {},", significant(median, DIGITS)),
        None => format!(", {median},"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_median_of_people_who_may_not_be_shown_is_told_to_three_digits_or_not() {
        assert_eq!(told(104.17, 12, None), ", 104.17,");
        assert_eq!(told(104.17, 12, Some(10)), ", about 104,");
        assert_eq!(told(104.17, 9, Some(10)), "");
    }
}
