//! Replicate factors and the uncertainty of any statistic of weights.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::factors::{DRAW_INSTEAD, check_size};
use super::numeric::below;
use super::{Design, LonelyPsu, Sample, StatError};

/// Replicates that are drawn at random: their own spread is that of the estimate.
pub const BOOTSTRAP: &str = "bootstrap";
/// Replicates that leave out one unit each: good for smooth statistics only.
pub const JACKKNIFE: &str = "jackknife";
/// Half-samples.
pub const BALANCED: &str = "balanced";
/// Replicates of which nothing but the scale is known.
pub const OTHER: &str = "supplied";

/// A set of replicates: for each sampling unit and replicate, the factor on the weights of its people.
#[derive(Debug, Clone, PartialEq)]
pub struct Replicates {
    /// Number of replicates.
    pub count: usize,
    /// `factors[unit * count + r]`.
    pub factors: Vec<f64>,
    /// Overall factor of the variance.
    pub scale: f64,
    /// Factor of each replicate in the variance.
    pub rscales: Vec<f64>,
    /// [`BOOTSTRAP`], [`JACKKNIFE`], [`BALANCED`] or [`OTHER`].
    pub kind: &'static str,
}

/// Variance from replicates, with the number that it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReplicateVariance {
    /// `NaN` if no replicate succeeded.
    pub variance: f64,
    pub used: usize,
    pub failed: usize,
}

/// A statistic with its replicates.
#[derive(Debug, Clone, PartialEq)]
pub struct ReplicateEstimate {
    pub value: f64,
    pub standard_error: f64,
    /// One per replicate; `NaN` where it failed.
    pub replicates: Vec<f64>,
    pub used: usize,
    pub failed: usize,
}

impl Replicates {
    /// Rescaled bootstrap: in each stratum `n − 1` of its `n` units are drawn with replacement.
    ///
    /// # Formula
    ///
    /// Factor of a unit drawn `k` times: `k n / (n − 1)`. Variance: mean squared deviation from the
    /// full-sample estimate.
    ///
    /// `stratum_keys` names each stratum by a number that does not change when other strata come or go; the
    /// random numbers of a stratum in a replicate depend on the seed, the replicate and this key alone, so
    /// the same survey gives the same replicates whatever else a study reads.
    ///
    /// # Errors
    ///
    /// [`StatError::LonelyPsu`] for a stratum with one unit, unless the design takes it as surveyed in full
    /// (its factor is then 1); [`StatError::Length`] if a stratum has no key; [`StatError::TooManyFactors`] for more than
    /// 200 million factors.
    ///
    /// # Source
    ///
    /// Rao and Wu 1988, J Am Stat Assoc 83:231–241; Rao, Wu and Yue 1992, Surv Methodol 18:209–217.
    pub fn bootstrap(
        design: &Design,
        stratum_keys: &[u64],
        count: usize,
        seed: u64,
    ) -> Result<Self, StatError> {
        if stratum_keys.len() != design.strata() {
            return Err(StatError::Length(design.strata(), stratum_keys.len()));
        }
        check_count(count)?;
        check_size(design, count, "ask for fewer replicates")?;
        let mut factors = vec![1.0; design.units() * count];
        for (units, &key) in several_per_stratum(design)?.iter().zip(stratum_keys) {
            let n = units.len();
            if n < 2 {
                continue;
            }
            let step = n as f64 / (n - 1) as f64;
            for replicate in 0..count {
                let mut random = stream(seed, replicate as u64, key);
                let mut drawn = vec![0_u32; n];
                for _ in 1..n {
                    drawn[below(&mut random, n)] += 1;
                }
                for (&unit, times) in units.iter().zip(drawn) {
                    factors[unit * count + replicate] = f64::from(times) * step;
                }
            }
        }
        let scale = 1.0 / count as f64;
        Ok(Self { count, factors, scale, rscales: vec![1.0; count], kind: BOOTSTRAP })
    }

    /// Stratified delete-one jackknife (`JKn`): each replicate leaves out one unit.
    ///
    /// # Formula
    ///
    /// The `n − 1` others of the stratum get the factor `n / (n − 1)`; the replicate counts with
    /// `(n − 1) / n` in the variance. Not for quantiles: they move in jumps that the jackknife misjudges.
    ///
    /// # Errors
    ///
    /// [`StatError::LonelyPsu`] as for [`Replicates::bootstrap`]; [`StatError::Undefined`] if no stratum has
    /// two units; [`StatError::TooManyFactors`] where so many units, such as people that are units of their own, would
    /// need more than 200 million factors.
    ///
    /// # Checked against
    ///
    /// R `survey`, `as.svrepdesign(type = "JKn")`: `tests/reference/replicate_se/`.
    pub fn jackknife(design: &Design) -> Result<Self, StatError> {
        let mut strata = several_per_stratum(design)?;
        strata.retain(|units| units.len() > 1);
        let count: usize = strata.iter().map(Vec::len).sum();
        check_count(count)?;
        check_size(design, count, DRAW_INSTEAD)?;
        let mut factors = vec![1.0; design.units() * count];
        let mut rscales = Vec::with_capacity(count);
        for units in &strata {
            let n = units.len() as f64;
            for &left_out in units {
                let replicate = rscales.len();
                for &unit in units {
                    factors[unit * count + replicate] = if unit == left_out { 0.0 } else { n / (n - 1.0) };
                }
                rscales.push((n - 1.0) / n);
            }
        }
        Ok(Self { count, factors, scale: 1.0, rscales, kind: JACKKNIFE })
    }

    /// Balanced half-samples for designs with two units in every stratum, with Fay's factor.
    ///
    /// # Formula
    ///
    /// In each replicate one unit of a stratum gets `2 − fay`, the other `fay`, by the signs of a Hadamard
    /// matrix of the smallest power of two above the number of strata: fully balanced. Variance: sum of squared
    /// deviations over `R (1 − fay)²`.
    ///
    /// # Errors
    ///
    /// [`StatError::NotPaired`] if a stratum does not have exactly two units; [`StatError::Parameter`] for
    /// `fay` outside [0, 1); [`StatError::TooManyFactors`] as for [`Replicates::jackknife`].
    ///
    /// # Source
    ///
    /// `McCarthy` 1969, Rev Int Stat Inst 37:239–264; Judkins 1990, J Off Stat 6:223–239.
    ///
    /// # Checked against
    ///
    /// R `survey`, `as.svrepdesign(type = "BRR" | "Fay")`: `tests/reference/replicate_se/`.
    pub fn brr(design: &Design, fay: f64) -> Result<Self, StatError> {
        if !(0.0..1.0).contains(&fay) {
            return Err(StatError::Parameter { what: "Fay's factor", range: "[0, 1)", value: fay });
        }
        let count = (design.strata() + 1).next_power_of_two();
        check_size(design, count, DRAW_INSTEAD)?;
        let mut factors = vec![0.0; design.units() * count];
        for (stratum, units) in design.units_by_stratum().iter().enumerate() {
            let &[first, second] = units.as_slice() else {
                return Err(StatError::NotPaired { stratum: stratum.to_string(), units: units.len() });
            };
            for replicate in 0..count {
                // Sylvester's matrix: entry (i, j) is −1 to the number of ones that i and j share.
                let even = (replicate & (stratum + 1)).count_ones().is_multiple_of(2);
                let (more, less) = if even { (first, second) } else { (second, first) };
                factors[more * count + replicate] = 2.0 - fay;
                factors[less * count + replicate] = fay;
            }
        }
        let scale = 1.0 / (count as f64 * (1.0 - fay) * (1.0 - fay));
        Ok(Self { count, factors, scale, rscales: vec![1.0; count], kind: BALANCED })
    }

    /// One replicate of so many units, which leaves the weights as they are.
    #[must_use]
    pub fn once(units: usize) -> Self {
        Self { count: 1, factors: vec![1.0; units], scale: 1.0, rscales: vec![1.0], kind: "none" }
    }

    /// The same kind of replicates on other units.
    #[must_use]
    pub fn with_factors(&self, factors: Vec<f64>) -> Self {
        Self { count: self.count, factors, scale: self.scale, rscales: self.rscales.clone(), kind: self.kind }
    }

    /// Factors of a unit, one per replicate.
    #[must_use]
    pub fn of_unit(&self, unit: u32) -> &[f64] {
        let start = unit as usize * self.count;
        &self.factors[start..start + self.count]
    }

    /// Degrees of freedom of a test on so many of these replicates: a variance of few drawn ones is no surer than one of as
    /// many people, however large the design.
    #[must_use]
    pub fn behind_test(&self, df: f64, used: usize) -> f64 {
        if self.kind == BOOTSTRAP { df.min(used as f64 - 1.0) } else { df }
    }

    /// The first `count` replicates (all, if there are fewer): for bands that would take too long with all.
    /// Only replicates that are interchangeable, as those of the bootstrap are, may be thinned; others stay
    /// whole.
    #[must_use]
    pub fn first(&self, count: usize) -> Self {
        if self.kind != BOOTSTRAP {
            return self.clone();
        }
        let kept = count.min(self.count);
        let units = self.factors.chunks_exact(self.count);
        Self {
            count: kept,
            factors: units.flat_map(|unit| unit[..kept].iter().copied()).collect(),
            scale: self.scale * self.count as f64 / kept as f64,
            rscales: self.rscales[..kept].to_vec(),
            kind: self.kind,
        }
    }

    /// Variance of an estimate from its replicates.
    ///
    /// # Formula
    ///
    /// `scale · Σ_r rscale_r (θ_r − θ)²`, centred at the full-sample estimate `θ`.
    ///
    /// # Missing data and ties
    ///
    /// A `NaN` replicate failed: it is left out and counted, and the sum is scaled up to what the remaining
    /// `rscales` stand for.
    ///
    /// # Checked against
    ///
    /// R `survey`, `withReplicates` with `mse = TRUE`: `tests/reference/replicate_se/`.
    #[must_use]
    pub fn variance(&self, full: f64, replicates: &[f64]) -> ReplicateVariance {
        let (mut squares, mut weight, mut used) = (0.0, 0.0, 0);
        for (theta, rscale) in replicates.iter().zip(&self.rscales).filter(|(theta, _)| !theta.is_nan()) {
            squares += rscale * (theta - full) * (theta - full);
            weight += rscale;
            used += 1;
        }
        let all: f64 = self.rscales.iter().sum();
        ReplicateVariance {
            variance: self.scale * squares * (all / weight),
            used,
            failed: replicates.len() - used,
        }
    }
}

/// Any statistic of the sample's weights, with its replicate standard error, for comparison with other programs.
///
/// `statistic` receives one weight per row of the sample. It may fail in a replicate, which is counted; if it
/// fails with the full weights, that is the error.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::{Design, LonelyPsu, Replicates, Sample, quantile::weighted_quantile, replicate};
/// let tyg = [8.1, 8.4, 8.6, 9.0];
/// let sample = Sample::from_people(&tyg, &[10.0, 30.0, 40.0, 20.0], &[0, 1, 2, 3])?;
/// let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail)?;
/// let replicates = Replicates::bootstrap(&design, &[11, 12], 200, 7)?;
/// let median = replicate::estimate(&replicates, &sample, |w| weighted_quantile(&tyg, w, 0.5))?;
/// assert_eq!(median.value, 8.6);
/// # Ok::<(), cutspan::stats::StatError>(())
/// ```
pub fn estimate(
    replicates: &Replicates,
    sample: &Sample,
    statistic: impl Fn(&[f64]) -> Result<f64, StatError>,
) -> Result<ReplicateEstimate, StatError> {
    let value = statistic(&sample.weight)?;
    let mut weights = vec![0.0; sample.len()];
    let mut estimates = Vec::with_capacity(replicates.count);
    for replicate in 0..replicates.count {
        for (row, weight) in weights.iter_mut().enumerate() {
            *weight = sample.weight[row] * replicates.of_unit(sample.unit[row])[replicate];
        }
        estimates.push(statistic(&weights).unwrap_or(f64::NAN));
    }
    let ReplicateVariance { variance, used, failed } = replicates.variance(value, &estimates);
    Ok(ReplicateEstimate { value, standard_error: variance.sqrt(), replicates: estimates, used, failed })
}

/// Units by stratum, if strata with a single unit are allowed to keep their factor of 1.
fn several_per_stratum(design: &Design) -> Result<Vec<Vec<usize>>, StatError> {
    let strata = design.units_by_stratum();
    match strata.iter().position(|units| units.len() == 1) {
        Some(stratum) if design.lonely() != LonelyPsu::Certainty => {
            Err(StatError::LonelyPsu(stratum.to_string()))
        }
        _ => Ok(strata),
    }
}

fn check_count(count: usize) -> Result<(), StatError> {
    if count == 0 {
        Err(StatError::Undefined("no replicates: every stratum has a single PSU or none were asked for"))
    } else {
        Ok(())
    }
}

/// Random numbers that belong to one stratum in one replicate.
fn stream(seed: u64, replicate: u64, stratum_key: u64) -> ChaCha8Rng {
    let mut key = [0; 32];
    for (part, number) in key.chunks_exact_mut(8).zip([seed, replicate, stratum_key]) {
        part.copy_from_slice(&number.to_le_bytes());
    }
    ChaCha8Rng::from_seed(key)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(strata: &[u32]) -> Design {
        Design::new(strata.to_vec(), None, LonelyPsu::Certainty).expect("valid")
    }

    #[test]
    fn bootstrap_factors() {
        let design = design(&[0, 0, 1, 1, 1, 2]);
        let replicates = Replicates::bootstrap(&design, &[5, 6, 7], 300, 1).expect("valid");
        let mut seen_twice = false;
        for r in 0..300 {
            let factor = |unit: u32| replicates.of_unit(unit)[r];
            assert!(factor(0) + factor(1) == 2.0 && factor(0) * factor(1) == 0.0, "pairs: 0 and 2");
            assert!((factor(2) + factor(3) + factor(4) - 3.0).abs() < 1e-12, "the stratum's sum stays");
            assert_eq!(factor(5), 1.0, "surveyed in full");
            seen_twice |= factor(2) == 3.0;
        }
        assert!(seen_twice, "with replacement");
        let zeros = (0..300).filter(|&r| replicates.of_unit(0)[r] == 0.0).count();
        assert!((110..190).contains(&zeros), "each of a pair is drawn about half the time: {zeros}");
    }

    #[test]
    fn a_stratum_keeps_its_draws_whatever_else_is_there() {
        let alone = Replicates::bootstrap(&design(&[0, 0, 0]), &[42], 50, 9).expect("valid");
        let joined = Replicates::bootstrap(&design(&[0, 0, 1, 1, 1]), &[7, 42], 50, 9).expect("valid");
        assert_eq!(alone.of_unit(1), joined.of_unit(3));
        let reseeded = Replicates::bootstrap(&design(&[0, 0, 0]), &[42], 50, 10).expect("valid");
        assert_ne!(alone, reseeded);
        let longer = Replicates::bootstrap(&design(&[0, 0, 0]), &[42], 80, 9).expect("valid");
        assert_eq!(alone.of_unit(2), &longer.of_unit(2)[..50]);
    }

    #[test]
    fn lonely_units_need_a_decision() {
        let adjusted = Design::new(vec![0, 1, 1], None, LonelyPsu::Adjust).expect("allowed");
        assert_eq!(Replicates::jackknife(&adjusted), Err(StatError::LonelyPsu("0".to_owned())));
        assert!(matches!(Replicates::bootstrap(&adjusted, &[1, 2], 10, 1), Err(StatError::LonelyPsu(_))));
        assert!(matches!(Replicates::bootstrap(&adjusted, &[1], 10, 1), Err(StatError::Length(2, 1))));
        assert!(matches!(Replicates::jackknife(&design(&[0, 1])), Err(StatError::Undefined(_))));
        let unpaired = StatError::NotPaired { stratum: "1".to_owned(), units: 3 };
        assert_eq!(Replicates::brr(&design(&[0, 0, 1, 1, 1]), 0.0), Err(unpaired));
        assert!(matches!(Replicates::brr(&design(&[0, 0]), 1.0), Err(StatError::Parameter { .. })));
    }

    #[test]
    fn half_samples_are_balanced() {
        let replicates = Replicates::brr(&design(&[0, 0, 1, 1, 2, 2]), 0.3).expect("pairs");
        assert_eq!(replicates.count, 4);
        let signs = |unit: u32| replicates.of_unit(unit).iter().map(|f| f - 1.0).collect::<Vec<_>>();
        for (a, b) in [(0, 2), (0, 4), (2, 4)] {
            let product: f64 = signs(a).iter().zip(signs(b)).map(|(x, y)| x * y).sum();
            assert!(product.abs() < 1e-12, "units {a} and {b}");
        }
        assert!(signs(0).iter().sum::<f64>().abs() < 1e-12);
    }

    #[test]
    fn failures_are_counted_and_identical_replicates_have_no_spread() {
        let mut replicates = Replicates::jackknife(&design(&[0, 0, 1, 1])).expect("pairs");
        let spread = replicates.variance(2.0, &[1.0, 3.0, f64::NAN, 3.0]);
        // Three of four replicates at distance 1, each with 1/2: 1.5, scaled up by 4/3.
        assert_eq!((spread.variance, spread.used, spread.failed), (2.0, 3, 1));
        replicates.factors.fill(1.0);
        let sample = Sample::from_people(&[1.0, 5.0], &[1.0, 2.0], &[0, 3]).expect("usable rows");
        let total = estimate(&replicates, &sample, |w| Ok(w.iter().sum())).expect("a sum");
        assert_eq!((total.value, total.standard_error, total.failed), (3.0, 0.0, 0));
        let failing = estimate(&replicates, &sample, |_| Err(StatError::NoWeight));
        assert_eq!(failing, Err(StatError::NoWeight));
    }
}
