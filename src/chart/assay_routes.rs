//! The same people by every assay route: a forest with the routes of each group beside each other.

use crate::table::Row;
use crate::table::number::aligned;

use super::forest::{self, Forest, ForestRow, Whisker};
use super::palette::{Colour, SERIES};
use super::scene::Shape;
use super::section::{self, Section};
use super::select::{
    Bundle, EVERYBODY, bundles, capital, count_text, decimals, interval_text, stated_text, stem,
};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "population", "index", "method", "outcome"];
const SMOOTHED: &str = "kernel_smoothed_youden";

/// For each index: the share beyond the first threshold, the first percentile, and the smoothed cutoff for
/// the first outcome.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("assay_routes") else { return Vec::new() };
    let mut drawn: Vec<(&str, &str)> = Vec::new();
    bundles(table.iter(), KEY)
        .into_iter()
        .filter(|bundle| ["share_beyond", "percentile", SMOOTHED].contains(&bundle.key[3]))
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("estimate").is_some()))
        .filter(|bundle| {
            let new = !drawn.contains(&(bundle.key[2], bundle.key[3]));
            drawn.push((bundle.key[2], bundle.key[3]));
            new
        })
        .flat_map(|bundle| draw_one(&first_of(bundle), source))
        .collect()
}

/// The rows about the first threshold or percentile.
fn first_of(mut bundle: Bundle<'_>) -> Bundle<'_> {
    let first = which(&bundle.rows[0]);
    bundle.rows.retain(|row| which(row) == first);
    bundle
}

/// The threshold or percentile of a row.
fn which<'a>(row: &Row<'a>) -> (Option<f64>, &'a str, Option<f64>) {
    (row.real("threshold"), row.text("strict"), row.real("percentile"))
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let (index, method) = (bundle.key[2], bundle.key[3]);
    let title = format!("{} by assay: {}", capital(labels.index_label(index)), what(bundle, labels));
    let sections = sections(bundle, labels);
    let mut axis_values = forest::axis_values(&sections, &[]);
    if method == "share_beyond" {
        // From 0, so that the axis of shares is never logarithmic.
        axis_values.push(0.0);
    }
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, labels),
                axis: axis(bundle, labels),
                key: Vec::new(),
                guides: Vec::new(),
                columns: ["estimate (interval)", "ratio to\nas released", "n"].map(str::to_owned).to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["assay_routes", index, method, &part.stem]),
                index: index.to_owned(),
                caption: caption(bundle, labels),
                title: part.title,
                scene: forest::draw(&forest, &axis_values),
            }
        })
        .collect()
}

/// What is estimated, in words.
fn what(bundle: &Bundle<'_>, labels: &Labels) -> String {
    let [_, _, index, method, outcome] = bundle.key[..] else { return String::new() };
    let row = &bundle.rows[0];
    let number = |column: &str| row.real(column).map(stated_text).unwrap_or_default();
    match method {
        "share_beyond" => {
            let beyond = labels.beyond(index, row.text("strict") == "yes");
            format!("share {beyond} {}", number("threshold"))
        }
        "percentile" => format!("percentile {}", number("percentile")),
        _ => format!("smoothed best cutoff for {}", labels.outcome(outcome)),
    }
}

fn axis(bundle: &Bundle<'_>, labels: &Labels) -> String {
    match bundle.key[3] {
        "share_beyond" => "%".to_owned(),
        _ => labels.index_with_unit(bundle.key[2]),
    }
}

fn sections(bundle: &Bundle<'_>, labels: &Labels) -> Vec<Section<ForestRow>> {
    let decimals = decimals(bundle.rows.iter().copied(), "estimate");
    let routes: Vec<&str> =
        bundles(bundle.rows.iter().copied(), &["route"]).iter().map(|route| route.key[0]).collect();
    let groupings = bundle.groupings(labels);
    let groups = groupings.iter().flat_map(|grouping| bundles(grouping.rows.iter().copied(), &["group"]));
    groups
        .map(|group| Section {
            heading: heading(&group.rows[0], labels),
            rows: group.rows.iter().map(|one| row(one, &routes, decimals)).collect(),
        })
        .collect()
}

fn heading(row: &Row<'_>, labels: &Labels) -> String {
    match row.text("grouping") {
        EVERYBODY => "Everybody".to_owned(),
        grouping => format!("{}: {}", capital(labels.grouping(grouping)), row.text("group")),
    }
}

fn row(row: &Row<'_>, routes: &[&str], decimals: usize) -> ForestRow {
    let position = routes.iter().position(|route| *route == row.text("route")).unwrap_or(0);
    let (shape, colour) = mark(position);
    let whisker = row.shown("estimate").map(|value| Whisker {
        value,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape,
        hollow: position == 0,
        colour,
    });
    let withheld = match (row.text("withheld"), &whisker) {
        ("", Some(_)) => None,
        ("", None) => Some("no estimate".to_owned()),
        (reason, _) => Some(reason.to_owned()),
    };
    let ratio = row.shown("ratio").map(|ratio| aligned(ratio, 2)).unwrap_or_default();
    ForestRow {
        label: row.text("route_label").to_owned(),
        whiskers: whisker.into_iter().collect(),
        side: vec![interval_text(row, "estimate", decimals), ratio, count_text(row, "n")],
        withheld,
    }
}

/// Mark of a route: told apart by shape as well as by colour.
fn mark(position: usize) -> (Shape, Colour) {
    const SHAPES: [Shape; 4] = [Shape::Circle, Shape::Square, Shape::Diamond, Shape::Triangle];
    let colours = [SERIES[5], SERIES[0], SERIES[1], SERIES[2], SERIES[3], SERIES[4]];
    (SHAPES[position % SHAPES.len()], colours[position % colours.len()])
}

fn notes(bundle: &Bundle<'_>, labels: &Labels) -> Vec<String> {
    let survey = labels.survey(bundle.key[0]);
    let kind = bundle.rows.iter().map(|row| row.text("interval")).find(|k| !k.is_empty()).unwrap_or("");
    vec![
        "The same people, their released values converted by the agency's own equations; exclusions and outcomes move \
         with them."
            .to_owned(),
        format!("{survey}. {}", forest::legend_of_interval(kind)),
    ]
}

fn caption(bundle: &Bundle<'_>, labels: &Labels) -> String {
    format!(
        "{}, {} in {}, {}: as released and as other laboratory methods would have measured the same blood. The ratio \
         compares each route with the released values, replicate by replicate. The table assay_route_steps names every \
         equation and its source.",
        labels.index_with_unit(bundle.key[2]),
        what(bundle, labels),
        labels.population(bundle.key[1]),
        labels.survey(bundle.key[0]),
    )
}
