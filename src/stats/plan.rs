//! How wide an interval will be, before anybody is measured.

use super::StatError;
use super::interval::{self, Interval, normal_quantile, two_sided_t};
use super::numeric::phi;
use super::proportion::Share;

/// Halvings of the distance between two quantiles, down to the last bit.
const HALVINGS: usize = 60;

/// People who are to be measured, and by how much their design inflates a variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planned {
    pub people: u64,
    /// Variance under the design over that of as many people drawn singly; 1 for these.
    pub design_effect: f64,
    /// Sampling units less strata; `None`: people are drawn singly.
    pub df: Option<f64>,
    pub confidence: f64,
}

impl Planned {
    pub(super) fn check(&self) -> Result<(), StatError> {
        if self.people < 2 {
            let what = "number of people";
            return Err(StatError::Parameter { what, range: "[2, ∞)", value: self.people as f64 });
        }
        if self.design_effect > 0.0 && self.design_effect.is_finite() {
            return Ok(());
        }
        Err(StatError::Parameter { what: "design effect", range: "(0, ∞)", value: self.design_effect })
    }

    fn degrees_of_freedom(&self) -> f64 {
        self.df.unwrap_or(self.people as f64 - 1.0)
    }
}

pub(super) fn inside(what: &'static str, value: f64) -> Result<(), StatError> {
    if value > 0.0 && value < 1.0 {
        return Ok(());
    }
    Err(StatError::Parameter { what, range: "(0, 1)", value })
}

/// The interval of a share, a sensitivity or a specificity that comes out as expected.
///
/// # Formula
///
/// Korn–Graubard, as [`Share::korn_graubard`], with `V = D p (1 − p) / n` for a design effect `D`: exact binomial on
/// `n / D` people. With `D = 1` and people drawn singly it is the interval of Clopper and Pearson.
///
/// # Errors
///
/// [`StatError::Parameter`] for a share outside (0, 1), fewer than two people or a design effect that is not positive.
///
/// # Source
///
/// Korn and Graubard 1998, Surv Methodol 24:193–201; Kish 1965, Survey Sampling (design effect).
pub fn share_interval(p: f64, planned: &Planned) -> Result<Interval, StatError> {
    inside("expected share", p)?;
    planned.check()?;
    let n = planned.people as f64;
    let share = Share {
        p,
        variance: planned.design_effect * p * (1.0 - p) / n,
        people: planned.people,
        events: (p * n).round() as u64,
        weighted_people: n,
        n_effective: (n / planned.design_effect).min(n),
        df: planned.degrees_of_freedom(),
    };
    share.korn_graubard(planned.confidence)
}

/// Shares of the distribution between which a percentile that comes out as expected will be placed.
///
/// # Formula
///
/// ```text
/// logit(p) ± t √(D / (n p (1 − p)))
/// ```
///
/// Woodruff's interval on the logit. The distribution's quantiles at both ends are the interval of the percentile.
///
/// # Errors
///
/// As [`share_interval`].
///
/// # Source
///
/// Woodruff 1952, J Am Stat Assoc 47:635–646.
pub fn percentile_ends(p: f64, planned: &Planned) -> Result<Interval, StatError> {
    inside("percentile as a share", p)?;
    planned.check()?;
    let t = two_sided_t(planned.degrees_of_freedom(), planned.confidence)?;
    let reach = t * (planned.design_effect / (planned.people as f64 * p * (1.0 - p))).sqrt();
    let centre = interval::logit(p);
    Ok(Interval { lower: interval::expit(centre - reach), upper: interval::expit(centre + reach) })
}

/// Quantile of a log-normal distribution at one share over that at another.
///
/// # Formula
///
/// `exp(σ (z_at − z_p))`, `σ = √ln(1 + CV²)`.
#[must_use]
pub fn log_normal_ratio(at: f64, p: f64, sigma: f64) -> f64 {
    (sigma * (normal_quantile(at) - normal_quantile(p))).exp()
}

/// Everybody as two normal classes of equal spread, people with the outcome the higher.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoClasses {
    /// Distance of the means, in standard deviations of a class.
    apart: f64,
    /// Share of people with the outcome.
    with: f64,
}

impl TwoClasses {
    /// Classes that are told apart with this area under the ROC curve, and the share of people with the outcome.
    ///
    /// # Formula
    ///
    /// Means `δ = √2 Φ⁻¹(A)` standard deviations apart.
    #[must_use]
    pub fn new(auc: f64, with: f64) -> Self {
        Self { apart: std::f64::consts::SQRT_2 * normal_quantile(auc), with }
    }

    /// Standard deviation of a class over that of everybody.
    ///
    /// # Formula
    ///
    /// `1 / √(1 + π (1 − π) δ²)`: the variance of everybody is that of a class and that of the means.
    #[must_use]
    pub fn within(&self) -> f64 {
        (1.0 + self.with * (1.0 - self.with) * self.apart * self.apart).sqrt().recip()
    }

    /// The value below which a share of everybody lies, in standard deviations of a class above the mean of people without
    /// the outcome.
    ///
    /// # Formula
    ///
    /// The root of `(1 − π) Φ(x) + π Φ(x − δ) = p`, which lies between the quantiles of the two classes.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        let below = |x: f64| (1.0 - self.with) * phi(x) + self.with * phi(x - self.apart);
        let (mut low, mut high) = (normal_quantile(p), normal_quantile(p) + self.apart);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if below(middle) < p { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    }
}

/// Standard deviation of the logarithm of a log-normal quantity with this coefficient of variation.
#[must_use]
pub fn log_sd(cv: f64) -> f64 {
    (cv * cv).ln_1p().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::{Rng, SeedableRng};

    /// Widths of intervals and of simulated estimates: exact binomial intervals and t are a little wider, and the
    /// ends of 1000 simulations vary by 3 %.
    const WIDTHS_AGREE: f64 = 0.1;

    fn singly(people: u64) -> Planned {
        Planned { people, design_effect: 1.0, df: None, confidence: 0.95 }
    }

    /// Uniform numbers strictly between 0 and 1.
    fn uniforms(seed: u64) -> impl FnMut() -> f64 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        move || ((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn central(simulated: &[f64]) -> Interval {
        interval::percentile_of_replicates(simulated, 0.95).expect("simulations")
    }

    #[test]
    fn shares_and_percentiles_are_as_wide_as_simulated_ones_lie_apart() {
        let people = 400_usize;
        let mut uniform = uniforms(7);
        let mut share = || (0..people).filter(|_| uniform() < 0.8).count() as f64 / people as f64;
        let width = central(&(0..1000).map(|_| share()).collect::<Vec<_>>()).width();
        let got = share_interval(0.8, &singly(400)).expect("valid").width();
        assert!((got / width - 1.0).abs() < WIDTHS_AGREE, "{got} {width}");
        // A percentile of uniform numbers is the share of the distribution at which it lies.
        let mut uniform = uniforms(8);
        let mut percentile = |p: f64| {
            let mut values: Vec<f64> = (0..people).map(|_| uniform()).collect();
            values.sort_by(f64::total_cmp);
            values[(p * people as f64).ceil() as usize - 1]
        };
        for p in [0.5, 0.95] {
            let width = central(&(0..1000).map(|_| percentile(p)).collect::<Vec<_>>()).width();
            let got = percentile_ends(p, &singly(400)).expect("valid").width();
            assert!((got / width - 1.0).abs() < WIDTHS_AGREE, "{p}: {got} {width}");
        }
    }

    #[test]
    fn a_share_is_placed_as_clopper_and_pearson_place_it() {
        let got = share_interval(0.8, &singly(50)).expect("valid");
        let exact = interval::clopper_pearson(40.0, 50.0, 0.95).expect("valid");
        assert!((got.lower - exact.lower).abs() < 1e-12 && (got.upper - exact.upper).abs() < 1e-12);
        // Four times the people at a design effect of four say as much; half as much is wider.
        let inflated = Planned { people: 200, design_effect: 4.0, df: Some(1e9), confidence: 0.95 };
        let exact = share_interval(0.8, &Planned { df: Some(1e9), ..singly(50) });
        let (a, b) = (share_interval(0.8, &inflated).expect("valid"), exact.expect("valid"));
        // t of 199 and of 49 degrees of freedom over the normal's part them by a little.
        assert!((a.width() - b.width()).abs() < 0.03 * b.width(), "{a:?} {b:?}");
        let widths: Vec<f64> =
            [50, 100, 400].map(|n| share_interval(0.8, &singly(n)).expect("valid").width()).to_vec();
        assert!(widths[0] > widths[1] && widths[1] > 1.9 * widths[2], "{widths:?}");
    }

    #[test]
    fn percentiles_tighten_with_people_and_loosen_with_the_design() {
        let ends = |people, design_effect| {
            percentile_ends(0.9, &Planned { design_effect, ..singly(people) }).expect("valid")
        };
        assert!(ends(400, 1.0).width() < ends(100, 1.0).width());
        assert!(ends(400, 2.0).width() > ends(400, 1.0).width());
        assert!(
            ends(100, 1.0).contains(0.9)
                && (ends(800, 2.0).width() / ends(400, 1.0).width() - 1.0).abs() < 0.01
        );
        assert!(
            (log_normal_ratio(0.9, 0.5, log_sd(0.5))
                - (0.223_143_551_314_21_f64.sqrt() * 1.281_551_565_544_6).exp())
            .abs()
                < 1e-9
        );
        assert!((log_normal_ratio(0.7, 0.7, 0.5) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn everybody_spreads_wider_than_a_class_and_has_the_quantiles_of_both() {
        // δ = √2 · 1.281552 = 1.812388; 1 + 0.25 · 3.284750 = 1.821188, whose root is 1.349514.
        let halves = TwoClasses::new(0.9, 0.5);
        assert!((halves.within() - 1.0 / 1.349_514).abs() < 1e-6, "{halves:?}");
        // By symmetry the median lies half-way between the means.
        assert!((halves.quantile(0.5) - 1.812_388 / 2.0).abs() < 1e-6, "{halves:?}");
        // Three quarters at z = 1 (0.841345) and a quarter at 1 − δ (0.208284) are 0.683080 of everybody.
        assert!((TwoClasses::new(0.9, 0.25).quantile(0.683_080) - 1.0).abs() < 1e-5);
        let alike = TwoClasses::new(0.5, 0.3);
        assert!(
            (alike.quantile(0.9) - normal_quantile(0.9)).abs() < 1e-12
                && (alike.within() - 1.0).abs() < 1e-15
        );
    }

    #[test]
    fn what_cannot_be_planned_is_refused() {
        assert!(share_interval(1.0, &singly(50)).is_err() && share_interval(0.5, &singly(1)).is_err());
        assert!(percentile_ends(0.5, &Planned { design_effect: 0.0, ..singly(50) }).is_err());
    }
}
