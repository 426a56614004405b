//! Curves over age and BMI with their bands, and the estimates of bins on top: one panel a group.

use crate::table::number::whole;
use crate::table::{Row, Table};

use super::curve_fifths::{unmarked, word};
use super::curve_frame::{Frame, Line, OTHER};
use super::palette::{Colour, ESTIMATE, SERIES, SOFT};
use super::scale::{Scale, ends};
use super::scene::{Dash, Shape, Stroke};
use super::select::{
    Bundle, EVERYBODY, bundles, capital, group_label, index_title, population_stem, stated_text, stem,
};
use super::sheet::{self, MARGIN, NOTE, Swatch};
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "population", "over"];
/// Curves by each method get charts of their own.
const PERCENTILE_KEY: &[&str] = &["survey", "frame", "index", "population", "over", "method"];
const LMS: &str = "lms_on_natural_spline";
const CUTOFF_KEY: &[&str] = &["survey", "frame", "index", "population", "over", "outcome"];
const HEIGHT: f64 = 300.0;
/// Of a panel where panels stand below each other.
const NARROW_HEIGHT: f64 = 200.0;
/// Room for the numbers left of a panel.
const NUMBERS: f64 = 44.0;
const GAP: f64 = 18.0;
/// More panels than this are too narrow to read.
const MOST_PANELS: usize = 3;
/// Colour, dash and mark of each curve of a panel: apart in hue, in lightness and in form.
const LOOKS: &[(Colour, Dash, Shape)] = &[
    (ESTIMATE, Dash::Solid, Shape::Circle),
    (SERIES[3], Dash::Long, Shape::Square),
    (SERIES[1], Dash::Dot, Shape::Triangle),
    (SERIES[2], Dash::Solid, Shape::Diamond),
];

/// One group's curves.
struct Panel<'a> {
    heading: String,
    lines: Vec<Line<'a>>,
}

/// What a chart of either kind shows.
struct Plan<'a> {
    name: String,
    index: &'a str,
    over: &'a str,
    title: String,
    notes: Vec<String>,
    caption: String,
    column: &'static str,
    names: Vec<String>,
    /// What the thin lines are; empty without any.
    other: &'static str,
    panels: Vec<Panel<'a>>,
}

/// One chart for each index, covariate and method: its percentiles.
pub(super) fn draw_percentiles(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("percentile_curves") else { return Vec::new() };
    bundles(table.iter(), PERCENTILE_KEY).iter().filter_map(|bundle| percentiles(bundle, source)).collect()
}

/// One chart for each index, outcome and covariate: the best cutoff.
pub(super) fn draw_cutoffs(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("cutoff_curves") else { return Vec::new() };
    bundles(table.iter(), CUTOFF_KEY).iter().filter_map(|bundle| cutoffs(bundle, source)).collect()
}

fn percentiles(bundle: &Bundle<'_>, source: &Source<'_>) -> Option<Drawing> {
    let [survey, _, index, population, over, method] = bundle.key[..] else { return None };
    let labels = source.labels;
    let mut shown: Vec<f64> = bundle.rows.iter().filter_map(|row| row.real("percentile")).collect();
    shown.sort_by(f64::total_cmp);
    shown.dedup();
    shown.truncate(LOOKS.len());
    let names: Vec<String> = shown.iter().map(|p| format!("P{}", stated_text(*p))).collect();
    let panels = groups(bundle, labels).into_iter().map(|group| Panel {
        heading: heading(&group),
        lines: shown.iter().filter_map(|p| percentile(source, &group, *p)).collect(),
    });
    let by_lms = method == LMS;
    let (stem_of, suffix, intro) = if by_lms {
        (
            "lms_curves",
            ", LMS method",
            "Lines: LMS method on a natural spline; thin lines: quantile regression on the same spline. Marks: the same percentile \
             in fifths of the people.",
        )
    } else {
        (
            "percentile_curves",
            "",
            "Lines: quantile regression on a natural spline. Marks: the same percentile in fifths of the people.",
        )
    };
    let title = format!("{}: percentiles by {}{suffix}", index_title(index, labels), word(over));
    let plan = Plan {
        name: stem(&[stem_of, index, over, population_stem(population)]),
        index,
        over,
        notes: notes(bundle, (survey, population), intro, labels),
        caption: format!(
            "{} of {} as smooth functions of {}{} in {}. {intro} Bands: intervals place by place. Data: {}.",
            names.join(", "),
            labels.index_with_unit(index),
            axis(over),
            by(bundle, labels),
            labels.population(population),
            labels.survey(survey)
        ),
        title,
        column: "value",
        names,
        other: if by_lms { "the same by quantile regression" } else { "" },
        panels: panels.collect(),
    };
    plan.draw(source)
}

/// The line of one percentile; none where the group has no such row.
fn percentile<'a>(source: &'a Source<'_>, group: &Bundle<'a>, p: f64) -> Option<Line<'a>> {
    let of = |row: &Row<'_>| row.real("percentile") == Some(p);
    let rows: Vec<Row<'a>> = group.rows.iter().copied().filter(of).collect();
    let own = *rows.first()?;
    let bins = bins(source, group, ("percentile", KEY)).into_iter().filter(of).collect();
    let same = |row: &Row<'_>| {
        of(row)
            && row.text("method") != own.text("method")
            && KEY.iter().chain(&["grouping", "group"]).all(|column| row.text(column) == own.text(column))
    };
    let table = source.table("percentile_curves").filter(|_| own.text("method") == LMS);
    let other = table.into_iter().flat_map(Table::iter).filter(same).collect();
    Some(Line { rows, bins, other })
}

fn cutoffs(bundle: &Bundle<'_>, source: &Source<'_>) -> Option<Drawing> {
    let [survey, _, index, population, over, outcome] = bundle.key[..] else { return None };
    let labels = source.labels;
    let panels = groups(bundle, labels).into_iter().map(|group| Panel {
        heading: heading(&group),
        lines: vec![Line {
            rows: group.rows.clone(),
            bins: bins(source, &group, ("youden_cutoff", CUTOFF_KEY)),
            other: Vec::new(),
        }],
    });
    let intro = "Line: cutoff with the largest Youden index by a location-scale model on a natural spline. Marks: the cutoff found \
                 in fifths of the people.";
    let title = format!(
        "{}: best cutoff for {} by {}",
        index_title(index, labels),
        labels.outcome(outcome),
        word(over)
    );
    let plan = Plan {
        name: stem(&["cutoff_curves", index, outcome, over, population_stem(population)]),
        index,
        over,
        notes: notes(bundle, (survey, population), intro, labels),
        caption: format!(
            "The best cutoff of {} for {} as a smooth function of {}{} in {}. {intro} Bands: intervals place by place. \
             Data: {}.",
            labels.index_with_unit(index),
            labels.outcome(outcome),
            axis(over),
            by(bundle, labels),
            labels.population(population),
            labels.survey(survey)
        ),
        title,
        column: "cutoff",
        names: vec!["cutoff with the largest Youden index".to_owned()],
        other: "",
        panels: panels.collect(),
    };
    plan.draw(source)
}

/// ` by sex`, or nothing for one curve of everybody.
fn by(bundle: &Bundle<'_>, labels: &Labels) -> String {
    let grouping = bundle.rows.first().map_or("", |row| row.text("grouping"));
    if grouping == EVERYBODY { String::new() } else { format!(" by {}", labels.grouping(grouping)) }
}

fn axis(over: &str) -> &'static str {
    if over == "bmi" { "BMI (kg/m²)" } else { "age (years)" }
}

fn groups<'a>(bundle: &Bundle<'a>, labels: &Labels) -> Vec<Bundle<'a>> {
    let groupings = bundle.groupings(labels);
    let mut groups: Vec<Bundle<'a>> = groupings
        .iter()
        .flat_map(|grouping| bundles(grouping.rows.iter().copied(), &["grouping", "group"]))
        .collect();
    groups.truncate(MOST_PANELS);
    groups
}

fn heading(group: &Bundle<'_>) -> String {
    let Some(row) = group.rows.first() else { return String::new() };
    let n = row.whole("n").map(whole).unwrap_or_default();
    let with = if row.has("n_with") {
        row.whole("n_with").map(|with| format!(", {} with the outcome", whole(with))).unwrap_or_default()
    } else {
        String::new()
    };
    format!("{}, n = {n}{with}", capital(&group_label(row)))
}

/// The estimates of the bins of a group, withheld ones among them.
fn bins<'a>(source: &'a Source<'_>, group: &Bundle<'_>, (measure, key): (&str, &[&str])) -> Vec<Row<'a>> {
    let (Some(table), Some(own)) = (source.table("curve_checks"), group.rows.first()) else {
        return Vec::new();
    };
    let same = |row: &Row<'_>| key.iter().chain(&["grouping", "group"]).all(|c| row.text(c) == own.text(c));
    Table::iter(table).filter(|row| row.text("measure") == measure && same(row)).collect()
}

fn notes(
    bundle: &Bundle<'_>,
    (survey, population): (&str, &str),
    intro: &str,
    labels: &Labels,
) -> Vec<String> {
    let knots = bundles(bundle.rows.iter().copied(), &["group", "knots"]);
    let knots: Vec<String> =
        knots.iter().map(|own| format!("{} {}", own.key[0], own.key[1].replace(' ', ", "))).collect();
    let replicates =
        bundle.rows.iter().find_map(|row| row.whole("replicates")).map(whole).unwrap_or_default();
    vec![
        format!("{}, {}. {intro}", capital(labels.population(population)), labels.survey(survey)),
        format!(
            "Bands and bars: intervals place by place, bands from {replicates} replicates. Knots of the spline: {}.",
            knots.join("; ")
        ),
    ]
}

impl Plan<'_> {
    fn draw(self, source: &Source<'_>) -> Option<Drawing> {
        let rows = || self.panels.iter().flat_map(|panel| &panel.lines);
        let x: Vec<f64> = rows().flat_map(|line| &line.rows).filter_map(|row| row.real("x")).collect();
        let known = |row: &Row<'_>, column: &str| [row.shown(column), row.shown("lower"), row.shown("upper")];
        let mut y: Vec<f64> =
            rows().flat_map(|line| &line.rows).flat_map(|row| known(row, self.column)).flatten().collect();
        let marks = rows().flat_map(|line| line.bins.iter().chain(&line.other));
        y.extend(marks.filter_map(|row| row.shown("value")));
        if x.is_empty() || y.is_empty() {
            return None;
        }
        let bins: Vec<Row<'_>> = rows().flat_map(|line| line.bins.iter().copied()).collect();
        let unmarked = unmarked(&bins, self.over);
        let notes: Vec<String> = self.notes.iter().cloned().chain(unmarked).collect();
        let (mut scene, top) = sheet::open_on(source.width, &self.title, &notes);
        let top = sheet::key(&mut scene, top + 8.0, &self.key()) + 8.0;
        let name = source.labels.index_with_unit(self.index);
        let unit = if Scale::fit(&y, 0.0, 1.0).is_log() { format!("{name}, log scale") } else { name };
        scene.text((MARGIN, top), unit, NOTE);
        let (least, most) = ends(&x);
        let below = sheet::is_narrow(source.width);
        let columns = if below { 1.0 } else { self.panels.len() as f64 };
        let height = if below { NARROW_HEIGHT } else { HEIGHT };
        let width = (source.width - 2.0 * MARGIN - NUMBERS - GAP * (columns - 1.0)) / columns;
        let mut lowest = top;
        for (position, panel) in self.panels.iter().enumerate() {
            let place = if below { 0.0 } else { position as f64 };
            let left = MARGIN + NUMBERS + place * (width + GAP);
            let top = if below && position > 0 { lowest + 12.0 } else { top };
            let frame = Frame {
                x: Scale::linear(least - 1.0, most + 1.0, left, left + width),
                y: Scale::fit(&y, top + 26.0 + height, top + 26.0),
                left,
                right: left + width,
            };
            frame.open(&mut scene, below || position == 0, (top + 20.0, &panel.heading));
            for (line, look) in panel.lines.iter().zip(LOOKS) {
                frame.line(&mut scene, line, self.column, *look);
            }
            let bottom = (top + 26.0 + height, axis(self.over));
            lowest = sheet::axis_below(&mut scene, &frame.x, (left, left + width), bottom);
        }
        let Plan { name, index, title, caption, .. } = self;
        Some(Drawing { name, index: index.to_owned(), title, caption, scene: sheet::close(scene, lowest) })
    }

    fn key(&self) -> Vec<(Swatch, String)> {
        let line = |(colour, dash, shape): (Colour, Dash, Shape), name: &String| {
            let curve = (Swatch::Line(Stroke::dashed(colour, 2.5, dash)), name.clone());
            [curve, (Swatch::Dot(shape, Stroke::solid(colour, 1.2)), format!("{name} in fifths"))]
        };
        if self.column == "cutoff" {
            let [curve, (swatch, _)] = line(LOOKS[0], &self.names[0]);
            return vec![curve, (swatch, "cutoff in fifths of the people".to_owned())];
        }
        let mut key: Vec<_> =
            LOOKS.iter().zip(&self.names).flat_map(|(look, name)| line(*look, name)).collect();
        if !self.other.is_empty() {
            key.push((Swatch::Line(Stroke::solid(SOFT, OTHER)), self.other.to_owned()));
        }
        key
    }
}
