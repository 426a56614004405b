//! Indices side by side: the area of each by outcome, in everybody and in the groups of the first variable.

use crate::table::schema::NONE_SEPARATES;
use crate::table::{Row, Table};

use super::forest::{self, Forest, ForestRow, Whisker};
use super::palette::{ESTIMATE, EVERYBODY as LEADER};
use super::scene::{Shape, Stroke};
use super::section::{self, Section};
use super::select::{Bundle, bundles, capital, count_text, decimals, interval_text, place_heading, stem};
use super::sheet::Swatch;
use super::{Drawing, Labels, Source};

const KEY: &[&str] = &["survey", "outcome", "population"];
/// Columns that say for whom an area is.
const PLACE: &[&str] = &["survey", "outcome", "population", "grouping", "group"];

/// One forest for each outcome.
pub(super) fn draw(source: &Source<'_>) -> Vec<Drawing> {
    let (Some(which), Some(auc)) = (source.table("which_index"), source.table("auc")) else {
        return Vec::new();
    };
    bundles(which.iter(), KEY).iter().flat_map(|bundle| draw_one(bundle, auc, source)).collect()
}

fn draw_one(bundle: &Bundle<'_>, auc: &Table, source: &Source<'_>) -> Vec<Drawing> {
    let labels = source.labels;
    let [_, outcome, population] = bundle.key[..] else { return Vec::new() };
    let shown = places(bundle, labels);
    let order = order(&shown, auc, source.table("index_comparison"));
    let places: Vec<Section<ForestRow>> =
        shown.iter().map(|place| section(place, &order, auc, labels)).collect();
    let axis_values = forest::axis_values(&places, &[]);
    let title = format!("Which index best separates people with {}", labels.outcome(outcome));
    let parts = section::parts(&title, places);
    parts
        .into_iter()
        .map(|(part, sections)| {
            let forest = Forest {
                width: source.width,
                title: part.title.clone(),
                notes: notes(bundle, labels),
                axis: "area under the ROC curve (0.5: no better than chance)".to_owned(),
                key: key(),
                guides: Vec::new(),
                columns: ["AUC (interval)", "n", "with the\noutcome"].map(str::to_owned).to_vec(),
                sections,
            };
            Drawing {
                name: stem(&["indices", outcome, super::select::population_stem(population), &part.stem]),
                index: String::new(),
                caption: caption(bundle, labels),
                title: part.title,
                scene: forest::draw(&forest, &axis_values),
            }
        })
        .collect()
}

/// Everybody and the groups of the first variable.
fn places<'a>(bundle: &Bundle<'a>, labels: &Labels) -> Vec<Row<'a>> {
    bundle.groupings(labels).into_iter().take(2).flat_map(|grouping| grouping.rows).collect()
}

/// An index and the twins it stands for.
struct Member<'a> {
    index: &'a str,
    twins: Vec<&'a str>,
}

/// The leading index of everybody, then the others from the highest area to the lowest; twins stand with the one that is compared.
fn order<'a>(places: &[Row<'a>], auc: &'a Table, pairs: Option<&'a Table>) -> Vec<Member<'a>> {
    let Some(first) = places.first() else { return Vec::new() };
    let twin_rows: Vec<Row<'a>> = pairs
        .into_iter()
        .flat_map(Table::iter)
        .filter(|row| row.text("conclusion").starts_with("twins") && same(row, first))
        .collect();
    let twin = |index: &str| twin_rows.iter().any(|row| row.text("other_index") == index);
    let mut rows: Vec<Row<'a>> =
        auc.iter().filter(|row| same(row, first) && !twin(row.text("index"))).collect();
    let area = |row: &Row<'_>| row.shown("auc").unwrap_or(0.0);
    // On its own people another may be higher than the one that leads on common people.
    let behind = |row: &Row<'_>| row.text("index") != first.text("index");
    rows.sort_by(|a, b| behind(a).cmp(&behind(b)).then(area(b).total_cmp(&area(a))));
    rows.into_iter()
        .map(|row| Member {
            index: row.text("index"),
            twins: twin_rows
                .iter()
                .filter(|twin| twin.text("index") == row.text("index"))
                .map(|twin| twin.text("other_index"))
                .collect(),
        })
        .collect()
}

fn same(row: &Row<'_>, place: &Row<'_>) -> bool {
    PLACE.iter().all(|column| row.text(column) == place.text(column))
}

fn section(place: &Row<'_>, order: &[Member<'_>], auc: &Table, labels: &Labels) -> Section<ForestRow> {
    let rows: Vec<Row<'_>> = auc.iter().filter(|row| same(row, place)).collect();
    let places = decimals(rows.iter().copied(), "auc");
    let heading = place_heading(place, labels);
    let of = |member: &Member<'_>| {
        let row = rows.iter().find(|row| row.text("index") == member.index)?;
        Some(forest_row(row, place, member, (places, labels)))
    };
    Section { heading, rows: order.iter().filter_map(of).collect() }
}

fn forest_row(
    row: &Row<'_>,
    place: &Row<'_>,
    member: &Member<'_>,
    (places, labels): (usize, &Labels),
) -> ForestRow {
    let listed = |column: &str| place.text(column).split(", ").any(|name| name == member.index);
    let leads = place.text("index") == member.index;
    let whisker = row.shown("auc").map(|value| Whisker {
        value,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape: if leads { Shape::Diamond } else { Shape::Circle },
        hollow: listed("lower_indices"),
        colour: if leads { LEADER } else { ESTIMATE },
    });
    let twins: Vec<&str> = member.twins.iter().map(|twin| labels.index_label(twin)).collect();
    let label = labels.index_label(member.index);
    ForestRow {
        label: if twins.is_empty() { label.to_owned() } else { format!("{label} = {}", twins.join(" = ")) },
        withheld: whisker.is_none().then(|| row.text("withheld").to_owned()),
        whiskers: whisker.into_iter().collect(),
        side: vec![interval_text(row, "auc", places), count_text(row, "n"), count_text(row, "n_with")],
    }
}

fn key() -> Vec<(Swatch, String)> {
    let group = Stroke::solid(ESTIMATE, 2.0);
    vec![
        (
            Swatch::Dot(Shape::Diamond, Stroke::solid(LEADER, 2.0)),
            "highest among people who have both".to_owned(),
        ),
        (Swatch::Dot(Shape::Circle, group), "not distinguishable from the highest".to_owned()),
        (Swatch::Ring(Shape::Circle, group), "lower by more than noise".to_owned()),
    ]
}

fn notes(bundle: &Bundle<'_>, labels: &Labels) -> Vec<String> {
    let [survey, outcome, population] = bundle.key[..] else { return Vec::new() };
    vec![
        format!(
            "Outcome: {}. {}, {}.",
            labels.outcome(outcome),
            capital(labels.population(population)),
            labels.survey(survey)
        ),
        format!(
            "Each index on its own people; the highest is found, and differences are tested, on the people who have both, by Holm over all \
             pairs. {}",
            forest::legend(&bundle.rows)
        ),
    ]
}

fn caption(bundle: &Bundle<'_>, labels: &Labels) -> String {
    let [survey, outcome, population] = bundle.key[..] else { return String::new() };
    let built_in = bundle.rows.first().map(|row| row.text("built_in")).unwrap_or_default();
    let built_in: Vec<&str> =
        built_in.split(", ").filter(|name| !name.is_empty()).map(|name| labels.index_label(name)).collect();
    let built_in = if built_in.is_empty() {
        String::new()
    } else {
        format!(" The outcome counts a part of {}: their agreement is partly built in.", built_in.join(", "))
    };
    let everybody = bundle.everybody();
    let none = if everybody.is_some_and(|row| row.text("conclusion") == NONE_SEPARATES) {
        " No index separates everybody better than chance: the highest area leads by its place alone."
    } else {
        ""
    };
    format!(
        "How well each index tells people with {} from people without it, in {}.{none} Indices joined by = order people in the \
         same way and stand as one. A ring is an index whose area is lower than the highest by more than noise. Overlapping \
         intervals do not mean that two indices do equally well: the same people are behind both.{built_in} Data: {}.",
        labels.outcome(outcome),
        labels.population(population),
        labels.survey(survey),
    )
}
