//! When two measurements of one person differ by more than day-to-day and assay variation.

use std::f64::consts::SQRT_2;

use super::StatError;
use super::interval::normal_quantile;
use super::place::Variation;

/// Two measurements of one person differ by more than chance when the later is outside these changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceChange {
    /// Largest unremarkable rise as a share of the earlier value (0.5 is +50 %).
    pub rise: f64,
    /// Largest unremarkable fall as a share of the earlier value (0.33 is −33 %).
    pub fall: f64,
}

/// Changes between two measurements of one person that chance alone explains.
///
/// # Formula
///
/// ```text
/// rise = exp(z √2 σ) − 1      fall = 1 − exp(−z √2 σ)
/// ```
///
/// with `σ²` the [`Variation`] and `z` the two-sided normal quantile of `confidence`. Asymmetric: a doubling and a
/// halving are equally remarkable.
///
/// # Errors
///
/// [`StatError::Parameter`] for impossible coefficients or a confidence outside (0, 1).
///
/// # Source
///
/// Fokkema, Herrmann, Muskiet and Moecks 2006, Clin Chem 52:1602–1603.
pub fn reference_change(variation: Variation, confidence: f64) -> Result<ReferenceChange, StatError> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(StatError::Parameter { what: "confidence", range: "(0, 1)", value: confidence });
    }
    let reach = normal_quantile(0.5 + confidence / 2.0) * SQRT_2 * variation.log_variance()?.sqrt();
    Ok(ReferenceChange { rise: reach.exp_m1(), fall: -(-reach).exp_m1() })
}

/// The day-to-day variation within a person at which a change stops, or starts, being more than chance explains.
///
/// # Formula
///
/// [`reference_change`] solved for the coefficient: `CV_I = √(exp(s² − ln(1 + CV_A²)) − 1)`, with
/// `s = |ln(later / earlier)| / (z √2)`.
///
/// # Errors
///
/// [`StatError::Undefined`] if the assay's variation alone already explains the change, so that none within a person
/// turns the verdict; [`StatError::Parameter`] for a ratio that is not positive or a confidence outside (0, 1).
pub fn within_person_at(ratio: f64, analytical: f64, confidence: f64) -> Result<f64, StatError> {
    if !(ratio > 0.0 && ratio.is_finite()) {
        return Err(StatError::Parameter {
            what: "ratio of two measurements",
            range: "(0, ∞)",
            value: ratio,
        });
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(StatError::Parameter { what: "confidence", range: "(0, 1)", value: confidence });
    }
    let s = ratio.ln().abs() / (normal_quantile(0.5 + confidence / 2.0) * SQRT_2);
    let left = s * s - (analytical * analytical).ln_1p();
    if left > 0.0 {
        Ok(left.exp_m1().sqrt())
    } else {
        Err(StatError::Undefined("the assay's variation alone explains the change"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers in the comments carry six digits.
    const BY_HAND: f64 = 2e-6;

    /// ln(1 + 0.04) + ln(1 + 0.0025) = 0.0392207 + 0.0024969 = 0.0417176; σ = 0.204249.
    const VARIATION: Variation = Variation { within_person: 0.20, analytical: 0.05 };

    #[test]
    fn changes_by_hand() {
        // 1.959964 × 1.414214 × 0.204249 = 0.566139: exp 1.761452, exp of the negative 0.567713.
        let got = reference_change(VARIATION, 0.95).expect("valid");
        assert!((got.rise - 0.761_452).abs() < BY_HAND && (got.fall - 0.432_287).abs() < BY_HAND, "{got:?}");
        assert!(((1.0 + got.rise) * (1.0 - got.fall) - 1.0).abs() < 1e-12);
        assert!(reference_change(VARIATION, 95.0).is_err());
        // A fall of exactly 43.2287 % is where a variation of 20 % turns the verdict; 1 % is within the assay's 5 %.
        let turns = within_person_at(1.0 - got.fall, 0.05, 0.95).expect("above the assay's");
        assert!((turns - 0.20).abs() < 1e-12, "{turns}");
        assert!(within_person_at(1.01, 0.05, 0.95).is_err() && within_person_at(0.0, 0.05, 0.95).is_err());
    }
}
