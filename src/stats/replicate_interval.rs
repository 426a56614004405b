//! The interval that a set of replicates allows.

use super::interval::{percentile_of_replicates, t_on_logit, t_plain};
use super::replicate::{BOOTSTRAP, JACKKNIFE};
use super::roc::logit_of_area;
use super::{Interval, Replicates, StatError};

/// The estimate and what its interval rests on besides its replicates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Centre {
    pub full: f64,
    pub df: f64,
    pub confidence: f64,
}

impl Replicates {
    /// Interval of a smooth statistic: of a bootstrap the central share of the replicates, else
    /// `full ± t · SE`, because only a bootstrap spreads as the estimate does.
    ///
    /// # Missing data and ties
    ///
    /// A replicate that is not finite failed and is left out; the caller reports how many.
    ///
    /// # Errors
    ///
    /// As for [`percentile_of_replicates`] and [`t_plain`].
    pub fn interval(&self, values: &[f64], centre: Centre) -> Result<Interval, StatError> {
        let values: Vec<f64> = values.iter().map(|v| if v.is_finite() { *v } else { f64::NAN }).collect();
        if self.kind == BOOTSTRAP {
            return percentile_of_replicates(&values, centre.confidence);
        }
        let variance = self.variance(centre.full, &values).variance;
        t_plain(centre.full, variance.sqrt(), centre.df, centre.confidence)
    }

    /// Interval of an area under a ROC curve: t on the logit, whatever the kind of replicates.
    ///
    /// # Missing data and ties
    ///
    /// A replicate without [`logit_of_area`] failed and is left out; the caller reports how many.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for an area that is 0 or 1 but for rounding; otherwise as for [`t_on_logit`].
    pub fn interval_on_logit(&self, values: &[f64], centre: Centre) -> Result<Interval, StatError> {
        let full = logit_of_area(centre.full)
            .ok_or(StatError::Undefined("an interval on the logit needs an area strictly between 0 and 1"))?;
        let logits: Vec<f64> = values.iter().map(|&area| logit_of_area(area).unwrap_or(f64::NAN)).collect();
        let variance = self.variance(full, &logits).variance;
        t_on_logit(centre.full, variance.sqrt(), centre.df, centre.confidence)
    }

    /// Interval of a statistic that moves in jumps: a percentile, a cutoff, what is chosen by one.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for a jackknife, which is wrong there whatever the size of the sample (Shao and Wu
    /// 1989, Ann Stat 17:1176–1197); otherwise as for [`Self::interval`].
    pub fn interval_of_jumps(&self, values: &[f64], centre: Centre) -> Result<Interval, StatError> {
        if self.suits_jumps() { self.interval(values, centre) } else { Err(StatError::Undefined(NO_JUMPS)) }
    }

    /// Whether the spread of these replicates says anything of statistics that move in jumps.
    #[must_use]
    pub fn suits_jumps(&self) -> bool {
        self.kind != JACKKNIFE
    }

    /// The name of the interval in tables.
    #[must_use]
    pub fn interval_kind(&self) -> &'static str {
        if self.kind == BOOTSTRAP { "replicates_percentile" } else { "replicates_t" }
    }
}

/// Why a jackknife gives no interval of a cutoff.
pub const NO_JUMPS: &str = "no interval: the jackknife misjudges cutoffs, which move in jumps";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    #[test]
    fn only_a_bootstrap_gives_its_central_share() {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let centre = Centre { full: 10.0, df: f64::INFINITY, confidence: 0.95 };
        let half = Replicates::brr(&design, 0.0).expect("pairs");
        // Four replicates at ±1: SE 1, so 10 ± 1.96.
        let got = half.interval_of_jumps(&[9.0, 11.0, 9.0, 11.0], centre).expect("replicates");
        assert!((got.upper - 11.959_963_984_540_05).abs() < 1e-12, "{got:?}");
        let drawn = Replicates { kind: BOOTSTRAP, ..half };
        let got = drawn.interval(&[9.0, 11.0, f64::INFINITY, 10.0], centre).expect("replicates");
        assert!((got.lower - 9.05).abs() < 1e-12, "definition 7 among three: {got:?}");
        let jackknife = Replicates::jackknife(&design).expect("pairs");
        assert!(jackknife.interval_of_jumps(&[9.0, 11.0, 9.0, 11.0], centre).is_err());
        // Four at ±1, each with ½: variance 2, so 10 ± 1.96 √2 for what moves smoothly.
        let got = jackknife.interval(&[9.0, 11.0, 9.0, 11.0], centre).expect("replicates");
        assert!((got.upper - 12.771_807_648_7).abs() < 1e-9, "{got:?}");
    }

    #[test]
    fn an_area_has_its_interval_on_the_logit() {
        let replicates = Replicates {
            count: 5,
            factors: vec![1.0; 5],
            scale: 0.2,
            rscales: vec![1.0; 5],
            kind: BOOTSTRAP,
        };
        // Logits 0.3 to either side of that of 0.6, and one at 1 that failed: SE 0.3. R, t on 10 degrees of freedom:
        // plogis(qlogis(0.6) ± 2.228138852 × 0.3).
        let (low, high) = (0.526_341_865_082_029, 0.669_398_341_264_674);
        let centre = Centre { full: 0.6, df: 10.0, confidence: 0.95 };
        let got = replicates.interval_on_logit(&[low, high, 1.0, high, low], centre).expect("inside");
        assert!((got.lower - 0.434_632_148_181_757).abs() < 1e-9, "{got:?}");
        assert!((got.upper - 0.745_339_164_033_802).abs() < 1e-9, "{got:?}");
        // Their central share would leave 0.5 out.
        let share = replicates.interval(&[low, high, f64::NAN, high, low], centre).expect("replicates");
        assert!(share.lower > 0.5 && got.lower < 0.5);
        // Complete separation is the same whatever the last bit of the sums says.
        for separated in [1.0 - f64::EPSILON / 2.0, 1.0 + f64::EPSILON, f64::EPSILON] {
            assert_eq!(replicates.interval_on_logit(&[low, high, separated, high, low], centre), Ok(got));
            assert!(replicates.interval_on_logit(&[low; 5], Centre { full: separated, ..centre }).is_err());
        }
    }
}
