//! One person's answers as people write them: `101mg/dL`, `no`, `female`.
//!
//! Units and factors are those of the quantities' rows; what is not written is never guessed.

use thiserror::Error;

use super::{ColumnKind, Quantity, nearest::hint, plain_answer, written};

/// Units that are words, and have a singular.
const COUNTED: [&str; 2] = ["years", "hours"];

/// What a person answers to one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    pub quantity: String,
    pub given: Given,
    /// The limit of detection below which the value lies, in the unit of the answer; a fill stands in its place.
    pub below: Option<f64>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Given {
    /// A number in the unit at this position of the quantity's units, and the factor chosen for it.
    Number {
        value: f64,
        unit: usize,
        factor: Option<f64>,
    },
    YesNo(bool),
    Label(String),
}

/// Why an answer cannot be read.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AnswerError {
    #[error("{quantity}: found \"{found}\", expected {expected}")]
    NotANumber { quantity: String, found: String, expected: String },
    #[error(
        "{quantity}: found \"{found}\", in which the comma may stand for thousands: write {whole} or {pointed}, whichever is meant"
    )]
    Comma { quantity: String, found: String, pointed: String, whole: String },
    #[error("{quantity}: found \"{found}\", which is below 0; leave the minus sign out")]
    Negative { quantity: String, found: String },
    #[error("{quantity}: {found} is not possible, expected {expected}; check the number and its unit")]
    Impossible { quantity: String, found: String, expected: String },
    #[error(
        "{quantity}: {found} has no unit, and the same number in another unit is another value; write it as {examples}"
    )]
    NoUnit { quantity: String, found: String, examples: String },
    #[error("{quantity}: \"{found}\" is not a unit of it. {hint}")]
    UnknownUnit { quantity: String, found: String, hint: String },
    #[error(
        "{quantity}: {unit} needs --insulin-factor. Two factors are in print for 1 {first}: 6.00 {unit} (the international \
         standard, and the national survey) and 6.945 {unit} (older tables); they are 15.75 % apart, and so is every index \
         made from them. Ask the laboratory which it uses, then write --insulin-factor 6.00 or --insulin-factor 6.945; or write \
         --insulin-factor unknown to see both"
    )]
    NoFactor { quantity: String, unit: String, first: String },
    #[error("{quantity}: the factor must be one of {known}, found {found}")]
    UnknownFactor { quantity: String, found: f64, known: String },
    #[error("{quantity}: found \"{found}\", expected yes or no")]
    NotYesNo { quantity: String, found: String },
    #[error("{quantity}: found \"{found}\". {hint}")]
    UnknownLabel { quantity: String, found: String, hint: String },
    #[error(
        "{quantity}: {found} is {times} times off what is usual, and would be plausible in {likely}; check the unit"
    )]
    WrongUnit { quantity: String, found: String, times: u64, likely: String },
    #[error("{quantity}: {found} is hardly possible, and {likely} would be usual; check the unit")]
    OtherUnit { quantity: String, found: String, likely: String },
    #[error("{quantity}: 0 is no measurement; {instead}")]
    Zero { quantity: String, instead: String },
    #[error(
        "{quantity}: found \"{found}\", which is a bound and no value: no index can be computed from it; of what is measured, \
         insulin alone is read as below a limit of detection (<2uU/mL)"
    )]
    NotBelow { quantity: String, found: String },
    #[error(
        "{quantity}: found \"{found}\", which is beyond what the assay measures: no index can be computed from it; a \
         laboratory may measure it after dilution"
    )]
    Above { quantity: String, found: String },
    #[error(
        "{quantity}: found \"{found}\", which is too high for a limit of detection; is it the laboratory's usual range? Write \
         the value that was measured"
    )]
    TooHighALimit { quantity: String, found: String },
}

impl Answer {
    /// Reads an answer. `factor` is the one stated for units with several factors in print.
    pub fn read(quantity: &Quantity, written: &str, factor: Option<f64>) -> Result<Self, AnswerError> {
        let written = written.trim();
        let (given, below) = match quantity.kind {
            ColumnKind::Number => written::number(quantity, written, factor)?,
            ColumnKind::YesNo => (Given::YesNo(yes_no(quantity, written)?), None),
            ColumnKind::Category => (Given::Label(label(quantity, written)?), None),
        };
        let answer = Self { quantity: quantity.name.clone(), given, below };
        answer.refuse_impossible(quantity)?;
        Ok(answer)
    }

    /// The answer with its unit, as it was understood.
    #[must_use]
    pub fn in_words(&self, quantity: &Quantity) -> String {
        match &self.given {
            Given::Number { value, unit, factor } => {
                let factor = factor.map(|f| format!(" (÷ {f})")).unwrap_or_default();
                let shown = self.below.map_or_else(|| value.to_string(), |limit| format!("<{limit}"));
                format!("{shown} {}{factor}", counted(*value, &quantity.units[*unit].unit))
            }
            Given::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
            Given::Label(label) => label.clone(),
        }
    }
}

/// A number written with a decimal comma, with a point in its place.
#[must_use]
pub fn with_a_point(written: &str) -> Option<String> {
    let (before, after) = written.split_once(',')?;
    let digit = |c: char| c.is_ascii_digit();
    let between = before.chars().all(digit) && !before.is_empty() && after.starts_with(digit);
    between.then(|| format!("{before}.{after}"))
}

/// Whether a comma can only be a decimal one: thousands are followed by three digits.
pub(super) fn is_decimal_comma(written: &str) -> bool {
    let after = written.split_once(',').map_or("", |(_, after)| after);
    let digits = after.chars().take_while(char::is_ascii_digit).count();
    (1..=2).contains(&digits) && !after[digits..].starts_with([',', '.'])
}

/// A unit beside its number: `1 hour`, `2 hours`.
fn counted(value: f64, unit: &str) -> &str {
    let one = COUNTED.contains(&unit) && (value - 1.0).abs() < f64::EPSILON;
    if one { unit.trim_end_matches('s') } else { unit }
}

fn yes_no(quantity: &Quantity, written: &str) -> Result<bool, AnswerError> {
    plain_answer(written)
        .ok_or_else(|| AnswerError::NotYesNo { quantity: quantity.name.clone(), found: written.to_owned() })
}

/// A label; one of the quantity's levels where formulas depend on them.
fn label(quantity: &Quantity, written: &str) -> Result<String, AnswerError> {
    let known = || quantity.levels.iter().map(String::as_str);
    if quantity.levels.is_empty() {
        return Ok(written.to_owned());
    }
    known().find(|level| level.eq_ignore_ascii_case(written)).map(str::to_owned).ok_or_else(|| {
        AnswerError::UnknownLabel {
            quantity: quantity.name.clone(),
            found: written.to_owned(),
            hint: hint(written, known()),
        }
    })
}

/// Whether two spellings mean one unit: `mmHg`, `kg/m2`, `percent`, `µIU/mL` and `mU/L` for `uU/mL`.
#[must_use]
pub fn same_unit(one: &str, other: &str) -> bool {
    spelling(one) == spelling(other)
}

/// A unit with the sign for micro, which names in files go without.
#[must_use]
pub fn unit_in_print(unit: &str) -> String {
    unit.replace("uU/", "µU/")
}

/// A unit without the marks that people type differently.
fn spelling(unit: &str) -> String {
    let plain = unit.to_lowercase().replace('²', "2").replace(['µ', 'μ'], "u").replace('%', "percent");
    let plain: String = plain.chars().filter(|c| !c.is_whitespace()).collect();
    match plain.as_str() {
        "uiu/ml" | "miu/l" | "mu/l" => "uu/ml".to_owned(),
        "mg/100ml" | "mgpercent" => "mg/dl".to_owned(),
        "y" | "yr" | "yrs" | "year" => "years".to_owned(),
        "h" | "hr" | "hrs" | "hour" => "hours".to_owned(),
        _ => plain,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    fn read(name: &str, written: &str, factor: Option<f64>) -> Result<Answer, AnswerError> {
        Answer::read(quantity(name).expect("a built-in quantity"), written, factor)
    }

    fn number(name: &str, written: &str, factor: Option<f64>) -> (f64, usize) {
        match read(name, written, factor).map(|a| a.given) {
            Ok(Given::Number { value, unit, .. }) => (value, unit),
            other => panic!("{name} {written}: {other:?}"),
        }
    }

    #[test]
    fn units_are_read_however_they_are_spelt() {
        assert_eq!(number("glucose", "101mg/dL", None), (101.0, 0));
        for written in [" 5.6 mmol/l ", "5.6mmol/L", "5,6mmol/L", "5,6 mmol/L", "5.6\u{a0}mmol/L"] {
            assert_eq!(number("glucose", written, None), (5.6, 1), "{written}");
        }
        for written in ["101 mg/dl", "101mg/100ml", "101 mg/100 mL", "101mg%"] {
            assert_eq!(number("glucose", written, None), (101.0, 0), "{written}");
        }
        for unit in ["uU/mL", "µU/mL", "uIU/ml", "mU/L", "mIU/L"] {
            assert_eq!(number("insulin", &format!("9.8{unit}"), None), (9.8, 0), "{unit}");
        }
        assert_eq!(number("insulin", "59pmol/L", Some(6.0)), (59.0, 1));
        assert_eq!(number("age", "47", None), (47.0, 0));
        assert_eq!(number("bmi", "31kg/m2", None), (31.0, 0));
        assert_eq!(number("a1c", "5.7%", None), (5.7, 0));
        assert_eq!(number("age", "47y", None), (47.0, 0));
        assert_eq!(number("fasting", "12h", None), (12.0, 0));
    }

    #[test]
    fn yes_and_no_may_be_a_letter() {
        for (written, expected) in [("y", true), ("N", false), ("Yes", true), ("false", false)] {
            let read = read("diagnosed_diabetes", written, None).map(|answer| answer.given);
            assert_eq!(read, Ok(Given::YesNo(expected)), "{written}");
        }
    }

    #[test]
    fn one_hour_is_no_hours() {
        let words = |name: &str, written: &str| {
            let quantity = quantity(name).expect("a built-in quantity");
            Answer::read(quantity, written, None).expect("readable").in_words(quantity)
        };
        assert_eq!((words("fasting", "1"), words("fasting", "1.5h")), ("1 hour".into(), "1.5 hours".into()));
        assert_eq!((words("age", "1 year"), words("bmi", "31")), ("1 year".into(), "31 kg/m²".into()));
    }

    #[test]
    fn what_is_not_written_is_not_guessed() {
        assert!(matches!(read("glucose", "5.6", None), Err(AnswerError::NoUnit { .. })));
        let message = read("triglycerides", "1,234mg/dL", None).expect_err("a comma").to_string();
        assert!(message.ends_with("write 1234mg/dL or 1.234mg/dL, whichever is meant"), "{message}");
        assert!(
            read("glucose", "1,5,6mmol/L", None).is_err() && read("glucose", "1,5.6mmol/L", None).is_err()
        );
        assert!(matches!(read("glucose", "-5mmol/L", None), Err(AnswerError::Negative { .. })));
        assert!(matches!(read("glucose", "mmol/L", None), Err(AnswerError::NotANumber { .. })));
        let message = read("insulin", "59pmol/L", None).expect_err("no factor").to_string();
        assert!(message.contains("6.00") && message.contains("6.945"), "{message}");
        assert!(message.contains("--insulin-factor unknown"), "{message}");
        assert!(matches!(read("insulin", "59pmol/L", Some(7.0)), Err(AnswerError::UnknownFactor { .. })));
        let message = read("glucose", "5.6mg/L", None).expect_err("no unit of it").to_string();
        assert!(message.contains("mg/dL, mmol/L"), "{message}");
        assert!(matches!(read("sex", "f", None), Err(AnswerError::UnknownLabel { .. })));
        assert!(matches!(read("pregnant", "perhaps", None), Err(AnswerError::NotYesNo { .. })));
    }
}
