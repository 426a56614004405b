//! The same people by every assay route: a forest with the routes of each group beside each other.

use crate::table::number::aligned;
use crate::table::schema::{SMOOTHED_YOUDEN, UNIT_FACTOR};
use crate::table::{Row, Table};

use super::forest::{self, Forest, ForestRow, Whisker};
use super::section::{self, Section};
use super::select::{
    Bundle, bundles, capital, count_text, decimals, index_title, interval_text, place_heading, stated_text,
    stem,
};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "population", "index", "method", "outcome"];

/// For each index: the share beyond the first threshold, the first percentile, and the smoothed cutoff for
/// the first outcome.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("assay_routes") else { return Vec::new() };
    let mut drawn: Vec<(&str, &str)> = Vec::new();
    bundles(table.iter(), KEY)
        .into_iter()
        .filter(|bundle| ["share_beyond", "percentile", SMOOTHED_YOUDEN].contains(&bundle.key[3]))
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
    let title = format!("{} by assay: {}", index_title(index, labels), what(bundle, labels));
    let sections = sections(bundle, labels);
    let mut axis_values = forest::axis_values(&sections, &[]);
    if method == "share_beyond" {
        // From 0, so that the axis of shares is never logarithmic.
        axis_values.push(0.0);
    }
    let estimate = forest::estimate_heading("estimate", &bundle.rows);
    let columns = [&*estimate, "ratio to\nas released", "n"].map(str::to_owned);
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, source),
                axis: axis(bundle, labels),
                key: Vec::new(),
                guides: Vec::new(),
                columns: columns.to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["assay_routes", index, method, &part.stem]),
                index: index.to_owned(),
                caption: caption(bundle, source),
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
            heading: place_heading(&group.rows[0], labels),
            rows: group.rows.iter().map(|one| row(one, &routes, decimals)).collect(),
        })
        .collect()
}

fn row(row: &Row<'_>, routes: &[&str], decimals: usize) -> ForestRow {
    let position = routes.iter().position(|route| *route == row.text("route")).unwrap_or(0);
    let (shape, colour) = forest::mark(position);
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

fn notes(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<String> {
    let survey = source.labels.survey(bundle.key[0]);
    vec![
        format!(
            "The same people. {}; exclusions and outcomes move with them.",
            capital(&made(bundle, source))
        ),
        format!("{survey}. {}", forest::legend(&bundle.rows)),
    ]
}

fn caption(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    let labels = source.labels;
    format!(
        "{}, {} in {}, {}: as released, and by other routes. {}. The ratio compares each route with the released values, \
         replicate by replicate. The table assay_route_steps says what each route does, and by whom it is printed.",
        labels.index_with_unit(bundle.key[2]),
        what(bundle, labels),
        labels.population(bundle.key[1]),
        labels.survey(bundle.key[0]),
        capital(&made(bundle, source)),
    )
}

/// How the values of the routes come about: by equations between laboratory methods, by another unit factor, or both.
fn made(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    let routes = bundles(bundle.rows.iter().copied(), &["route", "route_label"]);
    let labels = |by_factor: bool| -> Vec<&str> {
        let of_kind = routes.iter().filter(|route| is_made(source, route.key[0], by_factor));
        of_kind.map(|route| route.key[1]).collect()
    };
    let (equations, factors) = (labels(false), labels(true));
    let by_equations =
        "as another laboratory method would have measured the same blood, by the agency's own equations";
    let by_factor =
        "the released insulin in pmol/L turned into µU/mL by another factor, which is no other assay";
    let of = |words: &str, labels: &[&str]| match (equations.is_empty(), factors.is_empty()) {
        (false, false) => format!("{}: {words}", labels.join(", ")),
        _ => words.to_owned(),
    };
    let parts = [(by_equations, &equations), (by_factor, &factors)];
    let parts = parts.into_iter().filter(|(_, labels)| !labels.is_empty());
    parts.map(|(words, labels)| of(words, labels)).collect::<Vec<_>>().join("; ")
}

/// Whether a step of a route reads pmol/L by another factor; or else whether one is an equation between methods.
fn is_made(source: &Source<'_>, route: &str, by_factor: bool) -> bool {
    let steps = source.table("assay_route_steps").into_iter().flat_map(Table::iter);
    let mut done = steps.filter(|row| row.text("route") == route && !row.text("equations").is_empty());
    done.any(|row| (row.text("path") == UNIT_FACTOR) == by_factor)
}
