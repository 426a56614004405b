//! Heat map: at which percentile one threshold sits in each group.

use crate::table::Row;
use crate::table::number::fixed;

use super::font;
use super::palette::{self, GRID, INK, PAPER, SOFT};
use super::percentiles::whom;
use super::scene::{Align, Face, Point, Scene, Stroke};
use super::section::{self, Part, Section};
use super::select::{
    Bundle, EVERYBODY, bundles, count_text, group_label, grouping_heading, index_title, stated_text, stem,
};
use super::sheet::{self, BODY, HEADING, LEADING, MARGIN, NOTE, SMALL, TEXT};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index"];
const LABEL: f64 = 225.0;
/// Of groups on narrow paper.
const NARROW_LABEL: f64 = 130.0;
const N: f64 = 60.0;
const CELL: f64 = 26.0;
/// Columns on one chart; more thresholds are continued on another.
const MOST_COLUMNS: usize = 6;

/// One chart for each index (more when it has many thresholds).
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("threshold_shares") else { return Vec::new() };
    bundles(table.iter(), KEY).iter().flat_map(|bundle| draw_index(bundle, source)).collect()
}

/// A column: one threshold in one population.
#[derive(Debug, Clone, PartialEq)]
struct Heading<'a> {
    threshold: f64,
    strict: &'a str,
    population: &'a str,
}

fn heading<'a>(row: &Row<'a>) -> Option<Heading<'a>> {
    Some(Heading {
        threshold: row.real("threshold")?,
        strict: row.text("strict"),
        population: row.text("population"),
    })
}

fn draw_index(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let mut headings: Vec<Heading<'_>> = Vec::new();
    for found in bundle.rows.iter().filter_map(heading) {
        if !headings.contains(&found) {
            headings.push(found);
        }
    }
    let sections: Vec<Section<Bundle<'_>>> = bundle
        .groupings(labels)
        .iter()
        .map(|grouping| Section {
            heading: grouping_heading(grouping.key[0], labels),
            rows: bundles(grouping.rows.iter().copied(), &["group"]),
        })
        .collect();
    let rows = section::cut(sections);
    let sheets: Vec<_> =
        rows.iter().flat_map(|rows| headings.chunks(MOST_COLUMNS).map(move |h| (h, rows))).collect();
    let count = sheets.len();
    let draw = |(position, sheet)| draw_part(bundle, sheet, (&section::part(position, count), source));
    sheets.into_iter().enumerate().map(draw).collect()
}

/// The thresholds and the groups of one chart.
type Sheet<'a, 'b> = (&'b [Heading<'a>], &'b Vec<Section<Bundle<'a>>>);

fn draw_part(
    bundle: &Bundle<'_>,
    (headings, sections): Sheet<'_, '_>,
    (part, source): (&Part, &Source<'_>),
) -> Drawing {
    let (labels, width) = (source.labels, source.width);
    let [survey, _, index] = bundle.key[..] else { return Drawing::default() };
    let title =
        format!("{}: the percentile at which a threshold sits{}", index_title(index, labels), part.title);
    let direction = if labels.lower_is_resistant(index) { "higher" } else { "lower" };
    let notes = [format!(
        "Numbers: weighted share of the group with {direction}, less resistant values, in percent. n: people in the group, \
         first column. {}.{}",
        labels.survey(survey),
        if sheet::is_narrow(width) { " w: withheld." } else { "" }
    )];
    let (mut scene, top) = sheet::open_on(width, &title, &notes);
    let top = scale_key(&mut scene, top + 6.0);
    let top = column_headings(&mut scene, top, headings, (index, labels));
    let lowest = rows(&mut scene, top, sections, headings);
    Drawing {
        name: stem(&["percentile_of_threshold", index, &part.stem]),
        index: index.to_owned(),
        title,
        caption: caption(bundle, headings, labels),
        scene: sheet::close(scene, lowest),
    }
}

fn caption(bundle: &Bundle<'_>, headings: &[Heading<'_>], labels: &Labels) -> String {
    let [survey, _, index] = bundle.key[..] else { return String::new() };
    let list = dedup(headings.iter().map(|heading| stated_text(heading.threshold)).collect());
    format!(
        "Where {} {} among the people of each group: a cell of 60 means that 60 % of the group are less resistant than \
         the threshold and 40 % are {} it. One threshold that meant the same for everybody would have one colour down \
         its column.{} Data: {}.",
        labels.index_at(index, &list.join(" and ")),
        if list.len() == 1 { "sits" } else { "sit" },
        labels.beyond(index, headings.first().is_some_and(|heading| heading.strict == "yes")),
        people(bundle, headings, labels),
        labels.survey(survey),
    )
}

/// How many people the other columns are of, where they are of a reference group.
fn people(bundle: &Bundle<'_>, headings: &[Heading<'_>], labels: &Labels) -> String {
    let mut said: Vec<(&str, String)> = Vec::new();
    let everybody = bundle.rows.iter().filter(|row| row.text("grouping") == EVERYBODY);
    for row in everybody.filter(|row| heading(row).is_some_and(|found| headings.contains(&found))) {
        let population = row.text("population");
        if said.iter().all(|(known, _)| *known != population) {
            said.push((population, format!("{} in {}", count_text(row, "n"), whom(population, labels))));
        }
    }
    let said: Vec<String> = said.into_iter().map(|(_, words)| words).collect();
    if said.is_empty() { String::new() } else { format!(" n = {}.", said.join(", ")) }
}

fn dedup(mut list: Vec<String>) -> Vec<String> {
    list.dedup();
    list
}

/// The colours from 0 to 100 %; returns the height below them.
fn scale_key(scene: &mut Scene, top: f64) -> f64 {
    let steps = palette::HEAT.len();
    let width = 44.0_f64.min((scene.width - 2.0 * MARGIN) / steps as f64);
    for (position, colour) in palette::HEAT.iter().enumerate() {
        let left = MARGIN + width * position as f64;
        scene.block((left, top), (left + width, top + 12.0), *colour);
    }
    let right = MARGIN + width * steps as f64;
    scene.outline((MARGIN, top), (right, top + 12.0), Stroke::solid(SOFT, 1.0));
    for (text, x, align) in [
        ("0 %", MARGIN, Align::Start),
        ("50 %", f64::midpoint(MARGIN, right), Align::Middle),
        ("100 %", right, Align::End),
    ] {
        scene.text((x, top + 27.0), text, NOTE.align(align));
    }
    top + 52.0
}

/// Where the columns stand on a sheet.
#[derive(Debug, Clone, Copy)]
struct Grid {
    width: f64,
    label: f64,
    columns: usize,
}

impl Grid {
    fn new(width: f64, columns: usize) -> Self {
        Self { width, label: if sheet::is_narrow(width) { NARROW_LABEL } else { LABEL }, columns }
    }

    fn cell(&self) -> f64 {
        ((self.width - 2.0 * MARGIN - self.label - N) / self.columns as f64).min(170.0)
    }

    fn left_of(&self, column: usize) -> f64 {
        MARGIN + self.label + N + self.cell() * column as f64
    }

    /// Right edge of the numbers of people.
    fn people(&self) -> f64 {
        MARGIN + self.label + N - 14.0
    }
}

fn column_headings(
    scene: &mut Scene,
    top: f64,
    headings: &[Heading<'_>],
    (index, labels): (&str, &Labels),
) -> f64 {
    let grid = Grid::new(scene.width, headings.len());
    let width = grid.cell();
    let texts: Vec<Vec<String>> = headings
        .iter()
        .map(|heading| font::wrap(labels.population(heading.population), width - 10.0, SMALL, false))
        .collect();
    let lines = texts.iter().map(Vec::len).max().unwrap_or(0);
    for (column, (heading, text)) in headings.iter().zip(&texts).enumerate() {
        let x = grid.left_of(column) + width / 2.0;
        let sign = match labels.beyond(index, heading.strict == "yes") {
            "above" => ">",
            "below" => "<",
            "at or below" => "≤",
            _ => "≥",
        };
        scene.text(
            (x, top),
            format!("{sign} {}", stated_text(heading.threshold)),
            HEADING.align(Align::Middle),
        );
        for (position, line) in text.iter().enumerate() {
            scene.text((x, top + 18.0 + 16.0 * position as f64), line.clone(), NOTE.align(Align::Middle));
        }
    }
    let bottom = top + 12.0 + 16.0 * lines as f64;
    scene.text((grid.people(), bottom - 6.0), "n", NOTE.align(Align::End));
    scene.line((MARGIN, bottom), (scene.width - MARGIN, bottom), Stroke::solid(GRID, 1.0));
    bottom
}

fn rows(scene: &mut Scene, top: f64, sections: &[Section<Bundle<'_>>], headings: &[Heading<'_>]) -> f64 {
    let mut y = top + 2.0;
    for section in sections {
        if !section.heading.is_empty() {
            scene.text((MARGIN, y + 20.0), section.heading.clone(), HEADING);
            y += 28.0;
        }
        for group in &section.rows {
            y = draw_group(scene, y, group, headings);
        }
    }
    y
}

fn draw_group(scene: &mut Scene, y: f64, group: &Bundle<'_>, headings: &[Heading<'_>]) -> f64 {
    let Some(first) = group.rows.first() else { return y };
    let grid = Grid::new(scene.width, headings.len());
    let lines = font::wrap(&group_label(first), grid.label - 8.0, BODY, false);
    let height = CELL + (lines.len() - 1) as f64 * LEADING;
    let middle = y + height / 2.0;
    let base = middle + 4.8 - (lines.len() - 1) as f64 * LEADING / 2.0;
    for (position, line) in lines.iter().enumerate() {
        scene.text((MARGIN, base + position as f64 * LEADING), line.clone(), TEXT);
    }
    scene.text((grid.people(), middle + 4.8), count_text(first, "n"), TEXT.align(Align::End));
    for (column, wanted) in headings.iter().enumerate() {
        let row = group.rows.iter().find(|row| heading(row).as_ref() == Some(wanted));
        let left = grid.left_of(column);
        let right = left + grid.cell();
        draw_cell(scene, row, ((left, y), (right, y + height)));
    }
    y + height
}

fn draw_cell(scene: &mut Scene, row: Option<&Row<'_>>, (corner, end): (Point, Point)) {
    let middle = (f64::midpoint(corner.0, end.0), f64::midpoint(corner.1, end.1) + 4.8);
    match row.and_then(|row| row.shown("percentile")) {
        Some(percentile) => {
            let (fill, ink) = palette::heat(percentile);
            scene.block(corner, end, fill);
            scene.text(middle, fixed(percentile, 0), Face::new(BODY, ink).align(Align::Middle));
        }
        None if row.is_some() => {
            let word = if sheet::is_narrow(scene.width) { "w" } else { "withheld" };
            scene.text(middle, word, NOTE.align(Align::Middle));
        }
        None => scene.text(middle, "–", Face::new(SMALL, INK).align(Align::Middle)),
    }
    scene.outline(corner, end, Stroke::solid(PAPER, 1.5));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Table;

    #[test]
    fn columns_of_a_reference_group_have_their_own_n() {
        let mut table = Table::new(crate::table::schema::shape("threshold_shares").expect("a table"));
        for (population, grouping, n) in
            [("cohort", EVERYBODY, 2138), ("cohort", "sex", 1100), ("lean", EVERYBODY, 604)]
        {
            let row = table.row().text("population", population).text("grouping", grouping);
            row.real("threshold", Some(2.0)).whole("n", Some(n)).done().expect("a row");
        }
        let bundle = Bundle { key: Vec::new(), rows: table.iter().collect() };
        let headings: Vec<Heading<'_>> = bundle.rows.iter().filter_map(heading).collect();
        let said = people(&bundle, &headings, &Labels::default());
        assert_eq!(said, " n = 2138 in the whole cohort, 604 in “lean”.");
        assert_eq!(people(&bundle, &headings[..1], &Labels::default()), " n = 2138 in the whole cohort.");
    }
}
