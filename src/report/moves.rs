//! How far each index's cutoff moves, between whom, and whether it is more than noise.

use crate::chart::Labels;
use crate::table::number::{aligned, p_is, reading, significant};
use crate::table::schema::DIFFER;
use crate::table::{Row, Table};

use super::ends::ends;
use super::sentence::{capital, places, range_of_group, times_as_high};

pub(super) use crate::table::schema::SMOOTHED_YOUDEN as LEADING;

/// One sentence per index, about its first outcome and the variable across which its cutoff moves most.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let table = |name: &str| tables.iter().find(|table| table.name == name);
    let (Some(tests), Some(smoothed)) = (table("heterogeneity"), table("smoothed_cutoffs")) else {
        return Vec::new();
    };
    let leading: Vec<Row<'_>> = tests.iter().filter(|row| row.text("method") == LEADING).collect();
    let adjusting = only_adjusting(tables);
    let mut said: Vec<&str> = Vec::new();
    let mut sentences = Vec::new();
    for first in &leading {
        let index = first.text("index");
        if said.contains(&index) {
            continue;
        }
        said.push(index);
        let of_pair = leading.iter().filter(|row| {
            row.text("index") == index
                && !adjusting.contains(&row.text("grouping"))
                && row.text("outcome") == first.text("outcome")
                && row.shown("f").is_some()
        });
        let strongest = of_pair.max_by(|a, b| key(a).total_cmp(&key(b)));
        sentences.extend(strongest.and_then(|test| sentence(test, smoothed, labels)));
    }
    sentences
}

/// Variables by which the study asks to adjust others, and which it compares nothing by.
pub(super) fn only_adjusting(tables: &[Table]) -> Vec<&str> {
    let rows = || {
        let ranges = tables.iter().filter(|table| table.name == "decomposition");
        ranges.flat_map(Table::iter).filter(|row| row.text("stated") == "study")
    };
    let compared: Vec<&str> = rows().map(|row| row.text("grouping")).collect();
    let mut found: Vec<&str> = rows().flat_map(|row| row.text("adjustment").split(" × ")).collect();
    found.retain(|name| *name != "none" && !compared.contains(name));
    found.sort_unstable();
    found.dedup();
    found
}

/// Tests are ranked by the between-group spread, and by F where no spread is left after sampling error.
fn key(row: &Row<'_>) -> f64 {
    let spread = row.real("spread").unwrap_or(1.0);
    spread + 1e-6 * row.real("f").unwrap_or(0.0).min(1e4)
}

fn sentence(test: &Row<'_>, smoothed: &Table, labels: &Labels) -> Option<String> {
    let same = ["index", "outcome", "grouping"];
    let groups: Vec<Row<'_>> = smoothed
        .iter()
        .filter(|row| same.iter().all(|column| row.text(column) == test.text(column)))
        .collect();
    let ends = ends(&groups, "cutoff")?;
    let places = places(ends.low.0).max(places(ends.high.0)).min(4);
    let (verdict, numbers) = tested(test)?;
    Some(format!(
        "{} against {}: across {} the smoothed best cutoff runs from {}{} to {}{}, {}; {verdict} ({numbers}).",
        capital(&labels.index_with_unit(test.text("index"))),
        labels.outcome(test.text("outcome")),
        labels.grouping(test.text("grouping")),
        aligned(ends.low.0, places),
        range_of_group(&ends.low.1, places),
        aligned(ends.high.0, places),
        range_of_group(&ends.high.1, places),
        times_as_high(test.real("ratio")?),
    ))
}

/// `more than noise`, and the numbers that say so.
pub(super) fn tested<'a>(test: &Row<'a>) -> Option<(&'a str, String)> {
    let verdict = match test.text("conclusion") {
        "" => return None,
        DIFFER => "more than noise",
        other => other,
    };
    let numbers = format!(
        "F({}, {}) = {}, p {} by Holm over all such tests",
        significant(test.real("df1")?, 4),
        significant(test.real("df2")?, 4),
        reading(test.real("f")?, 3),
        p_is(test.real("p_holm")?),
    );
    Some((verdict, numbers))
}
