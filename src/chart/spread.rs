//! How far the cutoffs of each index lie apart by each variable, sampling error removed.

use crate::table::Row;
use crate::table::number::aligned;
use crate::table::schema::{DIFFER, SMOOTHED_YOUDEN};

use super::forest::{self, Forest, ForestRow, Guide, Whisker};
use super::palette::{ESTIMATE, INK};
use super::scene::{Shape, Stroke};
use super::section::{self, Section};
use super::select::{Bundle, bundles, everybody_behind, grouping_heading, interval_text, p_text, stem};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "outcome"];
const DECIMALS: usize = 2;
/// A ratio that groups of one population do not reach: few groups leave the upper end open.
const NO_LIMIT: f64 = 20.0;

/// One chart for each outcome.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("heterogeneity") else { return Vec::new() };
    bundles(table.iter().filter(|row| row.text("method") == SMOOTHED_YOUDEN), KEY)
        .iter()
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("spread").is_some()))
        .flat_map(|bundle| draw_one(bundle, source))
        .collect()
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let outcome = bundle.key[1];
    let sections: Vec<Section<ForestRow>> = bundles(bundle.rows.iter().copied(), &["grouping"])
        .iter()
        .map(|grouping| Section {
            heading: grouping_heading(grouping.key[0], labels),
            rows: grouping.rows.iter().map(|row| forest_row(row, labels)).collect(),
        })
        .collect();
    let guides = vec![Guide { value: 1.0, band: None, stroke: Stroke::solid(INK, 1.5) }];
    let axis_values = forest::axis_values(&sections, &guides);
    let title = format!("How far the cutoffs of groups lie apart: {}", labels.outcome(outcome));
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, source),
                axis: "typical ratio of a group’s cutoff to the groups’ mean (1: no difference)".to_owned(),
                key: key(),
                guides: guides.clone(),
                columns: ["spread (interval)", "largest ÷\nsmallest", "groups", "adjusted\np"]
                    .map(str::to_owned)
                    .to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["spread", outcome, &part.stem]),
                index: String::new(),
                caption: caption(bundle, source),
                title: part.title,
                scene: forest::draw_ratios(&forest, &axis_values),
            }
        })
        .collect()
}

fn forest_row(row: &Row<'_>, labels: &Labels) -> ForestRow {
    let whisker = row.shown("spread").map(|value| Whisker {
        value,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape: Shape::Circle,
        hollow: row.text("conclusion") != DIFFER,
        colour: ESTIMATE,
    });
    let ratio = row.shown("ratio").map(|ratio| aligned(ratio, DECIMALS)).unwrap_or_default();
    let groups = row.whole("groups").filter(|_| whisker.is_some()).map(|n| n.to_string()).unwrap_or_default();
    ForestRow {
        label: labels.index_label(row.text("index")).to_owned(),
        withheld: whisker.is_none().then(|| row.text("withheld").to_owned()),
        side: vec![spread_text(row), ratio, groups, p_text(row.shown("p_holm"))],
        whiskers: whisker.into_iter().collect(),
    }
}

/// `1.25 (1.00–1.61)`; an upper end that no groups could have is said to be none.
fn spread_text(row: &Row<'_>) -> String {
    match row.shown("spread").zip(row.shown("lower")).zip(row.shown("upper")) {
        Some(((spread, lower), upper)) if upper > NO_LIMIT => {
            format!("{} ({} to no upper limit)", aligned(spread, DECIMALS), aligned(lower, DECIMALS))
        }
        _ => interval_text(row, "spread", DECIMALS),
    }
}

fn key() -> Vec<(Swatch, String)> {
    let stroke = Stroke::solid(ESTIMATE, 2.0);
    vec![
        (Swatch::Dot(Shape::Circle, stroke), "groups differ by more than noise".to_owned()),
        (Swatch::Ring(Shape::Circle, stroke), "not distinguishable with these data".to_owned()),
    ]
}

fn notes(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<String> {
    let labels = source.labels;
    let [survey, outcome] = bundle.key[..] else { return Vec::new() };
    vec![
        format!(
            "Cutoffs with the largest smoothed Youden index. Outcome: {}. {}.{}",
            labels.outcome(outcome),
            labels.survey(survey),
            everybody_behind(source.table("auc"), KEY, bundle)
        ),
        "Spread: exp of the standard deviation between groups of log cutoffs, sampling error removed; 1.2: groups lie \
         typically a fifth from their mean. Lines: interval by test inversion; an arrow runs past the axis. p by Holm over all \
         tests of the study."
            .to_owned(),
    ]
}

fn caption(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    let labels = source.labels;
    let [survey, outcome] = bundle.key[..] else { return String::new() };
    format!(
        "For each variable and index, how far the groups’ cutoffs for {} lie apart once sampling error is taken off. A filled \
         dot: the groups differ by more than noise, after adjusting for all tests of the study. A ring: these data do not tell \
         them apart, which does not show that they are equal. Largest ÷ smallest is as found, chance included.{} Data: {}.",
        labels.outcome(outcome),
        everybody_behind(source.table("auc"), KEY, bundle),
        labels.survey(survey),
    )
}
