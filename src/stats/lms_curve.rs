//! Percentile curves by the LMS method, with bands that respect the design.

use super::interval::normal_quantile;
use super::lms::Lms;
use super::lms_data::{LmsData, Power};
use super::lms_fit::{LmsFit, fit};
use super::percentile_curve::{CurveData, CurveRows, CurveSettings, Curves, PercentileCurves};
use super::quantile_regression::replicate_weights;
use super::{Band, Replicates, StatError};

/// Skewness, median and spread as smooth functions of x, fitted with the full weights.
///
/// # Formula
///
/// The percentile at probability `p` and place `x` is `M (1 + L S z)^(1/L)` with the normal quantile `z` of
/// `p`, or of `1 − p` for an index of which less is more resistant: percentiles run in the order of
/// resistance. They cannot cross.
///
/// # Units
///
/// Methods that say "scale of the fit" give logarithms (turned over where lower is more resistant); results
/// of [`LmsModel::bands`] are in the unit of the index.
///
/// # Source
///
/// Cole and Green 1992, Stat Med 11:1305–1319; replicates as in [`Replicates`], each fitted from the solution
/// of the full weights.
///
/// # Checked against
///
/// R `VGAM`, `vglm(…, lms.bcn())` and `qlms.bcn`, in every replicate: `tests/reference/lms_curve/`.
#[derive(Debug, Clone)]
pub struct LmsModel<'a> {
    data: &'a CurveData,
    rows: LmsData,
    full: LmsFit,
}

impl<'a> LmsModel<'a> {
    /// # Errors
    ///
    /// As for [`fit`]; [`StatError::Value`] for a value that is not positive.
    pub fn fit(rows: &CurveRows<'_>, data: &'a CurveData, power: Power) -> Result<Self, StatError> {
        let rows = LmsData::new(rows.x, rows.value, &data.settings().spline, power)?;
        let full = fit(&rows, data.weight(), None)?;
        Ok(Self { data, rows, full })
    }

    /// Skewness, median and spread at each place of the grid.
    ///
    /// # Errors
    ///
    /// As for [`LmsFit::at`].
    pub fn parameters(&self) -> Result<Vec<Lms>, StatError> {
        self.data.grid_columns().iter().map(|columns| self.full.at(columns)).collect()
    }

    /// Curves for the full weights, on the scale of the fit.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] for a percentile beyond the end of the distribution at some place.
    pub fn full(&self) -> Result<Curves, StatError> {
        self.curves(&self.full)
    }

    /// Curves for a replicate's weights, on the scale of the fit.
    ///
    /// # Errors
    ///
    /// As for [`fit`] and [`LmsModel::full`]: the replicate failed.
    pub fn replicate(&self, weight: &[f64]) -> Result<Curves, StatError> {
        self.curves(&fit(&self.rows, weight, Some(&self.full))?)
    }

    /// The curves with bands from the replicates' curves, which are none where a replicate failed.
    ///
    /// # Errors
    ///
    /// What [`Band::interval`] refuses; [`StatError::Length`] if the curves are not one per replicate.
    pub fn bands(
        &self,
        curves: &[Option<Curves>],
        replicates: &Replicates,
        band: Band,
    ) -> Result<PercentileCurves, StatError> {
        self.data.bands(&self.full()?, curves, replicates, band)
    }

    /// Weighted share of the people who are less resistant than each percentile of their place: near its
    /// probability where the method fits.
    ///
    /// # Errors
    ///
    /// As for [`LmsFit::at`].
    pub fn shares_below(&self) -> Result<Vec<f64>, StatError> {
        let settings = self.data.settings();
        let z = self.rows.z_scores(&self.full)?;
        let total: f64 = self.data.weight().iter().sum();
        let share = |&p: &f64| {
            let mark = normal_quantile(p);
            let less = |z: f64| if settings.reversed { -z < mark } else { z < mark };
            let rows = z.iter().zip(self.data.weight()).filter(|(z, _)| less(**z));
            rows.map(|(_, weight)| weight).sum::<f64>() / total
        };
        Ok(settings.probabilities.iter().map(share).collect())
    }

    fn curves(&self, fit: &LmsFit) -> Result<Curves, StatError> {
        let (settings, scale) = (self.data.settings(), self.data.scale());
        let places: Vec<Lms> =
            self.data.grid_columns().iter().map(|columns| fit.at(columns)).collect::<Result<_, _>>()?;
        let curve = |&p: &f64| {
            let z = if settings.reversed { -normal_quantile(p) } else { normal_quantile(p) };
            places.iter().map(|lms| Ok(scale.forward(lms.centile(z)?))).collect()
        };
        settings.probabilities.iter().map(curve).collect()
    }
}

/// All of it, one replicate after the other, for comparison with other programs; to spread replicates over threads use [`LmsModel`].
///
/// # Errors
///
/// As for [`CurveData::new`], [`LmsModel::fit`] and [`LmsModel::bands`].
pub fn lms_curves(
    rows: &CurveRows<'_>,
    settings: &CurveSettings,
    power: Power,
    (replicates, band): (&Replicates, Band),
) -> Result<PercentileCurves, StatError> {
    band.check(replicates)?;
    let data = CurveData::new(rows, settings.clone())?;
    let model = LmsModel::fit(rows, &data, power)?;
    let curves: Vec<Option<Curves>> = (0..replicates.count)
        .map(|r| model.replicate(&replicate_weights(rows.weight, rows.unit, replicates, r)).ok())
        .collect();
    model.bands(&curves, replicates, band)
}
