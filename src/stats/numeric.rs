//! Numerical pieces that several estimators share.

use std::f64::consts::SQRT_2;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;
use statrs::function::erf::erfc;

/// Steps of the golden section from a bracket of 0.2 down to the last useful digit.
const SECTIONS: usize = 45;

/// Standard normal distribution function.
pub(super) fn phi(z: f64) -> f64 {
    0.5 * erfc(-z / SQRT_2)
}

/// The largest entry, if two entries on each side make it a hill.
pub(super) fn interior_maximum(curve: &[f64]) -> Option<usize> {
    let best = (0..curve.len()).max_by(|&a, &b| curve[a].total_cmp(&curve[b]))?;
    (best >= 2 && best + 2 < curve.len()).then_some(best)
}

/// Where the quartic through the largest of evenly spaced points and two neighbours on each side has its
/// top, in steps from that point.
pub(super) fn quartic_top(curve: &[f64], best: usize) -> f64 {
    let [a, b, c, d, e] = std::array::from_fn(|k| curve[best + k - 2]);
    // Coefficients of t, t², t³, t⁴ about the middle point.
    let p1 = (8.0 * (d - b) - (e - a)) / 12.0;
    let p2 = (16.0 * (d + b) - (e + a) - 30.0 * c) / 24.0;
    let p3 = (e - 2.0 * d + 2.0 * b - a) / 12.0;
    let p4 = (e - 4.0 * d + 6.0 * c - 4.0 * b + a) / 24.0;
    let mut t = 0.0_f64;
    for _ in 0..8 {
        let slope = p1 + t * (2.0 * p2 + t * (3.0 * p3 + t * 4.0 * p4));
        let bend = 2.0 * p2 + t * (6.0 * p3 + t * 12.0 * p4);
        if bend < 0.0 {
            t = (t - slope / bend).clamp(-1.0, 1.0);
        }
    }
    t
}

/// The parabola through three evenly spaced points, `t` steps from the middle one.
pub(super) fn parabola_at([a, b, c]: [f64; 3], t: f64) -> f64 {
    b + 0.5 * t * (c - a) + 0.5 * t * t * (a - 2.0 * b + c)
}

/// A number below `n`, uniform up to `n / 2⁶⁴`. Written out because the draw must never change with a
/// library's version.
pub(super) fn below(random: &mut ChaCha8Rng, n: usize) -> usize {
    ((u128::from(random.next_u64()) * n as u128) >> 64) as usize
}

/// Quantile of ascending numbers by definition 7 of Hyndman and Fan: straight lines between order statistics.
pub(super) fn between_order_statistics(sorted: &[f64], p: f64) -> f64 {
    let place = p * (sorted.len() - 1) as f64;
    let (below, above) = (sorted[place.floor() as usize], sorted[place.ceil() as usize]);
    let share = place.fract();
    // Not 0 times a distance, which may be infinite.
    if share == 0.0 { below } else { below + share * (above - below) }
}

/// Where a function with one maximum in the bracket has it.
pub(super) fn golden_maximum(of: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    for _ in 0..SECTIONS {
        let reach = golden * (high - low);
        if of(high - reach) >= of(low + reach) {
            high = low + reach;
        } else {
            low = high - reach;
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quartic_is_met_exactly() {
        // −(t − 0.3)² − 0.1 (t − 0.3)⁴ has its top at 0.3.
        let at = |t: f64| -(t - 0.3).powi(2) - 0.1 * (t - 0.3).powi(4);
        let curve: Vec<f64> = (-4..=4).map(|t| at(f64::from(t))).collect();
        let best = interior_maximum(&curve).expect("a hill");
        assert_eq!(best, 4);
        assert!((quartic_top(&curve, best) - 0.3).abs() < 1e-12);
        assert!((parabola_at([4.0, 1.0, 0.0], 0.5) - 0.25).abs() < 1e-15, "(t − 1)²");
    }

    #[test]
    fn quantiles_lie_on_lines_between_order_statistics() {
        // Four numbers: p = 0.25 lies ¾ of a place after the first, p = ⅔ on the third.
        let sorted = [1.0, 3.0, 4.0, f64::INFINITY];
        assert_eq!(between_order_statistics(&sorted, 0.25), 2.5);
        assert_eq!(between_order_statistics(&sorted, 2.0 / 3.0), 4.0);
        assert_eq!(between_order_statistics(&sorted, 1.0), f64::INFINITY);
    }

    #[test]
    fn an_end_is_no_hill() {
        assert_eq!(interior_maximum(&[5.0, 4.0, 3.0, 2.0, 1.0]), None);
        assert_eq!(interior_maximum(&[1.0, 2.0, 3.0, 4.0, 3.0]), None);
        assert_eq!(interior_maximum(&[]), None);
    }
}
