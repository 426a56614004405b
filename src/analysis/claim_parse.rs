//! A claim as it is typed: words in any case, a comparison, a number of per cent.

use thiserror::Error;

use super::claim_form::{Bound, Form};

/// Percentage points by which "t is percentile p" may miss, when the claim does not say.
const PERCENTILE_WITHIN: f64 = 5.0;
/// Per cent of everybody who may lie between the best cutoff and t, when the claim does not say.
const CUTOFF_WITHIN: f64 = 10.0;

/// A claim that is in none of the forms.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the claim \"{found}\" cannot be read: {slip}")]
pub struct FormError {
    pub found: String,
    pub slip: Slip,
}

/// What is wrong with a claim.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Slip {
    /// The form is known, its number is not one of per cent.
    #[error("{0}")]
    Number(String),
    #[error(
        "{0}. In numbers, \"finds most people with it\" is \"sensitivity at least 50 %\"; \"below is fine\" or \"below is safe\" \
         is \"npv at least 90 %\" (of those below, so many do not have it); \"above means you have it\" is \"ppv at least 50 %\". \
         Known forms: \"share at most 25 %\", \"share beyond at least 10 %\", \"percentile 75\", \"percentile 75 within 5\", \
         \"sensitivity at least 80 %\" (or specificity, ppv, npv), \"best cutoff\", \"best cutoff within 10 %\""
    )]
    Words(String),
}

/// Words for the measures of accuracy that a claim can name.
const ACCURACY: &[(&[&str], &str)] = &[
    (&["sensitivity", "se"], "sensitivity"),
    (&["specificity", "sp"], "specificity"),
    (&["ppv", "positive predictive value"], "ppv"),
    (&["npv", "negative predictive value"], "npv"),
];

/// A comparison in words, and the bound that it makes of a number.
type Comparison = (&'static str, fn(f64) -> Bound);

/// Longer words first, where one begins with another.
const COMPARISONS: &[Comparison] = &[
    ("at least", Bound::AtLeast),
    ("no less than", Bound::AtLeast),
    ("not less than", Bound::AtLeast),
    (">=", Bound::AtLeast),
    ("no more than", Bound::AtMost),
    ("not more than", Bound::AtMost),
    ("at most", Bound::AtMost),
    ("up to", Bound::AtMost),
    ("<=", Bound::AtMost),
    ("more than", Bound::MoreThan),
    ("over", Bound::MoreThan),
    ("above", Bound::MoreThan),
    (">", Bound::MoreThan),
    ("less than", Bound::LessThan),
    ("fewer than", Bound::LessThan),
    ("under", Bound::LessThan),
    ("below", Bound::LessThan),
    ("<", Bound::LessThan),
];

impl Form {
    /// Reads a claim as it is written.
    pub fn parse(written: &str) -> Result<Self, FormError> {
        let fail = |slip: Slip| FormError { found: written.to_owned(), slip };
        let text = plain(written);
        if let Some(rest) = text.strip_prefix("best cutoff") {
            return Ok(Self::BestCutoff { within: margin(rest).map_err(fail)? });
        }
        if let Some(rest) = text.strip_prefix("percentile") {
            let (percentile, within) = rest.split_once("within").unwrap_or((rest, ""));
            let percentile = percent(percentile).map_err(fail)?;
            let within = if within.is_empty() { PERCENTILE_WITHIN } else { points(within).map_err(fail)? };
            return Ok(Self::Percentile { percentile, within });
        }
        let (subject, bound) = bound(&text).map_err(fail)?;
        if subject == "share" {
            return Ok(Self::Share(bound));
        }
        if subject == "share beyond" {
            return Ok(Self::ShareBeyond(bound));
        }
        let measure = ACCURACY.iter().find(|(names, _)| names.contains(&subject)).map(|(_, name)| *name);
        let measure = measure
            .ok_or_else(|| fail(Slip::Words(format!("\"{subject}\" is not something it can speak of"))))?;
        Ok(Self::Accuracy { measure, bound })
    }
}

/// Lower case, one blank between words, signs as words, per cent as `%` behind its number.
fn plain(written: &str) -> String {
    let signs =
        [("\u{2265}", " >= "), ("\u{2264}", " <= "), ("per cent", "%"), ("%", " % "), ("±", " within ")];
    let text = signs.iter().fold(written.to_lowercase(), |text, (sign, words)| text.replace(sign, words));
    let words = text.split_whitespace().map(|word| if word == "percent" { "%" } else { word });
    words.collect::<Vec<_>>().join(" ").replace(" is at ", " at ")
}

/// `sensitivity at least 80 %` as its subject and its bound.
fn bound(text: &str) -> Result<(&str, Bound), Slip> {
    for (words, bound) in COMPARISONS {
        if let Some((subject, number)) = text.split_once(words) {
            return Ok((subject.trim(), bound(percent(number)?)));
        }
    }
    Err(Slip::Words("it says neither \"at least\" nor \"at most\" a number of per cent".to_owned()))
}

fn margin(rest: &str) -> Result<f64, Slip> {
    let rest = rest.trim();
    match rest.strip_prefix("within") {
        Some(number) => percent(number),
        None if rest.is_empty() => Ok(CUTOFF_WITHIN),
        None => Err(Slip::Words(format!("\"{rest}\" was not expected after \"best cutoff\""))),
    }
}

/// A number of per cent; a proportion is refused unless its `%` says that it is none.
fn percent(text: &str) -> Result<f64, Slip> {
    let number = points(text)?;
    if number > 0.0 && number <= 1.0 && !text.contains('%') {
        let meant = crate::table::number::significant(100.0 * number, 6);
        return Err(Slip::Number(format!(
            "\"{number}\" would be {number} %; did you mean {meant} %? Write \"{meant} %\", or \"{number} %\" if you mean so little"
        )));
    }
    Ok(number)
}

/// A number from 0 to 100, with or without `%`.
fn points(text: &str) -> Result<f64, Slip> {
    let text = text.trim().trim_end_matches('%').trim();
    match text.parse::<f64>() {
        Ok(number) if (0.0..=100.0).contains(&number) => Ok(number),
        Ok(number) => Err(Slip::Number(format!("a share is from 0 to 100 %, found {number}"))),
        Err(_) => Err(Slip::Words(format!("\"{text}\" is not a number of per cent"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_is_read_as_it_is_written() {
        let accuracy = |measure, bound| Form::Accuracy { measure, bound };
        let cases = [
            ("share at most 25%", Form::Share(Bound::AtMost(25.0))),
            ("Share beyond at least 10 %", Form::ShareBeyond(Bound::AtLeast(10.0))),
            ("share no more than 25 per cent", Form::Share(Bound::AtMost(25.0))),
            ("percentile 75", Form::Percentile { percentile: 75.0, within: 5.0 }),
            ("percentile 75 within 2.5", Form::Percentile { percentile: 75.0, within: 2.5 }),
            ("percentile 75 ± 1", Form::Percentile { percentile: 75.0, within: 1.0 }),
            ("Se at least 80 %", accuracy("sensitivity", Bound::AtLeast(80.0))),
            ("npv at most 90", accuracy("npv", Bound::AtMost(90.0))),
            ("npv at least 90 percent", accuracy("npv", Bound::AtLeast(90.0))),
            ("sensitivity more than 50 %", accuracy("sensitivity", Bound::MoreThan(50.0))),
            ("ppv over 50%", accuracy("ppv", Bound::MoreThan(50.0))),
            ("ppv under 0.5 %", accuracy("ppv", Bound::LessThan(0.5))),
            ("specificity less than 30", accuracy("specificity", Bound::LessThan(30.0))),
            ("specificity ≥ 30", accuracy("specificity", Bound::AtLeast(30.0))),
            ("best cutoff", Form::BestCutoff { within: 10.0 }),
            ("best cutoff within 20 %", Form::BestCutoff { within: 20.0 }),
        ];
        for (written, form) in cases {
            assert_eq!(Form::parse(written), Ok(form), "{written}");
        }
        for written in ["share", "share at most", "share at most 250", "luck at least 5", "best cutoff 2", ""]
        {
            assert!(Form::parse(written).is_err(), "{written}");
        }
    }

    #[test]
    fn a_proportion_is_not_taken_for_per_cent() {
        for written in ["npv at least 0.9", "share at most 1", "percentile 0.75", "best cutoff within 0.1"] {
            let problem = Form::parse(written).expect_err(written).slip.to_string();
            assert!(problem.contains("did you mean"), "{problem}");
        }
        let said = Form::parse("npv at least 0.9").expect_err("a proportion").slip.to_string();
        assert!(said.starts_with("\"0.9\" would be 0.9 %; did you mean 90 %? Write \"90 %\""), "{said}");
        assert!(Form::parse("npv at least 0").is_ok() && Form::parse("share at least 1 %").is_ok());
    }

    #[test]
    fn everyday_claims_are_translated() {
        let said = Form::parse("is fine").expect_err("no number").to_string();
        assert!(said.contains("\"below is fine\" or \"below is safe\" is \"npv at least 90 %\""), "{said}");
    }
}
