//! Participant flow: who was there, who was left out at each step, who is left.

use crate::table::Row;
use crate::table::number::whole;
use crate::table::schema::{EACH_INDEX, JOINED};
use crate::table::small;

use super::font;
use super::palette::{BAND, INK, SOFT};
use super::scene::{Align, Face, Point, Scene, Stroke};
use super::select::{Bundle, bundles, capital, stem};
use super::sheet::{self, BODY, HEADING, LEADING, MARGIN, NOTE, WIDTH};
use super::{Drawing, Source};

const BOX: f64 = 430.0;
const ASIDE: f64 = MARGIN + BOX + 60.0;
const GAP: f64 = 26.0;

/// One chart for the whole study.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("participant_flow").filter(|table| !table.rows.is_empty()) else {
        return Vec::new();
    };
    let title = "Participant flow".to_owned();
    let rounded = source.labels.fewest_shown.map(|limit| format!(", rounded to {}", small::step(limit)));
    let notes = [format!(
        "{}. Unweighted counts of people{}.",
        source.labels.survey("The sources of the study"),
        rounded.unwrap_or_default()
    )];
    let (mut scene, top) = sheet::open(&title, &notes);
    let mut y = top + 8.0;
    for part in bundles(table.iter(), &["source"]) {
        y = draw_part(&mut scene, y, &part);
    }
    vec![Drawing {
        name: stem(&["participant_flow"]),
        index: String::new(),
        caption: caption(
            table.iter().filter(|row| row.text("source") == JOINED).last(),
            source.labels.survey("The sources of the study"),
        ),
        title,
        scene: sheet::close(scene, y - GAP),
    }]
}

fn caption(last: Option<Row<'_>>, survey: &str) -> String {
    let left = last
        .and_then(|row| row.whole("people"))
        .map_or_else(String::new, |n| format!(" {} people are left at the end.", whole(n)));
    format!(
        "Who is counted. Boxes: people left after each step; at the side: people left out.{left} Data: {survey}."
    )
}

fn draw_part(scene: &mut Scene, y: f64, part: &Bundle<'_>) -> f64 {
    let mut y = y;
    let apart = part.key[0] == EACH_INDEX;
    let heading = match part.key[0] {
        JOINED => "The joined cohort".to_owned(),
        EACH_INDEX => "Of the cohort, people with a value of".to_owned(),
        source => capital(source),
    };
    scene.text((MARGIN, y + 14.0), heading, HEADING);
    y += 26.0;
    for (position, row) in part.rows.iter().enumerate() {
        if position > 0 && !apart {
            arrow(scene, (MARGIN + BOX / 2.0, y - GAP), (MARGIN + BOX / 2.0, y));
        }
        y = step(scene, y, row) + GAP;
    }
    y + 4.0
}

fn step(scene: &mut Scene, top: f64, row: &Row<'_>) -> f64 {
    let lines = font::wrap(&capital(row.text("step")), BOX - 150.0, BODY, false);
    let height = 22.0 + lines.len() as f64 * LEADING;
    let middle = top + height / 2.0;
    scene.block((MARGIN, top), (MARGIN + BOX, top + height), BAND);
    scene.outline((MARGIN, top), (MARGIN + BOX, top + height), Stroke::solid(SOFT, 1.0));
    let first = middle + 4.8 - (lines.len() - 1) as f64 * LEADING / 2.0;
    for (position, line) in lines.iter().enumerate() {
        scene.text((MARGIN + 14.0, first + position as f64 * LEADING), line.clone(), Face::new(BODY, INK));
    }
    let people = row.whole("people").map_or_else(|| "–".to_owned(), whole);
    scene.text((MARGIN + BOX - 14.0, middle + 5.8), people, Face::new(17.0, INK).bold().align(Align::End));
    if let Some(left_out) = row.whole("left_out").filter(|left_out| *left_out > 0) {
        arrow(scene, (MARGIN + BOX, middle), (ASIDE - 8.0, middle));
        scene.text((ASIDE, middle + 4.8), format!("{} left out", whole(left_out)), Face::new(BODY, INK));
        share(scene, row, left_out, (ASIDE, middle + 22.0));
    } else if !row.text("withheld").is_empty() {
        scene.text((ASIDE, middle + 4.8), format!("withheld: {}", row.text("withheld")), NOTE);
    }
    top + height
}

/// The share that was left out at a step.
fn share(scene: &mut Scene, row: &Row<'_>, left_out: i64, at: Point) {
    if let Some(people) = row.whole("people").filter(|people| *people + left_out > 0) {
        let percent = left_out as f64 / (people + left_out) as f64 * 100.0;
        let text = format!("{} % of those before", crate::table::number::reading(percent, 2));
        if at.0 + font::width(&text, NOTE.size, false) < WIDTH - MARGIN {
            scene.text(at, text, NOTE);
        }
    }
}

fn arrow(scene: &mut Scene, from: Point, to: Point) {
    scene.line(from, to, Stroke::solid(SOFT, 1.5));
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let (x, y) = to;
    let corners = if dx.abs() > dy.abs() {
        vec![(x, y), (x - 8.0, y - 4.5), (x - 8.0, y + 4.5)]
    } else {
        vec![(x, y), (x - 4.5, y - 8.0), (x + 4.5, y - 8.0)]
    };
    scene.area(corners, SOFT, 1.0);
}
