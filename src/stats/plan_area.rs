//! How wide the interval of an area under the ROC curve will be, before anybody is measured.

use std::f64::consts::PI;

use super::StatError;
use super::interval::{self, Interval, normal_quantile};
use super::plan::{Planned, inside};

/// Intervals of Simpson's rule: enough for ten digits of a variance at areas up to 0.999.
const INTERVALS: u32 = 512;

/// Probability that two people with the outcome both exceed one without it, where both classes are normal with the same
/// spread; by symmetry also that one with it exceeds two without.
///
/// # Formula
///
/// ```text
/// Q = Φ₂(h, h; ½) = A − (1/π) ∫ exp(−h² / (2 cos² θ)) dθ  from 0 to π/6,   h = Φ⁻¹(A)
/// ```
///
/// The two differences share the one person, hence the correlation ½. Simpson's rule.
///
/// # Source
///
/// Owen 1956, Ann Math Stat 27:1075–1090 (the bivariate normal distribution by one integral).
fn both_exceed(auc: f64) -> f64 {
    let h = normal_quantile(auc);
    let step = PI / 6.0 / f64::from(INTERVALS);
    let at = |k: u32| (-0.5 * (h / (f64::from(k) * step).cos()).powi(2)).exp();
    let inner: f64 = (1..INTERVALS).map(|k| if k % 2 == 1 { 4.0 * at(k) } else { 2.0 * at(k) }).sum();
    auc - (at(0) + inner + at(INTERVALS)) * step / (3.0 * PI)
}

/// Variance of an area under the ROC curve before it is measured, exact for two normal classes of equal spread.
///
/// # Formula
///
/// ```text
/// V = (A (1 − A) + (n₁ − 1)(Q₁ − A²) + (n₀ − 1)(Q₂ − A²)) / (n₁ n₀)
/// Q₁ = P(two with > one without)      Q₂ = P(one with > two without)
/// ```
///
/// `n₁` people with and `n₀` without the outcome. With equal spread `Q₁ = Q₂`. The model is the one behind planned cutoffs
/// ([`simulated`](super::plan_cutoff::simulated)).
///
/// # Errors
///
/// [`StatError::Parameter`] for an area outside (0, 1) or a class without people.
///
/// # Source
///
/// Bamber 1975, J Math Psychol 12:387–415; the same with other `Q` in Hanley and `McNeil` 1982, Radiology 143:29–36.
///
/// # Checked against
///
/// scipy, `multivariate_normal.cdf` and `quad`: `tests/reference/planned_area/`. At `A = ½` the variance of Mann and
/// Whitney (1947), `(n₁ + n₀ + 1) / (12 n₁ n₀)`; simulated areas of normal classes.
pub fn area_variance(auc: f64, with: u64, without: u64) -> Result<f64, StatError> {
    inside("area under the ROC curve", auc)?;
    if with == 0 || without == 0 {
        let what = "number of people in a class";
        return Err(StatError::Parameter { what, range: "[1, ∞)", value: 0.0 });
    }
    let (n1, n0) = (with as f64, without as f64);
    let shared = both_exceed(auc) - auc * auc;
    Ok((auc * (1.0 - auc) + (n1 + n0 - 2.0) * shared) / (n1 * n0))
}

/// The interval of an area that comes out as expected: t on the logit, with the variance of [`area_variance`] times the
/// design effect.
///
/// # Formula
///
/// ```text
/// logit(A) ± t √(D V) / (A (1 − A))
/// ```
///
/// `1 / (A (1 − A))` is the slope of the logit at `A` (delta method).
///
/// # Errors
///
/// As [`area_variance`]; `planned.people` is not used.
///
/// # Checked against
///
/// Simulated areas of normal classes; the interval that a run of the invented survey prints.
pub fn area_interval(
    auc: f64,
    (with, without): (u64, u64),
    planned: &Planned,
) -> Result<Interval, StatError> {
    planned.check()?;
    let variance = planned.design_effect * area_variance(auc, with, without)?;
    // The smaller class decides, as it does for a measured area.
    let df = planned.df.unwrap_or(with.min(without) as f64 - 1.0);
    interval::t_on_logit(auc, variance.sqrt() / (auc * (1.0 - auc)), df, planned.confidence)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::{Rng, SeedableRng};

    /// Simulated variances are compared within four of their own standard errors.
    const STANDARD_ERRORS: f64 = 4.0;
    const SIMULATIONS: usize = 4000;
    /// Widths of the interval and of simulated areas: t is a little wider than the normal, and the ends of 1000
    /// simulations vary by 3 %.
    const WIDTHS_AGREE: f64 = 0.1;

    fn singly(people: u64) -> Planned {
        Planned { people, design_effect: 1.0, df: None, confidence: 0.95 }
    }

    #[test]
    fn of_three_people_alike_one_exceeds_the_others_in_a_third() {
        assert!((both_exceed(0.5) - 1.0 / 3.0).abs() < 1e-15);
    }

    #[test]
    fn the_area_of_no_use_has_the_variance_of_ranks() {
        for (with, without) in [(5, 9), (40, 160)] {
            let ranks = (with + without + 1) as f64 / (12 * with * without) as f64;
            let got = area_variance(0.5, with, without).expect("two classes");
            assert!((got - ranks).abs() < 1e-15, "{got} {ranks}");
        }
        // One person each: the area is 1 or 0.
        assert!((area_variance(0.8, 1, 1).expect("two people") - 0.8 * 0.2).abs() < 1e-15);
        let (some, more) = (area_variance(0.8, 30, 90), area_variance(0.8, 30, 91));
        assert!(some.expect("valid") > more.expect("valid"), "more people, less variance");
    }

    /// Simulated areas of two normal classes of spread 1.
    fn areas(auc: f64, (with, without): (usize, usize), simulations: usize) -> Vec<f64> {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let mut normal = || normal_quantile(((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64);
        let apart = std::f64::consts::SQRT_2 * normal_quantile(auc);
        let mut one = || {
            let x: Vec<f64> = (0..with).map(|_| normal() + apart).collect();
            let mut y: Vec<f64> = (0..without).map(|_| normal()).collect();
            y.sort_by(f64::total_cmp);
            let pairs: usize = x.iter().map(|a| y.partition_point(|b| b < a)).sum();
            pairs as f64 / (with * without) as f64
        };
        (0..simulations).map(|_| one()).collect()
    }

    #[test]
    fn simulated_areas_vary_as_foretold() {
        let (with, without) = (12, 20);
        let areas = areas(0.8, (with, without), SIMULATIONS);
        let mean = areas.iter().sum::<f64>() / SIMULATIONS as f64;
        let moment = |k: i32| areas.iter().map(|a| (a - mean).powi(k)).sum::<f64>() / SIMULATIONS as f64;
        let error = ((moment(4) - moment(2).powi(2)) / SIMULATIONS as f64).sqrt();
        let want = area_variance(0.8, with as u64, without as u64).expect("valid");
        assert!((moment(2) - want).abs() < STANDARD_ERRORS * error, "{} {want} ± {error}", moment(2));
        assert!(error < 0.05 * want, "the simulation can tell: {error}");
    }

    #[test]
    fn the_interval_of_an_area_is_as_wide_as_simulated_areas_lie_apart() {
        for (auc, with, without) in [(0.9, 60, 600), (0.8, 100, 300)] {
            let got = area_interval(auc, (with, without), &singly(with + without)).expect("valid").width();
            let simulated = areas(auc, (with as usize, without as usize), 1000);
            let width = interval::percentile_of_replicates(&simulated, 0.95).expect("simulations").width();
            assert!((got / width - 1.0).abs() < WIDTHS_AGREE, "{auc}: {got} {width}");
        }
    }

    #[test]
    fn an_area_or_class_that_cannot_be_is_refused() {
        assert!(area_variance(0.8, 0, 5).is_err() && area_variance(1.0, 5, 5).is_err());
    }
}
