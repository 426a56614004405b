//! Weighted quantiles of every replicate at once.

use std::ops::Range;

use super::quantile::RELATIVE_SLACK;
use super::{Replicates, Sample, StatError};

/// Replicates that run together: their running weights stay in the cache.
const BLOCK: usize = 64;

/// Weighted quantiles in every replicate, one vector per probability.
///
/// # Formula
///
/// In replicate `r` a row's weight is `weight · factor(unit, r)`; on these weights the result is that of
/// [`super::quantile::weighted_quantile`]. Their spread is for differences and ratios of groups, which share
/// PSUs; the interval of a single quantile is Woodruff's ([`super::quantile::woodruff`]).
///
/// # Units
///
/// That of the sample's values; `probabilities` are proportions.
///
/// # Missing data and ties
///
/// `NaN` where a replicate leaves nobody. Not for the jackknife, under which quantiles move in jumps that it
/// misjudges.
///
/// # Errors
///
/// [`StatError::Undefined`] for a jackknife, [`StatError::Parameter`] for a probability outside (0, 1]; what
/// [`Sample::check`] refuses.
///
/// # Checked against
///
/// [`super::quantile::weighted_quantile`] on replicate weights, to the last bit.
pub fn quantile_replicates(
    sample: &Sample,
    replicates: &Replicates,
    probabilities: &[f64],
) -> Result<Vec<Vec<f64>>, StatError> {
    sample.check()?;
    if !replicates.suits_jumps() {
        return Err(StatError::Undefined("the jackknife misjudges how percentiles move"));
    }
    if let Some(&value) = probabilities.iter().find(|p| !(**p > 0.0 && **p <= 1.0)) {
        return Err(StatError::Parameter { what: "probability", range: "(0, 1]", value });
    }
    let mut found = vec![Vec::with_capacity(replicates.count); probabilities.len()];
    for start in (0..replicates.count).step_by(BLOCK) {
        let lanes = start..replicates.count.min(start + BLOCK);
        let mut total = [0.0; BLOCK];
        running(sample, replicates, lanes.clone(), |sum| total = *sum);
        let enough: Vec<Lanes> =
            probabilities.iter().map(|p| total.map(|t| p * t * (1.0 - RELATIVE_SLACK))).collect();
        // The number of rows that fall short of the probability is the position of the quantile.
        let mut short = vec![[0.0; BLOCK]; probabilities.len()];
        running(sample, replicates, lanes.clone(), |sum| {
            for (short, enough) in short.iter_mut().zip(&enough) {
                for ((count, sum), enough) in short.iter_mut().zip(sum).zip(enough) {
                    *count += f64::from(u8::from(sum < enough));
                }
            }
        });
        for (found, short) in found.iter_mut().zip(&short) {
            let value = |lane: usize| {
                let position = (short[lane] as usize).min(sample.len() - 1);
                if total[lane] > 0.0 { sample.value[position] } else { f64::NAN }
            };
            found.extend((0..lanes.len()).map(value));
        }
    }
    Ok(found)
}

/// One number for each replicate of a block.
type Lanes = [f64; BLOCK];

/// Shows the running weights of a block of replicates after each row.
fn running(sample: &Sample, replicates: &Replicates, lanes: Range<usize>, mut visit: impl FnMut(&Lanes)) {
    let mut sum = [0.0; BLOCK];
    for (weight, unit) in sample.weight.iter().zip(&sample.unit) {
        for (sum, factor) in sum.iter_mut().zip(&replicates.of_unit(*unit)[lanes.clone()]) {
            *sum += weight * factor;
        }
        visit(&sum);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::quantile::weighted_quantile;
    use crate::stats::{Design, LonelyPsu};

    #[test]
    fn each_replicate_is_the_quantile_of_its_weights() {
        let value: Vec<f64> = (0..60).map(|i| f64::from(i * 7 % 20)).collect();
        let weight: Vec<f64> = (0..60).map(|i| 1.0 + f64::from(i % 4)).collect();
        let unit: Vec<u32> = (0..60).map(|i| i % 6).collect();
        let sample = Sample::from_people(&value, &weight, &unit).expect("usable rows");
        let design = Design::new(vec![0, 0, 1, 1, 2, 2], None, LonelyPsu::Fail).expect("pairs");
        let mut replicates = Replicates::bootstrap(&design, &[1, 2, 3], 100, 5).expect("valid");
        for unit in 0..6 {
            replicates.factors[unit * 100 + 70] = 0.0;
        }
        let got = quantile_replicates(&sample, &replicates, &[0.1, 0.5, 1.0]).expect("a bootstrap");
        assert!(got.iter().all(|of| of.len() == 100 && of[70].is_nan()));
        for r in (0..100).filter(|r| *r != 70) {
            let of_row = |row: usize| sample.weight[row] * replicates.of_unit(sample.unit[row])[r];
            let weights: Vec<f64> = (0..60).map(of_row).collect();
            for (p, got) in [0.1, 0.5, 1.0].into_iter().zip(&got) {
                assert_eq!(Ok(got[r]), weighted_quantile(&sample.value, &weights, p), "replicate {r}, {p}");
            }
        }
        assert!(got[1].iter().any(|&q| q != got[1][0]), "the replicates differ");
        assert!(quantile_replicates(&sample, &replicates, &[50.0]).is_err());
        let jackknife = Replicates::jackknife(&design).expect("pairs");
        assert!(quantile_replicates(&sample, &jackknife, &[0.5]).is_err());
    }
}
