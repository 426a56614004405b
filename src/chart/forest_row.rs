//! One row of a forest, with its label and numbers beside the plot or, on narrow paper, above it.

use super::font;
use super::forest::{ForestRow, Whisker};
use super::palette::{BAND, PAPER};
use super::scale::Scale;
use super::scene::{Align, Point, Scene, Stroke};
use super::sheet::{BODY, LEADING, MARGIN, NOTE, SMALL, TEXT};

const ROW: f64 = 23.0;

/// Where the parts of a forest stand from left to right.
pub(super) struct Layout {
    /// Of the sheet.
    pub width: f64,
    /// Whether labels and columns stand above a plot as wide as the sheet, rather than beside it.
    pub stacked: bool,
    pub label: f64,
    pub plot: (f64, f64),
    /// Right edges of the columns at the side.
    pub columns: Vec<f64>,
    /// Right edge of the text of a withheld row.
    pub words: f64,
}

impl Layout {
    /// Takes grid, bands and guides off a strip for words and numbers, which then stand over no scale that is not theirs.
    pub(super) fn blank(&self, scene: &mut Scene, (top, bottom): (f64, f64)) {
        scene.block((MARGIN - 3.0, top), (self.width - MARGIN + 3.0, bottom), PAPER);
    }
}

fn label_lines(row: &ForestRow, layout: &Layout) -> Vec<String> {
    font::wrap(&row.label, layout.label - 12.0, BODY, false)
}

fn withheld_lines(row: &ForestRow, layout: &Layout) -> Vec<String> {
    let limit = layout.words - layout.plot.0 - 8.0;
    row.withheld
        .as_ref()
        .map_or_else(Vec::new, |reason| font::wrap(&format!("withheld: {reason}"), limit, SMALL, false))
}

pub(super) fn row_height(row: &ForestRow, layout: &Layout) -> f64 {
    if layout.stacked {
        return label_height(row, layout) + plot_height(row, layout);
    }
    let lines = label_lines(row, layout).len().max(withheld_lines(row, layout).len()).max(1);
    ROW + (lines - 1) as f64 * LEADING
}

/// Height of the label and the numbers above the plot of a row.
fn label_height(row: &ForestRow, layout: &Layout) -> f64 {
    label_lines(row, layout).len().max(1) as f64 * LEADING + 3.0
}

/// Height of the marks of a row, or of the words in their place.
fn plot_height(row: &ForestRow, layout: &Layout) -> f64 {
    let words = withheld_lines(row, layout).len() as f64 * LEADING;
    let marks = if row.whiskers.is_empty() { 4.0 } else { 5.0 + 9.0 * row.whiskers.len() as f64 };
    words.max(marks) + 2.0
}

/// A row: its label and numbers, its marks or the reason why there are none.
pub(super) fn draw_row(
    scene: &mut Scene,
    (layout, scale): (&Layout, &Scale),
    row: &ForestRow,
    (top, height): (f64, f64),
) {
    let bottom = top + height;
    scene.line((MARGIN, bottom), (layout.width - MARGIN, bottom), Stroke::solid(BAND, 1.0));
    let plotted = (if layout.stacked { top + label_height(row, layout) } else { top }, bottom);
    let named = if layout.stacked { (top + 2.0, plotted.0) } else { plotted };
    draw_names(scene, layout, row, named);
    draw_words(scene, layout, row, plotted);
    let middle = f64::midpoint(plotted.0, plotted.1);
    let spread = if row.whiskers.len() > 1 { 4.5 } else { 0.0 };
    for (position, whisker) in row.whiskers.iter().enumerate() {
        let y = middle + spread * (2.0 * position as f64 - (row.whiskers.len() - 1) as f64);
        draw_whisker(scene, scale, whisker, y);
    }
}

/// The first of some baselines whose lines stand in the middle between two heights.
fn first_baseline((from, to): (f64, f64), lines: usize) -> f64 {
    f64::midpoint(from, to) + 4.8 - (lines.max(1) - 1) as f64 * LEADING / 2.0
}

fn draw_names(scene: &mut Scene, layout: &Layout, row: &ForestRow, named: (f64, f64)) {
    let label = label_lines(row, layout);
    let first = first_baseline(named, label.len());
    let side = if layout.stacked { first } else { first_baseline(named, 1) };
    if layout.stacked {
        layout.blank(scene, (named.0 - 1.0, named.1));
    }
    let lines = label
        .iter()
        .enumerate()
        .map(|(position, line)| ((MARGIN, first + position as f64 * LEADING), line, TEXT));
    let numbers = row
        .side
        .iter()
        .zip(&layout.columns)
        .map(|(text, right)| ((*right, side), text, TEXT.align(Align::End)));
    for (at, text, face) in lines.chain(numbers) {
        scene.text(at, text.clone(), face);
    }
}

fn draw_words(scene: &mut Scene, layout: &Layout, row: &ForestRow, plotted: (f64, f64)) {
    let words = withheld_lines(row, layout);
    let widest = words.iter().map(|line| font::width(line, SMALL, false)).fold(0.0, f64::max);
    if widest > 0.0 {
        let left = layout.plot.0 + 4.0;
        scene.block((left, plotted.0 + 1.5), (left + widest + 8.0, plotted.1 - 1.5), PAPER);
    }
    for (position, line) in words.iter().enumerate() {
        let y = first_baseline(plotted, words.len()) + position as f64 * LEADING;
        scene.text((layout.plot.0 + 8.0, y), line.clone(), NOTE);
    }
}

pub(super) fn draw_whisker(scene: &mut Scene, scale: &Scale, whisker: &Whisker, y: f64) {
    let stroke = Stroke::solid(whisker.colour, 2.0);
    if let Some((lower, upper)) = whisker.interval {
        let ((left, cut_left), (right, cut_right)) = (scale.within(lower), scale.within(upper));
        scene.line((left, y), (right, y), stroke);
        end(scene, (left, y), if cut_left { -1.0 } else { 0.0 }, stroke);
        end(scene, (right, y), if cut_right { 1.0 } else { 0.0 }, stroke);
    }
    let at = (scale.within(whisker.value).0, y);
    if whisker.hollow {
        scene.ring(at, whisker.shape, 4.5, whisker.colour);
    } else {
        scene.dot(at, whisker.shape, 4.5, whisker.colour);
    }
}

/// A tick where an interval ends, an arrow where it runs past the axis.
fn end(scene: &mut Scene, (x, y): Point, direction: f64, stroke: Stroke) {
    if direction == 0.0 {
        scene.line((x, y - 3.5), (x, y + 3.5), Stroke::solid(stroke.colour, 1.5));
    } else {
        let back = x - direction * 5.0;
        scene.area(vec![(x + direction * 3.0, y), (back, y - 4.5), (back, y + 4.5)], stroke.colour, 1.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::scene::Mark;

    #[test]
    fn above_a_narrow_plot_numbers_stand_on_blank_paper_from_edge_to_edge() {
        let columns = vec![250.0, 300.0];
        let plot = (MARGIN, 320.0 - MARGIN);
        let layout = Layout { width: 320.0, stacked: true, label: 100.0, plot, columns, words: plot.1 };
        let row = ForestRow {
            label: "women".to_owned(),
            whiskers: Vec::new(),
            side: vec!["2.85 (1.67–3.44)".to_owned(), "742".to_owned()],
            withheld: None,
        };
        let mut scene = Scene { width: 320.0, ..Scene::default() };
        let scale = Scale::linear(0.0, 1.0, plot.0, plot.1);
        draw_row(&mut scene, (&layout, &scale), &row, (40.0, row_height(&row, &layout)));
        let is_strip = |mark: &Mark| match mark {
            Mark::Area { points, .. } => {
                points.iter().any(|p| p.0 < MARGIN) && points.iter().any(|p| p.0 > 320.0 - MARGIN)
            }
            _ => false,
        };
        let strip = scene.marks.iter().position(is_strip).expect("a strip");
        let text = scene.marks.iter().position(|mark| matches!(mark, Mark::Text { .. })).expect("words");
        assert!(strip < text, "words stand on it");
    }
}
