//! How far each choice moves a cutoff: a bar from the smallest to the largest it gives, around the base.

use crate::table::Row;
use crate::table::number::aligned;

use super::font;
use super::palette::{ESTIMATE, EVERYBODY as BASE, GRID, INK, PAPER, SOFT};
use super::scale::Scale;
use super::scene::{Align, Face, Point, Scene, Stroke};
use super::select::{Bundle, EVERYBODY, bundles, decimals, everybody_behind, index_title, stem};
use super::sheet::{self, BODY, HEADING, MARGIN, NOTE, SMALL, Swatch, TEXT};
use super::{Drawing, Source};

const KEY: &[&str] = &["survey", "index"];
const LABEL: f64 = 150.0;
const RATIO: f64 = 70.0;
/// Half the height of a bar.
const HALF: f64 = 6.0;
/// From the top of a row to the middle of a bar that has its name beside it.
const MIDDLE: f64 = 18.0;
const LINE: f64 = 17.0;

/// One chart for each index, about everybody.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("choice_ranges") else { return Vec::new() };
    let everybody = table.iter().filter(|row| row.text("grouping") == EVERYBODY);
    bundles(everybody, KEY)
        .iter()
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("smallest").is_some()))
        .map(|bundle| draw_one(bundle, source))
        .collect()
}

/// Where the bars stand and how their numbers are written.
struct Plot {
    scale: Scale,
    span: (f64, f64),
    decimals: usize,
    /// Of the sheet.
    width: f64,
    /// Whether names stand above the bars, not beside them.
    stacked: bool,
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Drawing {
    let labels = source.labels;
    let index = bundle.key[1];
    let title = format!("{}: how far each choice moves the cutoff", index_title(index, labels));
    let (mut scene, top) = sheet::open_on(source.width, &title, &notes(bundle, source));
    let (width, stacked) = (source.width, sheet::is_narrow(source.width));
    let span = (MARGIN + if stacked { 0.0 } else { LABEL }, width - MARGIN - RATIO);
    let ends = ["smallest", "largest", "base"];
    let values: Vec<f64> =
        bundle.rows.iter().flat_map(|row| ends.iter().filter_map(|end| row.shown(end))).collect();
    // Room for the numbers beside the bars.
    let scale = Scale::fit(&values, span.0 + 46.0, span.1 - 46.0);
    let plot =
        Plot { scale, span, decimals: decimals(bundle.rows.iter().copied(), "smallest"), width, stacked };
    let key = [(Swatch::Line(Stroke::solid(BASE, 2.0)), "the study's own first choices".to_owned())];
    let first = sheet::key(&mut scene, top + 10.0, &key);
    let kinds = bundles(bundle.rows.iter().copied(), &["kind"]);
    let bottom = first + kinds.iter().map(|kind| height(kind, &plot)).sum::<f64>();
    sheet::grid(&mut scene, &plot.scale, first, bottom);
    let mut y = first;
    for kind in &kinds {
        section(&mut scene, &plot, kind, y);
        y += height(kind, &plot);
    }
    let lowest =
        sheet::axis_below(&mut scene, &plot.scale, span, (bottom + 4.0, &labels.index_with_unit(index)));
    Drawing {
        name: stem(&["choices", index]),
        index: index.to_owned(),
        caption: caption(bundle, source),
        title,
        scene: sheet::close(scene, lowest),
    }
}

fn height(kind: &Bundle<'_>, plot: &Plot) -> f64 {
    let lead = heading(kind, plot).len() as f64 * LINE;
    30.0 + lead + kind.rows.iter().map(|row| row_height(row, plot)).sum::<f64>()
}

fn row_height(row: &Row<'_>, plot: &Plot) -> f64 {
    middle(plot) + HALF + words(row, plot).len() as f64 * LINE + 8.0
}

/// From the top of a row to the middle of its bar.
fn middle(plot: &Plot) -> f64 {
    if plot.stacked { MIDDLE + LINE } else { MIDDLE }
}

/// What the base is, below the heading.
fn heading(kind: &Bundle<'_>, plot: &Plot) -> Vec<String> {
    let row = &kind.rows[0];
    let base = row.shown("base").map_or_else(
        || row.text("withheld").to_owned(),
        |base| format!("{}: {}", aligned(base, plot.decimals), row.text("base_choices")),
    );
    font::wrap(
        &format!("Base {base}"),
        plot.width - 2.0 * MARGIN - if plot.stacked { RATIO } else { 0.0 },
        SMALL,
        false,
    )
}

fn section(scene: &mut Scene, plot: &Plot, kind: &Bundle<'_>, top: f64) {
    let title = match kind.key[0] {
        "outcome" => "Cutoff against an outcome",
        _ => "Cutoff as a percentile",
    };
    scene.text((MARGIN, top + 14.0), title.to_owned(), HEADING);
    let ratio = NOTE.align(Align::End);
    scene.text((plot.width - MARGIN, top + 14.0), "largest ÷".to_owned(), ratio);
    scene.text((plot.width - MARGIN, top + 14.0 + LINE), "smallest".to_owned(), ratio);
    let mut y = top + 14.0;
    for line in heading(kind, plot) {
        y += LINE;
        note(scene, (MARGIN, y), line);
    }
    y += 8.0;
    let bottom = top + height(kind, plot);
    if let Some(base) = kind.rows[0].shown("base") {
        let x = plot.scale.within(base).0;
        scene.line((x, y), (x, bottom), Stroke::solid(BASE, 2.0));
    }
    for row in &kind.rows {
        scene.line((MARGIN, y), (plot.width - MARGIN, y), Stroke::solid(GRID, 1.0));
        draw_row(scene, plot, row, y);
        y += row_height(row, plot);
    }
}

fn draw_row(scene: &mut Scene, plot: &Plot, row: &Row<'_>, top: f64) {
    let middle = top + middle(plot);
    scene.text(
        (MARGIN, if plot.stacked { top + 15.0 } else { middle + 5.0 }),
        name(row.text("choice")).to_owned(),
        TEXT,
    );
    if let (Some(low), Some(high)) = (row.shown("smallest"), row.shown("largest")) {
        let (left, right) =
            (plot.scale.within(low).0, plot.scale.within(high).0.max(plot.scale.within(low).0 + 2.0));
        let colour = if row.text("choice") == "all" { SOFT } else { ESTIMATE };
        let bar = vec![
            (left, middle - HALF),
            (right, middle - HALF),
            (right, middle + HALF),
            (left, middle + HALF),
        ];
        scene.area(bar, colour, 0.85);
        let face = Face::new(BODY, INK);
        if low < high {
            scene.text((left - 6.0, middle + 5.0), aligned(low, plot.decimals), face.align(Align::End));
        }
        scene.text((right + 6.0, middle + 5.0), aligned(high, plot.decimals), face);
    }
    let ratio = row.shown("ratio").map(|ratio| aligned(ratio, 2)).unwrap_or_default();
    scene.text((plot.width - MARGIN, middle + 5.0), ratio, Face::new(BODY, INK).align(Align::End));
    for (position, line) in words(row, plot).into_iter().enumerate() {
        let y = middle + HALF + 14.0 + position as f64 * LINE;
        note(scene, (plot.span.0, y), line);
    }
}

/// A line of text that covers what is behind it.
fn note(scene: &mut Scene, (x, y): Point, line: String) {
    let right = x + font::width(&line, SMALL, false);
    scene.block((x - 3.0, y - 12.0), (right + 3.0, y + 4.0), PAPER);
    scene.text((x, y), line, NOTE);
}

/// Which option gives the smallest and which the largest.
fn words(row: &Row<'_>, plot: &Plot) -> Vec<String> {
    let room = plot.span.1 - plot.span.0;
    if !row.text("withheld").is_empty() {
        return font::wrap(&format!("withheld: {}", row.text("withheld")), room, SMALL, false);
    }
    let hidden = row.whole("options").unwrap_or(0) - row.whole("shown").unwrap_or(0);
    let hidden = if hidden > 0 {
        format!(" ({hidden} of {} withheld)", row.whole("options").unwrap_or(0))
    } else {
        String::new()
    };
    let same = row.text("smallest_choice") == row.text("largest_choice");
    let text = if same || row.shown("smallest") == row.shown("largest") {
        vec![format!("the same for all {} options{hidden}", row.whole("shown").unwrap_or(0))]
    } else {
        vec![
            format!("smallest: {}", row.text("smallest_choice")),
            format!("largest: {}{hidden}", row.text("largest_choice")),
        ]
    };
    text.iter().flat_map(|line| font::wrap(line, room, SMALL, false)).collect()
}

/// A choice in words.
fn name(choice: &str) -> &str {
    match choice {
        "rule" => "Rule",
        "outcome" => "Outcome",
        "percentile" => "Percentile",
        "reference" => "Reference group",
        "exclusions" => "Who is left out",
        "route" => "Assay, unit factor",
        _ => "All together",
    }
}

/// How many people stand behind the cutoffs of all choices.
fn people(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    everybody_behind(source.table("choices"), KEY, bundle)
}

fn notes(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<String> {
    vec![format!(
        "{}, everybody.{} A bar runs from the smallest to the largest cutoff that changing this choice alone gives, the \
         others as in the base.",
        source.labels.survey(bundle.key[0]),
        people(bundle, source)
    )]
}

fn caption(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    let labels = source.labels;
    let bases: Vec<String> = bundles(bundle.rows.iter().copied(), &["kind"])
        .iter()
        .filter_map(|kind| {
            let base = aligned(kind.rows[0].shown("base")?, decimals(kind.rows.iter().copied(), "smallest"));
            Some(format!("{base} ({})", kind.rows[0].text("base_choices")))
        })
        .collect();
    format!(
        "Cutoffs of {} in {} under the choices that the study states, each changed alone and all together; the vertical \
         line is the base{}.{} Ranges are descriptive and have no intervals; the table choices holds every cutoff with its \
         interval, and choice_ranges the same for each group.",
        labels.index_with_unit(bundle.key[1]),
        labels.survey(bundle.key[0]),
        if bases.is_empty() { String::new() } else { format!(", {}", bases.join("; ")) },
        people(bundle, source),
    )
}
