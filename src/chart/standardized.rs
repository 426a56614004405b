//! Each group's cutoff as it is and after every adjustment, side by side and joined by a line.

use crate::table::number::aligned;
use crate::table::schema::SMOOTHED_YOUDEN;
use crate::table::{Row, Table, range};

use super::font;
use super::forest::{self, ForestRow, Whisker};
use super::forest_row;
use super::palette::{GRID, INK, PAPER, SOFT};
use super::scale::Scale;
use super::scene::{Align, Dash, Face, Point, Scene, Stroke};
use super::section::Section;
use super::select::{
    Bundle, bundles, capital, count_text, decimals, group_label, grouping_heading, index_title,
    interval_text, stem,
};
use super::sheet::{self, BODY, HEADING, LEADING, MARGIN, NOTE, SMALL, Swatch, TEXT, WIDTH};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "outcome", "population"];
const LABEL: f64 = 190.0;
/// From one adjustment of a group to the next.
const STEP: f64 = 16.0;
/// Between groups.
const GAP: f64 = 12.0;

/// One chart for each index and outcome.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("standardised_cutoffs") else { return Vec::new() };
    bundles(table.iter().filter(|row| row.text("method") == SMOOTHED_YOUDEN), KEY)
        .iter()
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("cutoff").is_some()))
        .map(|bundle| draw_one(bundle, source))
        .collect()
}

/// The parts of one chart that every row needs.
struct Plot {
    scale: Scale,
    /// Left and right end.
    span: (f64, f64),
    decimals: usize,
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Drawing {
    let labels = source.labels;
    let [survey, _, index, outcome, _] = bundle.key[..] else { return Drawing::default() };
    let title = format!(
        "{}: cutoff for {} {}",
        index_title(index, labels),
        labels.outcome(outcome),
        adjustments(bundle).last().map_or("", String::as_str)
    );
    let decimals = decimals(bundle.rows.iter().copied(), "cutoff");
    let (mut scene, top) = sheet::open(&title, &notes(bundle, survey, labels));
    let side = bundle
        .rows
        .iter()
        .map(|row| font::width(&estimate_text(row, decimals), SMALL, false))
        .fold(0.0, f64::max);
    let span = (MARGIN + LABEL, WIDTH - MARGIN - side - 14.0);
    let scale = Scale::fit(&axis_values(bundle), span.0 + 8.0, span.1 - 8.0);
    let plot = Plot { scale, span, decimals };
    let first = sheet::key(&mut scene, top + 10.0, &key(bundle)) - 4.0;
    let groupings = bundle.groupings(labels);
    let bottom = first + groupings.iter().map(height).sum::<f64>();
    sheet::grid(&mut scene, &plot.scale, first, bottom);
    let mut y = first;
    for grouping in &groupings {
        section(&mut scene, &plot, (grouping, labels), y);
        y += height(grouping);
    }
    let lowest =
        sheet::axis_below(&mut scene, &plot.scale, span, (bottom + 4.0, &labels.index_with_unit(index)));
    let mut lowest = lowest + 26.0;
    for line in range_lines(bundle, source) {
        lowest = sheet::paragraph(&mut scene, (MARGIN, lowest), &line, (WIDTH - 2.0 * MARGIN, NOTE));
    }
    Drawing {
        name: stem(&["standardized", index, outcome]),
        index: index.to_owned(),
        caption: caption(bundle, labels),
        title,
        scene: sheet::close(scene, lowest - 12.0),
    }
}

/// The rows of each group of a grouping, in the order of the adjustments.
fn groups<'a>(grouping: &Bundle<'a>) -> Vec<Bundle<'a>> {
    bundles(grouping.rows.iter().copied(), &["group"])
}

fn group_height(group: &Bundle<'_>) -> f64 {
    (group.rows.len() as f64 * STEP).max(2.0 * LEADING) + GAP
}

fn height(grouping: &Bundle<'_>) -> f64 {
    28.0 + groups(grouping).iter().map(group_height).sum::<f64>()
}

fn section(scene: &mut Scene, plot: &Plot, (grouping, labels): (&Bundle<'_>, &Labels), top: f64) {
    scene.text((MARGIN, top + 20.0), grouping_heading(grouping.key[0], labels), HEADING);
    let mut y = top + 28.0;
    for group in groups(grouping) {
        let height = group_height(&group);
        scene.line((MARGIN, y), (WIDTH - MARGIN, y), Stroke::solid(GRID, 1.0));
        draw_group(scene, plot, &group, (y, height));
        y += height;
    }
}

fn draw_group(scene: &mut Scene, plot: &Plot, group: &Bundle<'_>, (top, height): (f64, f64)) {
    let first = &group.rows[0];
    let label = font::wrap(&group_label(first), LABEL - 12.0, BODY, false);
    for (position, line) in label.iter().enumerate() {
        scene.text((MARGIN, top + 20.0 + position as f64 * LEADING), line.clone(), TEXT);
    }
    let counts = format!("n = {}, {} with outcome", count_text(first, "n"), count_text(first, "n_with"));
    scene.text((MARGIN, top + 20.0 + label.len() as f64 * LEADING - 1.0), counts, NOTE);
    let start = top + (height - group.rows.len() as f64 * STEP) / 2.0 + STEP / 2.0;
    let at = |position: usize| start + position as f64 * STEP;
    let joined: Vec<Point> = group
        .rows
        .iter()
        .enumerate()
        .filter_map(|(position, row)| Some((plot.scale.within(row.shown("cutoff")?).0, at(position))))
        .collect();
    if joined.len() > 1 {
        scene.path(joined, Stroke::dashed(SOFT, 1.2, Dash::Dot));
    }
    for (position, row) in group.rows.iter().enumerate() {
        let y = at(position);
        match whisker(row, position) {
            Some(whisker) => {
                forest_row::draw_whisker(scene, &plot.scale, &whisker, y);
                let text = estimate_text(row, plot.decimals);
                let face = Face::new(SMALL, INK).align(Align::End);
                scene.text((WIDTH - MARGIN, y + 4.5), text, face);
            }
            None => withheld(scene, plot, row, y),
        }
    }
}

/// The cutoff with its interval, or with the word that it has none.
fn estimate_text(row: &Row<'_>, decimals: usize) -> String {
    let text = interval_text(row, "cutoff", decimals);
    let lacking = !text.is_empty() && row.shown("lower").is_none();
    if lacking { format!("{text} (no interval)") } else { text }
}

/// Why a cutoff is not shown, on one line.
fn withheld(scene: &mut Scene, plot: &Plot, row: &Row<'_>, y: f64) {
    let room = plot.span.1 - plot.span.0 - 16.0;
    let text = format!("withheld: {}", row.text("withheld"));
    if let Some(line) = font::wrap(&text, room, SMALL, false).into_iter().next() {
        let left = plot.span.0 + 8.0;
        let right = left + font::width(&line, SMALL, false);
        scene.block((left - 4.0, y - 8.0), (right + 4.0, y + 8.0), PAPER);
        scene.text((left, y + 4.5), line, NOTE);
    }
}

fn whisker(row: &Row<'_>, position: usize) -> Option<Whisker> {
    let (shape, colour) = forest::mark(position);
    let interval = row.shown("lower").zip(row.shown("upper"));
    Some(Whisker { value: row.shown("cutoff")?, interval, shape, hollow: position == 0, colour })
}

fn axis_values(bundle: &Bundle<'_>) -> Vec<f64> {
    let rows = bundle.rows.iter().map(|row| ForestRow {
        label: String::new(),
        whiskers: whisker(row, 0).into_iter().collect(),
        side: Vec::new(),
        withheld: None,
    });
    forest::axis_values(&[Section { heading: String::new(), rows: rows.collect() }], &[])
}

fn adjustments(bundle: &Bundle<'_>) -> Vec<String> {
    bundles(bundle.rows.iter().copied(), &["adjustment", "adjusted_for"])
        .iter()
        .map(|one| match one.key[..] {
            ["none", _] => "as they are, the same people".to_owned(),
            [_, words] => format!("after adjusting for {words}"),
            _ => String::new(),
        })
        .collect()
}

fn key(bundle: &Bundle<'_>) -> Vec<(Swatch, String)> {
    let swatch = |position: usize| {
        let (shape, colour) = forest::mark(position);
        let stroke = Stroke::solid(colour, 2.0);
        if position == 0 { Swatch::Ring(shape, stroke) } else { Swatch::Dot(shape, stroke) }
    };
    adjustments(bundle).into_iter().enumerate().map(|(position, text)| (swatch(position), text)).collect()
}

fn standard(bundle: &Bundle<'_>, labels: &Labels) -> String {
    let named = bundle.rows.iter().map(|row| row.text("standard")).find(|name| !name.is_empty());
    named.map_or_else(String::new, |name| labels.population(name).to_owned())
}

fn notes(bundle: &Bundle<'_>, survey: &str, labels: &Labels) -> Vec<String> {
    let body_size = bundle.rows.iter().any(|row| row.text("notices").contains("possible mediator"));
    let mediator = if body_size {
        " BMI may be part of how a group comes by its values (a possible mediator)."
    } else {
        ""
    };
    vec![
        format!(
            "Rule: {}, smoothed. Every group is given the distribution of {}.{mediator}",
            labels.rule("youden"),
            standard(bundle, labels)
        ),
        format!("{}. {}", labels.survey(survey), forest::legend(&bundle.rows)),
    ]
}

/// How far the cutoffs lie apart, in words, one line for each grouping.
fn range_lines(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<String> {
    let (labels, ranges) = (source.labels, source.table("decomposition"));
    let same = |row: &Row<'_>| {
        row.text("method") == SMOOTHED_YOUDEN
            && KEY.iter().zip(&bundle.key).all(|(column, value)| row.text(column) == *value)
    };
    let rows = ranges.into_iter().flat_map(Table::iter).filter(same);
    bundles(rows, &["grouping"])
        .iter()
        .filter_map(|grouping| {
            let ratio = |row: &Row<'_>| {
                let words = match row.text("adjustment") {
                    "none" => "as they are".to_owned(),
                    _ => format!("after adjusting for {}", row.text("adjusted_for")),
                };
                Some(format!("{} {words}", aligned(row.shown("ratio")?, 2)))
            };
            let texts: Vec<String> = grouping.rows.iter().filter_map(ratio).collect();
            let equal = grouping.rows[0].shown("ratio_under_equality");
            let equal = equal
                .map(|e| format!("; by chance alone equal groups would show about {}", aligned(e, 2)))
                .unwrap_or_default();
            let left_out = range::left_out(&grouping.rows[0], bundle.rows.iter().copied());
            let left_out = left_out.map(|words| format!("; {words}")).unwrap_or_default();
            let by = capital(labels.grouping(grouping.key[0]));
            (!texts.is_empty())
                .then(|| format!("{by}: largest ÷ smallest cutoff {}{equal}{left_out}.", texts.join(", ")))
        })
        .collect()
}

fn caption(bundle: &Bundle<'_>, labels: &Labels) -> String {
    let [survey, _, index, outcome, population] = bundle.key[..] else { return String::new() };
    let lost = bundle.rows.iter().filter_map(|row| row.real("lost_share")).fold(0.0, f64::max);
    let lost = if lost > 0.0 {
        format!(
            " Cells that are empty in some group are left out of all: up to {} % of the standard.",
            aligned(lost, 1)
        )
    } else {
        String::new()
    };
    format!(
        "Smoothed cutoffs of {} for {} by the rule “{}” in {}, {}: as they are and after adjusting, the same people \
         throughout; standard: {}.{lost}",
        labels.index_with_unit(index),
        labels.outcome(outcome),
        labels.rule("youden"),
        labels.population(population),
        labels.survey(survey),
        standard(bundle, labels),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn a_range_names_the_groups_that_it_leaves_out() {
        let mut ranges = Table::new(schema::shape("decomposition").expect("a table"));
        let row = ranges.row().text("method", SMOOTHED_YOUDEN).text("grouping", "ancestry");
        let row = row.text("adjustment", "none").whole("groups_left_out", Some(1)).real("ratio", Some(1.01));
        row.done().expect("a row");
        let mut cutoffs = Table::new(schema::shape("standardised_cutoffs").expect("a table"));
        for (group, cutoff) in [("Sithrel", Some(8.29)), ("Orvane", Some(8.65)), ("Orvane", None)] {
            let row = cutoffs.row().text("method", SMOOTHED_YOUDEN).text("grouping", "ancestry");
            row.text("group", group).real("cutoff", cutoff).done().expect("a row");
        }
        let (tables, labels) = ([ranges], Labels::default());
        let source = Source { tables: &tables, labels: &labels, width: WIDTH };
        let bundle = Bundle { key: vec![""; KEY.len()], rows: cutoffs.iter().collect() };
        assert_eq!(
            range_lines(&bundle, &source),
            [
                "Ancestry: largest ÷ smallest cutoff 1.01 as they are; Orvane left out, for want of one of these cutoffs."
            ]
        );
    }
}
