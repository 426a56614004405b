//! How the verdict on a group is drawn and called: filled where it is sure, hollow where it is not.

use crate::table::Row;
use crate::table::verdicts::{could_be_chance, told};

use super::forest::Whisker;
use super::palette::{Colour, ESTIMATE, EVERYBODY, THRESHOLD};
use super::scene::{Shape, Stroke};
use super::sheet::Swatch;

/// Verdicts in the order of the key, and whether they could be chance.
const KEY: [(&str, bool); 5] =
    [("holds", false), ("holds", true), ("fails", false), ("fails", true), ("undecided", false)];

/// The mark of a row whose number is printed.
pub(super) fn whisker(row: &Row<'_>, confidence: f64) -> Option<Whisker> {
    let everybody = row.text("grouping") == super::select::EVERYBODY;
    let chance = could_be_chance(row, confidence);
    row.shown("value").map(|value| Whisker {
        value,
        interval: row.shown("lower").zip(row.shown("upper")),
        shape: shape(everybody, chance),
        hollow: is_hollow(row.text("verdict"), chance),
        colour: colour(row.text("verdict"), everybody),
    })
}

/// The verdicts that are drawn, each with its mark; everybody last.
pub(super) fn key(rows: &[Row<'_>], confidence: f64) -> Vec<(Swatch, String)> {
    let drawn: Vec<Row<'_>> = rows.iter().filter(|row| row.shown("value").is_some()).copied().collect();
    let is_everybody = |row: &&Row<'_>| row.text("grouping") == super::select::EVERYBODY;
    let of_key = |(verdict, chance): (&str, bool)| {
        let same =
            |row: &&Row<'_>| row.text("verdict") == verdict && could_be_chance(row, confidence) == chance;
        let row = drawn.iter().find(same)?;
        let stroke = Stroke::solid(colour(verdict, false), 2.0);
        Some((swatch(shape(false, chance), is_hollow(verdict, chance), stroke), told(row, confidence)))
    };
    let diamond = drawn.iter().find(is_everybody).map(|row| {
        let verdict = row.text("verdict");
        let stroke = Stroke::solid(colour(verdict, true), 2.0);
        (swatch(Shape::Diamond, is_hollow(verdict, false), stroke), "everybody".to_owned())
    });
    KEY.into_iter().filter_map(of_key).chain(diamond).collect()
}

fn swatch(shape: Shape, hollow: bool, stroke: Stroke) -> Swatch {
    if hollow { Swatch::Ring(shape, stroke) } else { Swatch::Dot(shape, stroke) }
}

/// What could be chance differs in shape too: an undecided group is hollow as well.
fn shape(everybody: bool, chance: bool) -> Shape {
    match (everybody, chance) {
        (true, _) => Shape::Diamond,
        (false, true) => Shape::Square,
        (false, false) => Shape::Circle,
    }
}

/// Orange fails; without a verdict everybody has a colour of their own.
fn colour(verdict: &str, everybody: bool) -> Colour {
    match verdict {
        "fails" => THRESHOLD,
        "" if everybody => EVERYBODY,
        _ => ESTIMATE,
    }
}

fn is_hollow(verdict: &str, chance: bool) -> bool {
    chance || !["holds", "fails", ""].contains(&verdict)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Table, schema};

    #[test]
    fn a_verdict_that_could_be_chance_is_drawn_and_called_otherwise() {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for (grouping, verdict, p) in [
            ("everybody", "holds", None),
            ("sex", "holds", Some(0.01)),
            ("sex", "holds", Some(0.1)),
            ("sex", "undecided", Some(0.4)),
        ] {
            let row = table.row().text("grouping", grouping).text("verdict", verdict);
            row.real("value", Some(20.0)).real("p_holm", p).done().expect("a row");
        }
        let rows: Vec<Row<'_>> = table.iter().collect();
        let marks: Vec<(Shape, bool)> =
            rows.iter().filter_map(|row| whisker(row, 0.95)).map(|mark| (mark.shape, mark.hollow)).collect();
        let want =
            [(Shape::Diamond, false), (Shape::Circle, false), (Shape::Square, true), (Shape::Circle, true)];
        assert_eq!(marks, want);
        let words: Vec<String> = key(&rows, 0.95).into_iter().map(|(_, words)| words).collect();
        assert_eq!(words, ["holds", "holds, could be chance", "undecided", "everybody"]);
    }
}
