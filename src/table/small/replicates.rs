//! How many replicates worked. Those fail in which nobody of a few is drawn, so that how many failed tells how many the few
//! are: of k people, a share of about e^−k.

use crate::table::{Cell, Kind, Table};

/// Columns that count replicates.
const COUNTED: [&str; 2] = ["replicates", "replicates_failed"];
/// A remark on such replicates.
const FAILED: &str = "failed";

/// Empties them wherever a count of people is not printed or the estimate is withheld.
pub(super) fn leave_out(table: &mut Table) {
    let columns: Vec<usize> = COUNTED.iter().filter_map(|name| table.position(name)).collect();
    let is_count = |at: &usize| {
        let column = &table.columns[*at];
        column.kind == Kind::Integer && column.unit == "people"
    };
    let people: Vec<usize> = (0..table.columns.len()).filter(is_count).collect();
    let [withheld, notices] = ["withheld", "notices"].map(|name| table.position(name));
    for row in &mut table.rows {
        let is_withheld = withheld.is_some_and(|at| row[at] != Cell::Missing);
        if !is_withheld && people.iter().all(|at| row[*at] != Cell::Missing) {
            continue;
        }
        for at in &columns {
            row[*at] = Cell::Missing;
        }
        if let Some(at) = notices
            && let Cell::Text(said) = &row[at]
        {
            row[at] = Cell::text(without_failed(said));
        }
    }
}

fn without_failed(notices: &str) -> String {
    notices.split("; ").filter(|one| !one.contains(FAILED)).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::small::hide;
    use crate::table::{Column, schema};

    /// Of 500 resamples nobody of three is drawn in about 25.
    #[test]
    fn failed_replicates_do_not_tell_a_hidden_count() {
        let mut table = Table::new(schema::shape("auc").expect("a table"));
        for (with, replicates) in [(3, 475), (40, 500)] {
            let row = table.row().text("index", "homa_ir").text("group", "all").whole("n", Some(200));
            let row = row.whole("n_with", Some(with)).whole("n_without", Some(200 - with));
            let row = row.whole("n_unknown", Some(20)).whole("replicates", Some(replicates));
            row.text("notices", "some replicates failed; few degrees of freedom").done().expect("a row");
        }
        let mut tables = [table];
        hide(&mut tables, 10);
        let found: Vec<_> =
            tables[0].iter().map(|row| (row.whole("n_with"), row.whole("replicates"))).collect();
        assert_eq!(found, [(None, None), (Some(40), Some(500))]);
        let said: Vec<&str> = tables[0].iter().map(|row| row.text("notices")).collect();
        assert!(
            said[0].starts_with("few degrees of freedom; ") && said[1].contains("replicates failed"),
            "{said:?}"
        );
    }

    #[test]
    fn every_column_that_counts_replicates_is_known() {
        let counts = |column: &&Column| column.kind == Kind::Integer && column.name.contains("replicates");
        // How many are asked for is the same in every row.
        let known = |name: &str| COUNTED.contains(&name) || name == "replicates_asked";
        let mut columns = schema::tables().flat_map(|shape| shape.columns.iter().filter(counts));
        assert_eq!(columns.find(|column| !known(column.name)).map(|column| column.name), None);
    }

    #[test]
    fn a_withheld_row_without_counts_tells_no_replicates() {
        let mut table = Table::new(schema::shape("cutoff_differences").expect("a table"));
        for (withheld, replicates) in [("fewer than 10 people with the outcome", 480), ("", 500)] {
            let row = table.row().text("index", "homa_ir").text("withheld", withheld);
            row.whole("replicates", Some(replicates)).done().expect("a row");
        }
        let mut tables = [table];
        hide(&mut tables, 10);
        let found: Vec<_> = tables[0].iter().map(|row| row.whole("replicates")).collect();
        assert_eq!(found, [None, Some(500)]);
    }
}
