//! Replicate weights that came with the data, in place of strata and PSUs.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::replicate::{BALANCED, BOOTSTRAP, JACKKNIFE, OTHER};
use super::unit_sums::UnitSums;
use super::{Replicates, StatError};

/// A row whose part outside the rows before it is smaller than this share of it adds no rank: printed weights
/// are rounded. The share that R `survey` uses.
const RANK_TOLERANCE: f64 = 1e-5;

/// How replicate weights were made, which says how their spread becomes a variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ScalingMethod {
    /// Balanced half-samples: `1 / R`.
    Brr,
    /// Balanced half-samples with Fay's factor: `1 / (R (1 − fay)²)`.
    Fay(f64),
    /// Delete-one jackknife without strata: `(R − 1) / R`.
    Jk1,
    /// Jackknife of paired units, one replicate for each pair: 1.
    Jk2,
    /// Stratified jackknife: 1, times a factor for each replicate that only the maker knows.
    Jkn,
    /// Bootstrap: `1 / R`.
    Bootstrap,
    /// Successive differences: `4 / R`.
    SuccessiveDifference,
    /// Nothing but the scales is known: 1.
    Other,
}

/// A method with the scales that were stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Scaling {
    pub method: ScalingMethod,
    /// In place of the method's own.
    pub scale: Option<f64>,
    /// One for each replicate; empty: all 1.
    pub scales: Vec<f64>,
}

impl Scaling {
    /// Overall scale for this many replicates.
    #[must_use]
    pub fn scale(&self, count: usize) -> f64 {
        let count = count as f64;
        self.scale.unwrap_or(match self.method {
            ScalingMethod::Brr | ScalingMethod::Bootstrap => 1.0 / count,
            ScalingMethod::Fay(fay) => 1.0 / (count * (1.0 - fay) * (1.0 - fay)),
            ScalingMethod::Jk1 => (count - 1.0) / count,
            ScalingMethod::SuccessiveDifference => 4.0 / count,
            ScalingMethod::Jk2 | ScalingMethod::Jkn | ScalingMethod::Other => 1.0,
        })
    }

    /// What may be done with the replicates besides taking their variance. Only a bootstrap on its usual scale
    /// spreads as the estimate does.
    fn kind(&self) -> &'static str {
        match self.method {
            ScalingMethod::Bootstrap if self.scale.is_none() && self.scales.is_empty() => BOOTSTRAP,
            ScalingMethod::Brr | ScalingMethod::Fay(_) => BALANCED,
            ScalingMethod::Jk1 | ScalingMethod::Jk2 | ScalingMethod::Jkn => JACKKNIFE,
            ScalingMethod::Bootstrap | ScalingMethod::SuccessiveDifference | ScalingMethod::Other => OTHER,
        }
    }
}

impl Replicates {
    /// Replicates from factors that came with the data, `factors[unit * count + r]`.
    ///
    /// # Formula
    ///
    /// Variance `scale Σ_r scale_r (θ_r − θ)²`, centred at the full-sample estimate, with the scale of
    /// [`ScalingMethod`] for `R` replicates unless one is stated.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for fewer than two replicates, [`StatError::Length`] if the scales are not as many.
    ///
    /// # Source
    ///
    /// Wolter 2007, Introduction to Variance Estimation, 2nd edition; Judkins 1990, J Off Stat 6:223–239; for
    /// successive differences Fay and Train 1995, Proc Sect Gov Stat Am Stat Assoc.
    ///
    /// # Checked against
    ///
    /// R `survey`, `svrepdesign(mse = TRUE)`: `tests/reference/supplied_replicates/`.
    pub fn supplied(count: usize, factors: Vec<f64>, scaling: &Scaling) -> Result<Self, StatError> {
        if count < 2 {
            return Err(StatError::Undefined("a variance needs at least two replicate weights"));
        }
        let rscales = if scaling.scales.is_empty() { vec![1.0; count] } else { scaling.scales.clone() };
        if rscales.len() != count {
            return Err(StatError::Length(count, rscales.len()));
        }
        Ok(Self { count, factors, scale: scaling.scale(count), rscales, kind: scaling.kind() })
    }
}

/// Variances and degrees of freedom of a design that is known by its replicates alone.
///
/// # Formula
///
/// Degrees of freedom: rank of the replicate weights among the people counted, minus 1.
///
/// # Checked against
///
/// R `survey`, `degf(svrepdesign(…))`, subsets included: `tests/reference/supplied_replicates/`.
#[derive(Debug, Clone, PartialEq)]
pub struct Supplied {
    replicates: Arc<Replicates>,
    rank: usize,
    stated_df: Option<f64>,
    ranks: Ranks,
}

/// Ranks of the weights of some of the units, by the units: groups and thresholds ask again and again for the same.
#[derive(Debug, Clone, Default)]
struct Ranks(Arc<Mutex<HashMap<Vec<u64>, usize>>>);

impl PartialEq for Ranks {
    /// What is remembered follows from the replicates, and tells no two designs apart.
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Ranks {
    /// The rank of these units, worked out by `rank` the first time. Two threads may work it out at once, to the same number.
    fn of(&self, unit_seen: &[bool], rank: impl FnOnce() -> usize) -> usize {
        let bits = |units: &[bool]| units.iter().fold(0, |bits, &seen| bits << 1 | u64::from(seen));
        let key: Vec<u64> = unit_seen.chunks(64).map(bits).collect();
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner).get(&key).copied();
        known.unwrap_or_else(|| {
            let rank = rank();
            self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(key, rank);
            rank
        })
    }
}

impl Supplied {
    pub(super) fn new(replicates: Arc<Replicates>, stated_df: Option<f64>) -> Self {
        // The rank takes its time where every person is a unit, so not for nothing.
        let rank = if stated_df.is_some() { 0 } else { rank(rows(&replicates), replicates.count) };
        Self { replicates, rank, stated_df, ranks: Ranks::default() }
    }

    pub(super) fn frame_df(&self) -> f64 {
        self.stated_df.unwrap_or(self.rank as f64 - 1.0)
    }

    /// Degrees of freedom of the units with somebody counted.
    pub(super) fn df(&self, unit_seen: &[bool]) -> f64 {
        let seen = || rows(&self.replicates).zip(unit_seen).filter(|(_, seen)| **seen).map(|(row, _)| row);
        self.stated_df.unwrap_or_else(|| self.ranks.of(unit_seen, || rank(seen(), self.rank)) as f64 - 1.0)
    }

    /// Replicate variance of a ratio from rows of unit, weighted residual and weighted denominator: residuals
    /// sum to nothing in the full sample, so their ratio in a replicate is its distance from the estimate.
    pub(super) fn ratio_variance(&self, amounts: impl Iterator<Item = (u32, f64, f64)>, units: usize) -> f64 {
        let mut sums = UnitSums::new(2, units);
        for (unit, residual, denominator) in amounts {
            sums.add(0, unit, residual);
            sums.add(1, unit, denominator);
        }
        let totals = sums.replicate_totals(&self.replicates);
        let distances: Vec<f64> =
            totals[0].iter().zip(&totals[1]).map(|(above, below)| above / below).collect();
        self.replicates.variance(0.0, &distances).variance
    }
}

fn rows(replicates: &Replicates) -> impl Iterator<Item = &[f64]> {
    replicates.factors.chunks_exact(replicates.count)
}

/// Rank of rows by Gram and Schmidt's method; stops when `most` is reached.
fn rank<'a>(rows: impl Iterator<Item = &'a [f64]>, most: usize) -> usize {
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    for row in rows {
        if basis.len() >= most {
            break;
        }
        let size = product(row, row).sqrt();
        let mut rest = row.to_vec();
        for direction in &basis {
            let along = product(&rest, direction);
            rest.iter_mut().zip(direction).for_each(|(x, d)| *x -= along * d);
        }
        let left = product(&rest, &rest).sqrt();
        if left > RANK_TOLERANCE * size {
            basis.push(rest.iter().map(|x| x / left).collect());
        }
    }
    basis.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    fn scaling(method: ScalingMethod) -> Scaling {
        Scaling { method, scale: None, scales: Vec::new() }
    }

    #[test]
    fn scales_follow_from_the_method() {
        use ScalingMethod::{Bootstrap, Brr, Fay, Jk1, Jk2, Jkn, Other, SuccessiveDifference};
        let wanted = [
            (Brr, 0.05),
            (Fay(0.5), 0.2),
            (Jk1, 0.95),
            (Jk2, 1.0),
            (Jkn, 1.0),
            (Bootstrap, 0.05),
            (SuccessiveDifference, 0.2),
            (Other, 1.0),
        ];
        for (method, scale) in wanted {
            assert!((scaling(method).scale(20) - scale).abs() < 1e-15, "{method:?}");
        }
        assert_eq!(Scaling { scale: Some(0.3), ..scaling(Jk1) }.scale(20), 0.3);
    }

    #[test]
    fn rank_minus_one_is_psus_minus_strata() {
        let design = Design::new(vec![0, 0, 1, 1, 1, 2, 2], None, LonelyPsu::Fail).expect("valid");
        let replicates = Arc::new(Replicates::jackknife(&design).expect("several units"));
        let supplied = Design::supplied(Arc::clone(&replicates), None).expect("units");
        assert_eq!(supplied.frame_df(), 4.0);
        assert_eq!(Supplied::new(replicates, Some(11.0)).df(&[true; 7]), 11.0);
    }

    #[test]
    fn the_rank_of_the_same_units_is_worked_out_once() {
        let design = Design::new(vec![0, 0, 1, 1, 1, 2, 2], None, LonelyPsu::Fail).expect("valid");
        let replicates = Arc::new(Replicates::jackknife(&design).expect("several units"));
        let supplied = Supplied::new(replicates, None);
        let two_strata = [true, true, true, true, true, false, false];
        // Five units less two strata, and two less one.
        assert_eq!((supplied.df(&two_strata), supplied.df(&two_strata)), (3.0, 3.0));
        assert_eq!(supplied.df(&[true, true, false, false, false, false, false]), 1.0);
        let never = || panic!("it is known");
        assert_eq!(supplied.ranks.of(&two_strata, never), 4);
    }

    #[test]
    fn what_cannot_be_a_set_of_replicates_is_refused() {
        let brr = scaling(ScalingMethod::Brr);
        assert!(matches!(Replicates::supplied(1, vec![1.0], &brr), Err(StatError::Undefined(_))));
        let three = Scaling { scales: vec![1.0; 3], ..brr };
        assert_eq!(Replicates::supplied(2, vec![1.0, 1.0], &three), Err(StatError::Length(2, 3)));
    }
}
