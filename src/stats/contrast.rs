//! Estimates from independent samples against each other: difference, ratio and trend.

use super::heterogeneity::upper_tail;
use super::interval::{t_on_log, t_plain};
use super::special::two_sided_p;
use super::{Interval, StatError};

/// An estimate with what its uncertainty rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    pub value: f64,
    pub standard_error: f64,
    pub df: f64,
}

/// One estimate less another, from independent samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contrast {
    pub difference: f64,
    pub standard_error: f64,
    /// Welch–Satterthwaite.
    pub df: f64,
    pub interval: Interval,
    /// Two-sided, of no difference.
    pub p: f64,
}

/// Difference `b − a` of two estimates from independent samples.
///
/// # Formula
///
/// ```text
/// SE² = SE(a)² + SE(b)²
/// df  = SE⁴ / (SE(a)⁴ / df(a) + SE(b)⁴ / df(b))
/// interval = difference ± t_df SE,   p from t = difference / SE
/// ```
///
/// # Units
///
/// Those of the estimates; for a ratio pass logarithms and take the exponential.
///
/// # Errors
///
/// [`StatError::Undefined`] without a positive standard error and at least 1 degree of freedom on both sides.
///
/// # Source
///
/// Satterthwaite 1946, Biometrics Bull 2:110–114; Welch 1947, Biometrika 34:28–35.
pub fn contrast(a: Estimate, b: Estimate, confidence: f64) -> Result<Contrast, StatError> {
    let df = satterthwaite(&[variance(a), variance(b)])?;
    let difference = b.value - a.value;
    let standard_error = a.standard_error.hypot(b.standard_error);
    let interval = t_plain(difference, standard_error, df, confidence)?;
    Ok(Contrast { difference, standard_error, df, interval, p: two_sided_p(difference / standard_error, df) })
}

/// The ratio that a difference of logarithms stands for, with its interval.
pub fn ratio(logs: &Contrast, confidence: f64) -> Result<(f64, Interval), StatError> {
    let ratio = logs.difference.exp();
    Ok((ratio, t_on_log(ratio, logs.standard_error, logs.df, confidence)?))
}

fn variance(estimate: Estimate) -> (f64, f64) {
    (estimate.standard_error * estimate.standard_error, estimate.df)
}

/// Degrees of freedom of a sum of independent variances, each given with its own.
fn satterthwaite(parts: &[(f64, f64)]) -> Result<f64, StatError> {
    if parts.iter().any(|(v, df)| !v.is_finite() || *df < 1.0) {
        return Err(StatError::Undefined("fewer than 1 degree of freedom, or no standard error"));
    }
    let sum: f64 = parts.iter().map(|(v, _)| v).sum();
    if sum <= 0.0 {
        return Err(StatError::Undefined("a standard error of zero"));
    }
    // Shares of the sum: its square may be too small for a number.
    Ok(1.0 / parts.iter().map(|(v, df)| (v / sum) * (v / sum) / df).sum::<f64>())
}

/// A straight line through independent estimates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Change of the estimate per unit of `x`.
    pub slope: f64,
    pub standard_error: f64,
    /// Satterthwaite's, over the estimates.
    pub df: f64,
    pub interval: Interval,
    /// Two-sided, of no change.
    pub p: f64,
    /// The line at `x = 0`.
    pub intercept: f64,
    /// P of estimates at least this far from a straight line, if they lie on one.
    pub departure: f64,
}

/// Weighted least-squares slope of independent estimates, each with its design-based variance.
///
/// Cycles of a survey are independent samples with strata of their own, so the variance of the slope follows
/// from the standard errors of the estimates alone; their scatter about the line does not enter it and is
/// tested apart.
///
/// # Formula
///
/// ```text
/// w_k = 1 / SE_k²,   x̄ = Σ w x / Σ w,   S = Σ w (x − x̄)²
/// slope = Σ w (x − x̄) y / S,   SE² = 1 / S
/// df    = SE⁴ / Σ ((a_k² SE_k²)² / df_k),   a_k = w_k (x_k − x̄) / S
/// departure: Q = Σ w (y − line)²,   Q / (K − 2) against F on K − 2 and Σ df_k degrees of freedom
/// ```
///
/// `df_k` are the design degrees of freedom of each estimate: PSUs less strata.
///
/// # Units
///
/// The slope is in units of the estimates per unit of `x`.
///
/// # Errors
///
/// [`StatError::Undefined`] for fewer than three estimates, a standard error that is not positive or all `x` equal.
///
/// # Source
///
/// Grizzle, Starmer and Koch 1969, Biometrics 25:489–504 (linear models of estimates with known covariance);
/// Satterthwaite 1946, Biometrics Bull 2:110–114.
pub fn trend(x: &[f64], estimates: &[Estimate], confidence: f64) -> Result<Trend, StatError> {
    if x.len() != estimates.len() {
        return Err(StatError::Length(x.len(), estimates.len()));
    }
    if x.len() < 3 {
        return Err(StatError::Undefined("a trend needs at least three estimates"));
    }
    if estimates.iter().any(|e| !(e.standard_error > 0.0 && e.value.is_finite())) {
        return Err(StatError::Undefined("a trend needs a standard error above zero for every estimate"));
    }
    let weight: Vec<f64> = estimates.iter().map(|e| e.standard_error.powi(-2)).collect();
    let total: f64 = weight.iter().sum();
    let centre = weight.iter().zip(x).map(|(w, x)| w * x).sum::<f64>() / total;
    let spread: f64 = weight.iter().zip(x).map(|(w, x)| w * (x - centre) * (x - centre)).sum();
    if spread <= 0.0 {
        return Err(StatError::Undefined("a trend needs estimates at different times"));
    }
    let share: Vec<f64> = weight.iter().zip(x).map(|(w, x)| w * (x - centre) / spread).collect();
    let slope: f64 = share.iter().zip(estimates).map(|(a, e)| a * e.value).sum();
    let parts: Vec<(f64, f64)> =
        share.iter().zip(estimates).map(|(a, e)| ((a * e.standard_error).powi(2), e.df)).collect();
    let df = satterthwaite(&parts)?;
    let standard_error = spread.sqrt().recip();
    let interval = t_plain(slope, standard_error, df, confidence)?;
    let mean = weight.iter().zip(estimates).map(|(w, e)| w * e.value).sum::<f64>() / total;
    let off = |(x, e): (&f64, &Estimate)| (e.value - mean - slope * (x - centre)) / e.standard_error;
    let scatter: f64 = x.iter().zip(estimates).map(|point| off(point).powi(2)).sum();
    let free = x.len() as f64 - 2.0;
    let departure = upper_tail(scatter / free, free, estimates.iter().map(|e| e.df).sum());
    let (intercept, p) = (mean - slope * centre, two_sided_p(slope / standard_error, df));
    Ok(Trend { slope, standard_error, df, interval, p, intercept, departure })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A few sums and quotients of numbers near 1.
    const ROUNDING: f64 = 1e-12;

    fn estimate(value: f64, standard_error: f64, df: f64) -> Estimate {
        Estimate { value, standard_error, df }
    }

    #[test]
    fn a_difference_by_hand() {
        // SE² = 0.09 + 0.16 = 0.25; df = 0.0625 / (0.0081 / 10 + 0.0256 / 20).
        let got = contrast(estimate(2.0, 0.3, 10.0), estimate(3.0, 0.4, 20.0), 0.95).expect("both known");
        assert!((got.difference - 1.0).abs() < ROUNDING && (got.standard_error - 0.5).abs() < ROUNDING);
        assert!((got.df - 0.0625 / (0.000_81 + 0.001_28)).abs() < 1e-9, "{}", got.df);
        // The interval just reaches 0 where p is 1 less the confidence.
        let edge = contrast(estimate(2.0, 0.3, 10.0), estimate(3.0, 0.4, 20.0), 1.0 - got.p).expect("known");
        assert!(edge.interval.lower.abs() < 1e-9, "{}", edge.interval.lower);
        // Known standard errors: a difference of 2 in standard errors of 1, R: 2 * pnorm(-2).
        let known = contrast(estimate(0.0, 0.6, f64::INFINITY), estimate(2.0, 0.8, f64::INFINITY), 0.95);
        assert!((known.expect("known").p - 0.045_500_263_896_4).abs() < 1e-10);
        let twins = contrast(estimate(2.0, 0.3, 10.0), estimate(2.0, 0.3, 10.0), 0.95).expect("known");
        assert!((twins.df - 20.0).abs() < ROUNDING && twins.p == 1.0);
        assert!(contrast(estimate(1.0, 0.0, 5.0), estimate(1.0, 0.0, 5.0), 0.95).is_err());
        assert!(contrast(estimate(1.0, f64::NAN, 5.0), estimate(1.0, 0.1, 5.0), 0.95).is_err());
        assert!(contrast(estimate(1.0, 0.1, 0.0), estimate(1.0, 0.1, 5.0), 0.95).is_err());
    }

    #[test]
    fn a_slope_by_hand() {
        // Weights 1, 4, 1: x̄ = 2016, S = 1·4 + 0 + 1·4 = 8; slope = (−2·1 + 2·3) / 8 = 0.5; SE = 1/√8.
        let y = [estimate(1.0, 1.0, 16.0), estimate(9.0, 0.5, 15.0), estimate(3.0, 1.0, 16.0)];
        let got = trend(&[2014.0, 2016.0, 2018.0], &y, 0.95).expect("three estimates");
        assert!((got.slope - 0.5).abs() < ROUNDING, "{}", got.slope);
        assert!((got.standard_error - 8.0_f64.sqrt().recip()).abs() < ROUNDING);
        // The middle estimate has no share of the slope: df = 16 + 16.
        assert!((got.df - 32.0).abs() < 1e-9, "{}", got.df);
        // Mean (1 + 36 + 3) / 6 = 20/3; residuals −14/3, 7/3, −14/3: Q = 588/9, and F on 1 and 47 is t².
        assert!((got.intercept - (20.0 / 3.0 - 0.5 * 2016.0)).abs() < 1e-9, "{}", got.intercept);
        let far = two_sided_p((588.0_f64 / 9.0).sqrt(), 47.0);
        assert!((got.departure / far - 1.0).abs() < 1e-6, "{} {far}", got.departure);
        assert!(trend(&[1.0, 2.0], &y[..2], 0.95).is_err());
        assert!(trend(&[1.0, 1.0, 1.0], &y, 0.95).is_err());
    }

    #[test]
    fn equal_estimates_have_no_slope() {
        let y = [estimate(4.0, 1.0, 15.0), estimate(4.0, 0.5, 14.0), estimate(4.0, 0.2, 16.0)];
        let got = trend(&[1000.0, 1001.0, 1009.3], &y, 0.95).expect("three estimates");
        assert!(got.slope.abs() < ROUNDING && (got.p - 1.0).abs() < 1e-9, "{got:?}");
        assert!((got.departure - 1.0).abs() < 1e-9 && got.interval.contains(0.0));
    }
}
