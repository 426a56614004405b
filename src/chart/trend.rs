//! Estimates by survey cycle: one panel for each assay route, or for each group, with breaks where a
//! laboratory method changed. No line crosses a break.

use crate::table::number::{aligned, p_is};
use crate::table::{Row, Table, number};

use super::font;
use super::palette::{ESTIMATE, GRID, INK, SOFT, THRESHOLD};
use super::scale::{Scale, ends, tick_text};
use super::scene::{Align, Dash, Face, Scene, Shape, Stroke};
use super::select::{Bundle, EVERYBODY, bundles, capital, index_title, people_behind, stated_text, stem};
use super::sheet::{self, HEADING, LEADING, MARGIN, NOTE, SMALL, WIDTH};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "population", "index", "measure", "outcome", "grouping"];
const PANEL: &[&str] = &["route", "group"];
/// Room for the numbers of the vertical axis.
const NUMBERS: f64 = 46.0;
/// Height of the estimates of one panel.
const HEIGHT: f64 = 130.0;
/// Years at both ends of the horizontal axis.
const ROOM: f64 = 1.2;

/// For each index and grouping: the geometric mean, the share beyond the first threshold, and the smoothed
/// cutoff for the first outcome.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let (Some(cycles), Some(trends)) = (source.table("trend_cycles"), source.table("trend")) else {
        return Vec::new();
    };
    let mut drawn: Vec<[&str; 3]> = Vec::new();
    bundles(cycles.iter(), KEY)
        .into_iter()
        .filter(|bundle| bundle.key[3] != "percentile")
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("estimate").is_some()))
        .filter(|bundle| {
            let key = [bundle.key[2], bundle.key[3], bundle.key[5]];
            let new = !drawn.contains(&key);
            drawn.push(key);
            new
        })
        .map(|bundle| draw_one(&first_of(bundle), trends, source.labels))
        .collect()
}

/// The rows about the first threshold.
fn first_of(mut bundle: Bundle<'_>) -> Bundle<'_> {
    let which = |row: &Row<'_>| (row.real("threshold"), row.text("strict").to_owned());
    let first = which(&bundle.rows[0]);
    bundle.rows.retain(|row| which(row) == first);
    bundle
}

fn draw_one(bundle: &Bundle<'_>, trends: &Table, labels: &Labels) -> Drawing {
    let (index, measure, grouping) = (bundle.key[2], bundle.key[3], bundle.key[5]);
    let title = format!("{} by survey cycle: {}", index_title(index, labels), what(bundle, labels));
    let panels = bundles(bundle.rows.iter().copied(), PANEL);
    let (mut scene, mut y) = sheet::open(&title, &notes(bundle, labels));
    let axis = Axis::of(&bundle.rows);
    for panel in &panels {
        let trend = trends.iter().find(|row| same(row, &panel.rows[0]));
        y = axis.panel(&mut scene, y + 30.0, panel, trend.as_ref());
    }
    let bottom = axis.years(&mut scene, y, &bundle.rows);
    let of_groups = if grouping == EVERYBODY { "" } else { grouping };
    Drawing {
        name: stem(&["trend", index, measure, of_groups]),
        index: index.to_owned(),
        caption: caption(bundle, labels),
        title,
        scene: sheet::close(scene, bottom),
    }
}

/// Whether a trend is that of an estimate.
fn same(trend: &Row<'_>, estimate: &Row<'_>) -> bool {
    KEY.iter().chain(PANEL).all(|column| trend.text(column) == estimate.text(column))
        && trend.real("threshold") == estimate.real("threshold")
        && trend.text("strict") == estimate.text("strict")
}

/// What is estimated, in words.
fn what(bundle: &Bundle<'_>, labels: &Labels) -> String {
    let row = &bundle.rows[0];
    match bundle.key[3] {
        "share_beyond" => {
            let beyond = labels.beyond(bundle.key[2], row.text("strict") == "yes");
            format!("share {beyond} {}", row.real("threshold").map(stated_text).unwrap_or_default())
        }
        "geometric_mean" => "geometric mean".to_owned(),
        _ => format!("smoothed best cutoff for {}", labels.outcome(bundle.key[4])),
    }
}

struct Axis {
    /// Calendar years.
    x: Scale,
    /// From the lowest to the highest end of an interval; pixels 0 to [`HEIGHT`] from the foot up.
    y: Scale,
    /// Decimals of a slope.
    decimals: usize,
}

impl Axis {
    fn of(rows: &[Row<'_>]) -> Self {
        let columns = ["estimate", "lower", "upper"];
        let values: Vec<f64> =
            rows.iter().flat_map(|row| columns.iter().filter_map(|c| row.shown(c))).collect();
        let years: Vec<f64> = rows.iter().filter_map(|row| row.real("year")).collect();
        let (low, high) = ends(&values);
        let room = ((high - low) * 0.06).max(1e-9);
        let (first, last) = ends(&years);
        Self {
            x: Scale::linear(first - ROOM, last + ROOM, MARGIN + NUMBERS, WIDTH - MARGIN),
            y: Scale::linear(low - room, high + room, HEIGHT, 0.0),
            decimals: number::decimals(&values, 3) + 1,
        }
    }

    /// One series under its heading; returns its foot.
    fn panel(&self, scene: &mut Scene, y: f64, panel: &Bundle<'_>, trend: Option<&Row<'_>>) -> f64 {
        let row = &panel.rows[0];
        let who = if row.text("grouping") == EVERYBODY { row.text("route_label") } else { row.text("group") };
        scene.text((MARGIN, y + 6.0), capital(who), HEADING);
        let limit = WIDTH - 2.0 * MARGIN;
        let face = (limit, NOTE);
        let text = trend.map_or_else(String::new, |trend| self.in_words(trend));
        let y = sheet::paragraph(scene, (MARGIN, y + 6.0 + LEADING), &text, face);
        let breaks = breaks(&panel.rows);
        let top = y + self.names(&breaks) + 2.0;
        self.grid(scene, top);
        self.breaks(scene, &breaks, (y, top));
        if let Some(trend) = trend {
            self.line(scene, trend, top);
        }
        self.estimates(scene, &panel.rows, top);
        top + HEIGHT
    }

    fn in_words(&self, trend: &Row<'_>) -> String {
        let Some(slope) = trend.shown("slope") else {
            return format!("No trend: {}.", trend.text("withheld"));
        };
        let number = |value: f64| aligned(value, self.decimals);
        let interval = trend.shown("lower").zip(trend.shown("upper"));
        let interval =
            interval.map(|(low, high)| format!(" ({} to {})", number(low), number(high))).unwrap_or_default();
        let straight = match trend.shown("departure_p") {
            Some(p) if p < 0.05 => format!("; not a straight line (p {})", p_is(p)),
            _ => String::new(),
        };
        format!(
            "{}{} per two years{interval}{}{straight}",
            if slope > 0.0 { "+" } else { "" },
            number(slope),
            trend.shown("p").map(|p| format!(", p {}", p_is(p))).unwrap_or_default()
        )
    }

    fn grid(&self, scene: &mut Scene, top: f64) {
        let (left, right) = (MARGIN + NUMBERS, WIDTH - MARGIN);
        for tick in self.y.ticks(5) {
            let y = top + self.y.at(tick);
            scene.line((left, y), (right, y), Stroke::solid(GRID, 1.0));
            scene.text((left - 8.0, y + 4.5), tick_text(tick), NOTE.align(Align::End));
        }
    }

    /// Height that the names of methods need above the estimates.
    fn names(&self, breaks: &[Break]) -> f64 {
        self.placed(breaks).iter().map(|(_, level, _)| 16.0 * (level + 1) as f64).fold(0.0, f64::max)
    }

    /// Left end, level and text of the name of the methods from each break on: a name that would touch the
    /// upright line of a later break stands higher than that line.
    fn placed<'b>(&self, breaks: &'b [Break]) -> Vec<(f64, usize, &'b str)> {
        let mut placed: Vec<(f64, usize, &str)> = Vec::new();
        for one in breaks.iter().rev() {
            let width = font::width(&one.name, SMALL, false);
            let left = (self.x.at(one.year) + 5.0).min(WIDTH - MARGIN - width);
            let met = placed.iter().filter(|(other, _, _)| *other < left + width + 12.0);
            let level = met.map(|(_, level, _)| level + 1).max().unwrap_or(0);
            placed.push((left, level, one.name.as_str()));
        }
        placed.reverse();
        placed
    }

    fn breaks(&self, scene: &mut Scene, breaks: &[Break], (y, top): (f64, f64)) {
        let levels = self.placed(breaks).iter().map(|(_, level, _)| level + 1).max().unwrap_or(0);
        for (one, (left, level, name)) in breaks.iter().zip(self.placed(breaks)) {
            let baseline = y + 16.0 * (levels - level) as f64 - 4.0;
            scene.text((left, baseline), name, Face::new(SMALL, THRESHOLD));
            if one.inner {
                let x = self.x.at(one.year);
                let stroke = Stroke::dashed(THRESHOLD, 1.5, Dash::Long);
                scene.line((x, baseline - 10.0), (x, top + HEIGHT), stroke);
            }
        }
    }

    /// The fitted line, from the first to the last cycle it rests on.
    fn line(&self, scene: &mut Scene, trend: &Row<'_>, top: f64) {
        let (Some(slope), Some(at_2000)) = (trend.shown("slope"), trend.shown("at_2000")) else { return };
        let point = |year: f64| (self.x.at(year), top + self.y.at(at_2000 + slope * (year - 2000.0) / 2.0));
        let (first, last) = (trend.real("first_year"), trend.real("last_year"));
        if let (Some(first), Some(last)) = (first, last) {
            scene.line(point(first), point(last), Stroke::dashed(SOFT, 1.5, Dash::Dot));
        }
    }

    /// Estimates with whiskers, joined within a stretch of the same methods.
    fn estimates(&self, scene: &mut Scene, rows: &[Row<'_>], top: f64) {
        let at = |row: &Row<'_>, column: &str| {
            Some((self.x.at(row.real("year")?), top + self.y.at(row.shown(column)?)))
        };
        for pair in rows.windows(2).filter(|pair| pair[0].text("methods") == pair[1].text("methods")) {
            if let (Some(from), Some(to)) = (at(&pair[0], "estimate"), at(&pair[1], "estimate")) {
                scene.line(from, to, Stroke::solid(ESTIMATE, 1.5));
            }
        }
        for row in rows {
            if let (Some(low), Some(high)) = (at(row, "lower"), at(row, "upper")) {
                scene.line(low, high, Stroke::solid(ESTIMATE, 2.0));
            }
            if let Some(point) = at(row, "estimate") {
                scene.dot(point, Shape::Circle, 4.5, ESTIMATE);
            } else {
                let x = row.real("year").map_or(MARGIN, |year| self.x.at(year));
                scene.text((x, top + HEIGHT - 6.0), "withheld", NOTE.align(Align::Middle));
            }
        }
    }

    /// The cycles along the foot; a name that would touch the one before it stands a line lower.
    fn years(&self, scene: &mut Scene, foot: f64, rows: &[Row<'_>]) -> f64 {
        scene.line((MARGIN + NUMBERS, foot), (WIDTH - MARGIN, foot), Stroke::solid(SOFT, 1.0));
        let mut cycles: Vec<(f64, &str)> =
            rows.iter().filter_map(|row| Some((row.real("year")?, row.text("cycle")))).collect();
        cycles.sort_by(|a, b| a.0.total_cmp(&b.0));
        cycles.dedup();
        let mut until = f64::NEG_INFINITY;
        let mut low = false;
        for (year, name) in cycles {
            let (x, half) = (self.x.at(year), font::width(name, SMALL, false) / 2.0);
            low = !low && x - half < until;
            until = x + half + 6.0;
            scene.line((x, foot), (x, foot + 5.0), Stroke::solid(SOFT, 1.0));
            let baseline = foot + if low { 35.0 } else { 19.0 };
            let x = x.min(WIDTH - MARGIN - half + 10.0);
            scene.text((x, baseline), name, Face::new(SMALL, INK).align(Align::Middle));
        }
        foot + 38.0
    }
}

/// Where a stretch of the same methods begins.
struct Break {
    year: f64,
    name: String,
    /// False for the first stretch, before which nothing is drawn.
    inner: bool,
}

/// The stretches of the same methods; none where no method is known, or none changes.
fn breaks(rows: &[Row<'_>]) -> Vec<Break> {
    let Some(first) = rows.first() else { return Vec::new() };
    let mut breaks = Vec::new();
    for pair in rows.windows(2).filter(|pair| pair[0].text("methods") != pair[1].text("methods")) {
        let (Some(before), Some(after)) = (pair[0].real("year"), pair[1].real("year")) else { continue };
        let old: Vec<&str> = pair[0].text("methods").split("; ").collect();
        let new = pair[1].text("methods").split("; ").filter(|one| !old.contains(one)).map(method);
        let name = new.collect::<Vec<_>>().join(", ");
        breaks.push(Break { year: f64::midpoint(before, after), name, inner: true });
    }
    if first.text("methods").is_empty() {
        return breaks;
    }
    let name = first.text("methods").split("; ").map(method).collect::<Vec<_>>().join(", ");
    let year = first.real("year").map_or(0.0, |year| year - ROOM);
    breaks.insert(0, Break { year, name, inner: false });
    breaks
}

/// The method alone: `insulin by Mercodia ELISA` is `Mercodia ELISA`.
fn method(words: &str) -> &str {
    words.split_once(" by ").map_or(words, |(_, method)| method)
}

/// How many people stand behind an estimate: those of one cycle, or of one group in it.
fn people(bundle: &Bundle<'_>) -> String {
    let behind = if bundle.key[5] == EVERYBODY { "cycle" } else { "group and cycle" };
    people_behind(&bundle.rows).map(|n| format!(" n of a {behind}: {n}.")).unwrap_or_default()
}

fn notes(bundle: &Bundle<'_>, labels: &Labels) -> Vec<String> {
    let unit = match bundle.key[3] {
        "share_beyond" => "%".to_owned(),
        _ => labels.index_with_unit(bundle.key[2]),
    };
    vec![
        format!(
            "{unit}; {}, {}. Whiskers: interval of each cycle.{}",
            labels.population(bundle.key[1]),
            labels.survey(bundle.key[0]),
            people(bundle)
        ),
        "Broken upright lines: another laboratory method from here on, and no line across. Dotted: the linear trend."
            .to_owned(),
    ]
}

fn caption(bundle: &Bundle<'_>, labels: &Labels) -> String {
    format!(
        "{}, {} in {} by survey cycle, {}. A trend is given only where one laboratory method, or published equations to \
         one, holds for all cycles; the slope is the weighted least-squares line through the estimates, per two years.{}",
        labels.index_with_unit(bundle.key[2]),
        what(bundle, labels),
        labels.population(bundle.key[1]),
        labels.survey(bundle.key[0]),
        people(bundle),
    )
}
