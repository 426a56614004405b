//! Percentiles of an index as smooth curves of age or BMI, with bands that respect the design.

use super::quantile_regression::{QuantileRegression, replicate_weights};
use super::rearrange::rearrange;
use super::regressors::dot;
use super::{Band, FitScale, Interval, NaturalSpline, Regressors, Replicates, StatError};

/// People of one domain, one row each or summed over those who share x, value and sampling unit.
#[derive(Debug, Clone, Copy)]
pub struct CurveRows<'a> {
    /// Age or BMI.
    pub x: &'a [f64],
    /// The index in its own unit.
    pub value: &'a [f64],
    /// Sum of the people's weights.
    pub weight: &'a [f64],
    /// Position of the PSU (or pseudo-PSU) in the design.
    pub unit: &'a [u32],
}

impl CurveRows<'_> {
    /// Columns of one length, finite values and usable weights.
    pub fn check(&self) -> Result<(), StatError> {
        if self.unit.len() != self.weight.len() {
            return Err(StatError::Length(self.weight.len(), self.unit.len()));
        }
        super::sample::check_rows(self.x, self.weight)?;
        super::sample::check_rows(self.value, self.weight)
    }

    /// Refuses a place of the grid where no curve can be known: outside the range of x among rows with
    /// weight.
    pub(super) fn check_grid(&self, grid: &[f64]) -> Result<(), StatError> {
        if grid.is_empty() {
            return Err(StatError::Empty);
        }
        let seen = || self.x.iter().zip(self.weight).filter(|(_, weight)| **weight > 0.0).map(|(x, _)| *x);
        let (least, most) = (seen().fold(f64::INFINITY, f64::min), seen().fold(f64::NEG_INFINITY, f64::max));
        match grid.iter().find(|place| !(**place >= least && **place <= most)) {
            Some(&value) => Err(StatError::Parameter {
                what: "place on the grid",
                range: "the range of x in the data",
                value,
            }),
            None => Ok(()),
        }
    }
}

/// What curves to draw.
#[derive(Debug, Clone)]
pub struct CurveSettings {
    pub spline: NaturalSpline,
    /// Places at which the curves are given, inside the range of x.
    pub grid: Vec<f64>,
    /// Ascending, in the order of resistance: 0.9 is beyond 90 % of the people of that age.
    pub probabilities: Vec<f64>,
    /// A lower index means more resistance.
    pub reversed: bool,
}

/// Rows made ready for fitting; a [`PercentileModel`] borrows them.
#[derive(Debug, Clone)]
pub struct CurveData {
    scale: FitScale,
    regressors: Regressors,
    response: Vec<f64>,
    weight: Vec<f64>,
    grid: Vec<Vec<f64>>,
    settings: CurveSettings,
}

/// Fitted percentiles: `curves[k][g]` for probability `k` and place `g`.
pub type Curves = Vec<Vec<f64>>;

/// Percentile curves with their bands, in the unit of the index.
#[derive(Debug, Clone, PartialEq)]
pub struct PercentileCurves {
    pub grid: Vec<f64>,
    pub probabilities: Vec<f64>,
    /// The index was fitted on its logarithm.
    pub logarithm: bool,
    pub value: Curves,
    /// `interval[k][g]`; none if every replicate failed.
    pub interval: Vec<Vec<Option<Interval>>>,
    /// Replicates that succeeded and that failed.
    pub used: usize,
    pub failed: usize,
}

impl CurveData {
    /// # Errors
    ///
    /// What [`CurveRows::check`] refuses; [`StatError::Parameter`] for a place outside the range of x or for
    /// probabilities that do not ascend.
    pub fn new(rows: &CurveRows<'_>, settings: CurveSettings) -> Result<Self, StatError> {
        rows.check()?;
        rows.check_grid(&settings.grid)?;
        let p = &settings.probabilities;
        if p.is_empty() {
            return Err(StatError::Empty);
        }
        if let Some(pair) = p.windows(2).find(|pair| pair[0] >= pair[1]) {
            return Err(StatError::Parameter {
                what: "probability",
                range: "ascending order",
                value: pair[1],
            });
        }
        let scale = FitScale::of(rows.value, settings.reversed);
        Ok(Self {
            scale,
            regressors: settings.spline.regressors(rows.x)?,
            response: rows.value.iter().map(|&value| scale.forward(value)).collect(),
            weight: rows.weight.to_vec(),
            grid: settings.grid.iter().map(|&place| settings.spline.row(place)).collect(),
            settings,
        })
    }

    /// Places of the grid, the probabilities, and where they come from.
    pub(super) fn settings(&self) -> &CurveSettings {
        &self.settings
    }

    /// Weights of the rows.
    pub(super) fn weight(&self) -> &[f64] {
        &self.weight
    }

    /// Columns of the spline at each place of the grid.
    pub(super) fn grid_columns(&self) -> &[Vec<f64>] {
        &self.grid
    }

    pub(super) fn scale(&self) -> FitScale {
        self.scale
    }

    /// Curves with bands from the replicates' curves, all on the scale of the fit; none where a replicate
    /// failed.
    ///
    /// # Errors
    ///
    /// What [`Band::interval`] refuses; [`StatError::Length`] if the curves are not one per replicate.
    pub(super) fn bands(
        &self,
        full: &Curves,
        curves: &[Option<Curves>],
        replicates: &Replicates,
        band: Band,
    ) -> Result<PercentileCurves, StatError> {
        band.check(replicates)?;
        if curves.len() != replicates.count {
            return Err(StatError::Length(replicates.count, curves.len()));
        }
        let (scale, settings) = (self.scale, &self.settings);
        let interval_at = |k: usize, g: usize| {
            let values: Vec<f64> =
                curves.iter().map(|curves| curves.as_ref().map_or(f64::NAN, |c| c[k][g])).collect();
            let fitted = band.interval(full[k][g], &values, replicates)?;
            Ok(fitted.map(|interval| scale.interval_back(interval)))
        };
        let used = curves.iter().flatten().count();
        Ok(PercentileCurves {
            grid: settings.grid.clone(),
            probabilities: settings.probabilities.clone(),
            logarithm: scale.logarithm,
            value: full.iter().map(|curve| curve.iter().map(|&f| scale.back(f)).collect()).collect(),
            interval: (0..full.len())
                .map(|k| (0..settings.grid.len()).map(|g| interval_at(k, g)).collect())
                .collect::<Result<_, StatError>>()?,
            used,
            failed: curves.len() - used,
        })
    }

    /// Curves that do not cross, from the coefficients of each probability.
    fn curves(&self, coefficients: &[Vec<f64>]) -> Result<Curves, StatError> {
        let curve =
            |coefficients: &Vec<f64>| self.grid.iter().map(|place| dot(place, coefficients)).collect();
        let mut curves: Curves = coefficients.iter().map(curve).collect();
        rearrange(&mut curves)?;
        Ok(curves)
    }
}

/// Quantile regressions of the index on the spline, one per probability, with the full weights.
///
/// # Formula
///
/// The index, on its logarithm where all values are positive, is regressed on the spline of x at each
/// probability; at every place of the grid the fitted percentiles are sorted over the probabilities so that
/// curves cannot cross, in each replicate too; then they are mapped back.
///
/// # Units
///
/// Methods that say "scale of the fit" give logarithms (turned over where lower is more resistant); results
/// of [`PercentileModel::bands`] are in the unit of the index.
///
/// # Source
///
/// Koenker and Bassett 1978, Econometrica 46:33–50; Chernozhukov, Fernández-Val and Galichon 2010,
/// Econometrica 78:1093–1125; replicates as in [`Replicates`].
///
/// # Checked against
///
/// R `quantreg`, `rq` and `rearrange`, in every replicate: `tests/reference/percentile_curve/`.
#[derive(Debug, Clone)]
pub struct PercentileModel<'a> {
    data: &'a CurveData,
    fits: Vec<QuantileRegression<'a>>,
}

impl<'a> PercentileModel<'a> {
    /// # Errors
    ///
    /// As for [`super::quantile_regression::fit`].
    pub fn fit(data: &'a CurveData) -> Result<Self, StatError> {
        let fit = |&p: &f64| QuantileRegression::new(&data.regressors, &data.response, &data.weight, p);
        let fits = data.settings.probabilities.iter().map(fit).collect::<Result<_, _>>()?;
        Ok(Self { data, fits })
    }

    /// Curves for the full weights, on the scale of the fit.
    pub fn full(&self) -> Result<Curves, StatError> {
        self.data.curves(&self.fits.iter().map(|fit| fit.coefficients().to_vec()).collect::<Vec<_>>())
    }

    /// Curves for a replicate's weights, on the scale of the fit.
    ///
    /// # Errors
    ///
    /// As for [`super::quantile_regression::fit`]: the replicate failed.
    pub fn replicate(&self, weight: &[f64]) -> Result<Curves, StatError> {
        self.data.curves(&self.fits.iter().map(|fit| fit.replicate(weight)).collect::<Result<Vec<_>, _>>()?)
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
}

/// All of it, one replicate after the other, for comparison with other programs; to spread replicates over threads use [`PercentileModel`].
///
/// # Errors
///
/// As for [`CurveData::new`], [`PercentileModel::fit`] and [`PercentileModel::bands`].
pub fn percentile_curves(
    rows: &CurveRows<'_>,
    settings: CurveSettings,
    replicates: &Replicates,
    band: Band,
) -> Result<PercentileCurves, StatError> {
    band.check(replicates)?;
    let data = CurveData::new(rows, settings)?;
    let model = PercentileModel::fit(&data)?;
    let curves: Vec<Option<Curves>> = (0..replicates.count)
        .map(|r| model.replicate(&replicate_weights(rows.weight, rows.unit, replicates, r)).ok())
        .collect();
    model.bands(&curves, replicates, band)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    const T: Band = Band { df: 2.0, confidence: 0.95 };
    const X: [f64; 8] = [20.0, 20.0, 40.0, 40.0, 60.0, 60.0, 30.0, 50.0];
    const VALUE: [f64; 8] = [1.0, 2.0, 1.5, 2.5, 2.0, 4.0, 1.8, 2.2];
    const WEIGHT: [f64; 8] = [1.0, 2.0, 3.0, 1.0, 2.0, 1.0, 2.0, 1.0];
    const UNIT: [u32; 8] = [0, 1, 2, 3, 0, 1, 2, 3];

    fn rows() -> CurveRows<'static> {
        CurveRows { x: &X, value: &VALUE, weight: &WEIGHT, unit: &UNIT }
    }

    fn settings(reversed: bool) -> CurveSettings {
        CurveSettings {
            spline: NaturalSpline::new(&[20.0, 60.0]).expect("ascending"),
            grid: vec![20.0, 45.0],
            probabilities: vec![0.2, 0.5, 0.85],
            reversed,
        }
    }

    #[test]
    fn turning_the_index_over_turns_the_percentiles() {
        let inverse = VALUE.map(|value| 1.0 / value);
        let data = CurveData::new(&rows(), settings(false)).expect("usable");
        let turned =
            CurveData::new(&CurveRows { value: &inverse, ..rows() }, settings(true)).expect("usable");
        let curves = |data| PercentileModel::fit(data).and_then(|model| model.full()).expect("determined");
        for (a, b) in curves(&data).iter().flatten().zip(curves(&turned).iter().flatten()) {
            assert!((a - b).abs() < 1e-12, "−ln(1/y) is ln y: {a} {b}");
        }
    }

    #[test]
    fn failed_replicates_are_counted() {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let mut replicates = Replicates::brr(&design, 0.0).expect("pairs");
        replicates.factors.chunks_exact_mut(4).for_each(|unit| unit[1] = 0.0);

        let got = percentile_curves(&rows(), settings(true), &replicates, T).expect("determined");
        assert_eq!((got.used, got.failed), (3, 1));
        for (value, interval) in got.value.iter().flatten().zip(got.interval.iter().flatten()) {
            assert!(interval.expect("three replicates").contains(*value));
        }
    }

    #[test]
    fn impossible_input_is_refused() {
        let new = |change: &dyn Fn(&mut CurveSettings)| {
            let mut settings = settings(false);
            change(&mut settings);
            CurveData::new(&rows(), settings).map(|_| ())
        };
        assert!(matches!(new(&|s| s.grid.push(61.0)), Err(StatError::Parameter { value: 61.0, .. })));
        assert!(matches!(new(&|s| s.probabilities.push(0.5)), Err(StatError::Parameter { value: 0.5, .. })));
        assert_eq!(new(&|s| s.grid.clear()), Err(StatError::Empty));
        assert_eq!(new(&|s| s.probabilities.clear()), Err(StatError::Empty));
        let short = CurveRows { unit: &UNIT[1..], ..rows() };
        assert_eq!(short.check(), Err(StatError::Length(8, 7)));
        let data = CurveData::new(&rows(), settings(false)).expect("usable");
        let model = PercentileModel::fit(&data).expect("determined");
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let balanced = Replicates::brr(&design, 0.0).expect("pairs");
        let few = model.bands(&[], &balanced, T);
        assert_eq!(few, Err(StatError::Length(4, 0)));
    }
}
