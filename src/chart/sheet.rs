//! The parts charts share: title and notes at the top, axis, key.

use super::font;
use super::palette::{GRID, INK, SOFT};
use super::scale::{Scale, tick_text};
use super::scene::{Align, Face, Point, Scene, Shape, Stroke};

/// Width of a chart on the page in page pixels, and of every chart that is not laid out anew for narrow paper.
pub(super) const WIDTH: f64 = 800.0;
pub(super) const MARGIN: f64 = 20.0;
pub(super) const BODY: f64 = 14.0;
pub(super) const SMALL: f64 = 13.0;
/// From one line of body text to the next.
pub(super) const LEADING: f64 = 18.0;

pub(super) const TEXT: Face = Face::new(BODY, INK);
pub(super) const NOTE: Face = Face::new(SMALL, SOFT);
pub(super) const HEADING: Face = Face::new(BODY, INK).bold();

/// Starts a chart: writes title and notes and returns the scene and the height used so far.
pub(super) fn open(title: &str, notes: &[String]) -> (Scene, f64) {
    open_on(WIDTH, title, notes)
}

/// The same on a sheet of a given width.
pub(super) fn open_on(width: f64, title: &str, notes: &[String]) -> (Scene, f64) {
    let mut scene = Scene { width, height: 0.0, marks: Vec::new() };
    let limit = width - 2.0 * MARGIN;
    let size = if is_narrow(width) { 16.0 } else { 19.0 };
    let mut y = MARGIN + 16.0;
    for line in font::wrap(title, limit, size, true) {
        scene.text((MARGIN, y), line, Face::new(size, INK).bold());
        y += size * 24.0 / 19.0;
    }
    for note in notes {
        y = paragraph(&mut scene, (MARGIN, y), note, (limit, NOTE));
    }
    (scene, y + 2.0)
}

/// Whether a sheet has no room for labels beside a plot.
pub(super) fn is_narrow(width: f64) -> bool {
    width < 640.0
}

/// Writes a wrapped text from a first baseline down; returns the next baseline.
pub(super) fn paragraph(scene: &mut Scene, (x, y): Point, text: &str, (limit, face): (f64, Face)) -> f64 {
    let mut y = y;
    for line in font::wrap(text, limit, face.size, face.bold) {
        scene.text((x, y), line, face);
        y += face.size * 1.32;
    }
    y
}

/// Ends a chart at a height.
pub(super) fn close(mut scene: Scene, bottom: f64) -> Scene {
    scene.height = (bottom + MARGIN).ceil();
    scene
}

/// Grid lines between two heights, tick texts and the axis's name below; returns the lowest pixel.
pub(super) fn axis_below(
    scene: &mut Scene,
    scale: &Scale,
    (left, right): (f64, f64),
    (bottom, name): (f64, &str),
) -> f64 {
    scene.line((left, bottom), (right, bottom), Stroke::solid(SOFT, 1.0));
    let mut free_from = f64::NEG_INFINITY;
    for tick in scale.ticks(9) {
        let (x, text) = (scale.at(tick), tick_text(tick));
        scene.line((x, bottom), (x, bottom + 5.0), Stroke::solid(SOFT, 1.0));
        let half = font::width(&text, SMALL, false) / 2.0;
        if x - half > free_from {
            scene.text((x, bottom + 19.0), text, NOTE.align(Align::Middle));
            free_from = x + half + 6.0;
        }
    }
    let name = if scale.is_log() { format!("{name}, log scale") } else { name.to_owned() };
    let mut y = bottom + 38.0;
    for line in font::wrap(&name, right - left, SMALL, false) {
        scene.text((f64::midpoint(left, right), y), line, NOTE.align(Align::Middle));
        y += 17.0;
    }
    y - 17.0
}

/// Pale vertical lines at the ticks.
pub(super) fn grid(scene: &mut Scene, scale: &Scale, top: f64, bottom: f64) {
    for tick in scale.ticks(9) {
        scene.line((scale.at(tick), top), (scale.at(tick), bottom), Stroke::solid(GRID, 1.0));
    }
}

/// What a key entry looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Swatch {
    Line(Stroke),
    Dot(Shape, Stroke),
    Ring(Shape, Stroke),
}

/// Writes a key that wraps at the right margin; returns the baseline after it.
pub(super) fn key(scene: &mut Scene, y: f64, entries: &[(Swatch, String)]) -> f64 {
    let (mut x, mut y) = (MARGIN, y);
    for (swatch, text) in entries {
        let needed = 34.0 + font::width(text, SMALL, false) + 22.0;
        if x > MARGIN && x + needed > scene.width - MARGIN {
            x = MARGIN;
            y += LEADING + 2.0;
        }
        draw_swatch(scene, *swatch, (x, y - 4.5));
        scene.text((x + 34.0, y), text.clone(), Face::new(SMALL, INK));
        x += needed;
    }
    y + LEADING + 2.0
}

fn draw_swatch(scene: &mut Scene, swatch: Swatch, (x, y): Point) {
    match swatch {
        Swatch::Line(stroke) => scene.line((x, y), (x + 27.0, y), stroke),
        Swatch::Dot(shape, stroke) => {
            scene.line((x, y), (x + 27.0, y), stroke);
            scene.dot((x + 13.5, y), shape, 4.5, stroke.colour);
        }
        Swatch::Ring(shape, stroke) => {
            scene.line((x, y), (x + 27.0, y), stroke);
            scene.ring((x + 13.5, y), shape, 4.5, stroke.colour);
        }
    }
}
