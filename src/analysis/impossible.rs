//! Groups that a reference group cannot have, such as a BMI of 30 among people under 25: no result is missing there.

use crate::table::{Cell, Row, Table};

/// The population that holds everybody.
const COHORT: &str = "cohort";
/// Columns in which a table says why an estimate is not printed.
const REASONS: [&str; 2] = ["withheld", "share_withheld"];

/// Takes out the rows of groups that have people in the cohort and nobody in the row's reference group.
pub(super) fn leave_out(table: &mut Table) {
    if table.position("population").is_none() {
        return;
    }
    let of_nobody = |row: &Row<'_>| {
        let why =
            REASONS.iter().filter(|name| row.has(name)).any(|name| row.text(name).starts_with("nobody"));
        row.text("population") != COHORT && (why || (row.has("n") && row.cell("n") == &Cell::Integer(0)))
    };
    let mut impossible = table.iter().map(|row| of_nobody(&row)).collect::<Vec<_>>().into_iter();
    table.rows.retain(|_| !impossible.next().unwrap_or(false));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn only_groups_of_a_reference_group_go() {
        let mut table = Table::new(schema::shape("percentiles").expect("a table"));
        for (population, n) in [("cohort", 0), ("healthy", 0), ("healthy", 40)] {
            table.row().text("population", population).whole("n", Some(n)).done().expect("a row");
        }
        leave_out(&mut table);
        let left: Vec<_> =
            table.iter().map(|row| (row.text("population").to_owned(), row.whole("n"))).collect();
        assert_eq!(left, [("cohort".to_owned(), Some(0)), ("healthy".to_owned(), Some(40))]);
    }
}
