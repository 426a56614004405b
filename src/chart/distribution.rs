//! Weighted distributions, one ridge a group, with the thresholds drawn through all of them.

use crate::table::number::fixed;
use crate::table::{Row, Table};

use super::cutoffs::threshold_key;
use super::font;
use super::palette::{ESTIMATE, GRID, INK, SERIES, THRESHOLD};
use super::scale::Scale;
use super::scene::{Align, Dash, Face, Point, Scene, Shape, Stroke};
use super::select::{
    Bundle, EVERYBODY, Threshold, bundles, capital, count_text, group_label, index_title, population_stem,
    stem, thresholds,
};
use super::sheet::{self, BODY, MARGIN, NOTE, Swatch, TEXT, WIDTH};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "population"];
const RIDGE: f64 = 46.0;
const LABEL: f64 = 185.0;
/// Share of everybody that the bins of the table leave out at either end, and share of the bins of a group that may lie past
/// either end of the axis, in percent.
const TAIL: f64 = 0.5;
/// Percentiles marked on the ridges.
const MARKED: [f64; 2] = [50.0, 90.0];

/// One chart for each index and population: everybody and the groups of the first grouping.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("distributions") else { return Vec::new() };
    bundles(table.iter(), KEY).iter().map(|bundle| draw_one(bundle, source)).collect()
}

/// One group's histogram.
struct Ridge {
    label: String,
    n: String,
    /// Lower end, upper end and share in percent, where it may be shown.
    bins: Vec<(f64, f64, Option<f64>)>,
    /// The marked percentiles, in the order of [`MARKED`].
    marks: Vec<Option<f64>>,
}

/// Where the ridges stand.
struct Layout {
    scale: Scale,
    right: f64,
    tallest: f64,
    decimals: usize,
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Drawing {
    let [survey, _, index, population] = bundle.key[..] else { return Drawing::default() };
    let labels = source.labels;
    let (grouping, ridges) = ridges(bundle, source);
    let thresholds = thresholds(source.table("threshold_shares"), index);
    let title = format!("{}: distribution{}", index_title(index, labels), by(grouping, labels));
    let weighted = if labels.design.is_sample { "Weighted shares" } else { "Shares of people" };
    let mut notes = vec![
        format!("{weighted}. {}, {}.", capital(labels.population(population)), labels.survey(survey)),
        format!(
            "At most about {} % of everybody, and more of some groups, lies past either end of the axis and is not drawn.",
            2.0 * TAIL
        ),
    ];
    let gaps = ridges.iter().flat_map(|ridge| &ridge.bins).any(|(_, _, share)| share.is_none());
    notes.extend(
        labels
            .fewest_shown
            .filter(|_| gaps)
            .map(|n| format!("Gaps: bins of fewer than {n} people, or beside one.")),
    );
    let (mut scene, top) = sheet::open(&title, &notes);
    let top = sheet::key(&mut scene, top + 10.0, &key(&thresholds));
    let lowest = draw_ridges(&mut scene, top, &ridges, (&thresholds, &labels.index_with_unit(index)));
    let weighting = if labels.design.is_sample { labels.design.weighted } else { "each person counted once" };
    let marks =
        if thresholds.is_empty() { "Circles" } else { "Dashed lines are thresholds under test; circles" };
    let caption = format!(
        "How {} is spread in {}{}, {weighting}. {marks} mark each group’s median, squares its 90th percentile in the order of \
         resistance. Bins leave out the outer {TAIL} % of everybody at either end, so that their shares add up to less than 100 %. \
         Data: {}.",
        labels.index_with_unit(index),
        labels.population(population),
        by(grouping, labels),
        labels.survey(survey),
    );
    Drawing {
        name: stem(&["distribution", index, population_stem(population)]),
        index: index.to_owned(),
        title,
        caption,
        scene: sheet::close(scene, lowest),
    }
}

fn by(grouping: &str, labels: &Labels) -> String {
    if grouping.is_empty() { String::new() } else { format!(" by {}", labels.grouping(grouping)) }
}

/// Everybody's ridge and those of the first grouping, whose name comes first.
fn ridges<'a>(bundle: &Bundle<'a>, source: &Source<'_>) -> (&'a str, Vec<Ridge>) {
    let groupings = bundle.groupings(source.labels);
    let first =
        groupings.iter().map(|grouping| grouping.key[0]).find(|name| *name != EVERYBODY).unwrap_or("");
    let percentiles = source.table("percentiles");
    let ridges = groupings
        .iter()
        .filter(|grouping| grouping.key[0] == EVERYBODY || grouping.key[0] == first)
        .flat_map(|grouping| bundles(grouping.rows.iter().copied(), &["group"]))
        .filter_map(|group| ridge(&group, bundle, percentiles))
        .collect();
    (first, ridges)
}

fn ridge(group: &Bundle<'_>, bundle: &Bundle<'_>, percentiles: Option<&Table>) -> Option<Ridge> {
    let first = group.rows.first()?;
    let bins = group
        .rows
        .iter()
        .filter_map(|row| Some((row.real("from")?, row.real("to")?, row.real("share"))))
        .filter(|(from, to, _)| to > from)
        .collect();
    let same = |row: &Row<'_>| {
        KEY.iter().zip(&bundle.key).all(|(column, key)| row.text(column) == *key)
            && row.text("grouping") == first.text("grouping")
            && row.text("group") == first.text("group")
    };
    let rows: Vec<Row<'_>> = percentiles.into_iter().flat_map(Table::iter).filter(same).collect();
    let mark =
        |percent: &f64| rows.iter().find(|row| row.real("percentile") == Some(*percent))?.shown("value");
    Some(Ridge {
        label: group_label(first),
        n: rows.first().map(|row| count_text(row, "n")).unwrap_or_default(),
        bins,
        marks: MARKED.iter().map(mark).collect(),
    })
}

/// The part of the axis that holds all but the tails of every group.
fn range(ridges: &[Ridge]) -> Vec<f64> {
    let mut ends = Vec::new();
    for ridge in ridges {
        let mut below = 0.0;
        for (from, to, share) in &ridge.bins {
            let reached = below + share.unwrap_or(0.0);
            if reached > TAIL && below < 100.0 - TAIL {
                ends.extend([*from, *to]);
            }
            below = reached;
        }
    }
    ends
}

fn key(thresholds: &[Threshold]) -> Vec<(Swatch, String)> {
    let median = (Swatch::Dot(Shape::Circle, Stroke::solid(INK, 0.5)), "median".to_owned());
    let upper = (Swatch::Dot(Shape::Square, Stroke::solid(SERIES[3], 0.5)), "P90".to_owned());
    threshold_key(thresholds).into_iter().chain([median, upper]).collect()
}

fn draw_ridges(
    scene: &mut Scene,
    top: f64,
    ridges: &[Ridge],
    (thresholds, axis): (&[Threshold], &str),
) -> f64 {
    let ends: Vec<f64> =
        range(ridges).into_iter().chain(thresholds.iter().map(|threshold| threshold.value)).collect();
    let marks: Vec<f64> = ridges.iter().flat_map(|ridge| ridge.marks.iter().flatten().copied()).collect();
    let right = WIDTH - MARGIN - 190.0;
    let scale = Scale::fit(&ends, MARGIN + LABEL, right);
    let tallest = ridges.iter().flat_map(|ridge| heights(ridge, &scale)).flatten().fold(0.0, f64::max);
    let layout = Layout { scale, right, tallest, decimals: crate::table::number::decimals(&marks, 3) };
    for (heading, x) in ["median", "P90", "n"].iter().zip(columns()) {
        scene.text((x, top + 6.0), *heading, NOTE.align(Align::End));
    }
    let first = top + 10.0;
    let bottom = first + RIDGE * ridges.len() as f64;
    sheet::grid(scene, &layout.scale, first, bottom);
    for (position, ridge) in ridges.iter().enumerate() {
        draw_ridge(scene, &layout, ridge, first + RIDGE * (position + 1) as f64);
    }
    for threshold in thresholds {
        let x = layout.scale.at(threshold.value);
        scene.line((x, first), (x, bottom), Stroke::dashed(THRESHOLD, 2.0, Dash::Long));
    }
    sheet::axis_below(scene, &layout.scale, (MARGIN + LABEL, right), (bottom + 4.0, axis))
}

/// Right edges of the columns at the side.
fn columns() -> [f64; 3] {
    [WIDTH - MARGIN - 120.0, WIDTH - MARGIN - 58.0, WIDTH - MARGIN]
}

/// Density of each bin per unit of the axis, so that areas on the chart are shares.
fn heights(ridge: &Ridge, scale: &Scale) -> Vec<Option<f64>> {
    let density = |from: f64, to: f64, share: f64| {
        if scale.is_log() && from <= 0.0 { 0.0 } else { share / (scale.at(to) - scale.at(from)) }
    };
    ridge.bins.iter().map(|(from, to, share)| share.map(|share| density(*from, *to, share))).collect()
}

fn draw_ridge(scene: &mut Scene, layout: &Layout, ridge: &Ridge, base: f64) {
    for steps in stairs(layout, ridge, base) {
        if let (Some(first), Some(last)) = (steps.first().copied(), steps.last().copied()) {
            let mut outline = vec![(first.0, base)];
            outline.extend(&steps);
            outline.push((last.0, base));
            scene.area(outline, ESTIMATE, 0.25);
            scene.path(steps, Stroke::solid(ESTIMATE, 1.5));
        }
    }
    scene.line((MARGIN, base), (WIDTH - MARGIN, base), Stroke::solid(GRID, 1.0));
    let lines = font::wrap(&ridge.label, LABEL - 14.0, BODY, false);
    for (position, line) in lines.iter().enumerate() {
        let up = (lines.len() - 1 - position) as f64 * 16.0;
        scene.text((MARGIN, base - 7.0 - up), line.clone(), TEXT);
    }
    for ((mark, shape), colour) in
        ridge.marks.iter().zip([Shape::Circle, Shape::Square]).zip([INK, SERIES[3]])
    {
        if let Some((x, false)) = mark.map(|value| layout.scale.within(value)) {
            scene.dot((x, base - 1.0), shape, 4.0, colour);
        }
    }
    let texts = ridge
        .marks
        .iter()
        .map(|mark| mark.map_or_else(|| "–".to_owned(), |value| fixed(value, layout.decimals)));
    for (text, x) in texts.chain([ridge.n.clone()]).zip(columns()) {
        scene.text((x, base - 7.0), text, Face::new(BODY, INK).align(Align::End));
    }
}

/// The tops of the bins that stand on the axis, as staircases between the bins that may not be shown.
fn stairs(layout: &Layout, ridge: &Ridge, base: f64) -> Vec<Vec<Point>> {
    let tall = RIDGE - 6.0;
    let mut stairs = vec![Vec::new()];
    for ((from, to, _), height) in ridge.bins.iter().zip(heights(ridge, &layout.scale)) {
        let ((left, _), (right, _)) = (layout.scale.within(*from), layout.scale.within(*to));
        if right > left && left < layout.right {
            match height.zip(stairs.last_mut()) {
                Some((height, steps)) => {
                    let y = base - height / layout.tallest * tall;
                    steps.extend([(left, y), (right, y)]);
                }
                None => stairs.push(Vec::new()),
            }
        }
    }
    stairs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bin_that_may_not_be_shown_leaves_a_gap() {
        let bins = vec![
            (1.0, 2.0, Some(10.0)),
            (2.0, 3.0, Some(20.0)),
            (3.0, 4.0, None),
            (4.0, 5.0, Some(0.0)),
            (5.0, 6.0, Some(30.0)),
        ];
        let ridge = Ridge { label: String::new(), n: String::new(), bins, marks: Vec::new() };
        let layout =
            Layout { scale: Scale::fit(&[1.0, 6.0], 0.0, 500.0), right: 500.0, tallest: 1.0, decimals: 1 };
        let stairs = stairs(&layout, &ridge, 100.0);
        assert_eq!(stairs.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4]);
        let [before, after] = [stairs[0][3].0, stairs[1][0].0];
        let gap = [layout.scale.at(3.0), layout.scale.at(4.0)];
        assert!((before - gap[0]).abs() < 1e-9 && (after - gap[1]).abs() < 1e-9, "{before} {after}");
    }
}
