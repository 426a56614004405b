//! The axes of one panel of curves, and the lines, bands and marks on them.

use crate::table::Row;

use super::palette::{Colour, GRID, SOFT};
use super::scale::{Scale, tick_text};
use super::scene::{Align, Dash, Point, Scene, Shape, Stroke};
use super::sheet::{HEADING, NOTE};

/// Width of the lines of another method.
pub(super) const OTHER: f64 = 1.0;

/// One line of a panel.
pub(super) struct Line<'a> {
    pub rows: Vec<Row<'a>>,
    pub bins: Vec<Row<'a>>,
    /// The same percentile by another method.
    pub other: Vec<Row<'a>>,
}

/// The axes of one panel.
pub(super) struct Frame {
    pub x: Scale,
    pub y: Scale,
    pub left: f64,
    pub right: f64,
}

impl Frame {
    pub(super) fn open(&self, scene: &mut Scene, first: bool, (y, heading): (f64, &str)) {
        scene.text((self.left, y), heading, HEADING);
        for tick in self.y.ticks(8) {
            let at = self.y.at(tick);
            scene.line((self.left, at), (self.right, at), Stroke::solid(GRID, 1.0));
            if first {
                scene.text((self.left - 8.0, at + 4.5), tick_text(tick), NOTE.align(Align::End));
            }
        }
    }

    pub(super) fn line(
        &self,
        scene: &mut Scene,
        line: &Line<'_>,
        column: &str,
        (colour, dash, shape): (Colour, Dash, Shape),
    ) {
        let at = |rows: &[Row<'_>], column: &str| -> Vec<Point> {
            let places = rows.iter().filter_map(|row| Some((row.real("x")?, row.shown(column)?)));
            places.map(|(x, y)| (self.x.at(x), self.y.within(y).0)).collect()
        };
        let mut outline = at(&line.rows, "lower");
        outline.extend(at(&line.rows, "upper").into_iter().rev());
        if outline.len() > 2 {
            scene.area(outline, colour, 0.14);
        }
        scene.path(at(&line.rows, column), Stroke::dashed(colour, 2.5, dash));
        scene.path(at(&line.other, column), Stroke::solid(SOFT, OTHER));
        for row in &line.bins {
            let (Some(x), Some(value)) = (row.real("x"), row.shown("value")) else { continue };
            let (x, outside) = self.x.within(x);
            if outside {
                continue;
            }
            if let (Some(lower), Some(upper)) = (row.shown("lower"), row.shown("upper")) {
                let ends = (self.y.within(lower).0, self.y.within(upper).0);
                scene.line((x, ends.0), (x, ends.1), Stroke::solid(SOFT, 1.2));
            }
            scene.dot((x, self.y.at(value)), shape, 4.0, colour);
        }
    }
}
