//! What the curves over age and BMI say, in a sentence.

use crate::chart::Labels;
use crate::table::number::fixed;
use crate::table::{Row, Table};

use super::sentence::{capital, places, range};

/// Ages and BMIs that a sentence compares, where the curve reaches them.
const AGES: (f64, f64) = (25.0, 65.0);
const BMIS: (f64, f64) = (22.0, 35.0);

/// One sentence: the first index's P75 over age and its cutoff over BMI, group by group.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let percentiles = table("percentile_curves").and_then(|table| percentiles(table, labels));
    let cutoffs = table("cutoff_curves").and_then(|table| cutoffs(table, labels));
    let parts: Vec<String> = percentiles.into_iter().chain(cutoffs).collect();
    if parts.is_empty() { Vec::new() } else { vec![capital(&format!("{}.", parts.join("; ")))] }
}

fn percentiles(table: &Table, labels: &Labels) -> Option<String> {
    let wanted = |row: &Row<'_>| row.text("over") == "age" && row.real("percentile") == Some(75.0);
    let first = table.iter().find(wanted)?;
    let same =
        |row: &Row<'_>| ["index", "method"].iter().all(|column| row.text(column) == first.text(column));
    let rows: Vec<Row<'_>> = table.iter().filter(|row| wanted(row) && same(row)).collect();
    let runs = runs(&rows, "value", (AGES, "years"))?;
    Some(format!("P75 of {} runs over age {runs}", labels.index_with_unit(first.text("index"))))
}

fn cutoffs(table: &Table, labels: &Labels) -> Option<String> {
    let first = table.iter().find(|row| row.text("over") == "bmi")?;
    let same = |row: &Row<'_>| ["over", "index", "outcome"].iter().all(|c| row.text(c) == first.text(c));
    let rows: Vec<Row<'_>> = table.iter().filter(same).collect();
    let runs = runs(&rows, "cutoff", (BMIS, "kg/m²"))?;
    Some(format!(
        "the best cutoff of {} for {} (largest Youden index) runs over BMI {runs}",
        labels.index_with_unit(first.text("index")),
        labels.outcome(first.text("outcome")),
    ))
}

/// `from 2.1 (1.9–2.3) at 25 to 3.0 (2.8–3.3) at 65 years (male), …`.
fn runs(rows: &[Row<'_>], column: &str, (wanted, unit): ((f64, f64), &str)) -> Option<String> {
    let mut groups: Vec<&str> = rows.iter().map(|row| row.text("group")).collect();
    groups.dedup();
    let one = |group: &&str| {
        let own: Vec<&Row<'_>> =
            rows.iter().filter(|row| row.text("group") == *group && row.shown(column).is_some()).collect();
        let near = |place: f64| {
            let away = |row: &Row<'_>| row.real("x").map_or(f64::INFINITY, |x| (x - place).abs());
            own.iter().copied().min_by(|a, b| away(a).total_cmp(&away(b)))
        };
        let (from, to) = (near(wanted.0)?, near(wanted.1)?);
        let text = |row: &Row<'_>| {
            let value = row.shown(column)?;
            Some(format!(
                "{}{} at {}",
                fixed(value, places(value)),
                range(row, places(value)),
                row.real("x")?
            ))
        };
        Some(format!("from {} to {} {unit} ({group})", text(from)?, text(to)?))
    };
    let texts: Vec<String> = groups.iter().filter_map(one).collect();
    if texts.is_empty() { None } else { Some(texts.join(" and ")) }
}
