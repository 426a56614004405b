//! Bands around a curve from its replicates.

use super::interval::{percentile_of_replicates, t_plain};
use super::{Interval, Replicates, StatError};

/// How the spread of the replicates becomes an interval at each place of a curve.
///
/// Intervals hold place by place, not for the whole curve at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Band {
    /// The central share of the replicates. For the bootstrap only.
    Percentile,
    /// Estimate ± t · replicate standard error on the scale of the fit, then mapped back: on the logarithm where the fit
    /// is on the logarithm.
    T { df: f64 },
}

impl Band {
    /// Refuses replicates that this interval cannot be made from.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for the jackknife, which misjudges percentiles and cutoffs because they move in jumps,
    /// and for [`Band::Percentile`] with anything but the bootstrap: the spread of other replicates is not that of
    /// the estimate.
    pub fn check(self, replicates: &Replicates) -> Result<(), StatError> {
        if replicates.kind == "jackknife" {
            return Err(StatError::Undefined(
                "the jackknife misjudges percentiles and cutoffs: use bootstrap or balanced replicates",
            ));
        }
        if self == Self::Percentile && replicates.kind != "bootstrap" {
            return Err(StatError::Undefined(
                "the central share of the replicates is an interval for the bootstrap only: use t",
            ));
        }
        Ok(())
    }

    /// Interval of one number from its replicates, `NaN` where one failed, all on the scale of the fit.
    ///
    /// # Errors
    ///
    /// As for [`percentile_of_replicates`] and [`t_plain`]; what [`Band::check`] refuses.
    pub fn interval(
        self,
        full: f64,
        values: &[f64],
        replicates: &Replicates,
        confidence: f64,
    ) -> Result<Interval, StatError> {
        self.check(replicates)?;
        match self {
            Self::Percentile => percentile_of_replicates(values, confidence),
            Self::T { df } => {
                let variance = replicates.variance(full, values);
                if variance.used == 0 {
                    return Err(StatError::Empty);
                }
                t_plain(full, variance.variance.sqrt(), df, confidence)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Design, LonelyPsu};
    use super::*;

    #[test]
    fn each_kind_of_replicate_has_its_intervals() {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let bootstrap = Replicates::bootstrap(&design, &[1, 2], 4, 1).expect("valid");
        let balanced = Replicates::brr(&design, 0.0).expect("pairs");
        let jackknife = Replicates::jackknife(&design).expect("pairs");
        let t = Band::T { df: f64::INFINITY };
        assert_eq!((Band::Percentile.check(&bootstrap), t.check(&balanced)), (Ok(()), Ok(())));
        assert!(Band::Percentile.check(&balanced).is_err() && t.check(&jackknife).is_err());
        // Replicates 1, 1, 3, 3 about 2: standard error 1.
        let values = [1.0, 1.0, 3.0, 3.0];
        let got = t.interval(2.0, &values, &balanced, 0.95).expect("valid");
        assert!((got.upper - 2.0 - 1.959_963_984_540_05).abs() < 1e-9 && (got.lower + got.upper - 4.0).abs() < 1e-9);
        let central = Band::Percentile.interval(2.0, &values, &bootstrap, 0.95).expect("valid");
        assert_eq!((central.lower, central.upper), (1.0, 3.0));
        assert_eq!(t.interval(2.0, &[f64::NAN; 4], &balanced, 0.95), Err(StatError::Empty));
    }
}
