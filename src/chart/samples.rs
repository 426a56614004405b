//! Cutoffs of two samples side by side, group by group.

use crate::table::Row;
use crate::table::number::{self, aligned};

use super::forest::{self, Forest, ForestRow, Whisker};
use super::palette::{Colour, ESTIMATE, THRESHOLD};
use super::scene::{Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, bundles, estimate_text, group_label, grouping_heading, index_title, p_text, stem,
};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "compared_with", "index", "outcome", "measure", "rule"];
const FIRST: (Colour, Shape) = (ESTIMATE, Shape::Circle);
const SECOND: (Colour, Shape) = (THRESHOLD, Shape::Square);

/// One forest for each pair of samples, index and outcome: the study's first rule, and smoothed cutoffs.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("sample_comparison") else { return Vec::new() };
    let cutoffs = || table.iter().filter(|row| row.text("measure") == "cutoff");
    let Some(rule) = cutoffs().next().map(|row| row.text("rule")) else { return Vec::new() };
    let smoothed = table.iter().filter(|row| row.text("measure") == "smoothed_cutoff");
    let pairs = bundles(table.iter(), &KEY[..2]);
    let number = |bundle: &Bundle<'_>| {
        let position = pairs.iter().position(|pair| pair.key == bundle.key[..2]).unwrap_or_default();
        if pairs.len() > 1 { (position + 1).to_string() } else { String::new() }
    };
    bundles(cutoffs().filter(|row| row.text("rule") == rule).chain(smoothed), KEY)
        .iter()
        .flat_map(|bundle| draw_one(bundle, &number(bundle), source))
        .collect()
}

/// `pair` numbers the pair of samples in file names; empty when there is one.
fn draw_one(bundle: &Bundle<'_>, pair: &str, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let [first, second, index, outcome, measure, _] = bundle.key[..] else { return Vec::new() };
    let smoothed = if measure == "cutoff" { "cutoff" } else { "smoothed cutoff" };
    let title = format!(
        "{}: {smoothed} for {}, {first} and {second}",
        index_title(index, labels),
        labels.outcome(outcome)
    );
    let sections = sections(bundle, labels);
    let axis_values = forest::axis_values(&sections, &[]);
    let entry = |(colour, shape): (Colour, Shape), name: &str| {
        (Swatch::Dot(shape, Stroke::solid(colour, 2.0)), name.to_owned())
    };
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, labels),
                axis: labels.index_with_unit(index),
                key: vec![entry(FIRST, first), entry(SECOND, second)],
                guides: Vec::new(),
                columns: ["first\nsample", "second\nsample", "ratio (interval)", "p"].map(str::to_owned).to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["samples", measure, index, outcome, pair, &part.stem]),
                index: index.to_owned(),
                caption: format!(
                    "{title}. Estimated apart, each with its own design; ratio of the second to the first with its \
                     interval, p of no difference by a t test, not adjusted for the number of groups."
                ),
                title: part.title,
                scene: forest::draw(&forest, &axis_values),
            }
        })
        .collect()
}

fn notes(bundle: &Bundle<'_>, labels: &Labels) -> Vec<String> {
    let rule = labels.rule(bundle.key[5]);
    let drawn =
        bundle.rows.iter().filter(|row| row.shown("value").is_some() && row.real("value_lower").is_some());
    let kind = drawn.map(|row| row.text("value_interval")).find(|kind| !kind.is_empty());
    let lines = kind.map_or_else(|| forest::legend(&bundle.rows), forest::legend_of_interval);
    let rule = if bundle.key[4] == "cutoff" { format!("Rule: {rule}. ") } else { String::new() };
    vec![format!(
        "{rule}Samples are estimated apart. {lines} p: t test of no difference, not adjusted for the number of groups."
    )]
}

fn sections(bundle: &Bundle<'_>, labels: &Labels) -> Vec<Section<ForestRow>> {
    let values = |row: &Row<'_>| [row.real("value"), row.real("other")];
    let values: Vec<f64> = bundle.rows.iter().flat_map(values).flatten().collect();
    let decimals = number::decimals(&values, 3);
    bundle
        .groupings(labels)
        .iter()
        .map(|grouping| Section {
            heading: grouping_heading(grouping.key[0], labels),
            rows: grouping.rows.iter().map(|one| row(one, decimals)).collect(),
        })
        .collect()
}

fn row(row: &Row<'_>, decimals: usize) -> ForestRow {
    let whisker = |(value, lower, upper): (&str, &str, &str), (colour, shape): (Colour, Shape)| {
        let interval = row.real(lower).zip(row.real(upper));
        Some(Whisker { value: row.real(value)?, interval, shape, hollow: false, colour })
    };
    let first = whisker(("value", "value_lower", "value_upper"), FIRST);
    let second = whisker(("other", "other_lower", "other_upper"), SECOND);
    let text = |column: &str| row.real(column).map_or_else(String::new, |v| aligned(v, decimals));
    let ratio = row.shown("ratio").map_or_else(String::new, |ratio| {
        estimate_text(ratio, row.shown("ratio_lower").zip(row.shown("ratio_upper")), 2)
    });
    let whiskers: Vec<Whisker> = first.into_iter().chain(second).collect();
    ForestRow {
        label: group_label(row),
        withheld: whiskers.is_empty().then(|| row.text("withheld").to_owned()),
        whiskers,
        side: vec![text("value"), text("other"), ratio, p_text(row.shown("p"))],
    }
}
