//! Bands around a curve from its replicates.

use super::interval::{percentile_of_replicates, t_plain};
use super::replicate::{BOOTSTRAP, JACKKNIFE};
use super::{Interval, Replicates, StatError};

/// How the spread of the replicates becomes an interval at each place of a curve.
///
/// Intervals hold place by place, not for the whole curve at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    pub method: BandMethod,
    pub confidence: f64,
}

/// How ends are found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BandMethod {
    /// The central share of the replicates. For the bootstrap only.
    Percentile,
    /// Estimate ± t · replicate standard error on the scale of the fit, then mapped back: on the logarithm
    /// where the fit is on the logarithm.
    T { df: f64 },
}

impl Band {
    /// Refuses replicates that this interval cannot be made from.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for the jackknife, which misjudges percentiles and cutoffs because they move
    /// in jumps, and for [`BandMethod::Percentile`] with anything but the bootstrap: the spread of other
    /// replicates is not that of the estimate.
    pub fn check(self, replicates: &Replicates) -> Result<(), StatError> {
        if replicates.kind == JACKKNIFE {
            return Err(StatError::Undefined(
                "the jackknife misjudges percentiles and cutoffs: use bootstrap or balanced replicates",
            ));
        }
        if self.method == BandMethod::Percentile && replicates.kind != BOOTSTRAP {
            return Err(StatError::Undefined(
                "the central share of the replicates is an interval for the bootstrap only: use t",
            ));
        }
        Ok(())
    }

    /// Interval of one number from its replicates, `NaN` where one failed, all on the scale of the fit; none
    /// if every replicate failed.
    ///
    /// # Errors
    ///
    /// As for [`percentile_of_replicates`] and [`t_plain`]; what [`Band::check`] refuses.
    pub fn interval(
        self,
        full: f64,
        values: &[f64],
        replicates: &Replicates,
    ) -> Result<Option<Interval>, StatError> {
        self.check(replicates)?;
        if values.iter().all(|value| value.is_nan()) {
            return Ok(None);
        }
        match self.method {
            BandMethod::Percentile => percentile_of_replicates(values, self.confidence).map(Some),
            BandMethod::T { df } => {
                let variance = replicates.variance(full, values).variance;
                t_plain(full, variance.sqrt(), df, self.confidence).map(Some)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    #[test]
    fn each_kind_of_replicate_has_its_intervals() {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let bootstrap = Replicates::bootstrap(&design, &[1, 2], 4, 1).expect("valid");
        let balanced = Replicates::brr(&design, 0.0).expect("pairs");
        let jackknife = Replicates::jackknife(&design).expect("pairs");
        let t = Band { method: BandMethod::T { df: f64::INFINITY }, confidence: 0.95 };
        let central = Band { method: BandMethod::Percentile, ..t };
        assert_eq!((central.check(&bootstrap), t.check(&balanced)), (Ok(()), Ok(())));
        assert!(central.check(&balanced).is_err() && t.check(&jackknife).is_err());
        // Replicates 1, 1, 3, 3 about 2: standard error 1.
        let values = [1.0, 1.0, 3.0, 3.0];
        let got = t.interval(2.0, &values, &balanced).expect("valid").expect("used");
        assert!(
            (got.upper - 2.0 - 1.959_963_984_540_05).abs() < 1e-9
                && (got.lower + got.upper - 4.0).abs() < 1e-9
        );
        let shares = central.interval(2.0, &values, &bootstrap).expect("valid").expect("used");
        assert_eq!((shares.lower, shares.upper), (1.0, 3.0));
        assert_eq!(t.interval(2.0, &[f64::NAN; 4], &balanced), Ok(None));
        assert!(Band { confidence: 95.0, ..t }.interval(2.0, &values, &balanced).is_err());
    }
}
