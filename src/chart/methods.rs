//! The best cutoff by several methods, side by side in each group.

use crate::table::Row;
use crate::table::number::aligned;

use super::forest::{self, Forest, ForestRow, Whisker};
use super::palette::{Colour, SERIES};
use super::scene::{Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, bundles, capital, count_text, decimals, index_title, interval_text, place_heading,
    population_stem, range_text, stem,
};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "population"];

/// One chart for each index, about the study's first outcome; the table has the others. Cutoffs that ask for no
/// outcome stand beside those against it.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("cutoff_methods") else { return Vec::new() };
    let against = |row: &Row<'_>| !row.text("outcome").is_empty();
    let Some(outcome) = table.iter().find(against).map(|row| row.text("outcome")) else { return Vec::new() };
    bundles(table.iter().filter(|row| row.text("outcome") == outcome), &[KEY, &["outcome"]].concat())
        .iter()
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("cutoff").is_some()))
        .flat_map(|bundle| {
            let same = |row: &Row<'_>| row.text("index") == bundle.key[2] && !against(row);
            draw_one(bundle, &table.iter().filter(same).collect::<Vec<_>>(), source)
        })
        .collect()
}

fn draw_one(bundle: &Bundle<'_>, without: &[Row<'_>], source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let [_, _, index, population, outcome] = bundle.key[..] else { return Vec::new() };
    let decimals = decimals(bundle.rows.iter().copied(), "cutoff");
    let sections: Vec<Section<ForestRow>> = bundle
        .groupings(labels)
        .iter()
        .flat_map(|grouping| bundles(grouping.rows.iter().copied(), &["grouping", "group"]))
        .map(|group| section(&group, without, (decimals, labels)))
        .collect();
    let axis_values = forest::axis_values(&sections, &[]);
    let title =
        format!("{}: cutoff for {} by several methods", index_title(index, labels), labels.outcome(outcome));
    let estimate = forest::estimate_heading("cutoff", &bundle.rows);
    let columns = [&*estimate, "flat range", "J", "corrected\nJ"].map(str::to_owned);
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, labels),
                axis: labels.index_with_unit(index),
                key: key(&[&bundle.rows[..], without].concat(), labels),
                guides: Vec::new(),
                columns: columns.to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["cutoff_methods", index, outcome, population_stem(population), &part.stem]),
                index: index.to_owned(),
                caption: caption(bundle, !without.is_empty(), labels),
                title: part.title,
                scene: forest::draw(&forest, &axis_values),
            }
        })
        .collect()
}

fn section(
    group: &Bundle<'_>,
    without: &[Row<'_>],
    (decimals, labels): (usize, &Labels),
) -> Section<ForestRow> {
    let first = &group.rows[0];
    let counts = format!("n = {}, {} with the outcome", count_text(first, "n"), count_text(first, "n_with"));
    let heading = format!("{}, {counts}", place_heading(first, labels));
    let here = |row: &&Row<'_>| row.text("grouping") == group.key[0] && row.text("group") == group.key[1];
    let all: Vec<&Row<'_>> = group.rows.iter().chain(without.iter().filter(here)).collect();
    // A reason that all methods share is said once.
    let reason = first.text("withheld");
    if !reason.is_empty() && all.iter().all(|row| row.text("withheld") == reason) {
        let row = ForestRow {
            label: "all methods".to_owned(),
            whiskers: Vec::new(),
            side: Vec::new(),
            withheld: Some(reason.to_owned()),
        };
        return Section { heading, rows: vec![row] };
    }
    Section { heading, rows: all.into_iter().map(|row| forest_row(row, decimals, labels)).collect() }
}

/// Mark of a method: told apart by shape as well as by colour.
fn mark(method: &str) -> (Shape, Colour) {
    match method {
        "empirical_youden" => (Shape::Circle, SERIES[5]),
        "kernel_smoothed_youden" => (Shape::Diamond, SERIES[0]),
        "binormal_box_cox" => (Shape::Square, SERIES[1]),
        _ => (Shape::Triangle, SERIES[3]),
    }
}

fn forest_row(row: &Row<'_>, decimals: usize, labels: &Labels) -> ForestRow {
    let (shape, colour) = mark(row.text("method"));
    let whisker = row.shown("cutoff").map(|value| Whisker {
        value,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape,
        hollow: row.text("weighted") == "no",
        colour,
    });
    let withheld = match (&whisker, row.text("withheld")) {
        (Some(_), _) => None,
        (None, "") => Some("no cutoff".to_owned()),
        (None, reason) => Some(reason.to_owned()),
    };
    let counted = |column: &str| row.shown(column).map(|j| aligned(j, 3)).unwrap_or_default();
    let (from, to) = (row.shown("flat_from"), row.shown("flat_to"));
    let (low, high) = if from > to { (to, from) } else { (from, to) };
    ForestRow {
        label: labels.rule(row.text("method")).to_owned(),
        whiskers: whisker.into_iter().collect(),
        side: vec![
            interval_text(row, "cutoff", decimals),
            range_text(low, high, decimals).unwrap_or_default(),
            counted("youden"),
            counted("youden_corrected"),
        ],
        withheld,
    }
}

fn key(rows: &[Row<'_>], labels: &Labels) -> Vec<(Swatch, String)> {
    bundles(rows.iter().copied(), &["method", "weighted"])
        .iter()
        .map(|method| {
            let (shape, colour) = mark(method.key[0]);
            let stroke = Stroke::solid(colour, 2.0);
            let label = labels.rule(method.key[0]).to_owned();
            match method.key[1] {
                "no" => (Swatch::Ring(shape, stroke), format!("{label} (unweighted, no outcome)")),
                _ => (Swatch::Dot(shape, stroke), label),
            }
        })
        .collect()
}

fn notes(bundle: &Bundle<'_>, labels: &Labels) -> Vec<String> {
    let [survey, _, index, population, outcome] = bundle.key[..] else { return Vec::new() };
    vec![
        format!(
            "Outcome: {}. {}, {}. A value {} the cutoff counts as resistant. {}",
            labels.outcome(outcome),
            capital(labels.population(population)),
            labels.survey(survey),
            labels.beyond(index, false),
            forest::legend(&bundle.rows)
        ),
        "J: Youden index (sensitivity + specificity − 1) counted at the cutoff; corrected: less what choosing it on the same \
         people adds. Flat range: cutoffs that count within 0.01 of the best."
            .to_owned(),
    ]
}

fn caption(bundle: &Bundle<'_>, mixture: bool, labels: &Labels) -> String {
    let [survey, _, index, population, outcome] = bundle.key[..] else { return String::new() };
    let mixture = if mixture {
        " The crossing of two distributions asks for no outcome and counts every person once, without survey weights."
    } else {
        ""
    };
    format!(
        "Cutoffs of {} for {} in {}, by method: as counted, from smoothed distributions, and from two normal distributions \
         after a power transform. Where methods disagree within the flat range, the data do not say which cutoff is \
         best.{mixture} Other outcomes stand in the table cutoff_methods. Data: {}.",
        labels.index_with_unit(index),
        labels.outcome(outcome),
        labels.population(population),
        labels.survey(survey),
    )
}
