//! Net benefit over threshold probabilities: acting by risk, by a threshold, by the cutoff, on everybody, on nobody.

use crate::table::Row;

use super::forest;
use super::palette::{ESTIMATE, EVERYBODY as CUTOFF, GRID, INK, SOFT, THRESHOLD};
use super::scale::{Scale, tick_text};
use super::scene::{Align, Dash, Point, Scene, Stroke};
use super::select::{
    Bundle, EVERYBODY, bundles, capital, count_text, index_title, population_stem, stated_text, stem,
    thresholds,
};
use super::sheet::{self, MARGIN, NOTE, Swatch, WIDTH};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "outcome", "population"];
const HEIGHT: f64 = 320.0;
const NUMBERS: f64 = 56.0;
/// How far below nobody's net benefit the chart reaches, as a share of the highest one.
const BELOW: f64 = 0.3;

/// One chart for each outcome and index of which the study judges a threshold, or the first index.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("net_benefit") else { return Vec::new() };
    let judged = |index: &str| !thresholds(source.table("threshold_shares"), index).is_empty();
    let any = table.iter().any(|row| judged(row.text("index")));
    let first = table.iter().next().map_or("", |row| row.text("index"));
    let wanted = |index: &str| if any { judged(index) } else { index == first };
    let everybody = table.iter().filter(|row| row.text("grouping") == EVERYBODY);
    bundles(everybody, KEY)
        .iter()
        .filter(|bundle| wanted(bundle.key[2]))
        .filter_map(|bundle| draw_one(bundle, source))
        .collect()
}

/// One strategy's rows and how they are drawn.
struct Line<'a> {
    name: String,
    rows: Vec<Row<'a>>,
    stroke: Stroke,
    band: bool,
}

fn lines<'a>(bundle: &Bundle<'a>, labels: &Labels) -> Vec<Line<'a>> {
    let index = bundle.key[2];
    bundles(bundle.rows.iter().copied().filter(|row| row.shown("net_benefit").is_some()), &["strategy"])
        .into_iter()
        .flat_map(|strategy| by_cutoff(strategy, index, labels))
        .collect()
}

fn by_cutoff<'a>(strategy: Bundle<'a>, index: &str, labels: &Labels) -> Vec<Line<'a>> {
    let line = |name: String, rows, stroke| Line { name, rows, stroke, band: false };
    let beyond = labels.beyond(index, false);
    match strategy.key[0] {
        "treat_all" => {
            vec![line("act on everybody".to_owned(), strategy.rows, Stroke::dashed(SOFT, 2.0, Dash::Dot))]
        }
        "treat_none" => vec![line("act on nobody".to_owned(), strategy.rows, Stroke::solid(INK, 1.2))],
        "risk" => {
            let name = format!("risk by {}", labels.index_label(index));
            vec![Line { band: true, ..line(name, strategy.rows, Stroke::solid(ESTIMATE, 2.5)) }]
        }
        kind => {
            let judged = kind == "threshold";
            let what = if judged { "threshold under test" } else { "everybody’s cutoff" };
            let mut values: Vec<f64> = strategy.rows.iter().filter_map(|row| row.real("cutoff")).collect();
            values.dedup();
            let of = |(position, value): (usize, f64)| {
                let stroke = match (judged, position % 2) {
                    (false, _) => Stroke::solid(CUTOFF, 2.0),
                    (true, 0) => Stroke::dashed(THRESHOLD, 2.0, Dash::Long),
                    (true, _) => Stroke::dashed(THRESHOLD, 2.0, Dash::Dot),
                };
                let rows = strategy.rows.iter().copied().filter(|row| row.real("cutoff") == Some(value));
                let name = format!("{beyond} {}, {what}", stated_text(rounded(value)));
                line(name, rows.collect(), stroke)
            };
            values.into_iter().enumerate().map(of).collect()
        }
    }
}

/// Three significant digits for a derived cutoff; a stated threshold has fewer.
fn rounded(value: f64) -> f64 {
    let digits = 10_f64.powi(2 - value.abs().log10().floor() as i32);
    if value == 0.0 { 0.0 } else { (value * digits).round() / digits }
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Option<Drawing> {
    let [_, _, index, outcome, population] = bundle.key[..] else { return None };
    let labels = source.labels;
    let lines = lines(bundle, labels);
    let ends = |row: &Row<'_>, band: bool| [row.shown("net_benefit"), row.shown("upper").filter(|_| band)];
    let highest = lines.iter().flat_map(|line| line.rows.iter().flat_map(|row| ends(row, line.band)));
    let highest = highest.flatten().fold(0.0, f64::max);
    if highest <= 0.0 || !lines.iter().any(|line| line.band) {
        return None;
    }
    let title = format!("{}: net benefit for {}", index_title(index, labels), labels.outcome(outcome));
    let (mut scene, top) = sheet::open(&title, &notes(bundle, labels));
    let entries: Vec<(Swatch, String)> =
        lines.iter().map(|line| (Swatch::Line(line.stroke), line.name.clone())).collect();
    let top = sheet::key(&mut scene, top + 8.0, &entries) + 8.0;
    scene.text((MARGIN, top), "net benefit, true positives per 100 people", NOTE);
    let (left, right) = (MARGIN + NUMBERS, WIDTH - MARGIN);
    let axes = Axes {
        x: Scale::linear(0.04, 0.51, left, right),
        y: Scale::linear(-100.0 * BELOW * highest, 104.0 * highest, top + 16.0 + HEIGHT, top + 16.0),
        edges: (left, right),
    };
    axes.grid(&mut scene);
    for line in lines.iter().filter(|line| line.band) {
        axes.band(&mut scene, line);
    }
    for line in &lines {
        scene.path(axes.path(line), line.stroke);
    }
    let name = "threshold probability: the risk at which acting and not acting are equally good";
    let lowest = sheet::axis_below(&mut scene, &axes.x, (left, right), (top + 16.0 + HEIGHT, name));
    Some(Drawing {
        name: stem(&["net_benefit", index, outcome, population_stem(population)]),
        index: index.to_owned(),
        caption: caption(bundle, labels),
        title,
        scene: sheet::close(scene, lowest),
    })
}

struct Axes {
    x: Scale,
    y: Scale,
    edges: (f64, f64),
}

impl Axes {
    fn grid(&self, scene: &mut Scene) {
        for tick in self.y.ticks(7) {
            let y = self.y.at(tick);
            scene.line((self.edges.0, y), (self.edges.1, y), Stroke::solid(GRID, 1.0));
            scene.text((self.edges.0 - 8.0, y + 4.5), tick_text(tick), NOTE.align(Align::End));
        }
    }

    fn points(&self, line: &Line<'_>, column: &str) -> Vec<Point> {
        let at = |row: &Row<'_>| {
            Some((self.x.at(row.real("threshold_probability")?), self.y.at(100.0 * row.shown(column)?)))
        };
        line.rows.iter().filter_map(at).collect()
    }

    /// The line as far as it stays on the chart: what falls below ends where it crosses the lower edge.
    fn path(&self, line: &Line<'_>) -> Vec<Point> {
        let floor = self.floor();
        let mut kept: Vec<Point> = Vec::new();
        for next in self.points(line, "net_benefit") {
            if next.1 <= floor {
                kept.push(next);
                continue;
            }
            if let Some(&last) = kept.last() {
                let share = (floor - last.1) / (next.1 - last.1);
                kept.push((last.0 + share * (next.0 - last.0), floor));
            }
            break;
        }
        kept
    }

    fn floor(&self) -> f64 {
        self.y.within(f64::MIN / 1e9).0
    }

    fn band(&self, scene: &mut Scene, line: &Line<'_>) {
        let held = |points: Vec<Point>| points.into_iter().map(|(x, y)| (x, y.min(self.floor())));
        let mut outline: Vec<Point> = held(self.points(line, "lower")).collect();
        let mut upper: Vec<Point> = held(self.points(line, "upper")).collect();
        upper.reverse();
        outline.extend(upper);
        if outline.len() > 2 {
            scene.area(outline, line.stroke.colour, 0.15);
        }
    }
}

fn notes(bundle: &Bundle<'_>, labels: &Labels) -> Vec<String> {
    let [survey, _, _, outcome, population] = bundle.key[..] else { return Vec::new() };
    let kind = bundle.rows.iter().map(|row| row.text("interval")).find(|kind| !kind.is_empty()).unwrap_or("");
    let counts = bundle.everybody().map_or_else(String::new, |row| {
        format!(" n = {}, {} with the outcome.", count_text(&row, "n"), count_text(&row, "n_with"))
    });
    vec![
        format!(
            "Outcome: {}. {}, {}.{counts}",
            labels.outcome(outcome),
            capital(labels.population(population)),
            labels.survey(survey)
        ),
        format!("Band: interval{}. The risk is fitted and judged on the same people.", forest::how(kind)),
    ]
}

fn caption(bundle: &Bundle<'_>, labels: &Labels) -> String {
    let [survey, _, index, outcome, population] = bundle.key[..] else { return String::new() };
    format!(
        "Net benefit of acting on {} against {}, in {}: true positives less false ones, each false one counted at the odds \
         of the threshold probability. The highest line is the best way to decide for somebody who acts from that risk on; \
         a line below “nobody” does harm. Data: {}.",
        labels.index_with_unit(index),
        labels.outcome(outcome),
        labels.population(population),
        labels.survey(survey),
    )
}
