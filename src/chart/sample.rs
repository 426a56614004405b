//! A chart of one sample among several: whose it is, above its title.

use super::Drawing;
use super::font;
use super::scene::{Mark, Scene};
use super::select::stem;
use super::sheet::{HEADING, LEADING, MARGIN};

/// The drawing with the sample's label above its title and the sample's name in its own.
pub(super) fn titled(drawing: Drawing, label: &str, name: &str) -> Drawing {
    let lines = font::wrap(label, drawing.scene.width - 2.0 * MARGIN, HEADING.size, HEADING.bold);
    let mut scene = lowered(drawing.scene, lines.len() as f64 * LEADING + 4.0);
    for (position, line) in lines.into_iter().enumerate() {
        scene.text((MARGIN, MARGIN + 12.0 + position as f64 * LEADING), line, HEADING);
    }
    Drawing {
        name: stem(&[name, &drawing.name]),
        title: format!("{label}: {}", drawing.title),
        scene,
        ..drawing
    }
}

/// The scene further down on a page that is as much longer.
pub(super) fn lowered(mut scene: Scene, by: f64) -> Scene {
    scene.height = (scene.height + by).ceil();
    for mark in &mut scene.marks {
        match mark {
            Mark::Line { points, .. } | Mark::Area { points, .. } => {
                for point in points {
                    point.1 += by;
                }
            }
            Mark::Dot { at, .. } | Mark::Text { at, .. } => at.1 += by,
        }
    }
    scene
}
