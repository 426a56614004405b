//! A pair picked from many is no finding of its own: two groups differ only where the groups of their variable do.

use crate::table::schema::{ALONE, DIFFER, NOT_DISTINGUISHABLE};
use crate::table::{Cell, Row, Table};

/// What a test of all groups and a pair of them are about.
const SAME: [&str; 5] = ["frame", "index", "outcome", "grouping", "method"];

/// Concludes of pairs of cutoffs no more than the test of all groups of their variable does.
pub(super) fn conclude(tables: &mut [Table]) {
    let find = |name: &str| tables.iter().position(|table| table.name == name);
    let Some((pairs, tests)) = find("cutoff_pairs").zip(find("heterogeneity")) else { return };
    let alone: Vec<usize> = {
        let together: Vec<Row<'_>> =
            tables[tests].iter().filter(|test| test.text("conclusion") == NOT_DISTINGUISHABLE).collect();
        let same = |pair: &Row<'_>| {
            together.iter().any(|test| SAME.iter().all(|column| test.text(column) == pair.text(column)))
        };
        let rows = tables[pairs].iter().enumerate();
        rows.filter(|(_, pair)| pair.text("conclusion") == DIFFER && same(pair)).map(|(at, _)| at).collect()
    };
    if let Some(column) = tables[pairs].position("conclusion") {
        for row in alone {
            tables[pairs].rows[row][column] = Cell::text(ALONE);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn a_pair_differs_only_where_its_groups_together_do() {
        let open = |name| Table::new(schema::shape(name).expect("a table"));
        let (mut pairs, mut tests) = (open("cutoff_pairs"), open("heterogeneity"));
        let cases = [("sex", NOT_DISTINGUISHABLE), ("bmi", DIFFER), ("region", "")];
        for (grouping, together) in cases {
            let row = tests.row().text("index", "homa_ir").text("grouping", grouping);
            row.text("conclusion", together).done().expect("a row");
            for conclusion in [DIFFER, NOT_DISTINGUISHABLE] {
                let row = pairs.row().text("index", "homa_ir").text("grouping", grouping);
                row.text("conclusion", conclusion).done().expect("a row");
            }
        }
        let of_percentile =
            pairs.row().text("index", "homa_ir").text("grouping", "sex").text("method", "P90");
        of_percentile.text("conclusion", DIFFER).done().expect("a row");
        let mut tables = [tests, pairs];
        conclude(&mut tables);
        let concluded: Vec<&str> = tables[1].iter().map(|row| row.text("conclusion")).collect();
        let [no, yes] = [NOT_DISTINGUISHABLE, DIFFER];
        assert_eq!(concluded, [ALONE, no, yes, no, yes, no, yes]);
    }
}
