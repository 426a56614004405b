//! The square that ROC curves are drawn in, with room for words beside or below it.

use crate::table::Row;
use crate::table::number::fixed;

use super::palette::{Colour, GRID, SOFT};
use super::scale::Scale;
use super::scene::{Align, Dash, Point, Scene, Stroke};
use super::sheet::{self, MARGIN, NOTE, WIDTH};

const SIDE: f64 = 400.0;
/// Room for the numbers left of the plot.
const NUMBERS: f64 = 46.0;
/// Points of a curve nearer than this, in pixels, are drawn as one.
const NEAR: f64 = 2.5;

/// The square with its two axes.
pub(super) struct Square {
    pub x: Scale,
    pub y: Scale,
    pub top: f64,
    pub side: f64,
    /// Where the texts start: left edge, first baseline, and how wide they may be.
    pub words: (f64, f64, f64),
    /// Whether they stand beside the square, not below it.
    pub beside: bool,
}

impl Square {
    pub(super) fn at(&self, false_positive: f64, sensitivity: f64) -> Point {
        (self.x.at(false_positive * 100.0), self.y.at(sensitivity * 100.0))
    }

    pub(super) fn bottom(&self) -> f64 {
        self.top + self.side
    }
}

pub(super) fn square(scene: &mut Scene, y: f64) -> Square {
    scene.text((MARGIN, y), "sensitivity, %", NOTE);
    let (left, top) = (MARGIN + NUMBERS, y + 16.0);
    let beside = !sheet::is_narrow(scene.width);
    let side = if beside { SIDE * scene.width / WIDTH } else { scene.width - left - MARGIN };
    let words = if beside {
        let start = left + side + 36.0;
        (start, top + 4.0, scene.width - MARGIN - start)
    } else {
        (MARGIN, top + side + 66.0, scene.width - 2.0 * MARGIN)
    };
    let square = Square {
        x: Scale::linear(0.0, 100.0, left, left + side),
        y: Scale::linear(0.0, 100.0, top + side, top),
        top,
        side,
        words,
        beside,
    };
    for tick in [0.0, 20.0, 40.0, 60.0, 80.0, 100.0] {
        let (x, y) = (square.x.at(tick), square.y.at(tick));
        scene.line((x, top), (x, top + side), Stroke::solid(GRID, 1.0));
        scene.line((left, y), (left + side, y), Stroke::solid(GRID, 1.0));
        scene.text((left - 8.0, y + 4.5), fixed(tick, 0), NOTE.align(Align::End));
        scene.text((x, top + side + 19.0), fixed(tick, 0), NOTE.align(Align::Middle));
    }
    scene.text((left + side / 2.0, top + side + 38.0), "100 − specificity, %", NOTE.align(Align::Middle));
    scene.line(square.at(0.0, 0.0), square.at(1.0, 1.0), Stroke::dashed(SOFT, 1.0, Dash::Dot));
    square
}

/// The points of a curve in order, none nearer than [`NEAR`] to the one before.
pub(super) fn curve(square: &Square, rows: &[Row<'_>], column: &str) -> Vec<Point> {
    let mut shares: Vec<(f64, f64)> =
        rows.iter().filter_map(|row| Some((row.real("false_positive_share")?, row.real(column)?))).collect();
    if column == "sensitivity" {
        shares.extend([(0.0, 0.0), (1.0, 1.0)]);
    }
    shares.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut points: Vec<Point> = shares.into_iter().map(|(fp, share)| square.at(fp, share)).collect();
    let last = points.last().copied();
    points.dedup_by(|next, kept| (next.0 - kept.0).hypot(next.1 - kept.1) < NEAR);
    if let (Some(last), Some(kept)) = (last, points.last_mut()) {
        *kept = last;
    }
    points
}

pub(super) fn band(scene: &mut Scene, square: &Square, rows: &[Row<'_>], colour: Colour) {
    let mut outline = curve(square, rows, "sensitivity_upper");
    let mut lower = curve(square, rows, "sensitivity_lower");
    lower.reverse();
    outline.extend(lower);
    if outline.len() > 2 {
        scene.area(outline, colour, 0.17);
    }
}
