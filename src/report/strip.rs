//! The numbers of a sentence as marks on one scale, so that an eye sees how far apart the lowest and the highest group lie.

use serde::Serialize;

use crate::chart::Labels;
use crate::table::Row;

use super::ends::Ends;

/// How wide a strip is drawn, in the units of its drawing.
const WIDTH: f64 = 110.0;
/// What is kept free at either end, so that a mark there is whole.
const MARGIN: f64 = 6.0;

/// Numbers on one scale, in parts with a title each.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Strip {
    parts: Vec<Part>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Part {
    title: String,
    marks: Vec<Mark>,
}

/// One number with its interval: where they are drawn, and as text.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Mark {
    label: String,
    number: String,
    /// Everybody's, which is drawn fuller.
    everybody: bool,
    at: Option<f64>,
    /// Where the line through it begins and ends.
    line: Option<(f64, f64)>,
}

/// On what a strip is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scale {
    /// From 0 to 100.
    Percent,
    /// From the least to the greatest of its own numbers.
    Own,
}

/// A number to be marked, with its text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Number {
    pub label: String,
    pub text: String,
    pub value: Option<f64>,
    pub ends: Option<(f64, f64)>,
    pub everybody: bool,
}

impl Number {
    /// The number of a row in a column, times a factor; `None` where it is withheld.
    pub(super) fn of(row: &Row<'_>, column: &str, factor: f64, text: String) -> Option<Self> {
        let shown = |column: &str| row.shown(column).map(|value| factor * value);
        Some(Self {
            label: row.text("group").to_owned(),
            text,
            value: Some(shown(column)?),
            ends: shown("lower").zip(shown("upper")),
            everybody: row.text("grouping") == "everybody",
        })
    }
}

/// The lowest group, everybody and the highest group, each by one reading of its row; those that are withheld are left out.
pub(super) fn outer(
    everybody: Option<Row<'_>>,
    ends: Option<&Ends<'_>>,
    number: impl Fn(&Row<'_>) -> Option<Number>,
) -> Vec<Number> {
    let rows = [ends.map(|ends| ends.low.1), everybody, ends.map(|ends| ends.high.1)];
    rows.into_iter().flatten().filter_map(|row| number(&row)).collect()
}

/// A title that says across what the groups of its part lie.
pub(super) fn across(title: String, ends: Option<&Ends<'_>>, labels: &Labels) -> String {
    match ends {
        Some(ends) => format!("{title}, across {}", labels.grouping(ends.low.1.text("grouping"))),
        None => title,
    }
}

impl Strip {
    /// Parts that have no number are left out; `None` where none has.
    pub(super) fn new(scale: Scale, parts: Vec<(String, Vec<Number>)>) -> Option<Self> {
        let (low, high) = span(scale, &parts)?;
        let place = |value: f64| {
            let share = if high > low { ((value - low) / (high - low)).clamp(0.0, 1.0) } else { 0.5 };
            (10.0 * (MARGIN + share * (WIDTH - 2.0 * MARGIN))).round() / 10.0
        };
        let mark = |number: Number| Mark {
            label: number.label,
            number: number.text,
            everybody: number.everybody,
            at: number.value.map(place),
            line: number.ends.map(|(from, to)| (place(from), place(to))),
        };
        let part = |(title, numbers): (String, Vec<Number>)| Part {
            title,
            marks: numbers.into_iter().map(mark).collect(),
        };
        Some(Self { parts: parts.into_iter().filter(|(_, numbers)| !numbers.is_empty()).map(part).collect() })
    }
}

/// From where to where a scale runs.
fn span(scale: Scale, parts: &[(String, Vec<Number>)]) -> Option<(f64, f64)> {
    let numbers = || parts.iter().flat_map(|(_, numbers)| numbers);
    numbers().next()?;
    if scale == Scale::Percent {
        return Some((0.0, 100.0));
    }
    let all = || {
        numbers().flat_map(|one| one.value.into_iter().chain(one.ends.into_iter().flat_map(|(a, b)| [a, b])))
    };
    Some((all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(label: &str, value: Option<f64>, ends: Option<(f64, f64)>) -> Number {
        Number { label: label.to_owned(), text: String::new(), value, ends, everybody: label == "everybody" }
    }

    #[test]
    fn per_cents_are_drawn_from_0_to_100_and_other_numbers_between_their_own_ends() {
        let parts = || {
            let numbers =
                vec![number("a", Some(25.0), Some((0.0, 50.0))), number("everybody", Some(50.0), None)];
            vec![("those".to_owned(), numbers), ("nobody".to_owned(), Vec::new())]
        };
        let drawn = |scale| {
            let Strip { parts } = Strip::new(scale, parts()).expect("two numbers");
            assert_eq!(parts.len(), 1, "a part without numbers is left out");
            let marks = &parts[0].marks;
            assert!(!marks[0].everybody && marks[1].everybody);
            marks.iter().map(|mark| (mark.at, mark.line)).collect::<Vec<_>>()
        };
        // 98 units lie between the margins.
        assert_eq!(drawn(Scale::Percent), [(Some(30.5), Some((6.0, 55.0))), (Some(55.0), None)]);
        assert_eq!(drawn(Scale::Own), [(Some(55.0), Some((6.0, 104.0))), (Some(104.0), None)]);
    }

    #[test]
    fn nothing_is_drawn_of_no_number_and_a_lone_one_stands_in_the_middle() {
        assert_eq!(Strip::new(Scale::Own, vec![("none".to_owned(), Vec::new())]), None);
        let alone = Strip::new(Scale::Own, vec![(String::new(), vec![number("a", Some(3.0), None)])]);
        assert_eq!(alone.expect("a number").parts[0].marks[0].at, Some(55.0));
    }
}
