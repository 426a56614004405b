//! The incomplete beta function and its inverse, for any number of people.
//!
//! The continued fraction needs about √n steps, which a library routine with a fixed number of steps
//! does not give; and a quantile search that can leave its bracket may never end.

use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::gamma::ln_gamma;

use super::numeric::phi;

/// Steps of the continued fraction: enough for 10⁸ people, and a sure end.
const MOST_STEPS: u32 = 100_000;
/// Steps of the quantile search; halving alone needs at most about 1,100 to reach the smallest number.
const MOST_HALVINGS: u32 = 1_200;
/// A relative step from which the next digits are right: Newton's steps double their number each time.
const SETTLED: f64 = 1e-10;
/// Smallest magnitude kept in the continued fraction.
const TINY: f64 = 1e-300;

/// Distribution function of the beta distribution, the regularised incomplete beta function `I_x(a, b)`.
///
/// `a` and `b` are positive and `x` lies in [0, 1].
pub(super) fn beta_share(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    // x^a (1 − x)^b / B(a, b)
    let front = (ln_inverse_beta(a, b) + a * x.ln() + b * (-x).ln_1p()).exp();
    // The fraction converges fast on the side of the mean where `x` lies.
    if x < (a + 1.0) / (a + b + 2.0) {
        front * continued_fraction(a, b, x) / a
    } else {
        1.0 - front * continued_fraction(b, a, 1.0 - x) / b
    }
}

/// Quantile of the beta distribution: the `x` with `I_x(a, b) = p`.
pub(super) fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    beta_quantile_from(nearby(p, a, b).unwrap_or(a / (a + b)), p, a, b)
}

/// Newton's steps inside a bracket that only shrinks; a step that leaves it becomes a halving.
fn beta_quantile_from(start: f64, p: f64, a: f64, b: f64) -> f64 {
    let ln_inverse_beta = ln_inverse_beta(a, b);
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    let mut x = start;
    for _ in 0..MOST_HALVINGS {
        let excess = beta_share(a, b, x) - p;
        if excess == 0.0 {
            return x;
        }
        if excess < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let density = (ln_inverse_beta + (a - 1.0) * x.ln() + (b - 1.0) * (-x).ln_1p()).exp();
        let newton = x - excess / density;
        // At the root rounding decides on which side of it a bracket ends: no halving there. A last step towards a root
        // at 1 may pass it.
        if (newton - x).abs() <= SETTLED * x {
            return newton.clamp(0.0, 1.0);
        }
        x = if newton > low && newton < high { newton } else { f64::midpoint(low, high) };
    }
    x
}

/// Quantile of the standard normal distribution.
pub(super) fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}

/// A quantile of the beta distribution to two or three digits, where both parameters exceed 1 (Abramowitz and Stegun
/// 1964, 26.5.22).
fn nearby(p: f64, a: f64, b: f64) -> Option<f64> {
    let y = -normal_quantile(p);
    let (one, other) = (1.0 / (2.0 * a - 1.0), 1.0 / (2.0 * b - 1.0));
    let h = 2.0 / (one + other);
    let lambda = (y * y - 3.0) / 6.0;
    if !(a > 1.0 && b > 1.0 && h + lambda > 0.0) {
        return None;
    }
    let w = y * (h + lambda).sqrt() / h - (other - one) * (lambda + 5.0 / 6.0 - 2.0 / (3.0 * h));
    Some(a / (a + b * (2.0 * w).exp())).filter(|x| *x > 0.0 && *x < 1.0)
}

/// Quantile of Student's t with `df` degrees of freedom.
pub(super) fn t_quantile(p: f64, df: f64, normal: f64) -> f64 {
    /// From here on the expansion is exact to the last digits, and cheaper.
    const LARGE: f64 = 1000.0;
    /// Up to here the expansion may be far off.
    const FEW: f64 = 3.0;
    if df > LARGE {
        return expanded_t(df, normal);
    }
    // t² / (df + t²) is beta distributed with ½ and df / 2.
    let about = expanded_t(df.max(FEW), normal).powi(2);
    let share = beta_quantile_from(about / (df + about), (2.0 * p - 1.0).abs(), 0.5, df / 2.0);
    (df * share / (1.0 - share)).sqrt().copysign(p - 0.5)
}

/// P(|T| ≥ |t|) of Student's t with `df` degrees of freedom; infinite gives the normal.
pub(super) fn two_sided_p(t: f64, df: f64) -> f64 {
    if df.is_infinite() { 2.0 * phi(-t.abs()) } else { beta_share(df / 2.0, 0.5, df / (df + t * t)) }
}

/// t from the normal quantile `x` by powers of 1/df (Abramowitz and Stegun 1964, 26.7.5).
fn expanded_t(df: f64, x: f64) -> f64 {
    let s = x * x;
    let terms = [
        x * (s + 1.0) / 4.0,
        x * ((5.0 * s + 16.0) * s + 3.0) / 96.0,
        x * (((3.0 * s + 19.0) * s + 17.0) * s - 15.0) / 384.0,
        x * ((((79.0 * s + 776.0) * s + 1482.0) * s - 1920.0) * s - 945.0) / 92160.0,
    ];
    terms.iter().rev().fold(0.0, |sum, term| (sum + term) / df) + x
}

/// `−ln B(a, b)`.
fn ln_inverse_beta(a: f64, b: f64) -> f64 {
    ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b)
}

/// Lentz's method for the fraction of the incomplete beta function (Abramowitz and Stegun 1964, 26.5.8).
fn continued_fraction(a: f64, b: f64, x: f64) -> f64 {
    let away_from_zero = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for step in 1..=MOST_STEPS {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        value *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        value *= d * c;
        if (d * c - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_beta_agree_with_scipy_up_to_many_people() {
        // scipy 1.17.1, beta.ppf(p, a, b). At 10⁸ people the logarithm of the gamma function has 9 digits left.
        let rows = [
            (0.025, 0.3, 10.7, 3.076_862_714_813_45e-7, 1e-12),
            (0.975, 322.924_938, 2_548.740_762, 0.124_257_527_216_732_2, 1e-12),
            (0.025, 3.0, 9_999_998.0, 6.186_721_656_250_593e-8, 1e-7),
            (0.975, 5_000_001.0, 95_000_000.0, 0.050_042_734_451_772_29, 1e-9),
        ];
        for (p, a, b, want, relative) in rows {
            let got = beta_quantile(p, a, b);
            assert!((got - want).abs() <= relative * want, "a {a}: {got} for {want}");
            assert!((beta_share(a, b, got) - p).abs() < 1e-9, "a {a}");
        }
        assert_eq!((beta_share(2.0, 3.0, 0.0), beta_share(2.0, 3.0, 1.0)), (0.0, 1.0));
    }

    #[test]
    fn quantiles_of_t_join_where_the_expansion_takes_over() {
        let normal = 1.959_963_984_540_054;
        let below = t_quantile(0.975, 1000.0, normal);
        let above = t_quantile(0.975, 1_000.000_001, normal);
        assert!((below - above).abs() < 1e-10, "{below} {above}");
    }

    #[test]
    fn many_degrees_of_freedom_approach_the_normal() {
        // R: 2 * pnorm(-1.5) and 2 * pt(-1.5, 1e6); the two differ in the sixth digit.
        let (normal, many) = (two_sided_p(1.5, f64::INFINITY), two_sided_p(-1.5, 1e6));
        assert!((normal - 0.133_614_402_537_7).abs() < 1e-10, "{normal}");
        // Logarithms of Γ(500,000) leave about nine digits.
        assert!((many - 0.133_614_718_236_8).abs() < 1e-9, "{many}");
    }
}
