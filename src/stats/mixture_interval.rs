//! How sure the cutoff of a mixture is: people drawn anew, the two components fitted again from where they were found.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::interval::percentile_of_replicates;
use super::mixture::{CONVERGED, Component, MOST_ITERATIONS, crossing, fit, one_component, people};
use super::numeric::below;
use super::{Interval, Sample, StatError};

/// Part of the variance of all values that is added to each component's, so that none shrinks onto one value.
const LEAST_VARIANCE: f64 = 1e-6;

/// Interval of the cutoff, with the resamples it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixtureInterval {
    pub interval: Interval,
    pub used: usize,
    pub failed: usize,
}

/// Interval of the mixture cutoff: people drawn with replacement, the fit repeated.
///
/// # Formula
///
/// Percentiles of the cutoffs of `resamples` draws. In each draw expectation–maximisation starts from the components
/// of the whole sample, so that a draw asks how far its people move them, and not where another start would lead.
///
/// # Missing data and ties
///
/// A resample whose components do not converge or do not part is left out and counted.
///
/// # Errors
///
/// As for [`super::mixture::mixture`]; [`StatError::Empty`] if no resample could be fitted, [`StatError::Parameter`]
/// for a confidence outside (0, 1).
///
/// # Source
///
/// `McLachlan` and Peel 2000, Finite Mixture Models, section 2.16 (from memory).
pub fn mixture_interval(
    sample: &Sample,
    resamples: usize,
    seed: u64,
    confidence: f64,
) -> Result<MixtureInterval, StatError> {
    let values = people(sample)?;
    let found = fit(&values)?;
    let cutoff = |resample: usize| {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(resample as u64);
        let mut times = vec![0.0; values.len()];
        for _ in 0..values.len() {
            times[below(&mut random, values.len())] += 1.0;
        }
        let parts = refit(&values, &times, [found.lower, found.upper]);
        parts.and_then(|[lower, upper]| crossing(lower, upper).ok()).unwrap_or(f64::NAN)
    };
    let cutoffs: Vec<f64> = (0..resamples).map(cutoff).collect();
    let failed = cutoffs.iter().filter(|c| c.is_nan()).count();
    let interval = percentile_of_replicates(&cutoffs, confidence)?;
    Ok(MixtureInterval { interval, used: resamples - failed, failed })
}

/// The components that expectation–maximisation reaches from a start, every value counted so many times; `None`
/// where it does not converge.
fn refit(values: &[f64], times: &[f64], start: [Component; 2]) -> Option<[Component; 2]> {
    let n: f64 = times.iter().sum();
    let least = LEAST_VARIANCE * one_component(values).sd.powi(2);
    let (mut parts, mut before) = (start, f64::NEG_INFINITY);
    for _ in 0..MOST_ITERATIONS {
        let [lower, upper] = parts.map(Density::of);
        let (mut sums, mut log_likelihood) = ([Sums::default(); 2], 0.0);
        for (&x, &count) in values.iter().zip(times).filter(|(_, count)| **count > 0.0) {
            let (low, high) = (lower.log_at(x), upper.log_at(x));
            let odds = (-(low - high).abs()).exp();
            let less_likely = odds / (1.0 + odds);
            let in_upper = if high > low { 1.0 - less_likely } else { less_likely };
            sums[0].add(x, count * (1.0 - in_upper));
            sums[1].add(x, count * in_upper);
            log_likelihood += count * (low.max(high) + odds.ln_1p());
        }
        parts = sums.map(|sums| sums.component(n, least));
        let mean = log_likelihood / n;
        if mean - before < CONVERGED {
            return parts.iter().all(|part| part.share > 0.0).then_some(parts);
        }
        before = mean;
    }
    None
}

/// A component with what its density needs at every value.
struct Density {
    constant: f64,
    mean: f64,
    sd: f64,
}

impl Density {
    fn of(part: Component) -> Self {
        Self { constant: (part.share / part.sd).ln(), mean: part.mean, sd: part.sd }
    }

    /// Up to a constant that all components share.
    fn log_at(&self, x: f64) -> f64 {
        let z = (x - self.mean) / self.sd;
        self.constant - 0.5 * z * z
    }
}

/// People of a component, their values and squares.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    people: f64,
    values: f64,
    squares: f64,
}

impl Sums {
    fn add(&mut self, x: f64, people: f64) {
        self.people += people;
        self.values += people * x;
        self.squares += people * x * x;
    }

    fn component(self, n: f64, least: f64) -> Component {
        let mean = self.values / self.people;
        let variance = self.squares / self.people - mean * mean + least;
        Component { share: self.people / n, mean, sd: variance.max(least).sqrt() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::mixture::mixture;
    use crate::stats::mixture::tests::two_populations;

    #[test]
    fn people_drawn_anew_give_the_same_interval_in_every_run() {
        let got = mixture(&two_populations()).expect("two populations");
        let found = mixture_interval(&two_populations(), 100, 5, 0.9).expect("fits");
        assert!(
            found.interval.contains(got.cutoff) && found.interval.lower < found.interval.upper,
            "{found:?}"
        );
        assert!(got.lower.mean < found.interval.lower && found.interval.upper < got.upper.mean);
        assert_eq!((found.used, found.failed), (100, 0));
        assert_eq!(mixture_interval(&two_populations(), 100, 5, 0.9), Ok(found));
    }

    #[test]
    fn everybody_counted_once_gives_the_first_fit_from_another_start() {
        let values = people(&two_populations()).expect("values");
        let found = fit(&values).expect("two populations");
        let away = |part: Component| Component { mean: part.mean + 0.2, sd: 1.3 * part.sd, share: 0.5 };
        let [lower, upper] = refit(&values, &vec![1.0; values.len()], [found.lower, found.upper].map(away))
            .expect("converges");
        for (got, wanted) in [(lower, found.lower), (upper, found.upper)] {
            let near = |a: f64, b: f64| (a - b).abs() < 2e-3;
            assert!(near(got.mean, wanted.mean) && near(got.sd, wanted.sd), "{got:?} {wanted:?}");
            assert!(near(got.share, wanted.share), "{got:?} {wanted:?}");
        }
    }

    #[test]
    fn a_value_counted_twice_is_two_people() {
        let values = people(&two_populations()).expect("values");
        let start = fit(&values).map(|found| [found.lower, found.upper]).expect("two populations");
        let times: Vec<f64> = (0..values.len()).map(|i| f64::from(u8::from(i % 3 == 0)) + 1.0).collect();
        let twice: Vec<f64> =
            values.iter().zip(&times).flat_map(|(&x, &n)| std::iter::repeat_n(x, n as usize)).collect();
        let one = refit(&values, &times, start).expect("converges");
        let other = refit(&twice, &vec![1.0; twice.len()], start).expect("converges");
        for (a, b) in one.iter().zip(&other) {
            assert!((a.mean - b.mean).abs() < 1e-6 && (a.sd - b.sd).abs() < 1e-6, "{a:?} {b:?}");
        }
    }
}
