//! Which weight an analysis uses, and weights as integers.

use polars::prelude::*;
use serde::{Deserialize, Serialize};

use super::CohortError;
use crate::definitions::Subsample;
use crate::source::Loaded;

/// Sums of integer weights stay below 2^62, so that an `i64` holds them exactly in any order.
const TOTAL_BITS: f64 = 62.0;

/// Everybody with a positive weight of one subsample.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// `None`: the source has no weights, everybody counts once.
    pub subsample: Option<Subsample>,
    /// Whether the source has this one weight only, so that no subsample needs naming.
    pub sole: bool,
    /// Integer weight = round(weight × 2^`weight_bits`).
    pub weight_bits: i32,
    /// Integer squared weight = round(weight² × 2^`square_bits`).
    pub square_bits: i32,
}

impl Frame {
    /// The name that stands in the `frame` column of the tables.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self.subsample {
            Some(subsample) if !self.sole => subsample_name(subsample),
            _ => "sample",
        }
    }

    /// A sum of integer weights as people of the target population.
    #[must_use]
    pub fn weight(&self, sum: i64) -> f64 {
        sum as f64 * (-f64::from(self.weight_bits)).exp2()
    }

    /// A sum of integer squared weights.
    #[must_use]
    pub fn squared(&self, sum: i64) -> f64 {
        sum as f64 * (-f64::from(self.square_bits)).exp2()
    }
}

/// Name of a subsample as in column names and tables.
#[must_use]
pub const fn subsample_name(subsample: Subsample) -> &'static str {
    match subsample {
        Subsample::Interview => "interview",
        Subsample::Examination => "examination",
        Subsample::Fasting => "fasting",
        Subsample::GlucoseTolerance => "glucose_tolerance",
    }
}

/// The subsample whose weight serves an analysis that reads columns of `needed`: the most
/// restrictive weight the source has that is no more restrictive than needed, else its first.
#[must_use]
pub fn frame_for(available: &[Subsample], needed: Subsample) -> Option<Subsample> {
    available.iter().rev().find(|&&s| s <= needed).or(available.first()).copied()
}

/// The frame of a subsample, with the scale of its integer weights fixed by the total.
pub(super) fn frame(loaded: &Loaded, subsample: Option<Subsample>) -> Result<Frame, CohortError> {
    let Some(subsample) = subsample else {
        let people = loaded.frame.height().max(1) as f64;
        let bits = bits_for(people);
        return Ok(Frame { subsample: None, sole: true, weight_bits: bits, square_bits: bits });
    };
    let name = subsample_name(subsample);
    let weights = loaded.frame.column(&format!("weight_{name}"))?.f64()?;
    let (mut total, mut squares) = (0.0, 0.0);
    for (row, weight) in weights.iter().enumerate() {
        let weight = weight.unwrap_or(0.0);
        if !(weight >= 0.0 && weight.is_finite()) {
            let person = loaded.frame.column("person")?.str()?.get(row).unwrap_or_default().to_owned();
            return Err(CohortError::Weight { person, frame: name, weight });
        }
        total += weight;
        squares += weight * weight;
    }
    if total <= 0.0 {
        return Err(CohortError::NoWeight(name));
    }
    Ok(Frame {
        subsample: Some(subsample),
        sole: loaded.weights.len() == 1,
        weight_bits: bits_for(total),
        square_bits: bits_for(squares),
    })
}

/// Largest power of two that keeps `total` below 2^62, with one bit to spare for rounding.
fn bits_for(total: f64) -> i32 {
    (TOTAL_BITS - 1.0 - total.log2()).floor() as i32
}

/// Integer weight and squared weight of a frame, as expressions.
pub(super) fn expressions(frame: &Frame) -> (Expr, Expr) {
    let weight = match frame.subsample {
        Some(s) => col(format!("weight_{}", subsample_name(s))).fill_null(lit(0.0)),
        None => lit(1.0),
    };
    let scaled = |e: Expr, bits: i32| {
        (e * lit(f64::from(bits).exp2())).round(0, RoundMode::HalfToEven).cast(DataType::Int64)
    };
    (
        scaled(weight.clone(), frame.weight_bits).alias(weight_column(frame)),
        scaled(weight.clone() * weight, frame.square_bits).alias(square_column(frame)),
    )
}

#[must_use]
pub fn weight_column(frame: &Frame) -> String {
    format!("w_{}", frame.name())
}

#[must_use]
pub fn square_column(frame: &Frame) -> String {
    format!("w2_{}", frame.name())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_restrictive_weight_not_beyond_the_need_is_used() {
        use Subsample::{Examination, Fasting, GlucoseTolerance, Interview};
        let survey = [Interview, Examination, Fasting];
        assert_eq!(frame_for(&survey, Fasting), Some(Fasting));
        assert_eq!(frame_for(&survey, Examination), Some(Examination));
        assert_eq!(frame_for(&survey, GlucoseTolerance), Some(Fasting));
        assert_eq!(frame_for(&[Fasting], Examination), Some(Fasting));
        assert_eq!(frame_for(&[], Fasting), None);
    }

    #[test]
    fn integer_weights_keep_ten_digits_and_fit() {
        for total in [1.0, 6000.0, 2.8e8, 7.9e9, 1e15] {
            let scaled = total * f64::from(bits_for(total)).exp2();
            assert!((2f64.powi(60)..2f64.powi(62)).contains(&scaled), "{total}");
        }
    }
}
