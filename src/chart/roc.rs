//! ROC curves: everybody's with its band and the cutoffs of each rule, and one curve a group.

use crate::table::Row;
use crate::table::number::fixed;

use super::palette::{ESTIMATE, SERIES};
use super::roc_choices::{choices, cutoffs_of, mark_choices};
use super::roc_square::{Square, band, curve, square};
use super::scene::{Dash, Scene, Stroke};
use super::select::{
    Bundle, EVERYBODY, bundles, capital, count_text, group_label, index_title, population_stem, range_text,
    stem,
};
use super::sheet::{self, HEADING, NOTE};
use super::{Drawing, Source};

pub(super) const KEY: &[&str] = &["survey", "frame", "index", "outcome", "population"];
/// More curves than this cannot be told apart.
const MOST_CURVES: usize = SERIES.len();
const DASHES: [Dash; 3] = [Dash::Solid, Dash::Long, Dash::Dot];

/// One chart for each index and outcome: everybody's curve.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let Some(points) = source.table("roc_points") else { return Vec::new() };
    bundles(points.iter().filter(|row| row.text("grouping") == EVERYBODY), KEY)
        .iter()
        .map(|bundle| draw_everybody(bundle, source))
        .collect()
}

/// One chart for each index and outcome: the curves of the first grouping that has a few groups.
pub(super) fn draw_groups(source: &Source<'_>) -> Vec<Drawing> {
    let Some(points) = source.table("roc_points") else { return Vec::new() };
    bundles(points.iter().filter(|row| row.text("grouping") != EVERYBODY), KEY)
        .iter()
        .filter_map(|bundle| {
            let curves = bundle
                .groupings(source.labels)
                .into_iter()
                .map(|grouping| (grouping.key[0], bundles(grouping.rows.iter().copied(), &["group"])));
            let (grouping, curves) =
                curves.into_iter().find(|(_, curves)| (2..=MOST_CURVES).contains(&curves.len()))?;
            Some(draw_curves(bundle, grouping, &curves, source))
        })
        .collect()
}

fn draw_everybody(bundle: &Bundle<'_>, source: &Source<'_>) -> Drawing {
    let [survey, _, index, outcome, population] = bundle.key[..] else { return Drawing::default() };
    let labels = source.labels;
    let title = format!("{}: ROC curve for {}", index_title(index, labels), labels.outcome(outcome));
    let Area { sentence: auc, reliable } = area(source, bundle, (EVERYBODY, EVERYBODY));
    let notes = [
        format!(
            "Outcome: {}. {}, {}.{auc}",
            labels.outcome(outcome),
            capital(labels.population(population)),
            labels.survey(survey)
        ),
        format!("{} Marks: the cutoff each rule chooses.", band_note(bundle, source)),
    ];
    let (mut scene, top) = sheet::open_on(source.width, &title, &notes);
    let square = square(&mut scene, top + 14.0);
    if reliable {
        band(&mut scene, &square, &bundle.rows, ESTIMATE);
        scene.path(curve(&square, &bundle.rows, "sensitivity"), Stroke::solid(ESTIMATE, 2.5));
    }
    let choices = if reliable { choices(source, bundle) } else { Vec::new() };
    let places = source.labels.percent_places(1);
    let lowest = mark_choices(&mut scene, &square, (&choices, places));
    let (band, with_interval) = if has_band(bundle) {
        (" The band is the interval of the sensitivity at each specificity.", " with its interval")
    } else {
        ("", "")
    };
    let caption = format!(
        "How well {} tells people with {} from people without it, in {}.{auc}{band} Each mark is the cutoff that a rule chooses; \
         the text beside it names the cutoff{with_interval}, what it achieves and the rule.{} Data: {}.",
        labels.index_with_unit(index),
        labels.outcome(outcome),
        labels.population(population),
        labels.built_in(index, outcome),
        labels.survey(survey),
    );
    Drawing {
        name: stem(&["roc", index, outcome, population_stem(population)]),
        index: index.to_owned(),
        title,
        caption,
        scene: sheet::close(scene, lowest.max(square.bottom() + 38.0)),
    }
}

/// Whether the sensitivities of a curve have intervals.
fn has_band(bundle: &Bundle<'_>) -> bool {
    bundle.rows.iter().any(|row| row.real("sensitivity_lower").is_some())
}

/// What the band is, or why there is none.
fn band_note(bundle: &Bundle<'_>, source: &Source<'_>) -> String {
    if has_band(bundle) {
        return "Band: interval of the sensitivity at each specificity.".to_owned();
    }
    let cutoffs = cutoffs_of(source, bundle);
    let why = cutoffs.iter().find_map(Row::why_no_interval);
    why.map_or_else(|| "No band: no interval.".to_owned(), |why| format!("No band: no interval, {why}."))
}

/// What is known of a curve's area, and whether the curve may be drawn.
struct Area {
    sentence: String,
    reliable: bool,
}

/// The AUC of a group with its interval and counts. A curve whose area is withheld is not drawn.
fn area(source: &Source<'_>, bundle: &Bundle<'_>, (grouping, group): (&str, &str)) -> Area {
    let same = |row: &Row<'_>| KEY.iter().zip(&bundle.key).all(|(column, key)| row.text(column) == *key);
    let own = |row: &Row<'_>| same(row) && row.text("grouping") == grouping && row.text("group") == group;
    let found = source.table("auc").and_then(|table| table.iter().find(own));
    let Some(row) = found else { return Area { sentence: String::new(), reliable: true } };
    let Some(value) = row.shown("auc") else {
        return Area { sentence: format!(" Curve withheld: {}.", row.text("withheld")), reliable: false };
    };
    let range = range_text(row.shown("lower"), row.shown("upper"), 2)
        .map(|range| format!(" ({range})"))
        .unwrap_or_default();
    let counts = format!("n = {}, {} with the outcome", count_text(&row, "n"), count_text(&row, "n_with"));
    Area { sentence: format!(" AUC {}{range}; {counts}.", fixed(value, 2)), reliable: true }
}

fn draw_curves(bundle: &Bundle<'_>, grouping: &str, curves: &[Bundle<'_>], source: &Source<'_>) -> Drawing {
    let [survey, _, index, outcome, population] = bundle.key[..] else { return Drawing::default() };
    let labels = source.labels;
    let title = format!(
        "{}: ROC curves for {} by {}",
        index_title(index, labels),
        labels.outcome(outcome),
        labels.grouping(grouping)
    );
    let notes = [format!(
        "Outcome: {}. {}, {}.",
        labels.outcome(outcome),
        capital(labels.population(population)),
        labels.survey(survey)
    )];
    let (mut scene, top) = sheet::open_on(source.width, &title, &notes);
    let square = square(&mut scene, top + 14.0);
    let y = mark_curves(&mut scene, &square, (bundle, grouping, curves), source);
    let caption = format!(
        "How well {} tells people with {} from people without it, by {}, in {}. A curve nearer to the upper left corner \
         tells them apart better. Data: {}.",
        labels.index_with_unit(index),
        labels.outcome(outcome),
        labels.grouping(grouping),
        labels.population(population),
        labels.survey(survey),
    );
    Drawing {
        name: stem(&["roc_groups", index, outcome, population_stem(population)]),
        index: index.to_owned(),
        title,
        caption,
        scene: sheet::close(scene, (y - 24.0).max(square.bottom() + 38.0)),
    }
}

/// Draws the curve of each group and says what it is; returns the baseline after the last.
fn mark_curves(
    scene: &mut Scene,
    square: &Square,
    (bundle, grouping, curves): (&Bundle<'_>, &str, &[Bundle<'_>]),
    source: &Source<'_>,
) -> f64 {
    let mut y = square.words.1 + 8.0;
    for (position, group) in curves.iter().enumerate() {
        let area = area(source, bundle, (grouping, group.key[0]));
        let stroke = Stroke::dashed(SERIES[position % SERIES.len()], 2.5, DASHES[position % DASHES.len()]);
        if area.reliable && curves.len() <= 2 {
            band(scene, square, &group.rows, stroke.colour);
        }
        if area.reliable {
            scene.path(curve(square, &group.rows, "sensitivity"), stroke);
            scene.line((square.words.0, y - 5.0), (square.words.0 + 30.0, y - 5.0), stroke);
        }
        y = describe(scene, (square, y), group, &area);
    }
    y
}

/// The name of a curve and its area beside the plot; returns the next baseline.
fn describe(scene: &mut Scene, (square, y): (&Square, f64), group: &Bundle<'_>, area: &Area) -> f64 {
    let (left, limit) = (square.words.0 + 38.0, square.words.2 - 38.0);
    let name = group.rows.first().map(group_label).unwrap_or_default();
    let below = sheet::paragraph(scene, (left, y), &name, (limit, HEADING));
    sheet::paragraph(scene, (left, below), area.sentence.trim(), (limit, NOTE)) + 12.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::table::{Table, schema};

    #[test]
    fn an_area_is_that_of_its_own_grouping() {
        let mut auc = Table::new(schema::shape("auc").expect("a table"));
        for (grouping, area) in [("age", 0.61), ("bmi", 0.82)] {
            let row =
                auc.row().text("grouping", grouping).text("group", "30 and over").real("auc", Some(area));
            row.done().expect("a row");
        }
        let (tables, labels) = ([auc], Labels::default());
        let source = Source { tables: &tables, labels: &labels, width: sheet::WIDTH };
        let bundle = Bundle { key: vec![""; KEY.len()], rows: Vec::new() };
        let said = area(&source, &bundle, ("bmi", "30 and over")).sentence;
        assert!(said.starts_with(" AUC 0.82;"), "{said}");
    }
}
