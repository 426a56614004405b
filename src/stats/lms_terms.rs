//! What one value adds to the log-likelihood of the LMS method, and its derivatives.

/// Below this the closed forms lose digits to cancellation, and a short series does not.
const SMALL: f64 = 0.25;
/// Terms of the series: the next is 0.25¹¹ / 11! of the first.
const TERMS: u32 = 11;

/// Derivatives by L, ln M and ln S, in this order.
pub(super) type Score = [f64; 3];
/// Negative second derivatives, or their expectation.
pub(super) type Information = [[f64; 3]; 3];

/// One value seen from the distribution at its place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Terms {
    l: f64,
    s: f64,
    /// `ln(y / M)`.
    u: f64,
    /// `(y / M)^L`.
    power: f64,
    z: f64,
}

impl Terms {
    pub(super) fn new(log_value: f64, l: f64, (log_m, log_s): (f64, f64)) -> Self {
        let (u, s) = (log_value - log_m, log_s.exp());
        let log_power = l * u;
        let transformed = if log_power == 0.0 { u } else { u * (log_power.exp_m1() / log_power) };
        Self { l, s, u, power: log_power.exp(), z: transformed / s }
    }

    /// Log-likelihood without its constants: `L ln(y / M) − ln S − z² / 2`.
    pub(super) fn log_likelihood(&self) -> f64 {
        self.l * self.u - self.s.ln() - 0.5 * self.z * self.z
    }

    /// First derivatives, and the observed information.
    pub(super) fn derivatives(&self) -> (Score, Information) {
        let Self { l, s, u, power, z } = *self;
        let (first, second) = moments(l * u, power);
        // z by L, once and twice.
        let (z_l, z_ll) = (u * u * first / s, u * u * u * second / s);
        // −z by ln M: it falls as the median rises.
        let rise = power / s;
        let score = [u - z * z_l, z * rise - l, z * z - 1.0];
        let l_m = 1.0 - rise * (z_l + z * u);
        let l_s = -2.0 * z * z_l;
        let m_s = 2.0 * z * rise;
        let l_l = z_l * z_l + z * z_ll;
        let m_m = rise * (rise + l * z);
        (score, [[l_l, l_m, l_s], [l_m, m_m, m_s], [l_s, m_s, 2.0 * z * z]])
    }
}

/// Expected information of one value, to the second order in S.
///
/// # Source
///
/// Cole and Green 1992, Stat Med 11:1305–1319, appendix; from memory of the source. It sets the direction of
/// a step and not where the steps end.
pub(super) fn expected(l: f64, s: f64) -> Information {
    let (l_l, m_m) = (1.75 * s * s, 1.0 / (s * s) + 2.0 * l * l);
    [[l_l, -0.5, l * s * s], [-0.5, m_m, 2.0 * l], [l * s * s, 2.0 * l, 2.0]]
}

/// `∫₀¹ v^k exp(t v) dv` for k = 1 and 2, given `exp(t)`: what differentiating `(exp(L u) − 1) / L` by L leaves.
fn moments(t: f64, exp: f64) -> (f64, f64) {
    if t.abs() >= SMALL {
        let first = (exp * (t - 1.0) + 1.0) / (t * t);
        return (first, (exp - 2.0 * first) / t);
    }
    let mut term = 1.0;
    let mut second = 1.0 / 3.0;
    for k in 1..TERMS {
        term *= t / f64::from(k);
        second += term / f64::from(k + 3);
    }
    // Integration by parts, in the direction that loses nothing.
    (0.5 * (exp - t * second), second)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::lms::Lms;
    use proptest::prelude::*;

    /// Step of the central differences, and what they leave: their error is of the order of its square.
    const STEP: f64 = 1e-5;
    const DIFFERENCE: f64 = 1e-6;

    fn at(theta: [f64; 3], log_value: f64) -> Terms {
        Terms::new(log_value, theta[0], (theta[1], theta[2]))
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn derivatives_are_those_of_the_log_likelihood(
            l in -2.0_f64..2.0, small in -1e-4_f64..1e-4, near_zero in any::<bool>(),
            log_m in -1.0_f64..2.0, log_s in -2.0_f64..-0.3, log_value in -1.5_f64..2.5
        ) {
            let theta = [if near_zero { small } else { l }, log_m, log_s];
            let (score, information) = at(theta, log_value).derivatives();
            let lms = Lms::new(theta[0], log_m.exp(), log_s.exp()).expect("valid");
            let z = lms.z(log_value.exp()).expect("positive");
            prop_assert!((at(theta, log_value).z - z).abs() < DIFFERENCE * (1.0 + z.abs()));
            for a in 0..3 {
                let moved = |by: f64| { let mut to = theta; to[a] += by; at(to, log_value) };
                let slope =
                    (moved(STEP).log_likelihood() - moved(-STEP).log_likelihood()) / (2.0 * STEP);
                let size = 1.0 + score[a].abs();
                prop_assert!((score[a] - slope).abs() < DIFFERENCE * size * size, "{a}: {} {slope}", score[a]);
                let (up, down) = (moved(STEP).derivatives().0, moved(-STEP).derivatives().0);
                for b in 0..3 {
                    let bend = (down[b] - up[b]) / (2.0 * STEP);
                    let size = 1.0 + information[a][b].abs();
                    prop_assert!((information[a][b] - bend).abs() < DIFFERENCE * size * size, "{a} {b}");
                }
            }
        }
    }

    #[test]
    fn both_forms_of_the_moments_meet() {
        for t in [SMALL, -SMALL] {
            let (below, above) = (moments(t * (1.0 - 1e-12), t.exp()), moments(t, t.exp()));
            assert!(
                (below.0 - above.0).abs() < 1e-13 && (below.1 - above.1).abs() < 1e-13,
                "{below:?} {above:?}"
            );
        }
        // ∫ v dv and ∫ v² dv.
        assert_eq!(moments(0.0, 1.0), (0.5, 1.0 / 3.0));
    }

    #[test]
    fn information_of_a_log_normal_value_averages_to_the_expected() {
        // L = 0: midpoints of a fine grid of z, weighted by the normal density.
        let (s, n) = (0.4_f64, 40_000);
        let mut sum = [[0.0; 3]; 3];
        for k in 0..n {
            let z = -10.0 + 20.0 * (f64::from(k) + 0.5) / f64::from(n);
            let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt() * 20.0 / f64::from(n);
            let (_, information) = Terms::new(s * z, 0.0, (0.0, s.ln())).derivatives();
            for (sum, row) in sum.iter_mut().flatten().zip(information.iter().flatten()) {
                *sum += density * row;
            }
        }
        for (got, want) in sum.iter().flatten().zip(expected(0.0, s).iter().flatten()) {
            assert!((got - want).abs() < 1e-9, "{sum:?}");
        }
    }
}
