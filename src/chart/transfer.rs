//! What cutoffs of one sample do in another: everybody's cutoff and the group's own, group by group.

use crate::table::Row;
use crate::table::number::{aligned, decimals};

use super::forest::{self, Forest, ForestRow, Whisker};
use super::palette::{Colour, ESTIMATE, THRESHOLD};
use super::scene::{Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, EVERYBODY, bundles, count_text, estimate_text, index_title, place_heading, stem,
};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "judged_in", "index", "outcome", "rule"];
const SENSITIVITY: (&str, Colour, Shape) = ("sensitivity", ESTIMATE, Shape::Circle);
const SPECIFICITY: (&str, Colour, Shape) = ("specificity", THRESHOLD, Shape::Square);
/// Significant digits of a cutoff.
const DIGITS: usize = 3;

/// One forest for each direction, index and outcome, by the study's first rule.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("transfer") else { return Vec::new() };
    let Some(rule) = table.iter().map(|row| row.text("rule")).find(|rule| !rule.is_empty()) else {
        return Vec::new();
    };
    let held = |row: &Row<'_>| row.text("rule") == rule && row.text("cutoff_uncertainty") == "fixed";
    bundles(table.iter().filter(held), KEY)
        .iter()
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("value").is_some()))
        .flat_map(|bundle| draw_one(bundle, source))
        .collect()
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let [from, to, index, outcome, rule] = bundle.key[..] else { return Vec::new() };
    let title = format!(
        "{}: cutoffs of {from} judged in {to}, for {}",
        index_title(index, labels),
        labels.outcome(outcome)
    );
    let sections = sections(bundle, labels);
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: vec![format!(
                    "Cutoffs by the rule “{}”, derived in {from} and held fixed; shares are those of people of {to}. Lines: interval{}.",
                    labels.rule(rule),
                    forest::how("korn_graubard")
                )],
                axis: format!("% of those with the outcome found, and of those without it left out, in {to}"),
                key: [SENSITIVITY, SPECIFICITY].map(entry).to_vec(),
                guides: Vec::new(),
                columns: ["cutoff", "sensitivity\n% (interval)", "specificity\n% (interval)", "with\noutcome"]
                    .map(str::to_owned)
                    .to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["transfer", from, "in", to, index, outcome, &part.stem]),
                index: index.to_owned(),
                caption: format!(
                    "{title}. Everybody’s cutoff is one for all; a group’s own is that of the same group of {from}. The table \
                     transfer has the same with the cutoff varying as it does in {from}, the index of Youden, and other rules."
                ),
                title: part.title,
                scene: forest::draw_percentages(&forest),
            }
        })
        .collect()
}

fn entry((name, colour, shape): (&str, Colour, Shape)) -> (Swatch, String) {
    (Swatch::Dot(shape, Stroke::solid(colour, 2.0)), name.to_owned())
}

/// A section for every group, a row for each cutoff that is judged in it.
fn sections(bundle: &Bundle<'_>, labels: &Labels) -> Vec<Section<ForestRow>> {
    let cutoffs: Vec<f64> = bundle.rows.iter().filter_map(|row| row.real("cutoff")).collect();
    let places = decimals(&cutoffs, DIGITS);
    let groupings = bundle.groupings(labels);
    let groups = groupings.iter().flat_map(|grouping| bundles(grouping.rows.iter().copied(), &["group"]));
    groups
        .map(|group| Section {
            heading: place_heading(&group.rows[0], labels),
            rows: bundles(group.rows.iter().copied(), &["derived_from"])
                .iter()
                .map(|judged| row(judged, places))
                .collect(),
        })
        .collect()
}

/// What one cutoff does in one group.
fn row(judged: &Bundle<'_>, places: usize) -> ForestRow {
    let measure = |name: &str| judged.rows.iter().find(|row| row.text("measure") == name);
    let percent = |row: &Row<'_>, column: &str| row.shown(column).map(|share| 100.0 * share);
    let whisker = |(name, colour, shape): (&str, Colour, Shape)| {
        let row = measure(name)?;
        let interval = percent(row, "lower").zip(percent(row, "upper"));
        Some(Whisker { value: percent(row, "value")?, interval, shape, hollow: false, colour })
    };
    let text = |(name, ..): (&str, Colour, Shape)| {
        let Some(row) = measure(name) else { return String::new() };
        let Some(value) = percent(row, "value") else { return "withheld".to_owned() };
        estimate_text(value, percent(row, "lower").zip(percent(row, "upper")), 1)
    };
    let whiskers: Vec<Whisker> = [SENSITIVITY, SPECIFICITY].into_iter().filter_map(whisker).collect();
    let why = judged.rows.iter().map(|row| row.text("withheld")).find(|why| !why.is_empty());
    let cutoff = judged.rows.iter().find_map(|row| row.real("cutoff"));
    let nothing = whiskers.is_empty();
    ForestRow {
        label: if judged.key[0] == EVERYBODY { "everybody’s cutoff" } else { "the group’s own" }.to_owned(),
        withheld: nothing.then(|| why.unwrap_or("no estimate").to_owned()),
        side: if nothing {
            Vec::new()
        } else {
            vec![
                cutoff.map_or_else(String::new, |value| aligned(value, places)),
                text(SENSITIVITY),
                text(SPECIFICITY),
                measure(SENSITIVITY.0).map(|row| count_text(row, "n")).unwrap_or_default(),
            ]
        },
        whiskers,
    }
}
