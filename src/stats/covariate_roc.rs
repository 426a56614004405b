//! ROC curves and cutoffs that change with age or BMI.

use super::interval::t_on_logit;
use super::percentile_curve::CurveRows;
use super::quantile_regression::replicate_weights;
use super::regressors::dot;
use super::rule::SLACK;
use super::shifted::{Comparison, Residuals, compare};
use super::{Band, FitScale, Interval, NaturalSpline, Regressors, Replicates, StatError, least_squares};

/// A spread of this share of the response is rounding.
const ROUNDING: f64 = 1e-12;

/// What to model and where to look.
#[derive(Debug, Clone)]
pub struct RocSettings {
    pub spline: NaturalSpline,
    /// Places at which the curve is given, inside the range of x.
    pub grid: Vec<f64>,
    /// A lower index means more resistance.
    pub reversed: bool,
}

/// Rows made ready for fitting with any weights.
#[derive(Debug, Clone)]
pub struct CovariateModel {
    scale: FitScale,
    regressors: Regressors,
    response: Vec<f64>,
    class: Vec<bool>,
    settings: RocSettings,
}

/// The ROC curve at one place of the grid.
#[derive(Debug, Clone, PartialEq)]
pub struct RocAt {
    pub auc: f64,
    /// Largest Youden index, on the scale of the fit.
    pub cutoff: f64,
    pub sensitivity: f64,
    pub specificity: f64,
}

/// Covariate-specific ROC curves for one set of weights.
#[derive(Debug, Clone, PartialEq)]
pub struct CovariateRoc {
    /// One per place of the grid.
    pub at: Vec<RocAt>,
    /// σ among people with and without the outcome, on the scale of the fit.
    pub spread_with: f64,
    pub spread_without: f64,
}

/// A number with its interval; none if every replicate failed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Banded {
    pub value: f64,
    pub interval: Option<Interval>,
}

/// Cutoffs in the unit of the index and areas along the grid, with bands.
#[derive(Debug, Clone, PartialEq)]
pub struct CovariateRocBands {
    pub grid: Vec<f64>,
    pub cutoff: Vec<Banded>,
    pub auc: Vec<Banded>,
    pub sensitivity: Vec<Banded>,
    pub specificity: Vec<Banded>,
    pub used: usize,
    pub failed: usize,
}

impl CovariateModel {
    /// `class[row]` says whether the row's people have the outcome.
    ///
    /// # Errors
    ///
    /// What [`CurveRows::check`] refuses; [`StatError::Length`] if `class` does not match;
    /// [`StatError::Parameter`] for a place outside the range of x.
    pub fn new(rows: &CurveRows<'_>, class: &[bool], settings: RocSettings) -> Result<Self, StatError> {
        rows.check()?;
        rows.check_grid(&settings.grid)?;
        if class.len() != rows.x.len() {
            return Err(StatError::Length(rows.x.len(), class.len()));
        }
        let scale = FitScale::of(rows.value, settings.reversed);
        let columns = settings.row(0.0, false).len();
        let values = rows.x.iter().zip(class).flat_map(|(&x, &with)| settings.row(x, with)).collect();
        Ok(Self {
            scale,
            regressors: Regressors::new(columns, values)?,
            response: rows.value.iter().map(|&value| scale.forward(value)).collect(),
            class: class.to_vec(),
            settings,
        })
    }

    /// ROC curves for these weights: the full ones or a replicate's.
    ///
    /// # Formula
    ///
    /// ```text
    /// y = μ(x, D) + σ(D) ε       μ by weighted least squares on a spline of x for each outcome D
    /// ROC_x: y of D = 1 against y of D = 0, ε drawn from the weighted residuals of its class
    /// ```
    ///
    /// y is the index, on its logarithm where all values are positive; `σ²` the weighted mean square of a
    /// class's residuals. At place x the class D takes the values `μ(x, D)` + residual, so that σ matters only as a
    /// result.
    ///
    /// # Units
    ///
    /// Cutoffs on the scale of the fit, in the order of resistance; [`CovariateModel::bands`] maps them back.
    ///
    /// # Missing data and ties
    ///
    /// Positive means at or beyond the cutoff. Residuals within 1e-9 of their spread are ties and count half
    /// in the areas. The cutoff is a value that the model gives to one of the people at that place; among
    /// equal Youden indices the least resistant.
    ///
    /// # Errors
    ///
    /// [`StatError::OneClass`] if a class has no weight; [`StatError::Undefined`] if the rows do not
    /// determine the model or a class does not vary; what [`least_squares::fit`] refuses.
    ///
    /// # Source
    ///
    /// Janes and Pepe 2008, Am J Epidemiol 168:89–97; Janes, Longton and Pepe 2009, Stata J 9:17–39.
    ///
    /// # Checked against
    ///
    /// statsmodels `WLS` and numpy on the same rows: `tests/reference/covariate_roc/`; the closed form for
    /// normal ε.
    pub fn fit(&self, weight: &[f64]) -> Result<CovariateRoc, StatError> {
        let of_class =
            |wanted: bool| (0..weight.len()).filter(move |&i| self.class[i] == wanted && weight[i] > 0.0);
        for (class, verb) in [(true, "has"), (false, "lacks")] {
            if weight.len() == self.class.len() && of_class(class).next().is_none() {
                return Err(StatError::OneClass(verb));
            }
        }
        let coefficients = least_squares::fit(&self.regressors, &self.response, weight)?;
        let fitted = self.regressors.predict(&coefficients);
        let own = |wanted| of_class(wanted).map(|i| (self.response[i] - fitted[i], weight[i])).collect();
        let with = Residuals::new(own(true));
        let without = Residuals::new(own(false));
        let size = self.response.iter().fold(0.0_f64, |most, y| most.max(y.abs()));
        if with.spread.min(without.spread) <= ROUNDING * size {
            return Err(StatError::Undefined("the index does not vary about its curve in one class"));
        }
        let settings = &self.settings;
        let mean = |x: f64, with: bool| dot(&settings.row(x, with), &coefficients);
        let at = settings.grid.iter().map(|&x| {
            let floor = mean(x, false);
            RocAt::new(compare(&with, &without, mean(x, true) - floor), floor)
        });
        Ok(CovariateRoc { at: at.collect(), spread_with: with.spread, spread_without: without.spread })
    }

    /// The curves with bands from the replicates' curves, which are none where a replicate failed.
    ///
    /// # Formula
    ///
    /// Cutoffs on the scale of the fit, then mapped back. Areas, sensitivities and
    /// specificities on the logit, `logit p ± t · SE / (p (1 − p))`: the delta method, because a replicate's
    /// share may be 0 or 1; no interval where the full one is.
    ///
    /// # Errors
    ///
    /// What [`Band::interval`] refuses; [`StatError::Length`] if the curves are not one per replicate.
    pub fn bands(
        &self,
        full: &CovariateRoc,
        curves: &[Option<CovariateRoc>],
        replicates: &Replicates,
        band: Band,
    ) -> Result<CovariateRocBands, StatError> {
        band.check(replicates)?;
        if curves.len() != replicates.count {
            return Err(StatError::Length(replicates.count, curves.len()));
        }
        let spread = Spread { full, curves, replicates, band };
        let along = |of: fn(&RocAt) -> f64| -> Result<Vec<Banded>, StatError> {
            (0..full.at.len()).map(|g| spread.share(&|curve| of(&curve.at[g]))).collect()
        };
        let cutoff = |g: usize| {
            let fitted = spread.number(&|curve| curve.at[g].cutoff)?;
            let interval = fitted.interval.map(|interval| self.scale.interval_back(interval));
            Ok(Banded { value: self.scale.back(fitted.value), interval })
        };
        let used = curves.iter().flatten().count();
        Ok(CovariateRocBands {
            grid: self.settings.grid.clone(),
            cutoff: (0..full.at.len()).map(cutoff).collect::<Result<_, StatError>>()?,
            auc: along(|at| at.auc)?,
            sensitivity: along(|at| at.sensitivity)?,
            specificity: along(|at| at.specificity)?,
            used,
            failed: curves.len() - used,
        })
    }
}

/// The full curves and their replicates, from which intervals are made.
struct Spread<'a> {
    full: &'a CovariateRoc,
    curves: &'a [Option<CovariateRoc>],
    replicates: &'a Replicates,
    band: Band,
}

impl Spread<'_> {
    fn number(&self, of: &dyn Fn(&CovariateRoc) -> f64) -> Result<Banded, StatError> {
        let value = of(self.full);
        let values: Vec<f64> = self.curves.iter().map(|curve| curve.as_ref().map_or(f64::NAN, of)).collect();
        let interval = self.band.interval(value, &values, self.replicates)?;
        Ok(Banded { value, interval })
    }

    /// A number between 0 and 1.
    fn share(&self, of: &dyn Fn(&CovariateRoc) -> f64) -> Result<Banded, StatError> {
        let plain = self.number(of)?;
        let value = plain.value;
        if plain.interval.is_none() || value <= SLACK || value >= 1.0 - SLACK {
            return Ok(Banded { value, interval: None });
        }
        let values: Vec<f64> = self.curves.iter().map(|curve| curve.as_ref().map_or(f64::NAN, of)).collect();
        let standard_error = self.replicates.variance(value, &values).variance.sqrt();
        let on_logit = standard_error / (value * (1.0 - value));
        Ok(Banded { value, interval: Some(t_on_logit(value, on_logit, self.band.df, self.band.confidence)?) })
    }
}

impl RocAt {
    /// A comparison made on residuals, moved up to the curve of those without the outcome.
    fn new(comparison: Comparison, floor: f64) -> Self {
        let Comparison { auc, cutoff, sensitivity, specificity } = comparison;
        Self { auc, cutoff: floor + cutoff, sensitivity, specificity }
    }
}

impl RocSettings {
    /// Columns of a person at x with or without the outcome: those of x, then what the outcome adds to each.
    fn row(&self, x: f64, with: bool) -> Vec<f64> {
        let mut row = self.spline.row(x);
        row.extend_from_within(..);
        let outcome = f64::from(u8::from(with));
        row[self.spline.columns()..].iter_mut().for_each(|column| *column *= outcome);
        row
    }
}

/// All of it, one replicate after the other, for comparison with other programs; to spread replicates over threads use [`CovariateModel`].
///
/// # Errors
///
/// As for [`CovariateModel::new`], [`CovariateModel::fit`] and [`CovariateModel::bands`].
pub fn covariate_roc(
    rows: &CurveRows<'_>,
    class: &[bool],
    settings: RocSettings,
    replicates: &Replicates,
    band: Band,
) -> Result<CovariateRocBands, StatError> {
    band.check(replicates)?;
    let model = CovariateModel::new(rows, class, settings)?;
    let full = model.fit(rows.weight)?;
    let curves: Vec<Option<CovariateRoc>> = (0..replicates.count)
        .map(|r| model.fit(&replicate_weights(rows.weight, rows.unit, replicates, r)).ok())
        .collect();
    model.bands(&full, &curves, replicates, band)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    const X: [f64; 8] = [20.0, 30.0, 40.0, 50.0, 20.0, 30.0, 40.0, 50.0];
    const VALUE: [f64; 8] = [1.0, 1.4, 1.2, 1.8, 2.0, 1.3, 2.6, 3.0];
    const WEIGHT: [f64; 8] = [1.0, 2.0, 3.0, 1.0, 2.0, 1.0, 2.0, 1.0];
    const UNIT: [u32; 8] = [0, 1, 2, 3, 0, 1, 2, 3];
    const CLASS: [bool; 8] = [false, false, false, false, true, true, true, true];
    const T: Band = Band { df: 2.0, confidence: 0.95 };

    fn rows() -> CurveRows<'static> {
        CurveRows { x: &X, value: &VALUE, weight: &WEIGHT, unit: &UNIT }
    }

    fn settings() -> RocSettings {
        RocSettings {
            spline: NaturalSpline::new(&[20.0, 50.0]).expect("ascending"),
            grid: vec![20.0, 50.0],
            reversed: false,
        }
    }

    fn model() -> CovariateModel {
        CovariateModel::new(&rows(), &CLASS, settings()).expect("usable")
    }

    #[test]
    fn separate_slopes_are_two_separate_fits() {
        let model = model();
        let moved = VALUE.iter().zip(CLASS).map(|(value, with)| if with { 1.1 * value } else { *value });
        let moved: Vec<f64> = moved.collect();
        let other = CovariateModel::new(&CurveRows { value: &moved, ..rows() }, &CLASS, settings());
        let [a, b] = [model, other.expect("usable")].map(|model| model.fit(&WEIGHT).expect("determined"));
        assert!((a.spread_without - b.spread_without).abs() < 1e-12, "those without do not notice");
        assert!(b.at[0].auc >= a.at[0].auc);
    }

    #[test]
    fn failures_are_counted_and_shares_of_one_have_no_interval() {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let mut replicates = Replicates::brr(&design, 0.5).expect("pairs");
        replicates.factors.chunks_exact_mut(4).for_each(|unit| unit[1] = 0.0);
        let far = VALUE.iter().zip(CLASS).map(|(value, with)| if with { 100.0 * value } else { *value });
        let far: Vec<f64> = far.collect();
        let rows = CurveRows { value: &far, ..rows() };
        let got = covariate_roc(&rows, &CLASS, settings(), &replicates, T).expect("determined");
        assert_eq!((got.used, got.failed), (3, 1));
        assert!((got.auc[0].value - 1.0).abs() < 1e-12 && got.auc[0].interval.is_none());
        assert!(got.cutoff[1].interval.is_some_and(|interval| interval.contains(got.cutoff[1].value)));
    }

    #[test]
    fn impossible_input_is_refused() {
        let model = model();
        let fit = |weight: [f64; 8]| model.fit(&weight).expect_err("must be refused");
        assert!(matches!(fit([1.0, 1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0]), StatError::OneClass(_)));
        assert!(matches!(fit([1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0]), StatError::Undefined(_)));
        let new = |class: &[bool], settings| CovariateModel::new(&rows(), class, settings).map(|_| ());
        assert_eq!(new(&CLASS[1..], settings()), Err(StatError::Length(8, 7)));
        let outside = RocSettings { grid: vec![51.0], ..settings() };
        assert!(matches!(new(&CLASS, outside), Err(StatError::Parameter { value: 51.0, .. })));
    }
}
