//! A threshold in a table of its own: what its outcome and its sides count makes up the same people twice.

use std::collections::BTreeMap;

use super::partition::Line;
use super::{BESIDE, empty, real, reason};
use crate::table::{Cell, Row, Table};

pub(super) const CLAIM: &str = "claim";
/// Shares of people with and without the outcome, then of those on either side of the threshold.
const SPLITS: [[&str; 2]; 2] = [["sensitivity", "specificity"], ["ppv", "npv"]];
/// Ratios of those shares, which tell them together, and whose people are those of both.
const RATIOS: [&str; 2] = ["lr_positive", "lr_negative"];

/// Rows of one threshold and group, by measure.
type Measures<'a> = BTreeMap<&'a str, usize>;

/// Rows whose people split those of another row.
pub(super) fn lines(table: &Table) -> Vec<Line> {
    let of = |measures: &Measures<'_>| {
        let at = |name: &&str| measures.get(name).copied();
        let whole = RATIOS.iter().find_map(at);
        SPLITS.map(|split| Line { whole, groups: split.iter().filter_map(at).collect() })
    };
    by_group(table).iter().flat_map(of).collect()
}

/// Leaves out every measure beside one that stands for few people: any of them tells the others, as people with
/// the outcome, without it and on either side are counted. How many that empties.
pub(super) fn leave_out(table: &mut Table, limit: i64) -> usize {
    let of_few = |row: usize| {
        let withheld = table.position("withheld").map(|at| &table.rows[row][at]);
        let says = |text: &str| text.contains(&reason(limit)) || text.contains(BESIDE);
        real(table, row, "value").is_none() && matches!(withheld, Some(Cell::Text(text)) if says(text))
    };
    let few: Vec<usize> = by_group(table)
        .iter()
        .filter(|measures| measures.values().any(|row| of_few(*row)))
        .flat_map(|measures| measures.values().copied().collect::<Vec<_>>())
        .collect();
    let printed: Vec<usize> = few.into_iter().filter(|row| real(table, *row, "value").is_some()).collect();
    for row in &printed {
        for column in ["value", "lower", "upper"] {
            empty(table, *row, column);
        }
        if let Some(at) = table.position("withheld") {
            table.rows[*row][at] = Cell::text(BESIDE);
        }
    }
    printed.len()
}

/// The measures against the outcome, for each threshold and group.
fn by_group(table: &Table) -> Vec<Measures<'_>> {
    let mut found: BTreeMap<(u64, Vec<&str>), Measures<'_>> = BTreeMap::new();
    let measured = |row: &Row<'_>| {
        let measure = row.text("measure");
        row.text("claim").is_empty() && SPLITS.iter().flatten().chain(&RATIOS).any(|known| *known == measure)
    };
    for (at, row) in table.iter().enumerate().filter(|(_, row)| measured(row)) {
        let texts = ["index", "side", "strict", "outcome", "population", "grouping", "group"];
        let threshold = row.real("threshold").unwrap_or_default().to_bits();
        let key = (threshold, texts.map(|name| row.text(name)).to_vec());
        found.entry(key).or_default().insert(row.text("measure"), at);
    }
    found.into_values().collect()
}

#[cfg(test)]
mod tests {
    use crate::table::small::leave_out;
    use crate::table::{Cell, Table, schema};

    /// Measures of 60 people, 20 of them with the outcome, at a threshold with 30 people on either side.
    fn table(found: i64) -> Table {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let passed = 10 + found;
        let rows = [
            ("share", 60, Some(50.0)),
            ("percentile", 60, Some(50.0)),
            ("sensitivity", 20, Some(5.0 * found as f64)),
            ("specificity", 40, Some(2.5 * passed as f64)),
            ("ppv", 30, Some(found as f64 / 0.3)),
            ("npv", 30, Some(passed as f64 / 0.3)),
            ("lr_positive", 60, Some(2.0)),
        ];
        for (measure, n, value) in rows {
            let row = table.row().text("index", "homa_ir").real("threshold", Some(2.0)).text("side", "below");
            let row =
                row.text("population", "cohort").text("grouping", "everybody").text("group", "everybody");
            let row = row.text("measure", measure).whole("n", Some(n)).real("value", value);
            row.real("lower", value.map(|v| v - 1.0)).done().expect("a row");
        }
        table
    }

    fn shown(tables: &[Table], column: &str) -> Vec<bool> {
        let at = tables[0].position(column).expect("a column");
        tables[0].rows.iter().map(|row| row[at] != Cell::Missing).collect()
    }

    #[test]
    fn few_in_one_of_four_take_all_measures_along() {
        // 10 found, 10 not: 20 of 40 passed over. Nobody is few.
        let mut enough = [table(10)];
        leave_out(&mut enough, 10);
        assert_eq!(shown(&enough, "value"), [true; 7]);
        // 12 found leave 8 that are not, whom sensitivity and the negative predictive value show.
        let mut few = [table(12)];
        leave_out(&mut few, 10);
        assert_eq!(shown(&few, "value"), [true, true, false, false, false, false, false]);
        assert_eq!(shown(&few, "lower"), shown(&few, "value"));
        assert_eq!(shown(&few, "n"), [true; 7]);
        let said: Vec<&str> = few[0].iter().skip(2).map(|row| row.text("withheld")).collect();
        let stands = "stands for fewer than 10 people";
        assert_eq!(said, [stands, super::BESIDE, super::BESIDE, stands, super::BESIDE]);
    }

    #[test]
    fn people_of_one_side_do_not_tell_those_of_the_other() {
        let mut one = [table(10)];
        let (n, value) =
            (one[0].position("n").expect("a column"), one[0].position("value").expect("a column"));
        (one[0].rows[4][n], one[0].rows[5][n]) = (Cell::integer(Some(6)), Cell::integer(Some(54)));
        (one[0].rows[0][value], one[0].rows[1][value]) = (Cell::real(Some(10.0)), Cell::real(Some(90.0)));
        leave_out(&mut one, 10);
        assert_eq!(shown(&one, "n"), [true, true, true, true, false, false, true]);
        assert_eq!(shown(&one, "value"), [false; 7], "6 of 60 are on that side");
    }
}
