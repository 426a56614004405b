//! A forest: one row a group, a point with its interval, reference lines through all rows, counts at
//! the side, withheld estimates in words.

use super::font;
use super::forest_row::{Layout, draw_row, row_height};
use super::palette::{Colour, GRID, PAPER, SERIES};
use super::scale::Scale;
use super::scene::{Align, Scene, Shape, Stroke};
use super::section::Section;
use super::sheet::{self, BODY, HEADING, LEADING, MARGIN, NOTE, SMALL, Swatch};
use crate::table::Row;

const LABEL_LIMIT: f64 = 215.0;
const COLUMN_GAP: f64 = 16.0;
/// How much wider a heading may get in a program that neither has the font nor heeds the widths that texts state.
const FALLBACK: f64 = 1.2;

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Forest {
    /// Of the sheet.
    pub width: f64,
    pub title: String,
    pub notes: Vec<String>,
    pub axis: String,
    pub key: Vec<(Swatch, String)>,
    pub guides: Vec<Guide>,
    /// Headings of the columns at the side; the first holds the estimates.
    pub columns: Vec<String>,
    pub sections: Vec<Section<ForestRow>>,
}

/// A line through all rows, with a pale band where its interval is known.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Guide {
    pub value: f64,
    pub band: Option<(f64, f64)>,
    pub stroke: Stroke,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct ForestRow {
    pub label: String,
    pub whiskers: Vec<Whisker>,
    pub side: Vec<String>,
    /// Why there is no estimate.
    pub withheld: Option<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Whisker {
    pub value: f64,
    pub interval: Option<(f64, f64)>,
    pub shape: Shape,
    pub hollow: bool,
    pub colour: Colour,
}

/// Mark of one estimate among several of the same people, told apart by shape as well as by colour.
pub(super) fn mark(position: usize) -> (Shape, Colour) {
    const SHAPES: [Shape; 4] = [Shape::Circle, Shape::Square, Shape::Diamond, Shape::Triangle];
    let colours = [SERIES[5], SERIES[0], SERIES[1], SERIES[2], SERIES[3], SERIES[4]];
    (SHAPES[position % SHAPES.len()], colours[position % colours.len()])
}

/// An axis for all parts of a forest: points and guides decide; an interval far longer than the
/// points' spread ends in an arrow rather than squeezing everything else.
pub(super) fn axis_values(sections: &[Section<ForestRow>], guides: &[Guide]) -> Vec<f64> {
    let whiskers = || sections.iter().flat_map(|section| &section.rows).flat_map(|row| &row.whiskers);
    let ends = whiskers().filter_map(|whisker| whisker.interval).flat_map(|(lower, upper)| [lower, upper]);
    let low = whiskers().map(|whisker| whisker.value).fold(f64::INFINITY, f64::min);
    let high = whiskers().map(|whisker| whisker.value).fold(f64::NEG_INFINITY, f64::max);
    let allowed: Vec<f64> = if low > 0.0 {
        let factor = (high / low).clamp(1.6, 3.0);
        ends.map(|end| end.clamp(low / factor, high * factor)).collect()
    } else {
        let room = (high - low).max(high.abs().max(1e-9));
        ends.map(|end| end.clamp(low - room, high + room)).collect()
    };
    whiskers()
        .map(|whisker| whisker.value)
        .chain(guides.iter().map(|guide| guide.value))
        .chain(allowed)
        .collect()
}

pub(super) fn draw(forest: &Forest, axis_values: &[f64]) -> Scene {
    draw_on(forest, |left, right| Scale::fit(axis_values, left, right))
}

/// A forest of ratios: its axis is a log axis however little they differ.
pub(super) fn draw_ratios(forest: &Forest, axis_values: &[f64]) -> Scene {
    draw_on(forest, |left, right| Scale::fit_ratios(axis_values, left, right))
}

/// A forest of percentages: its axis runs from 0 to 100.
pub(super) fn draw_percentages(forest: &Forest) -> Scene {
    draw_on(forest, |left, right| Scale::linear(0.0, 100.0, left, right))
}

fn draw_on(forest: &Forest, scale: impl Fn(f64, f64) -> Scale) -> Scene {
    let (mut scene, top) = sheet::open_on(forest.width, &forest.title, &forest.notes);
    let layout = layout(forest);
    let scale = scale(layout.plot.0 + 8.0, layout.plot.1 - 8.0);
    let mut y = sheet::key(&mut scene, top + 10.0, &forest.key);
    y = column_headings(&mut scene, &layout, forest, y + 6.0);
    let heights: Vec<Vec<f64>> =
        forest.sections.iter().map(|s| s.rows.iter().map(|r| row_height(r, &layout)).collect()).collect();
    let bottom = y + forest
        .sections
        .iter()
        .zip(&heights)
        .map(|(s, rows)| section_lead(s, &layout) + rows.iter().sum::<f64>())
        .sum::<f64>();
    sheet::grid(&mut scene, &scale, y, bottom);
    guides(&mut scene, &scale, &forest.guides, (y, bottom));
    for (section, heights) in forest.sections.iter().zip(&heights) {
        if !section.heading.is_empty() {
            section_heading(&mut scene, &layout, &section.heading, y);
        }
        y += section_lead(section, &layout);
        for (row, height) in section.rows.iter().zip(heights) {
            draw_row(&mut scene, (&layout, &scale), row, (y, *height));
            y += height;
        }
    }
    let lowest = sheet::axis_below(&mut scene, &scale, layout.plot, (bottom + 4.0, &forest.axis));
    sheet::close(scene, lowest)
}

/// Lines of a section's heading, on a blank ground where they run into the plot.
fn section_heading(scene: &mut Scene, layout: &Layout, heading: &str, top: f64) {
    if layout.stacked {
        layout.blank(scene, (top + 2.0, top + 8.0 + heading_lines(heading, layout).len() as f64 * LEADING));
    }
    for (position, line) in heading_lines(heading, layout).into_iter().enumerate() {
        let y = top + position as f64 * LEADING;
        let right = MARGIN + FALLBACK * font::width(&line, BODY, true) + 6.0;
        if !layout.stacked && right > layout.plot.0 {
            scene.block((layout.plot.0, y + 4.0), (right, y + 26.0), PAPER);
        }
        scene.text((MARGIN, y + 20.0), line, HEADING);
    }
}

fn heading_lines(heading: &str, layout: &Layout) -> Vec<String> {
    font::wrap(heading, layout.width - 2.0 * MARGIN, BODY, true)
}

fn section_lead(section: &Section<ForestRow>, layout: &Layout) -> f64 {
    if section.heading.is_empty() {
        return 0.0;
    }
    10.0 + heading_lines(&section.heading, layout).len() as f64 * LEADING
}

fn layout(forest: &Forest) -> Layout {
    let (width, stacked) = (forest.width, sheet::is_narrow(forest.width));
    let rows = || forest.sections.iter().flat_map(|section| &section.rows);
    let label =
        rows().map(|row| font::width(&row.label, BODY, false)).fold(80.0, f64::max).min(LABEL_LIMIT) + 12.0;
    let mut right = width - MARGIN;
    let mut columns = Vec::new();
    for (position, heading) in forest.columns.iter().enumerate().rev() {
        let cells =
            rows().filter_map(|row| row.side.get(position)).map(|text| font::width(text, BODY, false));
        let headings = heading.split('\n').map(|line| font::width(line, SMALL, false));
        columns.push(right);
        right -= cells.chain(headings).fold(0.0, f64::max) + COLUMN_GAP;
    }
    columns.reverse();
    if stacked {
        let plot = (MARGIN, width - MARGIN);
        return Layout { width, stacked, label: right - MARGIN, plot, columns, words: plot.1 };
    }
    let words = columns.first().copied().unwrap_or(right);
    Layout { width, stacked, label, plot: (MARGIN + label, right), columns, words }
}

fn column_headings(scene: &mut Scene, layout: &Layout, forest: &Forest, y: f64) -> f64 {
    let lines = forest.columns.iter().map(|heading| heading.split('\n').count()).max().unwrap_or(1);
    for (heading, right) in forest.columns.iter().zip(&layout.columns) {
        let own = heading.split('\n').count();
        for (position, line) in heading.split('\n').enumerate() {
            let down = (lines - own + position) as f64 * 16.0;
            scene.text((*right, y + down), line, NOTE.align(Align::End));
        }
    }
    let bottom = y + (lines - 1) as f64 * 16.0 + 8.0;
    scene.line((MARGIN, bottom), (layout.width - MARGIN, bottom), Stroke::solid(GRID, 1.0));
    bottom
}

fn guides(scene: &mut Scene, scale: &Scale, guides: &[Guide], (top, bottom): (f64, f64)) {
    for guide in guides {
        if let Some((lower, upper)) = guide.band {
            let (left, right) = (scale.within(lower).0, scale.within(upper).0);
            scene.area(
                vec![(left, top), (right, top), (right, bottom), (left, bottom)],
                guide.stroke.colour,
                0.12,
            );
        }
    }
    for guide in guides {
        let x = scale.within(guide.value).0;
        scene.line((x, top), (x, bottom), guide.stroke);
    }
}

/// The note that explains arrows, when any interval runs past the axis.
pub(super) fn legend_of_interval(kind: &str) -> String {
    format!("Lines: interval{}; an arrow runs past the axis.", how(kind))
}

/// What the lines through the points of some rows are, and why some or all have none.
pub(super) fn legend(rows: &[Row<'_>]) -> String {
    let drawn = rows.iter().find_map(Row::printed_interval);
    let lacking = rows.iter().filter(|row| row.printed_interval().is_none());
    let mut reasons: Vec<&str> = Vec::new();
    for why in lacking.filter_map(Row::why_no_interval) {
        if !reasons.contains(&why) {
            reasons.push(why);
        }
    }
    match (drawn, (!reasons.is_empty()).then(|| reasons.join("; "))) {
        (Some(kind), None) => legend_of_interval(kind),
        (Some(kind), Some(why)) => {
            format!("{} Without a line: no interval, {why}.", legend_of_interval(kind))
        }
        (None, Some(why)) => format!("No lines: no interval, {why}."),
        (None, None) => "No lines: no interval.".to_owned(),
    }
}

/// The heading of a column of estimates, which names their intervals where there are any.
pub(super) fn estimate_heading(estimate: &str, rows: &[Row<'_>]) -> String {
    let any = rows.iter().any(|row| row.printed_interval().is_some());
    if any { format!("{estimate} (interval)") } else { estimate.to_owned() }
}

/// How an interval was made, in words.
pub(super) fn how(kind: &str) -> &'static str {
    match kind {
        "replicates_percentile" => " from the spread of the replicates",
        "replicates_t" => " from the standard error of the replicates",
        "replicates_t_log" => " from the replicates, on the log",
        "replicates_t_logit" => " from the replicates, on the logit",
        "delong_t_logit" => " (DeLong, on the logit)",
        "woodruff_logit" => " (Woodruff, on the logit)",
        "korn_graubard" => " (Korn–Graubard)",
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    #[test]
    fn a_legend_says_what_is_drawn_and_why_nothing_is() {
        let said = |rows: &[(Option<f64>, &str)]| {
            let mut table = Table::new(schema::shape("cutoffs").expect("a table"));
            for (lower, notices) in rows {
                let row = table.row().real("cutoff", Some(2.0)).text("interval", "replicates_t");
                let row = row.real("lower", *lower).real("upper", *lower).text("notices", *notices);
                row.done().expect("a row");
            }
            let rows: Vec<Row<'_>> = table.iter().collect();
            (legend(&rows), estimate_heading("cutoff", &rows))
        };
        let (lines, why) = ((Some(1.0), ""), (None, "no interval: it jumps"));
        let drawn = "Lines: interval from the standard error of the replicates; an arrow runs past the axis.";
        assert_eq!(said(&[lines]), (drawn.to_owned(), "cutoff (interval)".to_owned()));
        assert_eq!(said(&[why]), ("No lines: no interval, it jumps.".to_owned(), "cutoff".to_owned()));
        assert_eq!(said(&[lines, why]).0, format!("{drawn} Without a line: no interval, it jumps."));
        assert_eq!(said(&[(None, "")]).0, "No lines: no interval.");
        let failed = ["130 of 500", "140 of 500"].map(|of| format!("{of} replicates failed, so no interval"));
        let rows = [lines, why, (None, failed[0].as_str()), (None, failed[1].as_str())];
        let both = "Without a line: no interval, it jumps; too many replicates failed.";
        assert_eq!(said(&rows).0, format!("{drawn} {both}"));
    }
}
