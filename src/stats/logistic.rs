//! Risk of the outcome as a smooth, rising function of an index.

use super::interval::{expit, logit};
use super::roc::both_classes;
use super::{Sample, StatError};

/// Newton steps stop when no coefficient (in standard units) moves further than this.
const CONVERGED: f64 = 1e-12;
/// Newton steps double the digits: more than this and there is no finite maximum.
const MOST_STEPS: usize = 50;

/// `P(outcome) = 1 / (1 + exp(−(intercept + slope · x)))`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Logistic {
    pub intercept: f64,
    pub slope: f64,
}

impl Logistic {
    /// Predicted risk at a value.
    #[must_use]
    pub fn risk(&self, x: f64) -> f64 {
        expit(self.intercept + self.slope * x)
    }

    /// Value at which the predicted risk is `risk`.
    #[must_use]
    pub fn value_at(&self, risk: f64) -> f64 {
        (logit(risk) - self.intercept) / self.slope
    }
}

/// Weighted logistic regression of the outcome on the sample's values.
///
/// # Formula
///
/// Maximises `Σ w (y ln p + (1 − y) ln(1 − p))`, `p = 1 / (1 + exp(−(α + β x)))`, by Newton's method
/// (iteratively reweighted least squares) from `β = 0`, without penalty.
///
/// # Units
///
/// `slope` per unit of the values; pass skewed indices on their logarithm ([`super::scale::Scale`]).
///
/// # Missing data and ties
///
/// People whose outcome is unknown must not be in the sample.
///
/// # Errors
///
/// [`StatError::OneClass`] for an empty class, [`StatError::Undefined`] if all values are equal or a cutoff separates
/// the classes completely (the slope is then infinite); what [`Sample::check`] refuses.
///
/// # Checked against
///
/// scikit-learn, `LogisticRegression(penalty=None)` with `sample_weight`: `tests/reference/weighted_logistic/`.
pub fn logistic(sample: &Sample, class: &[bool]) -> Result<Logistic, StatError> {
    sample.check()?;
    let (with, without) = class_weights(sample, class)?;
    let total = with + without;
    let mean = sample.value.iter().zip(&sample.weight).map(|(x, w)| w * x).sum::<f64>() / total;
    let squares = sample.value.iter().zip(&sample.weight).map(|(x, w)| w * (x - mean) * (x - mean));
    let sd = (squares.sum::<f64>() / total).sqrt();
    if sd <= 0.0 {
        return Err(StatError::Undefined("everybody has the same value: the risk cannot depend on it"));
    }
    let standard: Vec<f64> = sample.value.iter().map(|x| (x - mean) / sd).collect();
    let (mut alpha, mut beta) = ((with / without).ln(), 0.0);
    for _ in 0..MOST_STEPS {
        let (step_alpha, step_beta) = newton_step(&standard, &sample.weight, class, (alpha, beta));
        alpha += step_alpha;
        beta += step_beta;
        if !(alpha.is_finite() && beta.is_finite()) {
            break;
        }
        if step_alpha.abs().max(step_beta.abs()) <= CONVERGED * (1.0 + beta.abs()) {
            let slope = beta / sd;
            return Ok(Logistic { intercept: alpha - slope * mean, slope });
        }
    }
    Err(StatError::Undefined("a cutoff separates the classes completely: the slope of the risk is infinite"))
}

/// Weight with and without the outcome, neither of them 0.
pub(super) fn class_weights(sample: &Sample, class: &[bool]) -> Result<(f64, f64), StatError> {
    if class.len() != sample.len() {
        return Err(StatError::Length(sample.len(), class.len()));
    }
    let of = |wanted: bool| -> f64 {
        class.iter().zip(&sample.weight).filter(|(y, _)| **y == wanted).map(|(_, w)| w).sum()
    };
    both_classes((of(true), of(false)))
}

/// Solves the two score equations, linearised at the present coefficients.
fn newton_step(x: &[f64], weight: &[f64], class: &[bool], (alpha, beta): (f64, f64)) -> (f64, f64) {
    let (mut g0, mut g1, mut h00, mut h01, mut h11) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ((x, w), y) in x.iter().zip(weight).zip(class) {
        let p = expit(alpha + beta * x);
        let residual = w * (f64::from(u8::from(*y)) - p);
        let information = w * p * (1.0 - p);
        g0 += residual;
        g1 += residual * x;
        h00 += information;
        h01 += information * x;
        h11 += information * x * x;
    }
    let determinant = h00 * h11 - h01 * h01;
    ((h11 * g0 - h01 * g1) / determinant, (h00 * g1 - h01 * g0) / determinant)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_values_reproduce_their_odds() {
        // At 0: weight 1 with, 3 without; at 1: 2 with, 1 without. Odds 1/3 and 2: slope ln 6.
        let sample =
            Sample::from_people(&[0.0, 0.0, 1.0, 1.0], &[1.0, 3.0, 2.0, 1.0], &[0; 4]).expect("usable");
        let got = logistic(&sample, &[true, false, true, false]).expect("overlap");
        assert!((got.intercept + 3.0_f64.ln()).abs() < 1e-12, "{got:?}");
        assert!((got.slope - 6.0_f64.ln()).abs() < 1e-12, "{got:?}");
        assert!((got.risk(1.0) - 2.0 / 3.0).abs() < 1e-12 && (got.value_at(0.25)).abs() < 1e-12);
    }

    #[test]
    fn what_has_no_slope_is_refused() {
        let sample = Sample::from_people(&[0.0, 1.0, 2.0, 3.0], &[1.0; 4], &[0; 4]).expect("usable");
        let separated = logistic(&sample, &[false, false, true, true]);
        assert!(matches!(separated, Err(StatError::Undefined(_))), "{separated:?}");
        assert_eq!(logistic(&sample, &[true; 4]), Err(StatError::OneClass("lacks")));
        assert_eq!(logistic(&sample, &[false; 4]), Err(StatError::OneClass("has")));
        assert_eq!(logistic(&sample, &[false; 3]), Err(StatError::Length(4, 3)));
        let flat = Sample::from_people(&[1.0, 1.0], &[1.0; 2], &[0; 2]).expect("usable");
        assert!(matches!(logistic(&flat, &[true, false]), Err(StatError::Undefined(_))));
    }
}
