//! The cutoffs that rules choose, marked on a ROC curve.

use crate::table::number::{apart, fixed};
use crate::table::{Row, Table};

use super::Source;
use super::palette::{INK, SOFT};
use super::roc::KEY;
use super::roc_square::Square;
use super::scene::{Face, Scene, Shape, Stroke};
use super::select::{Bundle, EVERYBODY, decimals, range_text};
use super::sheet::{self, HEADING, NOTE, SMALL};

/// A cutoff on the curve and the rules that choose it.
pub(super) struct Choice {
    cutoff: f64,
    sensitivity: f64,
    specificity: f64,
    heading: String,
    rules: Vec<String>,
}

/// Everybody's cutoffs on the curve, by every rule.
pub(super) fn cutoffs_of<'a>(source: &'a Source<'_>, bundle: &Bundle<'_>) -> Vec<Row<'a>> {
    let same = |row: &Row<'_>| KEY.iter().zip(&bundle.key).all(|(column, key)| row.text(column) == *key);
    let rows = source.table("cutoffs").into_iter().flat_map(Table::iter);
    rows.filter(|row| same(row) && row.text("grouping") == EVERYBODY).collect()
}

/// The cutoffs that may be printed, from the most sensitive on.
pub(super) fn choices(source: &Source<'_>, bundle: &Bundle<'_>) -> Vec<Choice> {
    let rows = cutoffs_of(source, bundle);
    let cutoffs: Vec<f64> = rows.iter().filter_map(|row| row.shown("cutoff")).collect();
    // Two marks never bear one number.
    let places = apart(&cutoffs, &cutoffs, decimals(rows.iter().copied(), "cutoff"));
    let mut choices: Vec<Choice> = Vec::new();
    for row in rows {
        let Some(cutoff) = row.shown("cutoff") else { continue };
        let heading = format!("cutoff {}", fixed(cutoff, places));
        let range = range_text(row.shown("lower"), row.shown("upper"), places);
        let range = range.map(|range| format!(" ({range})")).unwrap_or_default();
        let rule = format!("{}{range}", source.labels.rule(row.text("rule")));
        let Some((sensitivity, specificity)) = accuracy(source.table("cutoff_accuracy"), &row) else {
            continue;
        };
        if let Some(choice) = choices.iter_mut().find(|choice| choice.cutoff == cutoff) {
            choice.rules.push(rule);
        } else {
            choices.push(Choice { cutoff, sensitivity, specificity, heading, rules: vec![rule] });
        }
    }
    choices.sort_by(|a, b| b.sensitivity.total_cmp(&a.sensitivity));
    choices
}

/// Sensitivity and specificity at a cutoff that is printed.
fn accuracy(table: Option<&Table>, cutoff: &Row<'_>) -> Option<(f64, f64)> {
    cutoff.shown("cutoff")?;
    let columns = KEY.iter().chain(&["grouping", "group", "rule"]);
    let same = |row: &Row<'_>| columns.clone().all(|column| row.text(column) == cutoff.text(column));
    let rows: Vec<Row<'_>> =
        table?.iter().filter(|row| same(row) && row.text("cutoff_uncertainty") != "reselected").collect();
    let measure =
        |name: &str| rows.iter().find(|row| row.text("measure") == name).and_then(|row| row.shown("value"));
    Some((measure("sensitivity")?, measure("specificity")?))
}

/// Marks each choice on the curve and writes what it is beside the plot, joined by a thin line that
/// only runs right and down, where no curve is; below the plot, each behind its mark. Returns the lowest pixel.
pub(super) fn mark_choices(scene: &mut Scene, square: &Square, (choices, places): (&[Choice], usize)) -> f64 {
    let shapes = [Shape::Circle, Shape::Square, Shape::Diamond, Shape::Triangle];
    let (mut left, mut free, mut limit) = square.words;
    if !square.beside {
        (left, limit) = (left + 20.0, limit - 20.0);
    }
    for (position, choice) in choices.iter().enumerate() {
        let at = square.at(1.0 - choice.specificity, choice.sensitivity);
        let shape = shapes[position % shapes.len()];
        let y = if square.beside {
            let y = free.max(at.1);
            scene.path(vec![at, (left - 14.0, y), (left - 4.0, y)], Stroke::solid(SOFT, 1.0));
            y
        } else {
            scene.ring((left - 12.0, free), shape, 6.0, INK);
            free
        };
        scene.ring(at, shape, 6.0, INK);
        scene.text((left, y + 4.8), choice.heading.clone(), HEADING);
        let achieved = format!(
            "sensitivity {} %, specificity {} %",
            fixed(choice.sensitivity * 100.0, places),
            fixed(choice.specificity * 100.0, places)
        );
        let below = sheet::paragraph(scene, (left, y + 22.0), &achieved, (limit, Face::new(SMALL, INK)));
        free = sheet::paragraph(scene, (left, below), &choice.rules.join("; "), (limit, NOTE)) + 14.0;
    }
    free - 30.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::table::schema;

    fn table(name: &str) -> Table {
        Table::new(schema::shape(name).expect("a table"))
    }

    #[test]
    fn rules_share_a_mark_only_with_the_same_cutoff() {
        let (mut cutoffs, mut accuracy) = (table("cutoffs"), table("cutoff_accuracy"));
        for (rule, cutoff, sensitivity) in
            [("youden", 2.5857, 0.773), ("difference", 2.5883, 0.7716), ("corner", 2.5857, 0.773)]
        {
            let row = cutoffs.row().text("grouping", EVERYBODY).text("group", EVERYBODY).text("rule", rule);
            row.real("cutoff", Some(cutoff)).done().expect("a row");
            for (measure, value) in [("sensitivity", sensitivity), ("specificity", 0.7)] {
                let row = accuracy.row().text("grouping", EVERYBODY).text("group", EVERYBODY);
                let row = row.text("rule", rule).text("measure", measure).text("cutoff_uncertainty", "fixed");
                row.real("value", Some(value)).done().expect("a row");
            }
        }
        let (tables, labels) = ([cutoffs, accuracy], Labels::default());
        let source = Source { tables: &tables, labels: &labels, width: sheet::WIDTH };
        let bundle = Bundle { key: vec![""; KEY.len()], rows: Vec::new() };
        let marks: Vec<(String, f64, String)> = choices(&source, &bundle)
            .into_iter()
            .map(|choice| (choice.heading, choice.sensitivity, choice.rules.join("; ")))
            .collect();
        let mark = |heading: &str, share: f64, rules: &str| (heading.to_owned(), share, rules.to_owned());
        assert_eq!(
            marks,
            [mark("cutoff 2.586", 0.773, "youden; corner"), mark("cutoff 2.588", 0.7716, "difference")]
        );
    }
}
