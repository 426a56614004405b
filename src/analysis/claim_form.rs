//! Sentences with a threshold, and the forms in which a claim about one can be put to the test.

use thiserror::Error;

use super::claim_verdict::Region;
use crate::study::{StudyIndex, Threshold};

/// Percentage points by which "t is percentile p" may miss, when the claim does not say.
const PERCENTILE_WITHIN: f64 = 5.0;
/// Per cent by which "the best cutoff is t" may miss, when the claim does not say.
pub const CUTOFF_WITHIN: f64 = 10.0;

/// The side of a threshold that a sentence speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Below,
    AtMost,
    AtLeast,
    Above,
}

/// A threshold as a sentence states it: `below 2`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    pub side: Side,
    pub value: f64,
}

impl Side {
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Below => "below",
            Self::AtMost => "at or below",
            Self::AtLeast => "at or above",
            Self::Above => "above",
        }
    }

    fn is_high(self) -> bool {
        matches!(self, Self::AtLeast | Self::Above)
    }

    /// Whether a value exactly at the threshold is on this side.
    fn holds_the_threshold(self) -> bool {
        matches!(self, Self::AtMost | Self::AtLeast)
    }
}

impl Stated {
    /// Whether the stated side is the more resistant one.
    #[must_use]
    pub fn is_beyond(&self, index: &StudyIndex) -> bool {
        self.side.is_high() == (index.sign() > 0)
    }

    /// The threshold as a study states it: a value exactly at it counts as beyond unless it is strict.
    #[must_use]
    pub fn threshold(&self, position: usize, index: &StudyIndex) -> Threshold {
        let at_is_beyond = self.is_beyond(index) == self.side.holds_the_threshold();
        Threshold { index: position, value: self.value, strict: !at_is_beyond, source: "claim".to_owned() }
    }
}

/// What is claimed of a threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// The share of people on the stated side, in per cent.
    Share(Bound),
    /// The share of people at or beyond the threshold, in the order of resistance, in per cent.
    ShareBeyond(Bound),
    /// The threshold is this percentile, give or take some percentage points.
    Percentile { percentile: f64, within: f64 },
    /// Sensitivity, specificity or a predictive value, in per cent.
    Accuracy { measure: &'static str, bound: Bound },
    /// The best cutoff is the threshold, give or take some per cent of it.
    BestCutoff { within: f64 },
}

/// At least or at most so much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    AtLeast(f64),
    AtMost(f64),
}

/// A claim that is in none of the forms.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "the claim \"{found}\" cannot be read: {problem}. Known forms: \"share at most 25 %\", \"share beyond at least 10 %\", \
     \"percentile 75\", \"percentile 75 within 5\", \"sensitivity at least 80 %\" (or specificity, ppv, npv), \
     \"best cutoff\", \"best cutoff within 10 %\""
)]
pub struct FormError {
    pub found: String,
    pub problem: String,
}

/// Words for the measures of accuracy that a claim can name.
const ACCURACY: &[(&[&str], &str)] = &[
    (&["sensitivity", "se"], "sensitivity"),
    (&["specificity", "sp"], "specificity"),
    (&["ppv", "positive predictive value"], "ppv"),
    (&["npv", "negative predictive value"], "npv"),
];

impl Form {
    /// Reads a claim as it is written: words in any case, a number with or without `%`.
    pub fn parse(written: &str) -> Result<Self, FormError> {
        let fail = |problem: String| FormError { found: written.to_owned(), problem };
        let words = written.to_lowercase().replace('%', " ").replace(['±', '\u{2264}', '\u{2265}'], " ");
        let text = words.split_whitespace().collect::<Vec<_>>().join(" ");
        if let Some(rest) = text.strip_prefix("best cutoff") {
            let within = margin(rest, CUTOFF_WITHIN).map_err(fail)?;
            return Ok(Self::BestCutoff { within });
        }
        if let Some(rest) = text.strip_prefix("percentile") {
            let (percentile, within) = rest.split_once(" within").unwrap_or((rest, ""));
            let percentile = percent(percentile).map_err(fail)?;
            let within = if within.is_empty() { PERCENTILE_WITHIN } else { percent(within).map_err(fail)? };
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
        let measure =
            measure.ok_or_else(|| fail(format!("\"{subject}\" is not something it can speak of")))?;
        Ok(Self::Accuracy { measure, bound })
    }

    /// The `measure` that the claim is about.
    #[must_use]
    pub fn measure(&self) -> &'static str {
        match self {
            Self::Share(_) => "share",
            Self::ShareBeyond(_) => "share_beyond",
            Self::Percentile { .. } => "percentile",
            Self::Accuracy { measure, .. } => measure,
            Self::BestCutoff { .. } => "best_cutoff",
        }
    }

    #[must_use]
    pub fn needs_outcome(&self) -> bool {
        matches!(self, Self::Accuracy { .. } | Self::BestCutoff { .. })
    }

    /// The values of the measure, in its own unit, with which the claim is true.
    #[must_use]
    pub fn region(&self, threshold: f64) -> Region {
        match self {
            Self::Share(bound) | Self::ShareBeyond(bound) => bound.region(1.0),
            Self::Accuracy { bound, .. } => bound.region(100.0),
            Self::Percentile { percentile, within } => {
                Region { from: percentile - within, to: percentile + within }
            }
            Self::BestCutoff { within } => {
                let reach = threshold.abs() * within / 100.0;
                Region { from: threshold - reach, to: threshold + reach }
            }
        }
    }
}

impl Bound {
    fn region(self, per: f64) -> Region {
        match self {
            Self::AtLeast(least) => Region { from: least / per, to: f64::INFINITY },
            Self::AtMost(most) => Region { from: f64::NEG_INFINITY, to: most / per },
        }
    }
}

/// `sensitivity at least 80` as its subject and its bound.
fn bound(text: &str) -> Result<(&str, Bound), String> {
    if let Some((subject, number)) = text.split_once(" at least ") {
        return Ok((subject, Bound::AtLeast(percent(number)?)));
    }
    if let Some((subject, number)) = text.split_once(" at most ") {
        return Ok((subject, Bound::AtMost(percent(number)?)));
    }
    Err("it says neither \"at least\" nor \"at most\" a number".to_owned())
}

fn margin(rest: &str, usual: f64) -> Result<f64, String> {
    let rest = rest.trim();
    match rest.strip_prefix("within") {
        Some(number) => percent(number),
        None if rest.is_empty() => Ok(usual),
        None => Err(format!("\"{rest}\" was not expected after \"best cutoff\"")),
    }
}

/// A number of per cent, from 0 to 100.
fn percent(text: &str) -> Result<f64, String> {
    let text = text.trim();
    match text.parse::<f64>() {
        Ok(number) if (0.0..=100.0).contains(&number) => Ok(number),
        Ok(number) => Err(format!("a share is from 0 to 100 %, found {number}")),
        Err(_) => Err(format!("\"{text}\" is not a number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_is_read_as_it_is_written() {
        let cases = [
            ("share at most 25%", Form::Share(Bound::AtMost(25.0))),
            ("Share beyond at least 10 %", Form::ShareBeyond(Bound::AtLeast(10.0))),
            ("percentile 75", Form::Percentile { percentile: 75.0, within: 5.0 }),
            ("percentile 75 within 2.5", Form::Percentile { percentile: 75.0, within: 2.5 }),
            ("Se at least 80 %", Form::Accuracy { measure: "sensitivity", bound: Bound::AtLeast(80.0) }),
            ("npv at most 90", Form::Accuracy { measure: "npv", bound: Bound::AtMost(90.0) }),
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
    fn regions_are_in_the_unit_of_their_measure() {
        let region = |written: &str, t: f64| {
            let region = Form::parse(written).expect("a known form").region(t);
            (region.from, region.to)
        };
        assert_eq!(region("share at most 25", 2.0), (f64::NEG_INFINITY, 25.0));
        assert_eq!(region("sensitivity at least 80", 2.0), (0.8, f64::INFINITY));
        assert_eq!(region("best cutoff within 10", 2.0), (1.8, 2.2));
        assert_eq!(region("best cutoff within 10", -2.0), (-2.2, -1.8));
        assert_eq!(region("percentile 75", 2.0), (70.0, 80.0));
    }
}
