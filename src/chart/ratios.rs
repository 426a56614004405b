//! Forest of ratios on a log axis: each group's cutoff over everybody's, and pairs of groups over each other.

use crate::table::Row;
use crate::table::schema::{DIFFER, NOT_DISTINGUISHABLE, SMOOTHED_YOUDEN};

use super::forest::{self, Forest, ForestRow, Guide, Whisker};
use super::palette::{Colour, ESTIMATE, INK, SERIES, SOFT};
use super::scene::{Shape, Stroke};
use super::section::{self, Section};
use super::select::{
    Bundle, EVERYBODY, bundles, capital, estimate_text, everybody_behind, grouping_heading, index_title,
    p_text, population_stem, stem,
};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "frame", "index", "outcome", "population"];
const DECIMALS: usize = 2;
/// The kind of an interval that is the central part of replicates drawn at random.
const DRAWN: &str = "replicates_percentile";
/// Of a group over everybody, and of one group over another.
const OVER: Colour = ESTIMATE;
const BETWEEN: Colour = SERIES[3];

/// One chart for each index and outcome, of the smoothed cutoffs.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(table) = source.table("cutoff_pairs") else { return Vec::new() };
    bundles(table.iter().filter(|row| row.text("method") == SMOOTHED_YOUDEN), KEY)
        .iter()
        .filter(|bundle| bundle.rows.iter().any(|row| row.shown("ratio").is_some()))
        .flat_map(|bundle| draw_one(bundle, source))
        .collect()
}

fn draw_one(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let [_, _, index, outcome, population] = bundle.key[..] else { return Vec::new() };
    let title = format!("{}: ratios of cutoffs for {}", index_title(index, labels), labels.outcome(outcome));
    let sections: Vec<Section<ForestRow>> =
        bundle.groupings(labels).iter().flat_map(|grouping| sections(grouping, labels)).collect();
    let guides = vec![Guide { value: 1.0, band: None, stroke: Stroke::solid(INK, 1.5) }];
    let axis_values = forest::axis_values(&sections, &guides);
    section::parts(&title, sections)
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, source),
                axis: "ratio of cutoffs (1: the same)".to_owned(),
                key: key(&sections),
                guides: guides.clone(),
                columns: ["ratio (interval)", "adjusted\np"].map(str::to_owned).to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["cutoff_ratios", index, outcome, population_stem(population), &part.stem]),
                index: index.to_owned(),
                caption: caption(bundle, source),
                title: part.title,
                scene: forest::draw_ratios(&forest, &axis_values),
            }
        })
        .collect()
}

/// Groups over everybody, then the pairs of a single variable that have two cutoffs to compare.
fn sections(grouping: &Bundle<'_>, labels: &Labels) -> Vec<Section<ForestRow>> {
    let heading = grouping_heading(grouping.key[0], labels);
    let (whole, pairs): (Vec<Row<'_>>, Vec<Row<'_>>) =
        grouping.rows.iter().partition(|row| row.text("other_group") == EVERYBODY);
    let single = !grouping.key[0].contains(" × ");
    let pairs = pairs.iter().filter(|row| single && row.shown("ratio").is_some());
    let over = |row: &Row<'_>| forest_row(row, row.text("group").to_owned(), OVER);
    let between = |row: &Row<'_>| {
        forest_row(row, format!("{} ÷ {}", row.text("group"), row.text("other_group")), BETWEEN)
    };
    let both = [
        (format!("{heading}: a group over everybody"), whole.iter().map(over).collect::<Vec<_>>()),
        (format!("{heading}: one group over another"), pairs.map(between).collect()),
    ];
    both.into_iter()
        .filter(|(_, rows)| !rows.is_empty())
        .map(|(heading, rows)| Section { heading, rows })
        .collect()
}

/// Whether replicates were drawn at random: then their percentiles are the interval, else t on the logarithm, which
/// suits a log axis.
fn drawn(row: &Row<'_>) -> bool {
    row.text("interval") == DRAWN
}

fn forest_row(row: &Row<'_>, label: String, colour: Colour) -> ForestRow {
    let [lower, upper] =
        if drawn(row) { ["ratio_lower", "ratio_upper"] } else { ["ratio_lower_t", "ratio_upper_t"] };
    let interval = row.shown(lower).zip(row.shown(upper));
    let whisker = row.shown("ratio").map(|value| Whisker {
        value,
        interval,
        shape: Shape::Circle,
        hollow: row.text("conclusion") != DIFFER,
        colour,
    });
    let withheld = match (&whisker, row.text("withheld")) {
        (Some(_), _) => None,
        (None, "") => Some("no ratio: a cutoff is not positive, or missing".to_owned()),
        // The row's own name need not be said again.
        (None, reason) => {
            let own = format!("{}: ", row.text("group"));
            Some(reason.strip_prefix(&own).unwrap_or(reason).to_owned())
        }
    };
    let text = row.shown("ratio").map(|value| estimate_text(value, interval, DECIMALS));
    ForestRow {
        label,
        whiskers: whisker.into_iter().collect(),
        side: vec![text.unwrap_or_default(), p_text(row.shown("p_holm"))],
        withheld,
    }
}

/// Filled where the two differ by more than noise; whose ratio it is stands in the colour.
fn key(sections: &[Section<ForestRow>]) -> Vec<(Swatch, String)> {
    let whiskers = || sections.iter().flat_map(|section| &section.rows).flat_map(|row| &row.whiskers);
    let whose = [(OVER, "a group over everybody"), (BETWEEN, "one group over another")]
        .into_iter()
        .filter(|(colour, _)| whiskers().any(|whisker| whisker.colour == *colour))
        .map(|(colour, words)| (Swatch::Line(Stroke::solid(colour, 2.0)), words.to_owned()));
    let stroke = Stroke::solid(SOFT, 2.0);
    let verdicts = [
        (Swatch::Dot(Shape::Circle, stroke), DIFFER.to_owned()),
        (Swatch::Ring(Shape::Circle, stroke), NOT_DISTINGUISHABLE.to_owned()),
        (Swatch::Line(Stroke::solid(INK, 1.5)), "1: the same cutoff".to_owned()),
    ];
    whose.chain(verdicts).collect()
}

fn notes(bundle: &Bundle<'_>, source: &Source<'_>) -> Vec<String> {
    let labels = source.labels;
    let [survey, _, _, outcome, population] = bundle.key[..] else { return Vec::new() };
    let kind = if bundle.rows.iter().any(drawn) { DRAWN } else { "replicates_t_log" };
    vec![
        format!(
            "Cutoffs with the largest smoothed Youden index. Outcome: {}. {}, {}.{}",
            labels.outcome(outcome),
            capital(labels.population(population)),
            labels.survey(survey),
            everybody_behind(source.table("auc"), KEY, bundle)
        ),
        format!(
            "p by Holm over the groups, and over the pairs, of one variable; dots are filled by this p, not by the line, and hollow also \
             where all its groups together do not differ. {}",
            forest::legend_of_interval(kind)
        ),
    ]
}

/// Why the line of a ratio and its dot may say different things.
fn apart(bundle: &Bundle<'_>) -> &'static str {
    if bundle.rows.iter().any(drawn) {
        " The line is the central part of the replicates and not adjusted: near the limit it and the dot may disagree."
    } else {
        " The line is not adjusted: near the limit it and the dot may disagree."
    }
}

fn caption(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    let labels = source.labels;
    let [survey, _, index, outcome, population] = bundle.key[..] else { return String::new() };
    format!(
        "Ratios of cutoffs of {} for {}, in {}: each group over everybody, then one group over another. On this axis a half \
         and a double lie equally far from 1. A filled dot differs from 1 by more than noise after adjusting for the number \
         of comparisons of its variable (p: t on the log, by Holm); a ring does not, which does not show that two cutoffs are \
         equal.{} Pairs of crossed \
         variables, and by other rules, stand in the table cutoff_pairs; pairs with a withheld cutoff are left out.{} Data: {}.",
        labels.index_with_unit(index),
        labels.outcome(outcome),
        labels.population(population),
        apart(bundle),
        everybody_behind(source.table("auc"), KEY, bundle),
        labels.survey(survey),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn the_key_has_the_colours_that_are_drawn() {
        let row = |colour: Colour| ForestRow {
            label: String::new(),
            whiskers: vec![Whisker {
                value: 1.2,
                interval: None,
                shape: Shape::Circle,
                hollow: false,
                colour,
            }],
            side: Vec::new(),
            withheld: None,
        };
        let words = |rows: Vec<ForestRow>| -> Vec<String> {
            let sections = [Section { heading: String::new(), rows }];
            key(&sections).into_iter().map(|(_, words)| words).collect()
        };
        let both = words(vec![row(OVER), row(BETWEEN)]);
        assert_eq!(both[..2], ["a group over everybody", "one group over another"]);
        assert_eq!(words(vec![row(OVER)])[..2], ["a group over everybody", DIFFER]);
    }
}
