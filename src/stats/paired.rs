//! Two estimates on the same people, such as the AUCs of two indices.

use super::interval::t_plain;
use super::replicate::ReplicateVariance;
use super::special::two_sided_p;
use super::{Interval, Replicates, StatError};

/// A difference of AUCs with a standard error below this is rounding: both order people in the same way.
const LEAST_STANDARD_ERROR: f64 = 1e-12;

/// A full-sample estimate and its replicates, `NaN` where one failed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Replicated<'a> {
    pub value: f64,
    pub replicates: &'a [f64],
}

/// Difference of two estimates on the same people.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairedDifference {
    pub difference: f64,
    pub standard_error: f64,
    pub interval: Interval,
    /// Two-sided, t on the degrees of freedom given.
    pub p_value: f64,
    pub used: usize,
    pub failed: usize,
}

/// Difference `first − second` of two estimates made in the same replicates on the same people.
///
/// # Formula
///
/// ```text
/// SE² = replicate variance of first_r − second_r about first − second
/// interval = difference ± t_df SE        p = 2 P(t_df ≥ |difference| / SE)
/// ```
///
/// # Units
///
/// That of the estimates; AUCs have none. `df` as for the smaller of the two classes.
///
/// # Missing data and ties
///
/// Both estimates must rest on the same people: those with both values and a known outcome. A replicate
/// counts if both succeeded.
///
/// # Errors
///
/// [`StatError::Undefined`] if the difference does not vary (one index is a monotone transform of the other),
/// no replicate has both, or there is no degree of freedom; [`StatError::Length`] if the replicates do not match.
///
/// # Checked against
///
/// R `survey`, `withReplicates` on the difference: `tests/reference/paired_auc/`.
pub fn paired_difference(
    first: Replicated<'_>,
    second: Replicated<'_>,
    replicates: &Replicates,
    df: f64,
    confidence: f64,
) -> Result<PairedDifference, StatError> {
    for given in [first.replicates.len(), second.replicates.len()] {
        if given != replicates.count {
            return Err(StatError::Length(replicates.count, given));
        }
    }
    let difference = first.value - second.value;
    let each: Vec<f64> = first.replicates.iter().zip(second.replicates).map(|(a, b)| a - b).collect();
    let ReplicateVariance { variance, used, failed } = replicates.variance(difference, &each);
    if used == 0 {
        return Err(StatError::Undefined("no replicate in which both succeeded"));
    }
    let standard_error = variance.sqrt();
    if standard_error.is_nan() || standard_error < LEAST_STANDARD_ERROR {
        return Err(StatError::Undefined("the two order people in the same way"));
    }
    let interval = t_plain(difference, standard_error, df, confidence)?;
    let p_value = two_sided_p(difference / standard_error, df);
    Ok(PairedDifference { difference, standard_error, interval, p_value, used, failed })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    fn four() -> Replicates {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        Replicates::jackknife(&design).expect("pairs")
    }

    #[test]
    fn a_difference_by_hand() {
        let replicates = four();
        let first = Replicated { value: 0.8, replicates: &[0.75, 0.85, 0.8, 0.8] };
        let second = Replicated { value: 0.7, replicates: &[0.75, 0.65, 0.7, 0.7] };
        // Deviations −0.1, 0.1, 0, 0, each with ½: variance 0.01. t = 1 on 2 df: p = 1 − 1/√3.
        let got = paired_difference(first, second, &replicates, 2.0, 0.95).expect("both vary");
        assert!((got.standard_error - 0.1).abs() < 1e-12 && (got.difference - 0.1).abs() < 1e-12);
        assert!((got.p_value - (1.0 - 1.0 / 3.0_f64.sqrt())).abs() < 1e-9, "{}", got.p_value);
        assert!((got.interval.upper - (0.1 + 4.302_652_729_7 * 0.1)).abs() < 1e-9, "{:?}", got.interval);
    }

    #[test]
    fn two_that_order_people_alike_cannot_be_told_apart() {
        let first = Replicated { value: 0.8, replicates: &[0.75, 0.85, 0.8, 0.8] };
        assert!(matches!(paired_difference(first, first, &four(), 2.0, 0.95), Err(StatError::Undefined(_))));
    }

    #[test]
    fn bad_input_is_refused() {
        let replicates = four();
        let good = Replicated { value: 0.8, replicates: &[0.75, 0.85, 0.8, 0.8] };
        let short = Replicated { value: 0.8, replicates: &[0.75] };
        let failed = Replicated { value: 0.8, replicates: &[f64::NAN; 4] };
        assert_eq!(paired_difference(good, short, &replicates, 2.0, 0.95), Err(StatError::Length(4, 1)));
        assert!(paired_difference(good, failed, &replicates, 2.0, 0.95).is_err());
    }
}
