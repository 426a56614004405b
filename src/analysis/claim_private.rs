//! A claim about people who may not be shown in small counts: small ones are out before a verdict is made.

use super::claim_estimate::Estimate;
use super::context::Context;
use super::{AnalysisError, describe, tabulate};
use crate::stats::interval::Interval;
use crate::study::Study;
use crate::table::{Cell, Row, Table, small};

/// Takes small counts out of the rows that estimate, and out of the estimates that verdicts are made of: those judge what is
/// told, so that they agree with it and tell no more. Nothing is said of groups whose people the run's table of the sample
/// leaves out.
pub(super) fn leave_out(
    context: &Context,
    table: &mut Table,
    estimates: &mut [Estimate],
) -> Result<(), AnalysisError> {
    let study = context.study;
    let Some(limit) = study.fewest_shown() else { return Ok(()) };
    let mut tables = [std::mem::replace(table, tabulate::empty(table.name)), describe::sample(context)?];
    small::leave_out(&mut tables, limit);
    let [claim, _] = tables;
    *table = claim;
    for (row, estimate) in table.iter().zip(estimates) {
        if estimate.value.is_none() || !estimate.verdict.shown(study) {
            continue;
        }
        let Some(told) = row.real("value") else {
            estimate.withhold(row.text("withheld"));
            continue;
        };
        estimate.value = Some(told);
        if let Some((lower, upper)) = row.real("lower").zip(row.real("upper")) {
            estimate.interval = Some(Interval { lower, upper });
        }
    }
    Ok(())
}

/// Takes out of verdicts the counts that are left out of what they judge, of the rows from `first` on, says why in the
/// same words, and rounds what is not told yet.
pub(super) fn count_as_estimated(study: &Study, table: &mut Table, first: usize) {
    let Some(limit) = study.fewest_shown() else { return };
    let rows: Vec<Row<'_>> = table.iter().collect();
    let same = |a: &Row<'_>, b: &Row<'_>| {
        let texts = ["side", "strict", "outcome", "population", "grouping", "group", "measure"];
        a.real("threshold") == b.real("threshold") && texts.iter().all(|name| a.text(name) == b.text(name))
    };
    let mut taken: Vec<(usize, &str, Cell)> = Vec::new();
    for at in first..rows.len() {
        let Some(estimated) = rows[..first].iter().find(|row| same(row, &rows[at])) else { continue };
        // People on one side of a threshold are told as the shares beside them tell them.
        taken.push((at, "n", estimated.cell("n").clone()));
        if *estimated.cell("df") == Cell::Missing {
            taken.push((at, "df", Cell::Missing));
        }
        if estimated.real("value").is_none() {
            taken.push((at, "withheld", estimated.cell("withheld").clone()));
        }
    }
    for (row, name, cell) in taken {
        if let Some(column) = table.position(name) {
            table.rows[row][column] = cell;
        }
    }
    small::round(std::slice::from_mut(table), limit);
}
