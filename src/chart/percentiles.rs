//! Forest of two upper percentiles by group, in the order of resistance.

use crate::table::number::aligned;
use crate::table::{Row, Table};

use super::cutoffs::{threshold_guide, threshold_key};
use super::forest::{self, Forest, ForestRow, Guide, Whisker};
use super::palette::{ESTIMATE, EVERYBODY, SERIES};
use super::scene::{Dash, Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, Threshold, bundles, count_text, decimals, group_label, grouping_heading, index_title, order,
    population_stem, range_text, stem, thresholds,
};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "population"];
/// Percentiles shown when the study has them; upper limits in print rest on these.
const WANTED: [f64; 2] = [75.0, 90.0];

/// One forest for each index and population: reference groups when the study has any, else the cohort.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("percentiles") else { return Vec::new() };
    let references = table.iter().any(|row| row.text("population") != "cohort");
    let shown = chosen(table);
    let rows = table.iter().filter(|row| !references || row.text("population") != "cohort");
    bundles(rows, KEY).iter().flat_map(|bundle| draw_one(bundle, &shown, source)).collect()
}

/// P75 and P90, or the highest two the table has.
fn chosen(table: &Table) -> Vec<f64> {
    let mut present: Vec<f64> = table.iter().filter_map(|row| row.real("percentile")).collect();
    present.sort_by(f64::total_cmp);
    present.dedup();
    if WANTED.iter().all(|wanted| present.contains(wanted)) {
        return WANTED.to_vec();
    }
    present.split_off(present.len().saturating_sub(2))
}

fn draw_one(bundle: &Bundle<'_>, shown: &[f64], source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let (index, population) = (bundle.key[2], bundle.key[3]);
    let thresholds = thresholds(source.table("threshold_shares"), index);
    let sections = sections(bundle, shown, labels);
    let guides = guides(bundle, shown, &thresholds);
    let axis_values = forest::axis_values(&sections, &guides);
    let title =
        format!("{}: {} in {} by group", index_title(index, labels), names(shown), whom(population, labels));
    let parts = section::parts(&title, sections);
    parts
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, shown, labels),
                axis: labels.index_with_unit(index),
                key: key(population, shown, &thresholds),
                guides: guides.clone(),
                columns: shown.iter().map(|p| name(*p)).chain(["n".to_owned()]).collect(),
                sections,
            };
            Drawing {
                name: stem(&["percentiles", index, population_stem(population), &part.stem]),
                index: index.to_owned(),
                caption: caption(bundle, shown, labels),
                title: part.title,
                scene: forest::draw(&forest, &axis_values),
            }
        })
        .collect()
}

/// A population in a sentence: a reference group stands in quotation marks.
pub(super) fn whom(population: &str, labels: &Labels) -> String {
    let label = labels.population(population);
    if population == "cohort" { label.to_owned() } else { format!("“{label}”") }
}

fn name(percentile: f64) -> String {
    format!("P{}", super::select::stated_text(percentile))
}

fn names(shown: &[f64]) -> String {
    shown.iter().map(|percentile| name(*percentile)).collect::<Vec<_>>().join(" and ")
}

fn sections(bundle: &Bundle<'_>, shown: &[f64], labels: &Labels) -> Vec<Section<ForestRow>> {
    let decimals = decimals(bundle.rows.iter().copied(), "value");
    bundle
        .groupings(labels)
        .iter()
        .map(|grouping| Section {
            heading: grouping_heading(grouping.key[0], labels),
            rows: bundles(grouping.rows.iter().copied(), &["group"])
                .iter()
                .map(|group| row(group, shown, decimals))
                .collect(),
        })
        .collect()
}

fn row(group: &Bundle<'_>, shown: &[f64], decimals: usize) -> ForestRow {
    let picked: Vec<Option<Row<'_>>> = shown.iter().map(|p| at(group, *p)).collect();
    let whiskers = picked
        .iter()
        .enumerate()
        .filter_map(|(position, row)| whisker(position, (*row)?))
        .collect::<Vec<_>>();
    let reasons: Vec<&str> =
        picked.iter().flatten().map(|row| row.text("withheld")).filter(|reason| !reason.is_empty()).collect();
    let side = picked.iter().map(|row| {
        row.and_then(|row| row.shown("value"))
            .map_or_else(|| "–".to_owned(), |value| aligned(value, decimals))
    });
    let n = group.rows.first().map(|row| count_text(row, "n")).unwrap_or_default();
    ForestRow {
        label: group.rows.first().map(group_label).unwrap_or_default(),
        withheld: if whiskers.is_empty() {
            Some(reasons.first().copied().unwrap_or("no percentile").to_owned())
        } else {
            None
        },
        side: if whiskers.is_empty() { vec![String::new(); shown.len()] } else { side.collect() }
            .into_iter()
            .chain([n])
            .collect(),
        whiskers,
    }
}

fn at<'a>(group: &Bundle<'a>, percentile: f64) -> Option<Row<'a>> {
    group.rows.iter().copied().find(|row| row.real("percentile") == Some(percentile))
}

fn whisker(position: usize, row: Row<'_>) -> Option<Whisker> {
    Some(Whisker {
        value: row.shown("value")?,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape: if position == 0 { Shape::Circle } else { Shape::Square },
        hollow: position == 0,
        colour: if position == 0 { ESTIMATE } else { SERIES[3] },
    })
}

fn guides(bundle: &Bundle<'_>, shown: &[f64], thresholds: &[Threshold]) -> Vec<Guide> {
    let everybody = Bundle {
        key: Vec::new(),
        rows: bundle
            .rows
            .iter()
            .copied()
            .filter(|row| row.text("grouping") == super::select::EVERYBODY)
            .collect(),
    };
    let singles = shown.iter().enumerate().filter_map(|(position, percentile)| {
        let value = at(&everybody, *percentile)?.shown("value")?;
        let dash = if position == 0 { Dash::Dot } else { Dash::Solid };
        Some(Guide { value, band: None, stroke: Stroke::dashed(EVERYBODY, 1.5, dash) })
    });
    singles.chain(thresholds.iter().map(threshold_guide)).collect()
}

/// Whose the percentile of all people of a chart is: those of a reference group are not everybody.
fn whose(population: &str) -> &'static str {
    if population == "cohort" { "everybody’s" } else { "reference group’s" }
}

fn key(population: &str, shown: &[f64], thresholds: &[Threshold]) -> Vec<(Swatch, String)> {
    let points = shown.iter().enumerate().map(|(position, percentile)| {
        let swatch = if position == 0 {
            Swatch::Ring(Shape::Circle, Stroke::solid(ESTIMATE, 2.0))
        } else {
            Swatch::Dot(Shape::Square, Stroke::solid(SERIES[3], 2.0))
        };
        (swatch, name(*percentile))
    });
    let lines = shown.iter().enumerate().map(|(position, percentile)| {
        let dash = if position == 0 { Dash::Dot } else { Dash::Solid };
        let text = format!("{} {}", whose(population), name(*percentile));
        (Swatch::Line(Stroke::dashed(EVERYBODY, 1.5, dash)), text)
    });
    points.chain(lines).chain(threshold_key(thresholds)).collect()
}

/// Why a percentile is not printed where another of its group is.
fn dashes(bundle: &Bundle<'_>, shown: &[f64]) -> Option<String> {
    let mut reasons: Vec<&str> = Vec::new();
    for group in bundles(bundle.rows.iter().copied(), &["grouping", "group"]) {
        let picked: Vec<Row<'_>> = shown.iter().filter_map(|p| at(&group, *p)).collect();
        if picked.iter().any(|row| row.shown("value").is_some()) {
            let lacking = picked.iter().map(|row| row.text("withheld")).filter(|why| !why.is_empty());
            reasons.extend(lacking);
        }
    }
    reasons.sort_unstable();
    reasons.dedup();
    (!reasons.is_empty()).then(|| format!("–: withheld, {}.", reasons.join("; ")))
}

fn notes(bundle: &Bundle<'_>, shown: &[f64], labels: &Labels) -> Vec<String> {
    let [survey, _, index, population] = bundle.key[..] else { return Vec::new() };
    let n = bundle.everybody().map_or_else(String::new, |row| format!(" n = {}.", count_text(&row, "n")));
    let lines = format!("Weighted quantiles. {} {}", order(index, labels), forest::legend(&bundle.rows));
    let mut notes =
        vec![format!("Reference: {}. {}.{n}", labels.population(population), labels.survey(survey)), lines];
    notes.extend(dashes(bundle, shown));
    notes
}

fn caption(bundle: &Bundle<'_>, shown: &[f64], labels: &Labels) -> String {
    let [survey, _, index, population] = bundle.key[..] else { return String::new() };
    let everybody = bundle.rows.iter().find(|row| {
        row.text("grouping") == super::select::EVERYBODY && row.real("percentile") == shown.last().copied()
    });
    let decimals = decimals(bundle.rows.iter().copied(), "value");
    let single = everybody
        .and_then(|row| {
            let value = aligned(row.shown("value")?, decimals);
            let range = range_text(row.shown("lower"), row.shown("upper"), decimals)
                .map(|range| format!(" ({range})"))
                .unwrap_or_default();
            Some(format!(
                " {} {} is {value}{range}, n = {}.",
                if population == "cohort" { "Everybody’s" } else { "The reference group’s" },
                name(*shown.last()?),
                count_text(row, "n")
            ))
        })
        .unwrap_or_default();
    format!(
        "{} of {} in {}, group by group, with intervals.{single} A percentile is the value that this share of people fall \
         short of, counted from the least to the most resistant. Data: {}.",
        names(shown),
        labels.index_with_unit(index),
        whom(population, labels),
        labels.survey(survey),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_people_of_a_reference_group_are_not_everybody() {
        let said = |population| -> Vec<String> {
            key(population, &[75.0, 90.0], &[]).into_iter().skip(2).map(|(_, text)| text).collect()
        };
        assert_eq!(said("cohort"), ["everybody’s P75", "everybody’s P90"]);
        assert_eq!(said("healthy"), ["reference group’s P75", "reference group’s P90"]);
    }

    #[test]
    fn a_dash_beside_a_percentile_has_its_reason() {
        let mut table = Table::new(crate::table::schema::shape("percentiles").expect("a table"));
        for (group, percentile, why) in [
            ("female", 75.0, ""),
            ("female", 90.0, "fewer than 8 degrees of freedom"),
            ("male", 75.0, "fewer than 30 people"),
            ("male", 90.0, "fewer than 30 people"),
        ] {
            let row = table.row().text("grouping", "sex").text("group", group).text("withheld", why);
            row.real("percentile", Some(percentile)).real("value", Some(2.0)).done().expect("a row");
        }
        let bundle = Bundle { key: Vec::new(), rows: table.iter().collect() };
        let said = dashes(&bundle, &[75.0, 90.0]);
        assert_eq!(said.as_deref(), Some("–: withheld, fewer than 8 degrees of freedom."));
        assert_eq!(dashes(&bundle, &[75.0]), None, "a group of which nothing is shown says so in its row");
    }
}
