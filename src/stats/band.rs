//! Bands around a curve from its replicates.

use super::interval::t_plain;
use super::replicate::JACKKNIFE;
use super::{Interval, Replicates, StatError};

/// How the spread of the replicates becomes an interval at each place of a curve: estimate ± t · replicate standard error on
/// the scale of the fit, then mapped back: on the logarithm where the fit is on the logarithm.
///
/// Intervals hold place by place, not for the whole curve at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    pub df: f64,
    pub confidence: f64,
}

impl Band {
    /// Refuses replicates that this interval cannot be made from.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for the jackknife, which misjudges percentiles and cutoffs because they move in jumps.
    pub fn check(self, replicates: &Replicates) -> Result<(), StatError> {
        if replicates.kind == JACKKNIFE {
            return Err(StatError::Undefined(
                "the jackknife misjudges percentiles and cutoffs: use bootstrap or balanced replicates",
            ));
        }
        Ok(())
    }

    /// Interval of one number from its replicates, `NaN` where one failed, all on the scale of the fit; none
    /// if every replicate failed.
    ///
    /// # Errors
    ///
    /// As for [`t_plain`]; what [`Band::check`] refuses.
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
        let variance = replicates.variance(full, values).variance;
        t_plain(full, variance.sqrt(), self.df, self.confidence).map(Some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    #[test]
    fn all_replicates_but_the_jackknife_make_bands() {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let bootstrap = Replicates::bootstrap(&design, &[1, 2], 4, 1).expect("valid");
        let balanced = Replicates::brr(&design, 0.0).expect("pairs");
        let jackknife = Replicates::jackknife(&design).expect("pairs");
        let t = Band { df: f64::INFINITY, confidence: 0.95 };
        assert_eq!((t.check(&bootstrap), t.check(&balanced)), (Ok(()), Ok(())));
        assert!(t.check(&jackknife).is_err());
        // Replicates 1, 1, 3, 3 about 2: standard error 1.
        let values = [1.0, 1.0, 3.0, 3.0];
        let got = t.interval(2.0, &values, &balanced).expect("valid").expect("used");
        assert!(
            (got.upper - 2.0 - 1.959_963_984_540_05).abs() < 1e-9
                && (got.lower + got.upper - 4.0).abs() < 1e-9
        );
        assert_eq!(t.interval(2.0, &[f64::NAN; 4], &balanced), Ok(None));
        assert!(Band { confidence: 95.0, ..t }.interval(2.0, &values, &balanced).is_err());
    }
}
