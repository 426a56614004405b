//! What is shown is rounded: exact counts, and values to twelve digits, would tell by subtraction and by fractions what
//! is left out.

use super::{is_share, measured, weighted};
use crate::table::schema::{DIGITS, Precision, precision};
use crate::table::{Cell, Table, number};

/// Texts of the column `measure` that make the value of a row a sum of shares.
const SUMS_OF_SHARES: [&str; 2] = ["youden", "youden_loss"];
/// Places of a curve's knots, as text: observed values.
const KNOTS: &str = "knots";

/// The nearest multiple of this stands for a count: half of the fewest people that may be shown.
#[must_use]
pub fn step(limit: i64) -> i64 {
    (limit / 2).max(1)
}

/// A count as it may be told.
#[must_use]
pub fn rounded(count: i64, limit: i64) -> i64 {
    let step = step(limit);
    let nearest = (count + step / 2).div_euclid(step) * step;
    // No count that may be shown reads as one that may not.
    if count >= limit { nearest.max(limit) } else { nearest }
}

/// How numbers are rounded, in words.
#[must_use]
pub fn rounding(limit: i64) -> String {
    format!(
        "counts are rounded to {}; shares are those of rounded counts, in whole per cent, and their intervals move with them; \
         values are rounded to three digits, degrees of freedom down to one, sums of weights to a rounded count times a mean weight of two digits",
        step(limit)
    )
}

/// Rounds every number of a table, shares as they stand.
pub(super) fn round(table: &mut Table, limit: i64) {
    let columns: Vec<(usize, Precision)> = table
        .columns
        .iter()
        .enumerate()
        .filter_map(|(at, column)| Some((at, precision(table.name, column)?)))
        .collect();
    for row in 0..table.rows.len() {
        let weighted = weighted::rounded(table, row, limit);
        for (at, precision) in &columns {
            let column = table.columns[*at].name;
            let precision = in_row(table, row, (column, *precision));
            table.rows[row][*at] = match weighted.iter().find(|(known, _)| *known == column) {
                Some((_, known)) => Cell::real(*known),
                None => cell(&table.rows[row][*at], precision, limit),
            };
        }
        if let Some(at) = table.position(KNOTS)
            && let Cell::Text(knots) = &table.rows[row][at]
        {
            table.rows[row][at] = Cell::Text(rounded_words(knots));
        }
    }
}

/// How a number is rounded in a row that says what it holds.
fn in_row(table: &Table, row: usize, (column, precision): (&str, Precision)) -> Precision {
    let measure = measured(table, row, "measure").unwrap_or_default();
    match precision {
        Precision::Share(_) if !is_share(table, row) && !SUMS_OF_SHARES.contains(&measure) => {
            Precision::Digits(DIGITS)
        }
        // A best cutoff is claimed to lie between two observed values.
        Precision::Stated if column.starts_with("claimed_") && measure == "best_cutoff" => {
            Precision::Digits(DIGITS)
        }
        // The cutoff of this strategy is a threshold of the study.
        Precision::Digits(_)
            if column == "cutoff" && measured(table, row, "strategy") == Some("threshold") =>
        {
            Precision::Stated
        }
        other => other,
    }
}

fn cell(cell: &Cell, precision: Precision, limit: i64) -> Cell {
    match (cell, precision) {
        (Cell::Integer(count), Precision::People) => Cell::Integer(rounded(*count, limit)),
        (Cell::Integer(count), Precision::Digits(digits)) => {
            Cell::Integer(to_digits(*count as f64, digits) as i64)
        }
        (Cell::Integer(count), Precision::AtMost(digits)) => {
            Cell::Integer(down_to_digits(*count as f64, digits) as i64)
        }
        (Cell::Real(value), Precision::AtMost(digits)) => Cell::Real(down_to_digits(*value, digits)),
        (Cell::Real(people), Precision::People) => {
            let step = step(limit) as f64;
            Cell::Real((people / step).round() * step)
        }
        (Cell::Real(share), Precision::Share(everybody)) => {
            let parts = 100.0 / everybody;
            // Adding nothing turns −0 into 0.
            Cell::Real((share * parts).round() / parts + 0.0)
        }
        (Cell::Real(value), Precision::Digits(digits)) => Cell::Real(to_digits(*value, digits)),
        (cell, _) => cell.clone(),
    }
}

/// A number with so many significant digits.
pub(super) fn to_digits(value: f64, digits: usize) -> f64 {
    number::significant(value, digits).parse().unwrap_or(value)
}

/// The largest number with so many significant digits that is not above a positive one.
fn down_to_digits(value: f64, digits: usize) -> f64 {
    if value <= 0.0 {
        return value;
    }
    let unit = 10_f64.powi(value.log10().floor() as i32 + 1 - digits as i32);
    (value / unit).floor() * unit
}

/// Numbers with spaces between, each rounded as a value.
fn rounded_words(numbers: &str) -> String {
    let word = |word: &str| {
        word.parse().map_or_else(|_| word.to_owned(), |value| number::significant(value, DIGITS))
    };
    numbers.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    const LIMIT: i64 = 10;

    fn rounded_table(name: &str, fill: &dyn Fn(&mut Table)) -> Table {
        let mut table = Table::new(schema::shape(name).expect(name));
        fill(&mut table);
        round(&mut table, LIMIT);
        table
    }

    #[test]
    fn counts_go_to_five_shares_to_whole_per_cent_and_values_to_three_digits() {
        let table = rounded_table("threshold_shares", &|table| {
            let row = table.row().text("index", "homa_ir").real("threshold", Some(2.125));
            let row = row.whole("n", Some(417)).whole("df", Some(416)).real("weighted_n", Some(417.0));
            let row = row.real("share_beyond", Some(47.242_206)).real("percentile", Some(52.757_794));
            row.real("lower", Some(-0.2)).real("upper", Some(52.5)).done().expect("a row");
        });
        let row = table.iter().next().expect("a row");
        assert_eq!(
            (row.whole("n"), row.whole("df"), row.real("weighted_n")),
            (Some(415), Some(400), Some(415.0))
        );
        let shares = ["share_beyond", "percentile", "lower", "upper"].map(|name| row.real(name));
        assert_eq!(shares, [Some(47.0), Some(53.0), Some(0.0), Some(53.0)]);
        assert_eq!(row.real("threshold"), Some(2.125), "as the study states it");
        let table = rounded_table("cutoffs", &|table| {
            let row = table.row().real("cutoff", Some(2.023_455_847)).real("youden", Some(0.376_123));
            row.whole("replicates", Some(97)).whole("n_with", Some(0)).done().expect("a row");
        });
        let row = table.iter().next().expect("a row");
        assert_eq!((row.real("cutoff"), row.real("youden")), (Some(2.02), Some(0.38)));
        assert_eq!((row.whole("replicates"), row.whole("n_with")), (Some(97), Some(0)));
    }

    #[test]
    fn degrees_of_freedom_never_read_more_than_there_are() {
        for (df, wanted) in [(399, 300), (400, 400), (899, 800), (1000, 1000), (9, 9), (17, 10)] {
            let table = rounded_table("heterogeneity", &|table| {
                table.row().real("df2", Some(f64::from(df))).done().expect("a row");
            });
            assert_eq!(table.iter().next().and_then(|row| row.real("df2")), Some(f64::from(wanted)), "{df}");
        }
    }

    #[test]
    fn a_row_is_rounded_as_what_it_measures() {
        let table = rounded_table("threshold_accuracy", &|table| {
            for (measure, value) in [("sensitivity", 0.649_006_6), ("lr_positive", 2.286_976)] {
                table.row().text("measure", measure).real("value", Some(value)).done().expect("a row");
            }
        });
        assert_eq!(table.iter().map(|row| row.real("value")).collect::<Vec<_>>(), [Some(0.65), Some(2.29)]);
        let table = rounded_table("net_benefit", &|table| {
            for strategy in ["threshold", "cutoff"] {
                let row = table.row().text("strategy", strategy).real("cutoff", Some(41.335));
                row.real("net_benefit", Some(0.388_227)).done().expect("a row");
            }
        });
        let found: Vec<_> = table.iter().map(|row| (row.real("cutoff"), row.real("net_benefit"))).collect();
        assert_eq!(found, [(Some(41.335), Some(0.39)), (Some(41.3), Some(0.39))]);
        let table = rounded_table("percentile_curves", &|table| {
            table.row().text("knots", "20.4517 38 72.3961").done().expect("a row");
        });
        assert_eq!(table.iter().next().expect("a row").text("knots"), "20.5 38 72.4");
    }

    #[test]
    fn a_count_that_may_be_shown_never_reads_as_one_that_may_not() {
        let counts =
            [(10, 10, 10), (12, 10, 10), (13, 10, 15), (7, 7, 7), (8, 7, 9), (3, 1, 3), (130, 100, 150)];
        for (count, limit, wanted) in counts {
            assert_eq!(rounded(count, limit), wanted, "{count} of at least {limit}");
        }
        let said = "counts are rounded to 5; shares are those of rounded counts, in whole per cent, and their intervals move with them; \
                    values are rounded to three digits, degrees of freedom down to one, sums of weights to a rounded count times a mean \
                    weight of two digits";
        assert_eq!(rounding(10), said);
    }

    /// 900 people less 899: the person whom exact counts would tell.
    #[test]
    fn rounded_counts_do_not_tell_one_person_by_subtraction() {
        assert_eq!(rounded(900, LIMIT), rounded(899, LIMIT));
        // 47 and 46 of 417 are 11.3 % and 11.0 %.
        let share = |count: f64| cell(&Cell::Real(100.0 * count / 417.0), Precision::Share(100.0), LIMIT);
        assert_eq!(share(47.0), share(46.0));
    }

    /// hand: 398 of 825 less 201 of 408 men are 197 women; rounded, 48 % of 825 less 49 % of 410 are 195.1.
    #[test]
    fn subtracting_rounded_shares_misses_the_people_of_the_last_group() {
        let of_women = |table: &Table| {
            let people: Vec<f64> = table
                .iter()
                .map(|row| {
                    row.real("n").zip(row.real("share_beyond")).map_or(0.0, |(n, share)| n * share / 100.0)
                })
                .collect();
            people[0] - people[1]
        };
        let mut table = Table::new(schema::shape("threshold_shares").expect("a table"));
        for (group, beyond, n) in [("everybody", 398, 825), ("men", 201, 408)] {
            let row = table.row().text("group", group).whole("n", Some(n));
            let share = 100.0 * f64::from(beyond) / n as f64;
            row.real("share_beyond", Some(share)).done().expect("a row");
        }
        assert!((of_women(&table) - 197.0).abs() < 1e-9);
        round(&mut table, LIMIT);
        assert!((of_women(&table) - 195.1).abs() < 1e-9);
    }
}
