//! Forest of ROC cutoffs by group, with everybody's cutoff and the judged threshold drawn through it.

use crate::table::number::aligned;
use crate::table::{Row, Table, directions};

use super::forest::{self, Forest, ForestRow, Guide, Whisker};
use super::palette::{ESTIMATE, EVERYBODY, THRESHOLD};
use super::scene::{Dash, Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, Threshold, bundles, count_text, decimals, group_label, grouping_heading, index_title,
    interval_text, population_stem, stated_text, stem, thresholds,
};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "outcome", "population"];

/// One forest for each index and outcome, by the first rule of the study.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("cutoffs") else { return Vec::new() };
    let Some(rule) = table.iter().next().map(|row| row.text("rule")) else { return Vec::new() };
    bundles(table.iter().filter(|row| row.text("rule") == rule), KEY)
        .iter()
        .flat_map(|bundle| draw_one(bundle, rule, source))
        .collect()
}

fn draw_one(bundle: &Bundle<'_>, rule: &str, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let (index, outcome, population) = (bundle.key[2], bundle.key[3], bundle.key[4]);
    let thresholds = thresholds(source.table("threshold_shares"), index);
    let title = format!("{}: cutoff for {} by group", index_title(index, labels), labels.outcome(outcome));
    let sections = sections(bundle, labels);
    let guides = guides(bundle.everybody(), &thresholds);
    let axis_values = forest::axis_values(&sections, &guides);
    let parts = section::parts(&title, sections);
    let notes = notes(bundle, rule, labels);
    let estimate = forest::estimate_heading("cutoff", &bundle.rows);
    let columns = [&*estimate, "n", "with the\noutcome"].map(str::to_owned);
    parts
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes.clone(),
                axis: labels.index_with_unit(index),
                key: key(bundle, &thresholds),
                guides: guides.clone(),
                columns: columns.to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["cutoffs", index, outcome, population_stem(population), &part.stem]),
                index: index.to_owned(),
                caption: caption(bundle, rule, &thresholds, source),
                title: part.title,
                scene: forest::draw(&forest, &axis_values),
            }
        })
        .collect()
}

fn sections(bundle: &Bundle<'_>, labels: &Labels) -> Vec<Section<ForestRow>> {
    let decimals = decimals(bundle.rows.iter().copied(), "cutoff");
    bundle
        .groupings(labels)
        .iter()
        .map(|grouping| Section {
            heading: grouping_heading(grouping.key[0], labels),
            rows: grouping.rows.iter().map(|one| row(one, decimals)).collect(),
        })
        .collect()
}

fn row(row: &Row<'_>, decimals: usize) -> ForestRow {
    let everybody = row.text("grouping") == super::select::EVERYBODY;
    let whisker = row.shown("cutoff").map(|value| Whisker {
        value,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape: if everybody { Shape::Diamond } else { Shape::Circle },
        hollow: false,
        colour: if everybody { EVERYBODY } else { ESTIMATE },
    });
    let withheld = match (row.text("withheld"), &whisker) {
        ("", Some(_)) => None,
        ("", None) => Some("no cutoff".to_owned()),
        (reason, _) => Some(reason.to_owned()),
    };
    ForestRow {
        label: group_label(row),
        whiskers: whisker.into_iter().collect(),
        side: vec![interval_text(row, "cutoff", decimals), count_text(row, "n"), count_text(row, "n_with")],
        withheld,
    }
}

fn guides(everybody: Option<Row<'_>>, thresholds: &[Threshold]) -> Vec<Guide> {
    let single = everybody.and_then(|row| {
        Some(Guide {
            value: row.shown("cutoff")?,
            band: row.shown("lower").zip(row.shown("upper")),
            stroke: Stroke::solid(EVERYBODY, 1.5),
        })
    });
    single.into_iter().chain(thresholds.iter().map(threshold_guide)).collect()
}

pub(super) fn threshold_guide(threshold: &Threshold) -> Guide {
    Guide { value: threshold.value, band: None, stroke: Stroke::dashed(THRESHOLD, 2.0, Dash::Long) }
}

/// The entry of the key for the thresholds that are judged.
pub(super) fn threshold_key(thresholds: &[Threshold]) -> Option<(Swatch, String)> {
    let values: Vec<String> = thresholds.iter().map(|threshold| stated_text(threshold.value)).collect();
    let noun = if values.len() > 1 { "thresholds under test" } else { "threshold under test" };
    let text = format!("{noun}: {}", values.join(", "));
    (!values.is_empty()).then(|| (Swatch::Line(Stroke::dashed(THRESHOLD, 2.0, Dash::Long)), text))
}

fn key(bundle: &Bundle<'_>, thresholds: &[Threshold]) -> Vec<(Swatch, String)> {
    let decimals = decimals(bundle.rows.iter().copied(), "cutoff");
    let single = bundle.everybody().and_then(|row| {
        let text = format!("everybody’s cutoff: {}", aligned(row.shown("cutoff")?, decimals));
        Some((Swatch::Dot(Shape::Diamond, Stroke::solid(EVERYBODY, 1.5)), text))
    });
    let group = (Swatch::Dot(Shape::Circle, Stroke::solid(ESTIMATE, 2.0)), "a group’s cutoff".to_owned());
    single.into_iter().chain([group]).chain(threshold_key(thresholds)).collect()
}

fn notes(bundle: &Bundle<'_>, rule: &str, labels: &Labels) -> Vec<String> {
    let [survey, _, index, outcome, population] = bundle.key[..] else { return Vec::new() };
    let counts = bundle.everybody().map_or_else(String::new, |row| {
        format!(" n = {}, {} with the outcome.", count_text(&row, "n"), count_text(&row, "n_with"))
    });
    vec![
        format!(
            "Rule: {}. Outcome: {}. Reference: {}, people without the outcome.{}",
            labels.rule(rule),
            labels.outcome(outcome),
            labels.population(population),
            labels.built_in(index, outcome)
        ),
        format!(
            "{}.{counts} A value {} the cutoff counts as resistant. {}",
            labels.survey(survey),
            labels.beyond(index, false),
            forest::legend(&bundle.rows)
        ),
    ]
}

/// Of every variable whose outermost groups smoothed cutoffs have the other way round.
fn directions(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    let smoothed = || source.table("smoothed_cutoffs").into_iter().flat_map(Table::iter);
    let groupings = bundle.groupings(source.labels);
    groupings.iter().map(|grouping| directions::sentence(&grouping.rows, smoothed())).collect()
}

fn caption(bundle: &Bundle<'_>, rule: &str, thresholds: &[Threshold], source: &Source<'_>) -> String {
    let labels = source.labels;
    let [survey, _, index, outcome, population] = bundle.key[..] else { return String::new() };
    let counts = bundle.everybody().map_or_else(String::new, |row| {
        format!(" {} people, {} of them with the outcome.", count_text(&row, "n"), count_text(&row, "n_with"))
    });
    let tested = match thresholds {
        [] => String::new(),
        [one] => format!(" The dashed line is the threshold under test, {}.", stated_text(one.value)),
        several => {
            let values: Vec<String> = several.iter().map(|one| stated_text(one.value)).collect();
            format!(" The dashed lines are the thresholds under test, {}.", values.join(" and "))
        }
    };
    format!(
        "The cutoff of {} that the rule “{}” chooses to tell people with {} from people without it, chosen anew in each \
         group of {}, as counted.{counts}{}{tested}{} Groups whose cutoff is too unsure to print are named with the reason.{} Data: {}.",
        labels.index_with_unit(index),
        labels.rule(rule),
        labels.outcome(outcome),
        labels.population(population),
        single(bundle),
        directions(bundle, source),
        labels.built_in(index, outcome),
        labels.survey(survey),
    )
}

/// What is drawn of everybody's cutoff through all rows.
fn single(bundle: &Bundle<'_>) -> String {
    let Some(row) = bundle.everybody().filter(|row| row.shown("cutoff").is_some()) else {
        return String::new();
    };
    match (row.printed_interval(), row.why_no_interval()) {
        (Some(_), _) => " The solid line and its band are everybody’s cutoff and its interval.".to_owned(),
        (None, Some(why)) => {
            format!(" The solid line is everybody’s cutoff; cutoffs have no interval here: {why}.")
        }
        (None, None) => " The solid line is everybody’s cutoff, which has no interval.".to_owned(),
    }
}
