//! Sentences on how far the choices and the assay move a cutoff.

use crate::chart::Labels;
use crate::table::number::{aligned, decimals, fixed, significant};
use crate::table::schema::UNIT_FACTOR;
use crate::table::{Row, Table};

use super::finding::Finding;
use super::methods::listed;
use super::moves::LEADING;
use super::sentence::places;
use super::strip::{Number, Scale, Strip};

/// How far each choice alone, and all together, move everybody's cutoff of the first index.
pub(super) fn lead(tables: &[Table], labels: &Labels) -> Option<Finding> {
    let ranges = tables.iter().find(|table| table.name == "choice_ranges")?;
    let first = ranges.iter().find(|row| row.text("grouping") == "everybody")?;
    let same = |row: &Row<'_>| {
        ["index", "grouping", "kind"].iter().all(|column| row.text(column) == first.text(column))
    };
    let rows: Vec<Row<'_>> = ranges.iter().filter(same).collect();
    let base = first.shown("base")?;
    let places = places(base).min(4);
    let moved = |row: &Row<'_>| moved(row, places);
    let mut parts: Vec<String> = rows.iter().filter_map(moved).collect();
    if parts.is_empty() {
        return None;
    }
    let together = if rows.last()?.text("choice") == "all" { parts.pop() } else { None };
    let together = together.map(|text| format!("; {text}")).unwrap_or_default();
    let text = format!(
        "The cutoff {} of {} for everybody rests on choices. Each alone moves it: {}{together}.{}",
        fixed(base, places),
        labels.index_with_unit(first.text("index")),
        parts.join(", "),
        flat(tables, first.text("index"), base).unwrap_or_default(),
    );
    let title = format!("best cutoff of {}, least to greatest", labels.index_with_unit(first.text("index")));
    let own = Number {
        label: "everybody’s".to_owned(),
        text: fixed(base, places),
        value: Some(base),
        ends: None,
        everybody: true,
    };
    let numbers = std::iter::once(own).chain(rows.iter().filter_map(|row| reach(row, places)));
    let strip = Strip::new(Scale::Own, vec![(title, numbers.collect())]);
    Some(Finding { heading: "What choices do to the cutoff", text, command: None, strip })
}

/// From where to where a choice moves the cutoff, as a mark.
fn reach(row: &Row<'_>, places: usize) -> Option<Number> {
    let (low, high) = row.shown("smallest").zip(row.shown("largest"))?;
    let label = match row.text("choice") {
        "all" => "all of these",
        choice => words(choice),
    };
    Some(Number {
        label: label.to_owned(),
        text: if low == high {
            "not at all".to_owned()
        } else {
            format!("{}–{}", fixed(low, places), fixed(high, places))
        },
        value: None,
        ends: Some((low, high)),
        everybody: false,
    })
}

/// `the rule from 1.48 to 1.95`, and of how many options nothing is shown; of all together, how many combinations are.
fn moved(row: &Row<'_>, places: usize) -> Option<String> {
    let choice = row.text("choice");
    let (options, shown) = (row.whole("options")?, row.whole("shown")?);
    let Some((low, high)) = row.shown("smallest").zip(row.shown("largest")) else {
        return Some(format!("{} by an unknown amount ({})", words(choice), row.text("withheld")));
    };
    let range = match (choice, low == high) {
        ("all", _) | (_, false) => format!("from {} to {}", fixed(low, places), fixed(high, places)),
        (_, true) => "not at all".to_owned(),
    };
    Some(match (choice, options - shown) {
        ("all", 0) => format!("all {options} together {range}"),
        ("all", hidden) => {
            format!("all together {range} in {shown} of {options} combinations, {hidden} being withheld")
        }
        (_, 0) => format!("{} {range}", words(choice)),
        (_, hidden) => format!("{} {range} ({hidden} of {options} withheld)", words(choice)),
    })
}

/// Between which cutoffs a move says little, where everybody's cutoff by the study's own choices is the best point of a curve.
fn flat(tables: &[Table], index: &str, base: f64) -> Option<String> {
    let cutoffs = tables.iter().find(|table| table.name == "cutoffs")?;
    let own = cutoffs.iter().find(|row| {
        row.text("grouping") == "everybody" && row.text("index") == index && row.shown("cutoff") == Some(base)
    })?;
    let (from, to) = own.shown("flat_from").zip(own.shown("flat_to")).filter(|(from, to)| from < to)?;
    let places = places(base).min(4);
    Some(format!(" Cutoffs from {} to {} do practically as well.", fixed(from, places), fixed(to, places)))
}

fn words(choice: &str) -> &str {
    match choice {
        "rule" => "the rule",
        "outcome" => "the outcome",
        "percentile" => "the percentile",
        "reference" => "the reference group",
        "exclusions" => "who is left out",
        "route" => "the assay or its unit factor",
        other => other,
    }
}

/// What the best cutoff of each index would be by every other assay, and where a release stands out.
pub(super) fn sentences(tables: &[Table], labels: &Labels) -> Vec<String> {
    let Some(table) = tables.iter().find(|table| table.name == "assay_routes") else { return Vec::new() };
    let everybody = |row: &Row<'_>| row.text("grouping") == "everybody" && row.text("method") == LEADING;
    let mut sentences = Vec::new();
    let mut said: Vec<&str> = Vec::new();
    for released in table.iter().filter(|row| everybody(row) && row.text("route") == "as_released") {
        if said.contains(&released.text("index")) {
            continue;
        }
        said.push(released.text("index"));
        let same = |row: &Row<'_>| {
            ["index", "outcome"].iter().all(|column| row.text(column) == released.text(column))
        };
        let others: Vec<Row<'_>> = table
            .iter()
            .filter(|row| everybody(row) && same(row) && row.text("route") != "as_released")
            .collect();
        sentences.extend(by_routes(&released, &others, (how(tables, &others), labels)));
    }
    sentences.extend(peaks(table, labels));
    sentences
}

/// By what the routes differ from the released values: by the laboratory method, by the unit factor, or by both.
fn how(tables: &[Table], others: &[Row<'_>]) -> &'static str {
    let steps = || tables.iter().filter(|table| table.name == "assay_route_steps").flat_map(Table::iter);
    let own = |row: &Row<'_>| others.iter().any(|other| other.text("route") == row.text("route"));
    let by_factor = |row: &Row<'_>| row.text("path") == UNIT_FACTOR;
    let factor = steps().any(|row| own(&row) && by_factor(&row));
    let equation = steps().any(|row| own(&row) && !by_factor(&row) && !row.text("equations").is_empty());
    match (equation, factor) {
        (false, true) => "Read by another unit factor",
        (true, true) => "Measured otherwise, or read by another unit factor",
        _ => "Measured otherwise",
    }
}

/// `…, 2.28 as released, would be 2.59 with insulin by Roche (ratio 1.14, 1.13–1.14), …`.
fn by_routes(released: &Row<'_>, others: &[Row<'_>], (how, labels): (&str, &Labels)) -> Option<String> {
    let old = released.shown("estimate")?;
    let known = |row: &Row<'_>| row.shown("estimate");
    let values: Vec<f64> = others.iter().filter_map(known).chain([old]).collect();
    let places = decimals(&values, 3);
    let each: Vec<String> = others.iter().filter_map(|row| by_route(row, places)).collect();
    (!each.is_empty()).then(|| {
        format!(
            "{how}, everybody’s smoothed best cutoff of {} for {}, {} as released, would be {}.",
            labels.index_with_unit(released.text("index")),
            labels.outcome(released.text("outcome")),
            fixed(old, places),
            listed(&each)
        )
    })
}

fn by_route(row: &Row<'_>, places: usize) -> Option<String> {
    let interval = row.shown("ratio_lower").zip(row.shown("ratio_upper"));
    let interval =
        interval.map(|(low, high)| format!(", {}–{}", aligned(low, 2), aligned(high, 2))).unwrap_or_default();
    Some(format!(
        "{} with {} (ratio {}{interval})",
        fixed(row.shown("estimate")?, places),
        row.text("route_label"),
        aligned(row.shown("ratio")?, 2),
    ))
}

/// In which release the share beyond a threshold is largest, by every route: an assay can make a peak.
fn peaks(table: &Table, labels: &Labels) -> Vec<String> {
    let of_cycles = |row: &Row<'_>| row.text("grouping") == "cycle" && row.text("method") == "share_beyond";
    let rows: Vec<Row<'_>> = table.iter().filter(of_cycles).collect();
    let mut said: Vec<&str> = Vec::new();
    let mut sentences = Vec::new();
    for first in &rows {
        if !said.contains(&first.text("index")) {
            said.push(first.text("index"));
            let same = |row: &&Row<'_>| {
                row.text("index") == first.text("index") && row.real("threshold") == first.real("threshold")
            };
            sentences.extend(peak(&rows.iter().filter(same).copied().collect::<Vec<_>>(), labels));
        }
    }
    sentences
}

/// The release with the largest share of each route, for rows about one threshold.
fn peak(rows: &[Row<'_>], labels: &Labels) -> Option<String> {
    let mut routes: Vec<(f64, Row<'_>)> = Vec::new();
    for row in rows {
        let Some(share) = row.shown("estimate") else { continue };
        match routes.iter_mut().find(|(_, best)| best.text("route") == row.text("route")) {
            Some((largest, _)) if *largest >= share => {}
            Some(best) => *best = (share, *row),
            None => routes.push((share, *row)),
        }
    }
    let (first, others) = routes.split_first()?;
    let (index, strict) = (first.1.text("index"), first.1.text("strict") == "yes");
    let what = format!(
        "The release with the largest share of people {} {}",
        labels.beyond(index, strict),
        labels.index_at(index, &significant(first.1.real("threshold")?, 6).replace('-', "\u{2212}")),
    );
    let in_words = |(share, row): &(f64, Row<'_>)| {
        format!("{} ({} %) {}", row.text("group"), fixed(*share, 1), row.text("route_label"))
    };
    let list = routes.iter().map(in_words).collect::<Vec<_>>().join("; ");
    let differs = others.iter().any(|(_, row)| row.text("group") != first.1.text("group"));
    let verdict = if differs { "depends on the assay" } else { "is the same by every assay" };
    (!others.is_empty()).then(|| format!("{what} {verdict}: {list}."))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    /// 24 of 36 combinations and two of three outcomes are withheld, and one of three sets of exclusions.
    #[test]
    fn choices_that_are_withheld_are_told_as_withheld() {
        let mut table = Table::new(schema::shape("choice_ranges").expect("a table"));
        for (choice, options, shown, ends) in [
            ("rule", 3, 3, Some((1.479, 1.945))),
            ("outcome", 3, 1, None),
            ("exclusions", 3, 2, Some((1.72, 1.72))),
            ("route", 2, 2, Some((1.72, 1.72))),
            ("all", 36, 12, Some((1.28, 1.945))),
        ] {
            let row =
                table.row().text("index", "homa_ir").text("grouping", "everybody").text("choice", choice);
            let row =
                row.whole("options", Some(options)).whole("shown", Some(shown)).real("base", Some(1.72));
            let row =
                row.real("smallest", ends.map(|(low, _)| low)).real("largest", ends.map(|(_, high)| high));
            let why = if ends.is_none() { "every other option is withheld" } else { "" };
            row.text("withheld", why).done().expect("a row");
        }
        let said =
            |table: &Table| lead(std::slice::from_ref(table), &Labels::default()).expect("a finding").text;
        assert_eq!(
            said(&table),
            "The cutoff 1.72 of homa_ir for everybody rests on choices. Each alone moves it: the rule from 1.48 to 1.95, \
             the outcome by an unknown amount (every other option is withheld), who is left out not at all (1 of 3 withheld), the \
             assay or its unit factor not at all; all together from 1.28 to 1.95 in 12 of 36 combinations, 24 being withheld."
        );
        let shown = table.position("shown").expect("a column");
        table.rows[4][shown] = crate::table::Cell::Integer(36);
        assert!(said(&table).ends_with("; all 36 together from 1.28 to 1.95."), "{}", said(&table));
    }
}
