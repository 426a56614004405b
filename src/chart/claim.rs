//! A threshold that a sentence states: the share of each group on the stated side, with the verdict on the first claim.

use crate::table::number::significant;
use crate::table::schema::ALL_GROUPS;
use crate::table::{Row, Table};

use super::forest::{self, Forest, ForestRow, Guide, Whisker};
use super::palette::{ESTIMATE, EVERYBODY, THRESHOLD};
use super::scene::{Dash, Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, bundles, count_text, group_label, grouping_heading, interval_text, stated_text, stem,
};
use super::sheet::{Swatch, WIDTH};
use super::{Chart, ChartError, Drawing, Labels, finish, font};

/// Decimals of a share in per cent.
const PLACES: usize = 1;

/// One chart for each stated threshold (more, when the groups are many).
pub fn draw_claim(table: &Table, labels: &Labels) -> Result<Vec<Chart>, ChartError> {
    font::check()?;
    let shares = table.iter().filter(|row| {
        row.text("claim").is_empty() && row.text("population") == "cohort" && row.text("measure") == "share"
    });
    let mut thresholds: Vec<(f64, Bundle<'_>)> = Vec::new();
    for bundle in bundles(shares, &["survey", "index", "side"]) {
        for row in &bundle.rows {
            let Some(value) = row.real("threshold") else { continue };
            match thresholds.iter_mut().find(|(known, b)| *known == value && b.key == bundle.key) {
                Some((_, bundle)) => bundle.rows.push(*row),
                None => thresholds.push((value, Bundle { key: bundle.key.clone(), rows: vec![*row] })),
            }
        }
    }
    let drawings = thresholds.iter().flat_map(|(value, bundle)| draw_one(table, (*value, bundle), labels));
    drawings.map(|drawing| finish("claim", drawing, None)).collect()
}

fn draw_one(table: &Table, (value, bundle): (f64, &Bundle<'_>), labels: &Labels) -> Vec<Drawing> {
    let [survey, index, side] = bundle.key[..] else { return Vec::new() };
    let at = labels.index_at(index, &stated_text(value));
    let verdicts = Verdicts::of(table, (value, side));
    let what = format!("{} {side} {}", labels.index_label(index), at_alone(labels, index, value));
    let title = format!("{what}: share of people, by group");
    let sections: Vec<Section<ForestRow>> = bundle
        .groupings(labels)
        .iter()
        .map(|grouping| Section {
            heading: grouping_heading(grouping.key[0], labels),
            rows: grouping.rows.iter().map(|one| row(one, &verdicts)).collect(),
        })
        .collect();
    let guides = guides(bundle, &verdicts);
    // From 0, so that the axis of shares is never logarithmic.
    let axis_values = [vec![0.0], forest::axis_values(&sections, &guides)].concat();
    let parts = section::parts(&title, sections);
    let draw = |(part, sections): (section::Part, Vec<Section<ForestRow>>)| {
        let mut columns = vec!["share, % (interval)".to_owned(), "n".to_owned()];
        columns.extend(verdicts.claim.map(|_| "verdict".to_owned()));
        let forest = Forest {
            width: WIDTH,
            title: part.title.clone(),
            notes: notes(survey, labels, &verdicts),
            axis: format!("{what}, % of the group"),
            key: key(bundle, &verdicts),
            guides: guides.clone(),
            columns,
            sections,
        };
        Drawing {
            name: stem(&["claim", &at, side, &part.stem]),
            index: index.to_owned(),
            caption: format!("Share of each group with {what}. Data: {}.", labels.survey(survey)),
            title: part.title,
            scene: forest::draw(&forest, &axis_values),
        }
    };
    parts.into_iter().map(draw).collect()
}

/// A threshold with its unit and without its index.
fn at_alone(labels: &Labels, index: &str, value: f64) -> String {
    let label = labels.index_label(index).to_owned();
    labels.index_at(index, &stated_text(value)).trim_start_matches(&label).trim().to_owned()
}

/// The first claim about a threshold and what came of it in each group.
struct Verdicts<'a> {
    claim: Option<&'a str>,
    rows: Vec<Row<'a>>,
}

impl<'a> Verdicts<'a> {
    fn of(table: &'a Table, (value, side): (f64, &str)) -> Self {
        let about = |row: &Row<'a>| row.real("threshold") == Some(value) && row.text("side") == side;
        let claim = table.iter().filter(about).map(|row| row.text("claim")).find(|claim| !claim.is_empty());
        let rows = table.iter().filter(|row| about(row) && Some(row.text("claim")) == claim).collect();
        Self { claim, rows }
    }

    fn of_group(&self, group: &Row<'_>) -> &'a str {
        let same = |row: &&Row<'a>| {
            row.text("grouping") == group.text("grouping") && row.text("group") == group.text("group")
        };
        self.rows.iter().find(same).map_or("", |row| row.text("verdict"))
    }

    /// The bounds of a claim about the share itself.
    fn bounds(&self) -> Vec<f64> {
        let first = self.rows.first().filter(|row| row.text("measure") == "share");
        first
            .into_iter()
            .flat_map(|row| [row.real("claimed_from"), row.real("claimed_to")])
            .flatten()
            .collect()
    }

    fn of_all(&self) -> &'a str {
        self.rows.iter().find(|row| row.text("group") == ALL_GROUPS).map_or("", |row| row.text("verdict"))
    }
}

fn row(row: &Row<'_>, verdicts: &Verdicts<'_>) -> ForestRow {
    let everybody = row.text("grouping") == super::select::EVERYBODY;
    let verdict = verdicts.of_group(row);
    let colour = match verdict {
        "fails" => THRESHOLD,
        _ if everybody => EVERYBODY,
        _ => ESTIMATE,
    };
    let whisker = row.shown("value").map(|value| Whisker {
        value,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape: if everybody { Shape::Diamond } else { Shape::Circle },
        hollow: !["holds", "fails", ""].contains(&verdict),
        colour,
    });
    let withheld = row.text("withheld");
    let mut side = vec![interval_text(row, "value", PLACES), count_text(row, "n")];
    side.extend(verdicts.claim.map(|_| verdict.to_owned()));
    ForestRow {
        label: group_label(row),
        withheld: (whisker.is_none()).then(|| withheld.to_owned()),
        whiskers: whisker.into_iter().collect(),
        side,
    }
}

/// Everybody's share, and the bound of a claim about the share.
fn guides(bundle: &Bundle<'_>, verdicts: &Verdicts<'_>) -> Vec<Guide> {
    let everybody = bundle.everybody().and_then(|row| row.shown("value"));
    let single = everybody.map(|value| Guide { value, band: None, stroke: Stroke::solid(EVERYBODY, 1.5) });
    let bound = |value: f64| Guide { value, band: None, stroke: Stroke::dashed(THRESHOLD, 2.0, Dash::Long) };
    single.into_iter().chain(verdicts.bounds().into_iter().map(bound)).collect()
}

fn key(bundle: &Bundle<'_>, verdicts: &Verdicts<'_>) -> Vec<(Swatch, String)> {
    let everybody = bundle.everybody().and_then(|row| row.shown("value")).map(|value| {
        let text = format!("everybody: {} %", significant(value, 3));
        (Swatch::Dot(Shape::Diamond, Stroke::solid(EVERYBODY, 1.5)), text)
    });
    let group = (Swatch::Dot(Shape::Circle, Stroke::solid(ESTIMATE, 2.0)), "a group’s share".to_owned());
    let bound = |value: f64| {
        let line = Swatch::Line(Stroke::dashed(THRESHOLD, 2.0, Dash::Long));
        (line, format!("claimed: {} %", significant(value, 6)))
    };
    everybody.into_iter().chain([group]).chain(verdicts.bounds().into_iter().map(bound)).collect()
}

fn notes(survey: &str, labels: &Labels, verdicts: &Verdicts<'_>) -> Vec<String> {
    let mut notes =
        vec![format!("{}. {}", labels.survey(survey), forest::legend_of_interval("korn_graubard"))];
    if let Some(claim) = verdicts.claim {
        notes.push(format!(
            "Claim: {claim}. For all groups: {}. Orange: fails; hollow: undecided or cannot tell; else: holds.",
            verdicts.of_all()
        ));
    }
    notes
}
