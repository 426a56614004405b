//! One person: what one measurement says about the usual value, and on which side of a cutoff that is.

use super::numeric::phi;
use super::scale::Scale;
use super::{Sample, StatError};

/// How much a measurement of one person varies, as coefficients of variation (0.20 is 20 %).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// From day to day within a person.
    pub within_person: f64,
    /// Of the assay.
    pub analytical: f64,
}

/// Distribution of single measurements in the person's group, on the logarithm, in resistance order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    pub log_mean: f64,
    /// Variance of single measurements: between people, within them and of the assay together.
    pub log_variance: f64,
}

/// Where a person's usual value probably lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Probability that the usual value is at least as resistant as the threshold.
    pub probability: f64,
    /// Median of the usual value, which as probably lies above as below; in the unit of the observed one.
    pub usual: f64,
    /// How far the observed value counts against the group's mean: 1 counts it alone.
    pub reliability: f64,
}

impl Variation {
    /// Variance of the logarithm of one measurement about the person's usual value.
    ///
    /// # Formula
    ///
    /// `ln(1 + CV_I²) + ln(1 + CV_A²)`, exact for two independent log-normal factors.
    ///
    /// # Errors
    ///
    /// [`StatError::Parameter`] for a coefficient that is negative, above 2 (a percentage was
    /// meant) or not a number, or if both are 0.
    pub fn log_variance(self) -> Result<f64, StatError> {
        let mut sum = 0.0;
        for value in [self.within_person, self.analytical] {
            if !(0.0..=2.0).contains(&value) {
                let (what, range) = ("coefficient of variation, as a share", "[0, 2]");
                return Err(StatError::Parameter { what, range, value });
            }
            sum += (value * value).ln_1p();
        }
        if sum > 0.0 {
            Ok(sum)
        } else {
            Err(StatError::Parameter {
                what: "sum of the coefficients of variation",
                range: "(0, 4]",
                value: sum,
            })
        }
    }
}

impl Group {
    /// Weighted mean and variance of the logarithms of a group's values.
    ///
    /// # Formula
    ///
    /// `m = Σ w y / Σ w`, `s² = Σ w (y − m)² / Σ w`, with `y = ln x`, or `−ln(−x)` where less is more resistant.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for values of both signs or zero; what [`Sample::check`] refuses.
    pub fn of(sample: &Sample) -> Result<Self, StatError> {
        sample.check()?;
        let scale = logarithmic(&sample.value)?;
        let log: Vec<f64> = sample.value.iter().map(|&x| scale.forward(x)).collect();
        let mean = |of: &dyn Fn(f64) -> f64| {
            let weighted = log.iter().zip(&sample.weight).map(|(&y, w)| w * of(y));
            weighted.sum::<f64>() / sample.weight.iter().sum::<f64>()
        };
        let log_mean = mean(&|y| y);
        Ok(Self { log_mean, log_variance: mean(&|y| (y - log_mean) * (y - log_mean)) })
    }
}

/// Probability that a person's usual value is at least as resistant as `threshold`, given one measurement.
///
/// # Formula
///
/// With `y` the logarithm of the observed value, `t` that of the threshold, `σ²` the [`Variation`] and, with a
/// group, `τ² = s² − σ²` the variance between its people:
///
/// ```text
/// ρ = τ² / (τ² + σ²)      usual value ~ N(m + ρ (y − m), ρ σ²)      regression to the mean
/// ρ = 1                   usual value ~ N(y, σ²)                    without a group: flat prior
/// P = Φ((mean − t) / SD)
/// ```
///
/// # Units
///
/// `observed` and `threshold` in one unit, in resistance order: both positive, or both negative for an index of
/// which less is more resistant. The usual value is the person's geometric mean over time.
///
/// # Missing data and ties
///
/// A flat prior overstates how extreme the usual value of an extreme measurement is; print both.
///
/// # Errors
///
/// [`StatError::Undefined`] for values of both signs or zero, or if the variation within a person is as large as the
/// group's whole spread, so that no variance between people is left; [`StatError::Parameter`] for
/// impossible coefficients of variation or a group without finite moments.
///
/// # Source
///
/// Normal theory of a mean with a normal prior, as in James 1973, Biometrics 29:121–130, on regression to the mean.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::place::{Variation, place};
/// // Exactly at the threshold and nothing else known: even odds.
/// let placed = place(2.5, 2.5, Variation { within_person: 0.3, analytical: 0.05 }, None)?;
/// assert_eq!(placed.probability, 0.5);
/// # Ok::<(), cutspan::stats::StatError>(())
/// ```
pub fn place(
    observed: f64,
    threshold: f64,
    variation: Variation,
    group: Option<Group>,
) -> Result<Placement, StatError> {
    let scale = logarithmic(&[observed, threshold])?;
    let (y, t) = (scale.forward(observed), scale.forward(threshold));
    let error_variance = variation.log_variance()?;
    let (mean, reliability) = match group {
        None => (y, 1.0),
        Some(group) => {
            let reliability = reliability(group, error_variance)?;
            (group.log_mean + reliability * (y - group.log_mean), reliability)
        }
    };
    let probability = phi((mean - t) / (reliability * error_variance).sqrt());
    Ok(Placement { probability, usual: scale.back(mean), reliability })
}

/// On which side of a cutoff a person's usual value lies, as far as one measurement tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Beyond,
    Short,
    CannotTell,
}

/// A chance from which on a side is likely.
pub const LIKELY: f64 = 0.8;
/// The chance that must still be reached where the true cutoff is at an end of its interval.
pub const STILL: f64 = 0.5;

/// On which side of a cutoff a person's usual value likely lies, the cutoff's own uncertainty included.
///
/// # Formula
///
/// ```text
/// beyond       P(cutoff) ≥ 0.8 and P ≥ 0.5 at both ends of its interval
/// short        P(cutoff) ≤ 0.2 and P ≤ 0.5 at both ends
/// cannot tell  everything else
/// ```
///
/// with `P` the probability of [`place`] that the usual value is at or beyond a limit.
///
/// # Missing data and ties
///
/// A probability that is not a number tells nothing.
///
/// # Source
///
/// A convention of this program: four to one at the cutoff, and not less than even at either end.
#[must_use]
pub fn side(at_cutoff: f64, at_ends: [f64; 2]) -> Side {
    if at_cutoff >= LIKELY && at_ends.iter().all(|p| *p >= STILL) {
        Side::Beyond
    } else if at_cutoff <= 1.0 - LIKELY && at_ends.iter().all(|p| *p <= 1.0 - STILL) {
        Side::Short
    } else {
        Side::CannotTell
    }
}

fn reliability(group: Group, error_variance: f64) -> Result<f64, StatError> {
    if !(group.log_mean.is_finite() && group.log_variance.is_finite()) {
        let (what, range) = ("variance of the group's logarithms", "(0, ∞)");
        return Err(StatError::Parameter { what, range, value: group.log_variance });
    }
    let between = group.log_variance - error_variance;
    if between <= 0.0 {
        return Err(StatError::Undefined(
            "the stated variation within a person is as large as the group's whole spread: only the flat prior is left",
        ));
    }
    Ok(between / group.log_variance)
}

fn logarithmic(values: &[f64]) -> Result<Scale, StatError> {
    match Scale::of(values) {
        Scale::Raw => Err(StatError::Undefined(
            "logarithms need values that are all positive (or all negative, in resistance order)",
        )),
        scale => Ok(scale),
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
    fn a_person_by_hand() {
        // ln 3 − ln 2.5 = 0.182322; 0.182322 / 0.204249 = 0.892644; Φ = 0.813976.
        let flat = place(3.0, 2.5, VARIATION, None).expect("positive");
        assert!((flat.probability - 0.813_976).abs() < BY_HAND, "{flat:?}");
        assert!((flat.usual - 3.0).abs() < 1e-12 && flat.reliability == 1.0);
        // Group with geometric mean 2 and log SD 0.5: ρ = 1 − 0.0417176 / 0.25 = 0.833130; mean
        // 0.693147 + 0.833130 × 0.405465 = 1.030952, usual 2.803735; SD √(0.833130 × 0.0417176) = 0.186430;
        // (1.030952 − 0.916291) / 0.186430 = 0.615037; Φ = 0.730735.
        let group = Group { log_mean: 2.0_f64.ln(), log_variance: 0.25 };
        let got = place(3.0, 2.5, VARIATION, Some(group)).expect("positive");
        assert!((got.probability - 0.730_735).abs() < BY_HAND, "{got:?}");
        assert!(
            (got.usual - 2.803_735).abs() < 5e-6 && (got.reliability - 0.833_130).abs() < BY_HAND,
            "{got:?}"
        );
        // The same index turned round: less is more resistant.
        let turned = Group { log_mean: -(0.5_f64.ln()), ..group };
        let got_turned = place(-1.0 / 3.0, -0.4, VARIATION, Some(turned)).expect("negative");
        assert!((got_turned.probability - got.probability).abs() < 1e-12, "{got_turned:?}");
        assert!((got_turned.usual + 1.0 / got.usual).abs() < 1e-12);
    }

    #[test]
    fn a_side_is_likely_only_if_it_is_likely_at_the_ends_too() {
        assert_eq!(side(0.09, [0.54, 0.01]), Side::CannotTell);
        assert_eq!(side(0.09, [0.49, 0.01]), Side::Short);
        assert_eq!(side(0.85, [0.97, 0.51]), Side::Beyond);
        assert_eq!(side(0.85, [0.97, 0.40]), Side::CannotTell);
        assert_eq!(side(0.60, [0.70, 0.55]), Side::CannotTell);
        assert_eq!(side(f64::NAN, [0.9, 0.9]), Side::CannotTell);
    }

    #[test]
    fn a_groups_moments_by_hand() {
        // ln 1 = 0 with weight 3, ln e = 1 with weight 1: mean ¼, variance 3/16.
        let e = std::f64::consts::E;
        let sample = Sample::from_people(&[1.0, e], &[3.0, 1.0], &[0; 2]).expect("usable");
        let got = Group::of(&sample).expect("positive");
        assert!((got.log_mean - 0.25).abs() < 1e-15 && (got.log_variance - 3.0 / 16.0).abs() < 1e-15);
        let mixed = Sample::from_people(&[-1.0, e], &[3.0, 1.0], &[0; 2]).expect("usable");
        assert!(Group::of(&mixed).is_err());
    }

    #[test]
    fn the_impossible_is_refused() {
        let narrow = Group { log_mean: 0.7, log_variance: 0.04 };
        assert!(matches!(place(3.0, 2.5, VARIATION, Some(narrow)), Err(StatError::Undefined(_))));
        let unknown = Group { log_mean: f64::NAN, log_variance: 0.4 };
        assert!(matches!(place(3.0, 2.5, VARIATION, Some(unknown)), Err(StatError::Parameter { .. })));
        assert!(place(3.0, -2.5, VARIATION, None).is_err() && place(0.0, 2.5, VARIATION, None).is_err());
        for (within_person, analytical) in [(20.0, 0.05), (-0.1, 0.05), (0.0, 0.0), (f64::NAN, 0.1)] {
            assert!(Variation { within_person, analytical }.log_variance().is_err());
        }
    }
}
