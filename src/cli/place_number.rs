//! Numbers that are options of `cutspan place`: the factor of insulin in pmol/L, and coefficients of variation.

use anyhow::{Result, anyhow, bail};

use super::person::stated;
use crate::definitions::answer::{Answer, Given, with_a_point};

/// The international standard: taken, with the other beside it, where the factor is not known.
const USUAL_FACTOR: f64 = 6.0;
/// The older factor as laboratories print it, rounded, and in full.
const ROUNDED: (f64, f64) = (6.95, 6.945);

/// The factor of insulin in pmol/L, and whether it is one taken because nobody knows it.
pub(super) fn insulin_factor(written: Option<&str>) -> Result<(Option<f64>, bool)> {
    match written {
        None => Ok((None, false)),
        Some(unknown) if stated(unknown).is_none() => Ok((Some(USUAL_FACTOR), true)),
        Some(factor) => {
            let number = number(factor)
                .ok_or_else(|| anyhow!("--insulin-factor {factor}: a number is expected, such as 6.00"))?;
            Ok((Some(if is_rounded(number) { ROUNDED.1 } else { number }), false))
        }
    }
}

fn is_rounded(number: f64) -> bool {
    (number - ROUNDED.0).abs() < f64::EPSILON
}

/// What is said of a factor that is taken in full where it was typed rounded.
pub(super) fn taken_in_full(written: &str) -> Option<String> {
    number(written).filter(|number| is_rounded(*number)).map(|number| {
        format!("--insulin-factor {number}: taken as {}, of which it is the rounded form", ROUNDED.1)
    })
}

/// What is said of a factor of which no value makes use; `option` is how it was written.
pub(super) fn unused(option: &str, answers: &[&[Answer]]) -> Option<String> {
    let uses = |answer: &Answer| matches!(answer.given, Given::Number { factor: Some(_), .. });
    let unused = !answers.iter().copied().flatten().any(uses);
    unused.then(|| format!("{option} is not used: no insulin is given in pmol/L"))
}

/// A coefficient of variation in percent, with or without its sign, as a share.
pub(super) fn share(option: &str, written: Option<&str>) -> Result<Option<f64>> {
    let Some(written) = written.and_then(stated) else { return Ok(None) };
    match number(written.trim_end_matches('%')) {
        Some(percent) if percent == 0.0 || (1.0..=200.0).contains(&percent) => Ok(Some(percent / 100.0)),
        Some(percent) => bail!("{option} {percent}: it is a percentage, 0 or 1 to 200 (22 for 22 %)"),
        None => bail!("{option} {written}: a number is expected, such as 22"),
    }
}

/// A number, its decimals after a point or a comma: none of these is ever in the thousands.
fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let pointed = with_a_point(text);
    pointed.as_deref().unwrap_or(text).parse::<f64>().ok().filter(|number| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    #[test]
    fn a_factor_may_have_a_decimal_comma() {
        for (written, expected) in [("6.945", 6.945), ("6,945", 6.945), ("6,00", 6.0)] {
            assert_eq!(insulin_factor(Some(written)).ok(), Some((Some(expected), false)), "{written}");
        }
        assert_eq!(insulin_factor(Some("6.95")).ok(), Some((Some(6.945), false)));
        assert!(taken_in_full("6,95").is_some_and(|said| said.contains("taken as 6.945")));
        assert_eq!(
            [taken_in_full("6.945"), taken_in_full("6"), taken_in_full("unknown")],
            [None, None, None]
        );
        assert_eq!(insulin_factor(Some("unknown")).ok(), Some((Some(6.0), true)));
        assert_eq!(insulin_factor(None).ok(), Some((None, false)));
        assert!(insulin_factor(Some("six")).is_err() && insulin_factor(Some("6,9,4")).is_err());
    }

    #[test]
    fn a_factor_without_insulin_in_its_unit_is_said_to_be_unused() {
        let insulin = quantity("insulin").expect("built in");
        let read = |written: &str| Answer::read(insulin, written, Some(6.945)).expect("readable");
        let (plain, molar) = ([read("5.6uU/mL")], [read("39pmol/L")]);
        let said = unused("--insulin-factor 6.945", &[&plain]).unwrap_or_default();
        assert_eq!(said, "--insulin-factor 6.945 is not used: no insulin is given in pmol/L");
        assert_eq!(unused("--insulin-factor 6.945", &[&plain, &molar]), None);
    }

    #[test]
    fn a_variation_may_have_its_sign() {
        for written in ["22", "22%", "22 %", "22,0%"] {
            assert_eq!(share("--analytical-cv", Some(written)).ok(), Some(Some(0.22)), "{written}");
        }
        assert_eq!(share("--analytical-cv", Some("unknown")).ok(), Some(None));
        for refused in ["0.2", "300%", "-5", "high"] {
            assert!(share("--analytical-cv", Some(refused)).is_err(), "{refused}");
        }
    }
}
