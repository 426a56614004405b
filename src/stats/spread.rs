//! How far groups lie apart, beyond what chance alone would spread them.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::covariance::Covariance;
use super::heterogeneity::{Degrees, check_groups, upper_tail};
use super::interval::normal_quantile;
use super::matrix::{Cholesky, contrast_covariance, contrasts};
use super::{Interval, StatError};

/// Steps of the search for an end of the interval: halving 1 this often leaves no digit open.
const HALVINGS: usize = 200;

/// Largest over smallest cutoff, beside what equal groups would show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeRatio {
    pub ratio: f64,
    /// Mean of the ratio if all groups shared one cutoff and only sampling moved them.
    pub mean_under_equality: f64,
}

/// Standard deviation `τ` between groups after sampling error is removed.
///
/// # Formula
///
/// ```text
/// S²  = Σ (θ_k − θ̄)² / (K − 1)
/// τ²  = max(0, S² − (tr V − 1ᵀ V 1 / K) / (K − 1))
/// ```
///
/// The term taken off is what `S²` would be on average for equal groups with covariance `V`.
///
/// # Units
///
/// That of the estimates. On logarithms `exp(τ)` is a ratio: 1.2 says that groups differ typically by a fifth.
///
/// # Errors
///
/// [`StatError::Undefined`] with fewer than two groups, [`StatError::Length`] and [`StatError::Value`] for
/// input that does not fit.
///
/// # Source
///
/// Method of moments as in `DerSimonian` and Laird 1986, Control Clin Trials 7:177–188, unweighted and with
/// covariances.
///
/// # Checked against
///
/// R, matrix algebra: `tests/reference/heterogeneity/`.
pub fn between_group_sd(estimates: &[f64], covariance: &[Vec<f64>]) -> Result<f64, StatError> {
    check_groups(estimates, covariance)?;
    let groups = estimates.len() as f64;
    let mean = estimates.iter().sum::<f64>() / groups;
    let squares: f64 = estimates.iter().map(|x| (x - mean) * (x - mean)).sum();
    let trace: f64 = covariance.iter().enumerate().map(|(k, row)| row[k]).sum();
    let all: f64 = covariance.iter().flatten().sum();
    Ok(((squares - (trace - all / groups)) / (groups - 1.0)).max(0.0).sqrt())
}

/// Interval of `τ` by test inversion.
///
/// # Formula
///
/// The values of `τ` that the test of [`super::heterogeneity`] does not reject when `V + τ² I` replaces `V`:
///
/// ```text
/// Q(τ²) = (L θ)ᵀ (L (V + τ² I) Lᵀ)⁻¹ (L θ)
/// (1 − confidence)/2 ≤ P(F ≥ Q (d − K + 2) / (d (K − 1))) ≤ (1 + confidence)/2
/// ```
///
/// with `d` as for the test: no more than the replicates behind `V` allow. `Q` falls as `τ` grows. An end that would lie below 0 is 0, so the interval starts at 0 whenever the
/// test's p value exceeds half of 1 − confidence.
///
/// # Errors
///
/// As for [`super::heterogeneity::heterogeneity`]; [`StatError::Parameter`] for a confidence outside (0, 1).
///
/// # Source
///
/// Viechtbauer 2007, Stat Med 26:37–52 (Q-profile), with the reference distribution of the test.
///
/// # Checked against
///
/// R, `uniroot` on the same equation: `tests/reference/heterogeneity/`.
pub fn between_group_interval(
    estimates: &[f64],
    covariance: &Covariance,
    frame_df: f64,
    confidence: f64,
) -> Result<Interval, StatError> {
    let matrix = &covariance.matrix;
    check_groups(estimates, matrix)?;
    let Degrees { behind, df1, df2 } = Degrees::of(estimates.len(), covariance, frame_df)?;
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(StatError::Parameter { what: "confidence", range: "(0, 1)", value: confidence });
    }
    if !Cholesky::of(&contrast_covariance(matrix)).is_full_rank() {
        return Err(StatError::Undefined("the groups' covariance has not full rank"));
    }
    let p_at = |tau: f64| {
        let q = Cholesky::of(&contrast_covariance(&widened(matrix, tau * tau)))
            .inverse_form(&contrasts(estimates));
        upper_tail(q * df2 / (behind * df1), df1, df2)
    };
    let tail = (1.0 - confidence) / 2.0;
    Ok(Interval { lower: smallest_reaching(p_at, tail), upper: smallest_reaching(p_at, 1.0 - tail) })
}

/// `exp(max θ − min θ)` beside its mean if all groups were equal.
///
/// # Formula
///
/// The mean is over `draws` normal vectors with mean 0 and the given covariance. There is no interval: even for
/// equal groups the largest exceeds the smallest, so any interval by resampling would exclude 1.
///
/// # Units
///
/// `log_estimates` are logarithms; both answers are ratios.
///
/// # Errors
///
/// As for [`between_group_sd`]; [`StatError::Undefined`] without draws.
pub fn largest_to_smallest(
    log_estimates: &[f64],
    covariance: &[Vec<f64>],
    draws: usize,
    seed: u64,
) -> Result<RangeRatio, StatError> {
    check_groups(log_estimates, covariance)?;
    if draws == 0 {
        return Err(StatError::Undefined("the mean under equality needs at least one draw"));
    }
    let factor = Cholesky::of(covariance);
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut sum = 0.0;
    for _ in 0..draws {
        let independent: Vec<f64> = log_estimates.iter().map(|_| standard_normal(&mut random)).collect();
        sum += ratio_of_ends(&factor.times(&independent));
    }
    Ok(RangeRatio { ratio: ratio_of_ends(log_estimates), mean_under_equality: sum / draws as f64 })
}

fn ratio_of_ends(logs: &[f64]) -> f64 {
    let largest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let smallest = logs.iter().copied().fold(f64::INFINITY, f64::min);
    (largest - smallest).exp()
}

/// By inversion, so that the draw never changes with a library's version.
fn standard_normal(random: &mut ChaCha8Rng) -> f64 {
    let uniform = ((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
    normal_quantile(uniform)
}

fn widened(covariance: &[Vec<f64>], variance: f64) -> Vec<Vec<f64>> {
    let mut matrix = covariance.to_vec();
    for (k, row) in matrix.iter_mut().enumerate() {
        row[k] += variance;
    }
    matrix
}

/// Smallest number from 0 at which a rising function reaches `goal`.
fn smallest_reaching(rising: impl Fn(f64) -> f64, goal: f64) -> f64 {
    if rising(0.0) >= goal {
        return 0.0;
    }
    let mut high = 1.0;
    while rising(high) < goal {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if rising(middle) < goal {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

    fn independent(variance: f64, groups: usize) -> Vec<Vec<f64>> {
        (0..groups).map(|a| (0..groups).map(|b| if a == b { variance } else { 0.0 }).collect()).collect()
    }

    /// Two groups whose covariance rests on so many replicates.
    fn replicated(variance: f64, used: usize) -> Covariance {
        Covariance { matrix: independent(variance, 2), used, failed: 0 }
    }

    #[test]
    fn an_interval_by_hand_is_wider_with_few_replicates() {
        // Difference 1, variances 0.01: Q(τ²) = 1 / (0.02 + 2 τ²) = F on 1 and d, so an end is where τ² = (1 / F − 0.02) / 2
        // at the 97.5th and 2.5th percentile of F. d is the frame's 16, or 10 of 11 replicates. R: qf(c(0.975, 0.025), 1, d).
        for (used, high, low) in
            [(100, 6.115_127_197_7, 0.001_013_254_729), (11, 6.936_728_166_3, 0.001_032_388_672)]
        {
            let got =
                between_group_interval(&[1.0, 2.0], &replicated(0.01, used), 16.0, 0.95).expect("enough");
            let end = |f: f64| ((1.0 / f - 0.02) / 2.0).sqrt();
            assert!((got.lower - end(high)).abs() < 1e-6, "{got:?}");
            assert!((got.upper / end(low) - 1.0).abs() < 1e-6, "{got:?}");
        }
    }

    #[test]
    fn sampling_error_is_taken_off() {
        // S² of 0, 1, 2 is 1; independent groups with variance 0.19 leave τ² = 0.81.
        let got = between_group_sd(&[0.0, 1.0, 2.0], &independent(0.19, 3)).expect("three groups");
        assert!((got - 0.9).abs() < 1e-12, "{got}");
        assert_eq!(between_group_sd(&[0.0, 1.0, 2.0], &independent(1.5, 3)), Ok(0.0));
        // A shared error moves all groups together and takes nothing off.
        let shared = vec![vec![5.0; 3]; 3];
        let got = between_group_sd(&[0.0, 1.0, 2.0], &shared).expect("three groups");
        assert!((got - 1.0).abs() < 1e-12, "{got}");
    }

    #[test]
    fn the_mean_ratio_under_equality_is_above_one() {
        // Two independent groups: the difference is N(0, 2σ²), E exp|D| = 2 exp(σ²) Φ(√2 σ). σ = 0.1:
        // 2 × 1.010050 × 0.556231 = 1.123643; standard error of 20,000 draws about 0.0007.
        let got = largest_to_smallest(&[0.0, 0.5], &independent(0.01, 2), 20_000, 7).expect("two groups");
        assert!((got.ratio - 0.5_f64.exp()).abs() < 1e-12);
        assert!((got.mean_under_equality - 1.123_643).abs() < 0.003, "{got:?}");
        assert_eq!(largest_to_smallest(&[0.0, 0.5], &independent(0.01, 2), 20_000, 7), Ok(got));
        assert!(largest_to_smallest(&[0.0, 0.5], &independent(0.01, 2), 0, 7).is_err());
    }

    #[test]
    fn bad_input_is_refused() {
        let two = replicated(0.01, 100);
        assert!(between_group_sd(&[1.0], &independent(0.01, 1)).is_err());
        assert!(between_group_interval(&[1.0, 2.0], &two, 7.0, 0.95).is_err());
        assert!(between_group_interval(&[1.0, 2.0], &two, 16.0, 95.0).is_err());
        assert!(between_group_interval(&[1.0, 2.0], &replicated(0.0, 100), 16.0, 0.95).is_err());
    }
}
