//! A claim about people who may not be shown in small counts: small ones are out before a verdict is made.

use super::claim_estimate::Estimate;
use crate::study::Study;
use crate::table::{Cell, Row, Table, small};

/// Takes small counts out of the rows that estimate, and out of the estimates that verdicts are made of.
pub(super) fn leave_out(study: &Study, table: &mut Table, estimates: &mut [Estimate]) {
    let Some(limit) = study.fewest_shown() else { return };
    small::leave_out(std::slice::from_mut(table), limit);
    for (row, estimate) in table.iter().zip(estimates) {
        let printed = estimate.value.is_some() && estimate.verdict.shown(study);
        if printed && row.real("value").is_none() {
            estimate.withhold(row.text("withheld"));
        }
    }
}

/// Takes the counts out of verdicts that are left out of what they judge: of the rows from `first` on.
pub(super) fn count_as_estimated(table: &mut Table, first: usize) {
    let rows: Vec<Row<'_>> = table.iter().collect();
    let same = |a: &Row<'_>, b: &Row<'_>| {
        let texts = ["side", "strict", "outcome", "population", "grouping", "group", "measure"];
        a.real("threshold") == b.real("threshold") && texts.iter().all(|name| a.text(name) == b.text(name))
    };
    let hidden: Vec<usize> = (first..rows.len())
        .filter(|at| {
            let estimated = rows[..first].iter().find(|row| same(row, &rows[*at]));
            estimated.is_some_and(|row| row.whole("n").is_none())
        })
        .collect();
    let columns: Vec<usize> = ["n", "df"].iter().filter_map(|name| table.position(name)).collect();
    for row in hidden {
        for column in &columns {
            table.rows[row][*column] = Cell::Missing;
        }
    }
}
