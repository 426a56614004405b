//! A number as people write it: `5,6 mmol/L`, `<2uU/mL`, `39in`.

use std::f64::consts::SQRT_2;

use super::answer::{AnswerError, Given, is_decimal_comma, same_unit, with_a_point};
use super::plausible::{Likelihood, plausible};
use super::{Quantity, UnitRow, nearest::hint};
use crate::table::number::significant;

/// What stands before the limit of detection in place of a value.
const BELOW: char = '<';
/// What stands before the end of what an assay measures.
const ABOVE: [char; 2] = ['>', '≥'];
/// What stands before a value that is not reached.
const NOT_REACHED: [char; 2] = [BELOW, '≤'];
/// How the quantities are called that are read so.
const READ_BELOW: &str = "insulin";
/// Digits of a usual value in a message.
const DIGITS: usize = 2;
/// Decimals that are kept of a value in another unit.
const KEPT: f64 = 1e6;

/// How inches are written.
const INCHES: &[&str] = &["in", "inch", "inches", "\"", "″", "”"];
/// How grams per litre are written: of glucose and fats one is 100 mg/dL.
const GRAMS: &[&str] = &["g/l"];

/// Units in which people are measured too, and what one of them is in the first unit of the quantity.
const OTHER_UNITS: [(&str, &[&str], f64); 6] = [
    ("waist", INCHES, 2.54),
    ("height", INCHES, 2.54),
    ("body_weight", &["lb", "lbs", "pound", "pounds"], 0.453_592_37),
    ("glucose", GRAMS, 100.0),
    ("triglycerides", GRAMS, 100.0),
    ("hdl", GRAMS, 100.0),
];

/// A number with its unit, and the limit where it is given as below one: limit / √2 stands in then, as in the survey.
pub(super) fn number(
    quantity: &Quantity,
    written: &str,
    factor: Option<f64>,
) -> Result<(Given, Option<f64>), AnswerError> {
    let (mark, rest) = marked(written);
    let pointed = pointed(quantity, (mark, rest))?;
    let (value, digits, unit) = parts(quantity, (mark, &pointed))?;
    let other = in_first_unit(quantity, unit, value);
    let unit = if other.is_some() { 0 } else { position(quantity, (mark, digits), unit)? };
    // What has no unit is asked for one first: as a bound, too, it says something only in its unit.
    let below = below(quantity, written)?;
    if let Some(first) = other {
        return Ok((Given::Number { value: first, unit, factor: None }, None));
    }
    let factor = chosen_factor(quantity, &quantity.units[unit], factor)?;
    if !below {
        return Ok((Given::Number { value, unit, factor }, None));
    }
    let too_high =
        quantity.plausible.is_some_and(|usual| quantity.units[unit].to_first(value, factor) > usual);
    if too_high {
        let found = written.to_owned();
        return Err(AnswerError::TooHighALimit { quantity: quantity.name.clone(), found });
    }
    Ok((Given::Number { value: value / SQRT_2, unit, factor }, Some(value)))
}

/// Whether a quantity may be given as below a limit of detection.
pub(super) fn may_be_below(quantity: &Quantity) -> bool {
    quantity.name.starts_with(READ_BELOW)
}

/// What follows the mark of a bound, and whether the value lies above it; `None` where there is no mark.
#[must_use]
pub fn bound(written: &str) -> Option<(&str, bool)> {
    let written = written.trim();
    let above = written.strip_prefix(ABOVE).map(|rest| (rest, true));
    above.or_else(|| written.strip_prefix(NOT_REACHED).map(|rest| (rest, false)))
}

/// The mark of a bound, empty where there is none, and what follows it.
fn marked(written: &str) -> (&str, &str) {
    let rest = bound(written).map_or(written, |(rest, _)| rest);
    (&written[..written.len() - rest.len()], rest.trim_start())
}

/// Whether a value lies below a limit of detection; any other bound is refused.
fn below(quantity: &Quantity, written: &str) -> Result<bool, AnswerError> {
    let (name, found) = (|| quantity.name.clone(), || written.to_owned());
    match bound(written) {
        None => Ok(false),
        Some((_, true)) => Err(AnswerError::Above { quantity: name(), found: found() }),
        Some((_, false)) if may_be_below(quantity) && written.starts_with(BELOW) => Ok(true),
        Some(_) => Err(AnswerError::NotBelow { quantity: name(), found: found() }),
    }
}

/// The text with a decimal point; a comma that may stand for thousands is refused.
fn pointed(quantity: &Quantity, (mark, written): (&str, &str)) -> Result<String, AnswerError> {
    match with_a_point(written) {
        Some(pointed) if !is_decimal_comma(written) => {
            let (quantity, found) = (quantity.name.clone(), format!("{mark}{written}"));
            let (pointed, whole) =
                (format!("{mark}{pointed}"), format!("{mark}{}", written.replace(',', "")));
            Err(AnswerError::Comma { quantity, found, pointed, whole })
        }
        pointed => Ok(pointed.unwrap_or_else(|| written.to_owned())),
    }
}

/// The number, its digits and its unit.
fn parts<'a>(
    quantity: &Quantity,
    (mark, written): (&str, &'a str),
) -> Result<(f64, &'a str, &'a str), AnswerError> {
    let (name, found) = (|| quantity.name.clone(), || format!("{mark}{written}"));
    let end = written.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c))).unwrap_or(written.len());
    let (digits, unit) = (&written[..end], written[end..].trim());
    if digits.parse::<f64>().is_ok_and(|x| x < 0.0) {
        return Err(AnswerError::Negative { quantity: name(), found: found() });
    }
    let value = digits.parse::<f64>().ok().filter(|x| x.is_sign_positive() && !unit.starts_with(','));
    let value = value.ok_or_else(|| AnswerError::NotANumber {
        quantity: name(),
        found: found(),
        expected: format!("a number with a decimal point and its unit: {}", usual(quantity)),
    })?;
    Ok((value, digits, unit))
}

/// A value in inches, pounds or grams per litre in the first unit of the quantity.
fn in_first_unit(quantity: &Quantity, unit: &str, value: f64) -> Option<f64> {
    let fits = |(name, units, _): &&(&str, &[&str], f64)| {
        *name == quantity.name && units.iter().any(|known| same_unit(known, unit))
    };
    let (_, _, factor) = OTHER_UNITS.iter().find(fits)?;
    Some((value * factor * KEPT).round() / KEPT)
}

fn position(quantity: &Quantity, (mark, digits): (&str, &str), unit: &str) -> Result<usize, AnswerError> {
    let name = || quantity.name.clone();
    match (unit, quantity.units.len()) {
        ("", 1) => Ok(0),
        ("", _) => {
            let examples = examples(quantity, (mark, digits));
            Err(AnswerError::NoUnit { quantity: name(), found: format!("{mark}{digits}"), examples })
        }
        (unit, _) => {
            let known = quantity.units.iter().map(|row| row.unit.as_str());
            let found = quantity.units.iter().position(|row| same_unit(&row.unit, unit));
            found.ok_or_else(|| AnswerError::UnknownUnit {
                quantity: name(),
                found: unit.to_owned(),
                hint: hint(unit, known),
            })
        }
    }
}

/// The number in every unit in which it is usual, for a message; else in those in which it is possible, else in all.
fn examples(quantity: &Quantity, (mark, digits): (&str, &str)) -> String {
    let judged = |row: &UnitRow| {
        let value = digits.parse().ok()?;
        Some(plausible(&quantity.name)?.judge(row.to_first(value, row.choices.first().copied())))
    };
    let of = |wanted: Likelihood| -> Vec<&UnitRow> {
        quantity.units.iter().filter(|row| judged(row) == Some(wanted)).collect()
    };
    let rows = [of(Likelihood::Usual), of(Likelihood::Unusual), quantity.units.iter().collect()];
    let rows = rows.into_iter().find(|rows| !rows.is_empty()).unwrap_or_default();
    listed(rows.into_iter().map(|row| (format!("{mark}{digits}"), row)))
}

/// The usual value in every unit, for a message.
fn usual(quantity: &Quantity) -> String {
    let value =
        |row: &UnitRow| quantity.plausible.map(|first| row.from_first(first, row.choices.first().copied()));
    let shown =
        |row: &UnitRow| value(row).map_or_else(|| "1.5".to_owned(), |value| significant(value, DIGITS));
    listed(quantity.units.iter().map(|row| (shown(row), row)))
}

fn listed<'a>(written: impl Iterator<Item = (String, &'a UnitRow)>) -> String {
    let words: Vec<String> =
        written.map(|(digits, row)| format!("{digits}{}", row.unit.replace(' ', ""))).collect();
    words.join(" or ")
}

fn chosen_factor(
    quantity: &Quantity,
    unit: &UnitRow,
    factor: Option<f64>,
) -> Result<Option<f64>, AnswerError> {
    if unit.choices.is_empty() {
        return Ok(None);
    }
    match factor {
        Some(factor) if unit.choices.contains(&factor) => Ok(Some(factor)),
        Some(found) => Err(AnswerError::UnknownFactor {
            quantity: quantity.name.clone(),
            found,
            known: unit.choices.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        }),
        None => Err(AnswerError::NoFactor {
            quantity: quantity.name.clone(),
            unit: unit.unit.clone(),
            first: quantity.units[0].unit.clone(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::bound;
    use crate::definitions::answer::{Answer, AnswerError, Given};
    use crate::definitions::quantity::quantity;

    fn read(name: &str, written: &str) -> Result<Answer, AnswerError> {
        Answer::read(quantity(name).expect("a built-in quantity"), written, Some(6.0))
    }

    fn said(name: &str, written: &str) -> String {
        read(name, written).expect_err("refused").to_string()
    }

    #[test]
    fn only_units_in_which_somebody_has_the_number_are_suggested() {
        for (name, written, expected) in [
            ("glucose", "210", "write it as 210mg/dL"),
            ("glucose", "101", "write it as 101mg/dL"),
            ("glucose", "5.6", "write it as 5.6mmol/L"),
            ("insulin", "59", "write it as 59uU/mL or 59pmol/L"),
            ("glucose", "9999", "9999mg/dL or 9999mmol/L"),
            ("glucose", "high", "and its unit: 95mg/dL or 5.3mmol/L"),
            // The mark of a bound is part of what was written.
            (
                "insulin",
                "<2",
                "insulin: <2 has no unit, and the same number in another unit is another value; write it as <2uU/mL",
            ),
            ("insulin", "< 2", "write it as <2uU/mL"),
            ("insulin", ">300", "write it as >300pmol/L"),
            ("glucose", ">300", "write it as >300mg/dL"),
            ("glucose", "≥300", "write it as ≥300mg/dL"),
            ("glucose", "≤40", "write it as ≤40mg/dL or ≤40mmol/L"),
            ("glucose", "<1,234mg/dL", "write <1234mg/dL or <1.234mg/dL, whichever is meant"),
        ] {
            assert!(said(name, written).ends_with(expected), "{}", said(name, written));
        }
    }

    #[test]
    fn a_value_below_the_limit_of_detection_is_filled_and_said_to_be() {
        let insulin = quantity("insulin").expect("built in");
        for written in ["<2uU/mL", "< 2 mU/L"] {
            let answer = read("insulin", written).expect("readable");
            assert!(
                matches!(answer.given, Given::Number { value, .. } if (value * value - 2.0).abs() < 1e-12)
            );
            assert_eq!((answer.below, answer.in_words(insulin)), (Some(2.0), "<2 uU/mL".to_owned()));
            let doubt = answer.doubt(insulin).expect("a caution");
            assert!(doubt.starts_with("fasting insulin is below 2 uU/mL"), "{doubt}");
            assert!(doubt.contains("computed with 1.41 (2 / √2)"), "{doubt}");
        }
        assert!(matches!(read("glucose", "<20mg/dL"), Err(AnswerError::NotBelow { .. })));
        for (name, above) in [("glucose", ">300mg/dL"), ("insulin", "≥300uU/mL")] {
            assert!(said(name, above).contains("no index can be computed from it"), "{above}");
        }
        assert_eq!(bound(" > 300mg/dL"), Some((" 300mg/dL", true)));
        assert_eq!((bound("<40mg/dL"), bound("40mg/dL")), (Some(("40mg/dL", false)), None));
        // The usual range as a laboratory prints it is no limit.
        assert!(matches!(read("insulin", "<25uU/mL"), Err(AnswerError::TooHighALimit { .. })));
    }

    #[test]
    fn nothing_measured_is_0() {
        let insulin = said("insulin", "0uU/mL");
        assert_eq!(
            insulin,
            "insulin: 0 is no measurement; below the limit of detection, write the limit: <2uU/mL"
        );
        assert!(matches!(read("insulin", "<0uU/mL"), Err(AnswerError::Zero { .. })));
        for (name, written) in
            [("glucose", "0mmol/L"), ("triglycerides", "0mg/dL"), ("bmi", "0"), ("waist", "0")]
        {
            assert!(matches!(read(name, written), Err(AnswerError::Zero { .. })), "{name}");
        }
        assert!(read("fasting", "0").is_ok() && read("age", "0").is_ok());
    }

    #[test]
    fn inches_pounds_and_grams_per_litre_are_turned_into_the_first_unit() {
        // hand: 39 × 2.54 = 99.06; 1.01 g/L = 1010 mg/L = 101 mg/dL; 70 × 2.54 = 177.8; 100 × 0.45359237 = 45.359237.
        for (name, written, expected) in [
            ("waist", "39in", 99.06),
            ("waist", "39 inches", 99.06),
            ("waist", "39\"", 99.06),
            ("glucose", "1.01g/L", 101.0),
            ("triglycerides", "1,5 g/l", 150.0),
            ("hdl", "0.43 g/L", 43.0),
            ("height", "70inch", 177.8),
            ("body_weight", "100lb", 45.359_237),
        ] {
            let given = read(name, written).expect("readable").given;
            assert_eq!(given, Given::Number { value: expected, unit: 0, factor: None }, "{name}");
        }
        assert!(matches!(read("bmi", "31in"), Err(AnswerError::UnknownUnit { .. })));
        assert!(matches!(read("glucose", "<1.01g/L"), Err(AnswerError::NotBelow { .. })));
    }

    #[test]
    fn an_hba1c_that_nobody_has_is_asked_for_in_the_other_unit() {
        // hand: 0.09148 × 5.7 + 2.152 = 2.67 %.
        let refused = said("a1c", "5.7mmol/mol");
        assert_eq!(refused, "a1c: 5.7 mmol/mol is hardly possible, and 5.7% would be usual; check the unit");
        assert!(read("a1c", "39mmol/mol").is_ok() && read("a1c", "5.7%").is_ok());
    }
}
