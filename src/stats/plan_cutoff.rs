//! How far a cutoff of largest Youden index will lie from the true one, by simulation.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::interval::{Interval, normal_quantile};
use super::numeric::between_order_statistics;
use super::roc;
use super::rule::{self, Rule};
use super::smooth::smoothed_youden;
use super::{Sample, StatError};

/// How the cutoff is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// The observed value of largest Youden index.
    Empirical,
    /// The same on kernel-smoothed distributions.
    Smoothed,
}

impl Method {
    /// The power of the number of people by which cutoffs gather about the true one.
    ///
    /// # Source
    ///
    /// Kim and Pollard 1990, Ann Stat 18:191–219 (a maximum of a step function: ⅓); Silverman 1986, Density Estimation (a
    /// crossing of two densities with bandwidths of `n^(−1/5)`: ⅖).
    #[must_use]
    pub fn rate(self) -> f64 {
        match self {
            Self::Empirical => 1.0 / 3.0,
            Self::Smoothed => 2.0 / 5.0,
        }
    }
}

/// Two normal classes with the same spread, as many people in each as will be measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Classes {
    pub auc: f64,
    pub with: u64,
    pub without: u64,
}

/// More people than this are not drawn in a simulation: their cutoffs are carried on from so many.
pub const MOST_DRAWN: u64 = 10_000;
/// Of the larger class no more are drawn than so many times the smaller, which decides the width alone by then.
const TIMES: u64 = 100;

impl Classes {
    /// Classes of the same proportion with at most so many people, and their share of all that count.
    #[must_use]
    pub fn at_most(&self, most: u64) -> (Self, f64) {
        let cap = TIMES * self.with.min(self.without);
        let (with, without) = (self.with.min(cap), self.without.min(cap));
        let people = with + without;
        if people <= most {
            return (Self { with, without, ..*self }, 1.0);
        }
        let share = most as f64 / people as f64;
        let drawn = |people: u64| ((share * people as f64).round() as u64).max(2);
        (Self { with: drawn(with), without: drawn(without), ..*self }, share)
    }
}

/// What simulated cutoffs say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Central share of the cutoffs less the true one, in standard deviations of a class.
    pub interval: Interval,
    /// Monte-Carlo standard error of its width.
    pub width_error: f64,
    /// Simulations without a cutoff.
    pub failed: usize,
}

impl Spread {
    /// The spread among more people, of whom those drawn are this share.
    ///
    /// # Formula
    ///
    /// Every deviation times `share ^ rate` ([`Method::rate`]).
    ///
    /// # Checked against
    ///
    /// Simulations of as many people, where both are cheap.
    #[must_use]
    pub fn carried_on(self, share: f64, method: Method) -> Self {
        let by = share.powf(method.rate());
        let Interval { lower, upper } = self.interval;
        Self {
            interval: Interval { lower: by * lower, upper: by * upper },
            width_error: by * self.width_error,
            ..self
        }
    }
}

/// One simulated cutoff less the true one, in standard deviations of a class; `None` without a cutoff.
///
/// # Formula
///
/// Values without the outcome are N(0, 1), with it N(δ, 1), `δ = √2 Φ⁻¹(A)`; the true cutoff is `δ / 2`. Random numbers depend
/// on the seed and the number of the simulation alone.
///
/// # Source
///
/// Fluss, Faraggi and Reiser 2005, Biom J 47:458–472 (estimators).
#[must_use]
pub fn simulated(classes: &Classes, method: Method, (seed, number): (u64, u64)) -> Option<f64> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(number);
    let apart = std::f64::consts::SQRT_2 * normal_quantile(classes.auc);
    let people = (classes.with + classes.without) as usize;
    let mut rows: Vec<(f64, bool)> = (0..people)
        .map(|row| {
            let has = row < classes.with as usize;
            (normal(&mut random) + if has { apart } else { 0.0 }, has)
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (value, class): (Vec<f64>, Vec<bool>) = rows.into_iter().unzip();
    let sample = Sample::from_people(&value, &vec![1.0; people], &vec![0; people]).ok()?;
    let cutoff = match method {
        Method::Smoothed => smoothed_youden(&sample, &class).ok()?.cutoff,
        Method::Empirical => {
            let points = roc::curve(&sample, &class).ok()?;
            points[rule::choose(&points, Rule::Youden, classes.with as f64 / people as f64)?].cutoff
        }
    };
    Some(cutoff - apart / 2.0)
}

/// Central share of simulated cutoffs, with the Monte-Carlo error of its width.
///
/// # Formula
///
/// Percentiles of the simulations at both tails. Half the distance between the order statistics one binomial standard error below
/// and above a tail is its standard error (Woodruff 1952); both tails are taken as independent.
///
/// # Errors
///
/// [`StatError::Undefined`] with fewer than 40 simulations that have a cutoff.
pub fn spread(simulated: &[Option<f64>], confidence: f64) -> Result<Spread, StatError> {
    let mut found: Vec<f64> = simulated.iter().flatten().copied().collect();
    if found.len() < FEWEST {
        return Err(StatError::Undefined("too few simulations have a cutoff"));
    }
    found.sort_by(f64::total_cmp);
    let tail = (1.0 - confidence) / 2.0;
    let step = (tail * (1.0 - tail) / found.len() as f64).sqrt();
    let at = |p: f64| between_order_statistics(&found, p.clamp(0.0, 1.0));
    let error = |p: f64| (at(p + step) - at(p - step)) / 2.0;
    Ok(Spread {
        interval: Interval { lower: at(tail), upper: at(1.0 - tail) },
        width_error: error(tail).hypot(error(1.0 - tail)),
        failed: simulated.len() - found.len(),
    })
}

/// Simulations below which no tail is given.
const FEWEST: usize = 40;

/// Standard normal, by Box and Muller (1958), Ann Math Stat 29:610–611.
fn normal(random: &mut ChaCha8Rng) -> f64 {
    const STEP: f64 = 1.0 / (1_u64 << 53) as f64;
    let mut uniform = || (random.next_u64() >> 11) as f64 * STEP;
    (-2.0 * (1.0 - uniform()).ln()).sqrt() * (std::f64::consts::TAU * uniform()).cos()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Comparisons of simulated numbers, in their standard errors.
    const STANDARD_ERRORS: f64 = 4.0;

    fn of(people: u64, method: Method, seed: u64) -> Spread {
        let classes = Classes { auc: 0.8, with: people, without: people };
        let all: Vec<_> = (0..200).map(|number| simulated(&classes, method, (seed, number))).collect();
        spread(&all, 0.95).expect("cutoffs")
    }

    #[test]
    fn cutoffs_gather_about_the_true_one_and_smoothing_helps() {
        let (few, many) = (of(40, Method::Empirical, 1), of(320, Method::Empirical, 1));
        assert!(few.interval.contains(0.0) && many.interval.contains(0.0), "{few:?} {many:?}");
        // n^(−1/3): eight times the people halve the width, n^(−1/2) would leave 0.35.
        let shrunk = many.interval.width() / few.interval.width();
        assert!((0.35..0.7).contains(&shrunk), "{shrunk}");
        let smoothed = of(40, Method::Smoothed, 1);
        assert!(smoothed.interval.width() < few.interval.width(), "{smoothed:?} {few:?}");
    }

    #[test]
    fn cutoffs_of_many_people_are_carried_on_from_fewer() {
        let all = Classes { auc: 0.8, with: 1000, without: 1000 };
        let (drawn, share) = all.at_most(250);
        assert_eq!((drawn.with, drawn.without, share), (125, 125, 0.125));
        for method in [Method::Empirical, Method::Smoothed] {
            let (few, many) = (of(125, method, 1), of(1000, method, 2));
            let carried = few.carried_on(share, method);
            let apart = (carried.interval.width() - many.interval.width()).abs();
            let error = carried.width_error.hypot(many.width_error);
            assert!(apart < STANDARD_ERRORS * error, "{method:?}: {carried:?} {many:?}");
            assert!(few.interval.width() - many.interval.width() > STANDARD_ERRORS * error, "it can tell");
        }
    }

    #[test]
    fn no_more_people_are_drawn_than_the_smaller_class_can_use() {
        let of = |with, without| {
            let (drawn, share) = Classes { auc: 0.8, with, without }.at_most(MOST_DRAWN);
            (drawn.with, drawn.without, share)
        };
        assert_eq!(of(300, 900), (300, 900, 1.0));
        assert_eq!(of(50, 10_000_000), (50, 5000, 1.0));
        assert_eq!(of(3_000_000, 7_000_000), (3000, 7000, 0.001));
    }

    #[test]
    fn another_seed_agrees_within_the_stated_error() {
        let (a, b) = (of(40, Method::Empirical, 1), of(40, Method::Empirical, 2));
        let apart = (a.interval.width() - b.interval.width()).abs();
        assert!(apart > 0.0 && apart < STANDARD_ERRORS * a.width_error.hypot(b.width_error), "{a:?} {b:?}");
        assert_eq!(a, of(40, Method::Empirical, 1), "the same seed, the same numbers");
    }

    #[test]
    fn tails_by_hand() {
        // 0 … 400: the 2.5th and 97.5th percentile are 10 and 390; one standard error of a tail is
        // √(0.025 · 0.975 / 401) · 400 = 3.119 places, and two tails √2 of that.
        let numbers: Vec<Option<f64>> = (0..=400).rev().map(|i| Some(f64::from(i))).chain([None]).collect();
        let got = spread(&numbers, 0.95).expect("numbers");
        assert!((got.interval.lower - 10.0).abs() < 1e-9 && (got.interval.upper - 390.0).abs() < 1e-9);
        assert!((got.width_error - 3.118_62 * std::f64::consts::SQRT_2).abs() < 1e-3, "{got:?}");
        assert_eq!(got.failed, 1);
        assert!(spread(&numbers[..30], 0.95).is_err());
    }
}
