//! How exactly each number of the tables may be told of people who may not be shown in small counts.

use super::shares_of;
use crate::table::{Column, Kind};

/// How a number is rounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Precision {
    /// As it stands: the study, print or the program states it, and it counts nobody.
    Stated,
    /// People, or what tells their number.
    People,
    /// A share of people, or a sum of such, of which so much stands for everybody: 100 or 1.
    Share(f64),
    /// So many significant digits.
    Digits(usize),
    /// So many, and never more than there are.
    AtMost(usize),
}

/// Significant digits of a value, which hardly tell whose it is.
pub const DIGITS: usize = 3;
/// 3 √(people ÷ 240) tells the number of people at as many.
const ROUGH: (&str, usize) = ("critical_z", 2);

/// Degrees of freedom: where people are drawn one by one, their number less one, so that one digit must do: rounded as people
/// are, they would tell on which side of a rounded number its people lie. Nobody has more of them than people.
pub const DEGREES: [&str; 2] = ["df", "df2"];

/// Tables of what is stated or asked before people are counted.
const OF_NO_PEOPLE: [&str; 2] = ["checks", "plan"];

/// Whole numbers that count no people.
const OF_OTHERS: [&str; 16] = [
    "at_least",
    "compared",
    "cycles",
    "family",
    "groups",
    "groups_left_out",
    "items",
    "options",
    "order",
    "places",
    "published_n",
    "replicates",
    "replicates_asked",
    "replicates_failed",
    "shown",
    "within",
];

/// Numbers that are stated, or that come from how many groups there are.
const STATED: [&str; 13] = [
    "claimed_from",
    "claimed_to",
    "detection_limit",
    "df1",
    "fill",
    "first_year",
    "last_year",
    "percentile",
    "printed",
    "threshold",
    "threshold_probability",
    "top_code",
    "year",
];

/// Shares of people that are named nowhere else, and sums of shares.
const MORE_SHARES: [&str; 10] = [
    "lost_share",
    "net_benefit",
    "optimism",
    "sensitivity",
    "share_below",
    "specificity",
    "youden",
    "youden_corrected",
    "youden_external",
    "youden_model",
];
/// A table whose intervals are of such a sum.
const NET_BENEFIT: &str = "net_benefit";

/// Columns that go with a share and are none.
const NO_SHARES: [&str; 4] = ["ratio", "ratio_lower", "ratio_upper", "standard_error"];

/// Tables whose shares are in per cent where a row holds one, whatever the column holds in others.
const IN_PERCENT: [&str; 5] = ["assay_routes", "claim", "sample", "standardised_values", "trend_cycles"];

/// How a column of a table is rounded; `None` for text, and for a whole number that has no place here yet.
#[must_use]
pub fn precision(table: &str, column: &Column) -> Option<Precision> {
    let named = |names: &[&str]| names.contains(&column.name);
    match column.kind {
        Kind::Text => None,
        _ if OF_NO_PEOPLE.contains(&table) => Some(Precision::Stated),
        _ if named(&DEGREES) => Some(Precision::AtMost(1)),
        _ if column.unit == "people" => Some(Precision::People),
        Kind::Integer => named(&OF_OTHERS).then_some(Precision::Stated),
        Kind::Real => Some(of_real(table, column)),
    }
}

fn of_real(table: &str, column: &Column) -> Precision {
    let named = |names: &[&str]| names.contains(&column.name);
    let beside = |with: &[&str]| with.contains(&column.name) && !named(&NO_SHARES);
    let share = shares_of(table).find(|share| share.column == column.name || beside(share.with));
    if let Some(share) = share {
        return Precision::Share(everybody(table, unit_of(table, share.column)));
    }
    let of_sum = table == NET_BENEFIT && ["lower", "upper"].contains(&column.name);
    match column.name {
        _ if of_sum || named(&MORE_SHARES) => Precision::Share(everybody(table, column.unit)),
        _ if named(&STATED) => Precision::Stated,
        name if name == ROUGH.0 => Precision::Digits(ROUGH.1),
        _ => Precision::Digits(DIGITS),
    }
}

/// What a share of everybody is in a table: 100 in per cent, else 1.
#[must_use]
pub fn everybody(table: &str, unit: &str) -> f64 {
    if unit == "%" || IN_PERCENT.contains(&table) { 100.0 } else { 1.0 }
}

fn unit_of(table: &str, column: &str) -> &'static str {
    let shape = super::shape(table);
    let columns = shape.iter().flat_map(|shape| shape.columns);
    columns.filter(|known| known.name == column).map(|known| known.unit).next().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema::{SHARES, shape, tables};

    fn of(table: &str, name: &str) -> Option<Precision> {
        let shape = shape(table).expect(table);
        precision(table, shape.columns.iter().find(|column| column.name == name).expect(name))
    }

    #[test]
    fn every_number_of_every_table_has_a_place() {
        for shape in tables() {
            for column in shape.columns.iter().filter(|column| column.kind != Kind::Text) {
                let found = precision(shape.name, column);
                let what = format!("{}.{}", shape.name, column.name);
                assert!(
                    found.is_some(),
                    "{what}: does it count people? Its unit is theirs, or it stands in OF_OTHERS"
                );
                if column.unit == "people" && !OF_NO_PEOPLE.contains(&shape.name) {
                    assert_eq!(found, Some(Precision::People), "{what}");
                }
                // A share in parts of one is a share, wherever it stands.
                let says =
                    column.meaning.starts_with("share ") || column.meaning.starts_with("weighted share ");
                if says && column.name != "percentile" && shape.name != "checks" {
                    assert!(matches!(found, Some(Precision::Share(_))), "{what}: {found:?}");
                }
            }
        }
        for share in SHARES {
            assert!(matches!(of(share.table, share.column), Some(Precision::Share(_))), "{share:?}");
        }
    }

    #[test]
    fn every_name_that_is_placed_stands_in_some_table() {
        let stands =
            |name: &str| tables().any(|shape| shape.columns.iter().any(|column| column.name == name));
        let names = [&OF_OTHERS[..], &STATED, &MORE_SHARES, &NO_SHARES, &DEGREES, &[ROUGH.0]].concat();
        assert_eq!(names.into_iter().find(|name| !stands(name)), None);
        let tables = [&OF_NO_PEOPLE[..], &IN_PERCENT, &[NET_BENEFIT]].concat();
        assert_eq!(tables.into_iter().find(|name| shape(name).is_none()), None);
    }

    #[test]
    fn numbers_are_what_their_tables_say() {
        let cases = [
            ("auc", "n_with", Precision::People),
            ("auc", "df", Precision::AtMost(1)),
            ("heterogeneity", "df2", Precision::AtMost(1)),
            ("threshold_shares", "n_effective", Precision::People),
            ("claim", "population_lower", Precision::People),
            ("threshold_shares", "share_beyond", Precision::Share(100.0)),
            ("threshold_shares", "percentile", Precision::Share(100.0)),
            ("threshold_shares", "upper", Precision::Share(100.0)),
            ("sample", "value", Precision::Share(100.0)),
            ("threshold_accuracy", "lower", Precision::Share(1.0)),
            ("net_benefit", "lower", Precision::Share(1.0)),
            ("percentiles", "percentile", Precision::Stated),
            ("percentiles", "lower", Precision::Digits(DIGITS)),
            ("assay_routes", "ratio", Precision::Digits(DIGITS)),
            ("cutoffs", "replicates", Precision::Stated),
            ("partition_tests", "critical_z", Precision::Digits(2)),
        ];
        for (table, column, wanted) in cases {
            assert_eq!(of(table, column), Some(wanted), "{table}.{column}");
        }
    }
}
