//! The interval of a ratio of two estimates that share their replicates.

use super::replicate::BOOTSTRAP;
use super::replicate_interval::Centre;
use super::{Interval, Replicates, StatError};

/// Why a ratio has no interval on the logarithm.
pub const NOT_POSITIVE: &str = "no interval of the ratio: it is not positive in every replicate";

impl Replicates {
    /// Interval of a ratio: of a bootstrap the central share of the replicates' ratios, else t on the logarithm.
    ///
    /// # Formula
    ///
    /// ```text
    /// exp(ln full ± t SE)      SE² = replicate variance of ln ratio_r about ln full
    /// ```
    ///
    /// so that the ends are positive, and those of the inverse ratio are their inverses.
    ///
    /// # Missing data and ties
    ///
    /// A replicate that is not finite failed and is left out; the caller reports how many, and whether these
    /// replicates suit what moves in jumps.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] where a logarithm is needed and the ratio is not positive, in full or in a replicate;
    /// otherwise as for [`Self::interval`].
    ///
    /// # Checked against
    ///
    /// R `survey`, `withReplicates` on the logarithm: `tests/reference/replicate_contrast/`.
    pub fn interval_of_ratio(&self, ratios: &[f64], centre: Centre) -> Result<Interval, StatError> {
        if self.kind == BOOTSTRAP {
            return self.interval(ratios, centre);
        }
        if centre.full <= 0.0 || ratios.iter().any(|ratio| *ratio <= 0.0) {
            return Err(StatError::Undefined(NOT_POSITIVE));
        }
        let logs: Vec<f64> = ratios.iter().map(|ratio| ratio.ln()).collect();
        let log = self.interval(&logs, Centre { full: centre.full.ln(), ..centre })?;
        Ok(Interval { lower: log.lower.exp(), upper: log.upper.exp() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::replicate::BALANCED;

    fn one(kind: &'static str) -> Replicates {
        Replicates { count: 4, factors: vec![1.0; 4], scale: 0.25, rscales: vec![1.0; 4], kind }
    }

    #[test]
    fn an_unsure_ratio_stays_positive_and_turns_round() {
        let centre = Centre { full: 1.3, df: 10.0, confidence: 0.95 };
        // Logarithms at ±0.7 about that of 1.3: SE 0.7, and t of 10 degrees of freedom is 2.228138852. A reach of
        // t · 0.7 on the ratio itself would begin at −0.26.
        let ratios: Vec<f64> = [0.7_f64, -0.7, 0.7, -0.7].iter().map(|log| 1.3 * log.exp()).collect();
        let got = one(BALANCED).interval_of_ratio(&ratios, centre).expect("positive");
        let reach = (2.228_138_852 * 0.7_f64).exp();
        assert!((got.lower - 1.3 / reach).abs() < 1e-8 && (got.upper - 1.3 * reach).abs() < 1e-8, "{got:?}");
        let inverse: Vec<f64> = ratios.iter().map(|ratio| 1.0 / ratio).collect();
        let turned = one(BALANCED).interval_of_ratio(&inverse, Centre { full: 1.0 / 1.3, ..centre });
        assert!((turned.expect("positive").upper * got.lower - 1.0).abs() < 1e-12);
    }

    #[test]
    fn only_a_bootstrap_has_an_interval_of_ratios_that_reach_nought() {
        let centre = Centre { full: 1.0, df: 10.0, confidence: 0.95 };
        let ratios = [0.0, 1.0, 2.0, f64::NAN];
        let got = one(BOOTSTRAP).interval_of_ratio(&ratios, centre).expect("a central share");
        // The 2.5 % point of 0, 1, 2 lies 0.05 of the way from the first.
        assert!((got.lower - 0.05).abs() < 1e-12, "{got:?}");
        assert_eq!(one(BALANCED).interval_of_ratio(&ratios, centre), Err(StatError::Undefined(NOT_POSITIVE)));
    }
}
