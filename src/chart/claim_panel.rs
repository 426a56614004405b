//! One panel of a claim's picture: the claimed quantity by group, with a line at its limit and the verdicts.

use crate::table::estimate::{in_a_cell, of_share, of_value, share_alone};
use crate::table::number::{apart, decimals, significant};
use crate::table::reasons::explained;
use crate::table::schema::ALL_GROUPS;
use crate::table::verdicts::{MORE_DECIMALS, in_all, of_groups, tested, told};
use crate::table::{Row, Table};

use super::Labels;
use super::claim::Stated;
use super::claim_marks;
use super::forest::{self, Forest, ForestRow, Guide};
use super::palette::{Colour, ESTIMATE, EVERYBODY, THRESHOLD};
use super::scene::{Dash, Scene, Shape, Stroke};
use super::section::{self, Section};
use super::select::{Bundle, bundles, count_text, group_label, grouping_heading};
use super::sheet::{Swatch, WIDTH};

/// The estimates of one measure, with what came of the claim about it.
pub(super) struct Panel<'a> {
    stated: Stated<'a>,
    /// Empty without a claim.
    claim: &'a str,
    bundle: Bundle<'a>,
    /// The verdict on all groups together.
    all: &'a str,
    labels: &'a Labels,
    /// Of the intervals.
    confidence: f64,
}

/// A panel for each claim, or one of the share.
pub(super) fn panels<'a>(
    table: &'a Table,
    stated: &Stated<'a>,
    (labels, confidence): (&'a Labels, f64),
) -> Vec<Panel<'a>> {
    let about = |row: &Row<'a>| Stated::of(row) == Some(*stated) && row.text("population") == "cohort";
    let claims: Vec<Bundle<'a>> =
        bundles(table.iter().filter(about).filter(|row| !row.text("claim").is_empty()), &["claim"]);
    let panel = |claim: &'a str, rows: Vec<Row<'a>>| {
        let (all, rows): (Vec<Row<'a>>, Vec<Row<'a>>) =
            rows.into_iter().partition(|row| row.text("group") == ALL_GROUPS);
        let all = all.first().map_or("", |row| row.text("verdict"));
        Panel { stated: *stated, claim, bundle: Bundle { key: vec![claim], rows }, all, labels, confidence }
    };
    if claims.is_empty() {
        let shares = table.iter().filter(about).filter(|row| row.text("measure") == "share");
        return vec![panel("", shares.collect())];
    }
    claims.into_iter().map(|bundle| panel(bundle.key[0], bundle.rows)).collect()
}

impl Panel<'_> {
    /// Title and scene of each part.
    pub(super) fn draw(&self) -> Vec<(String, Scene)> {
        let sections: Vec<Section<ForestRow>> = self
            .bundle
            .groupings(self.labels)
            .iter()
            .map(|grouping| Section {
                heading: grouping_heading(grouping.key[0], self.labels),
                rows: grouping.rows.iter().map(|row| self.row(row)).collect(),
            })
            .collect();
        let guides = self.guides();
        let axis_values = forest::axis_values(&sections, &guides);
        let one = |(part, sections): (section::Part, Vec<Section<ForestRow>>)| {
            let forest = Forest {
                width: WIDTH,
                title: part.title.clone(),
                notes: self.notes(),
                axis: self.axis(),
                key: self.key(),
                guides: guides.clone(),
                columns: self.columns(),
                sections,
            };
            let scene = if self.is_percent() {
                forest::draw_percentages(&forest)
            } else {
                forest::draw(&forest, &axis_values)
            };
            (part.title, scene)
        };
        section::parts(&self.title(), sections).into_iter().map(one).collect()
    }

    fn first(&self, column: &str) -> &str {
        self.bundle.rows.first().map_or("", |row| row.text(column))
    }

    /// The confidence of the intervals, in per cent.
    fn percent(&self) -> String {
        significant(100.0 * self.confidence, 4)
    }

    fn is_percent(&self) -> bool {
        self.first("value_unit") == "%"
    }

    /// The claim in words and what came of it, so that the picture can be handed on alone; else what is drawn.
    fn title(&self) -> String {
        self.claim_in_words().unwrap_or_else(|| self.drawn())
    }

    /// The claim with what came of it, as a sentence; nothing without a claim.
    pub(super) fn claim_in_words(&self) -> Option<String> {
        (!self.claim.is_empty()).then(|| format!("Claim: {}{}.", self.claim, self.in_all()))
    }

    /// `HOMA-IR below 2: share of people`.
    fn drawn(&self) -> String {
        let measure = self.first("measure");
        let what = match measure {
            "share" => "share of people",
            "share_beyond" => "share on the resistant side",
            "percentile" => "percentile in each group",
            "ppv" => "positive predictive value",
            "npv" => "negative predictive value",
            "best_cutoff" => "best cutoff of each group",
            other => other,
        };
        // What counts as positive stands before its measure, whichever side the sentence states.
        let side = match measure {
            "sensitivity" | "specificity" | "ppv" | "share_beyond" => self.stated.side(true, self.labels),
            "npv" => self.stated.side(false, self.labels),
            _ => self.stated.side,
        };
        format!("{}: {what}", Stated { side, ..self.stated }.words(self.labels))
    }

    fn axis(&self) -> String {
        match self.first("measure") {
            "share" => format!("share with {}, %", self.stated.words(self.labels)),
            "share_beyond" => "share on the resistant side, %".to_owned(),
            "percentile" => "percentile of the group".to_owned(),
            "ppv" => "with the outcome, % (positive predictive value)".to_owned(),
            "npv" => "without the outcome, % (negative predictive value)".to_owned(),
            "best_cutoff" => format!("best cutoff, {}", self.labels.index_with_unit(self.stated.index)),
            other => format!("{other}, %"),
        }
    }

    fn columns(&self) -> Vec<String> {
        let value = if self.is_percent() { "%" } else { "value" };
        let short = format!("{value}, with its\n{} % interval", self.percent());
        let on_side = |resistant| {
            let side = self.stated.side(resistant, self.labels);
            format!("people\n{side} {}", self.stated.at(self.labels))
        };
        let people = match self.first("measure") {
            "sensitivity" => "with the\noutcome".to_owned(),
            "specificity" => "without\nit".to_owned(),
            "ppv" => on_side(true),
            "npv" => on_side(false),
            "best_cutoff" => "outcome\nknown".to_owned(),
            _ => "people".to_owned(),
        };
        let verdict = (!self.claim.is_empty()).then(|| "verdict".to_owned());
        [short, people].into_iter().chain(verdict).collect()
    }

    fn row(&self, row: &Row<'_>) -> ForestRow {
        let whisker = claim_marks::whisker(row, self.confidence);
        let mut side = vec![self.estimate_text(row), count_text(row, "n")];
        side.extend((!self.claim.is_empty()).then(|| told(row, self.confidence)));
        ForestRow {
            label: group_label(row),
            withheld: whisker.is_none().then(|| explained(row.text("withheld"))),
            whiskers: whisker.into_iter().collect(),
            side,
        }
    }

    /// The estimate with its interval; empty where it is withheld.
    fn estimate_text(&self, row: &Row<'_>) -> String {
        let written = if self.is_percent() { of_share } else { of_value };
        let interval = row.shown("lower").zip(row.shown("upper"));
        let estimate = row.shown("value").map(|value| written(value, interval, self.places_of(row)));
        estimate.map(in_a_cell).unwrap_or_default()
    }

    fn places(&self) -> usize {
        match self.first("measure") {
            "share" | "share_beyond" | "percentile" => self.labels.percent_places(1),
            _ if self.is_percent() => 0,
            _ => decimals(&self.bundle.rows.iter().filter_map(|r| r.shown("value")).collect::<Vec<_>>(), 3)
                .min(4),
        }
    }

    /// More where an end of the interval would look like the limit that it is not.
    fn places_of(&self, row: &Row<'_>) -> usize {
        let ends: Vec<f64> = ["lower", "upper"].iter().filter_map(|column| row.shown(column)).collect();
        let limits: Vec<f64> = self.limits().into_iter().flatten().collect();
        apart(&ends, &limits, self.places())
    }

    /// From where to where the claim is true.
    fn limits(&self) -> [Option<f64>; 2] {
        let first = self.bundle.rows.first();
        ["claimed_from", "claimed_to"].map(|column| first.and_then(|row| row.real(column)))
    }

    /// The claim's limits, or everybody's share.
    fn guides(&self) -> Vec<Guide> {
        let guide = |value: f64, stroke: Stroke| Guide { value, band: None, stroke };
        if self.claim.is_empty() {
            let everybody = self.bundle.everybody().and_then(|row| row.shown("value"));
            return everybody.map(|value| guide(value, Stroke::solid(EVERYBODY, 1.5))).into_iter().collect();
        }
        self.limits().into_iter().flatten().map(|value| guide(value, LIMIT)).collect()
    }

    fn key(&self) -> Vec<(Swatch, String)> {
        let dot = |colour: Colour, shape: Shape| Swatch::Dot(shape, Stroke::solid(colour, 2.0));
        if self.claim.is_empty() {
            let everybody = self.bundle.everybody().and_then(|row| row.shown("value"));
            let everybody = everybody.map(|value| {
                (
                    dot(EVERYBODY, Shape::Diamond),
                    format!("everybody: {} %", share_alone(value, self.places())),
                )
            });
            let group = (dot(ESTIMATE, Shape::Circle), "a group".to_owned());
            return everybody.into_iter().chain([group]).collect();
        }
        let limit = self.limit_words().map(|words| (Swatch::Line(LIMIT), words));
        limit.into_iter().chain(claim_marks::key(&self.bundle.rows, self.confidence)).collect()
    }

    fn limit_words(&self) -> Option<String> {
        let unit = if self.is_percent() { " %" } else { "" };
        let number = |value: f64| format!("{}{unit}", significant(value, 4).replace('-', "\u{2212}"));
        match self.limits() {
            [Some(from), Some(to)] => Some(format!("claimed: {} to {}", number(from), number(to))),
            [Some(limit), None] | [None, Some(limit)] => {
                Some(format!("claimed: {} {}", self.first("relation"), number(limit)))
            }
            [None, None] => None,
        }
    }

    fn notes(&self) -> Vec<String> {
        let arrow = if self.is_percent() { "" } else { "; an arrow runs past the axis" };
        let mut notes: Vec<String> =
            self.claim_in_words().map(|_| format!("{}.", self.drawn())).into_iter().collect();
        notes.extend(self.meaning());
        notes.extend(tested(&of_groups(&self.bundle.rows)));
        let more = |row: &&Row<'_>| row.shown("value").is_some() && self.places_of(row) > self.places();
        notes.extend(self.bundle.rows.iter().find(more).map(|_| format!("{MORE_DECIMALS}.")));
        notes.push(format!(
            "{}. Lines: {} % interval{}{arrow}.",
            self.labels.survey(self.stated.survey),
            self.percent(),
            forest::how(self.first("interval"))
        ));
        notes
    }

    /// What a measure of accuracy is a share of.
    fn meaning(&self) -> Option<String> {
        let side = |resistant| {
            format!("{} {}", self.stated.side(resistant, self.labels), self.stated.at(self.labels))
        };
        match self.first("measure") {
            "sensitivity" => {
                Some(format!("Sensitivity: of the people with the outcome, how many are {}.", side(true)))
            }
            "specificity" => {
                Some(format!("Specificity: of the people without the outcome, how many are {}.", side(false)))
            }
            "ppv" => Some(format!(
                "Positive predictive value: of the people {}, how many have the outcome.",
                side(true)
            )),
            "npv" => Some(format!(
                "Negative predictive value: of the people {}, how many do not have the outcome.",
                side(false)
            )),
            _ => None,
        }
    }

    /// What came of the claim in all groups together; nothing where it was asked of none.
    fn in_all(&self) -> String {
        if self.all.is_empty() {
            return String::new();
        }
        format!(", {}", in_all(self.all, &of_groups(&self.bundle.rows), self.confidence))
    }
}

const LIMIT: Stroke = Stroke::dashed(THRESHOLD, 2.0, Dash::Long);
