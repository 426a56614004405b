//! People of the target population that counted people stand for: where weights are known, an exact sum of them tells an
//! exact count, so that they are told as the rounded count times a rough mean weight.

use super::coarse::{rounded as count, to_digits};
use super::real;
use crate::table::Table;
use crate::table::schema::DIGITS;

/// The people that a row counts, and columns of people whom all of them stand for.
const COUNTED: &str = "n";
const ALL: &str = "weighted_n";
/// Columns of people whom a share of them stands for, each with the column of the share, in per cent.
pub(super) const PARTS: [(&str, &str); 3] =
    [("population_number", "value"), ("population_lower", "lower"), ("population_upper", "upper")];
/// Digits of the mean weight.
const MEAN_DIGITS: usize = 2;

/// Such columns of a row that are printed, as they may be told; to be asked before the row is rounded.
pub(super) fn rounded(table: &Table, row: usize, limit: i64) -> Vec<(&'static str, Option<f64>)> {
    let people = real(table, row, COUNTED).filter(|people| *people > 0.0);
    let stand_for = |all: f64| {
        let people = people?;
        let told = count(people.round() as i64, limit) as f64;
        Some(told * to_digits(all / people, MEAN_DIGITS))
    };
    let all = real(table, row, ALL).map(|all| (ALL, stand_for(all)));
    let part = |(column, share): (&'static str, &str)| {
        let (number, share) = (real(table, row, column)?, real(table, row, share)?);
        let of_all = |all: f64| to_digits(all * share.round() / 100.0, DIGITS);
        let told = if share > 0.0 { stand_for(100.0 * number / share).map(of_all) } else { Some(0.0) };
        Some((column, told))
    };
    all.into_iter().chain(PARTS.into_iter().filter_map(part)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;
    use crate::table::small::round;

    const LIMIT: i64 = 10;

    fn told(people: i64, weight: f64) -> Option<f64> {
        let mut table = Table::new(schema::shape("threshold_shares").expect("a table"));
        let row = table.row().whole(COUNTED, Some(people));
        row.real(ALL, Some(people as f64 * weight)).done().expect("a row");
        let mut tables = [table];
        round(&mut tables, LIMIT);
        real(&tables[0], 0, ALL)
    }

    /// Of weights that are all 150, 58,050 would be 387 people.
    #[test]
    fn a_sum_of_weights_tells_no_more_than_the_count_beside_it() {
        assert_eq!(told(387, 150.0), Some(57_750.0), "385 × 150");
        assert_eq!(told(383, 150.0), told(387, 150.0));
        assert_eq!(told(387, 147.3), told(385, 152.4), "the mean weight is rough");
    }

    #[test]
    fn a_share_of_the_population_is_that_of_the_rounded_share() {
        let told = |beyond: f64| {
            let mut table = Table::new(schema::shape("claim").expect("a table"));
            let row = table.row().text("measure", "share_beyond").whole(COUNTED, Some(387));
            let row = row.real("value", Some(100.0 * beyond / 387.0)).real("lower", Some(0.0));
            let row = row.real("population_number", Some(150.0 * beyond)).real("population_lower", Some(0.0));
            row.done().expect("a row");
            let mut tables = [table];
            round(&mut tables, LIMIT);
            (real(&tables[0], 0, "population_number"), real(&tables[0], 0, "population_lower"))
        };
        // hand: 48 % of 385 × 150.
        assert_eq!(told(186.0), (Some(27_700.0), Some(0.0)));
        assert_eq!(told(187.0), told(185.0), "one person more or less tells nothing");
    }

    #[test]
    fn every_table_with_such_a_sum_counts_its_people() {
        let columns = [ALL, PARTS[0].0, PARTS[1].0, PARTS[2].0];
        for shape in schema::tables() {
            let has = |name: &str| shape.columns.iter().any(|column| column.name == name);
            assert!(!columns.into_iter().any(has) || has(COUNTED), "{}", shape.name);
        }
    }
}
