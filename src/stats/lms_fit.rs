//! The LMS method fitted to data: skewness, median and spread as smooth functions of age or BMI.

use super::StatError;
use super::lms::Lms;
use super::lms_data::{Derivatives, LmsData};
use super::matrix::Cholesky;
use super::regressors::dot;

/// Gain in mean log-likelihood that a step of Newton's still promises when it is the last: it squares the
/// distance to the maximum, and leaves coefficients right to ten digits or more.
const CONVERGED: f64 = 1e-12;
/// A fit that needs more steps than this does not settle.
const MOST_STEPS: usize = 100;
/// Halvings of a step that overshoots.
const MOST_HALVINGS: usize = 30;

const UNDETERMINED: StatError =
    StatError::Undefined("the rows with weight do not determine every LMS coefficient: use fewer knots");
const UNSETTLED: StatError =
    StatError::Undefined("the LMS fit did not converge: use fewer knots or a constant power");

/// A fitted model: L, ln M and ln S at each knot.
#[derive(Debug, Clone, PartialEq)]
pub struct LmsFit {
    /// One number where the power is constant.
    l: Vec<f64>,
    log_m: Vec<f64>,
    log_s: Vec<f64>,
}

impl LmsFit {
    /// Skewness, median and spread at a place, given its columns of the spline.
    ///
    /// # Errors
    ///
    /// [`StatError::Parameter`] where a curve left the numbers.
    pub fn at(&self, columns: &[f64]) -> Result<Lms, StatError> {
        let l = if let [constant] = self.l[..] { constant } else { dot(columns, &self.l) };
        Lms::new(l, dot(columns, &self.log_m).exp(), dot(columns, &self.log_s).exp())
    }
}

/// L, M and S as functions of x that maximise the weighted log-likelihood.
///
/// # Formula
///
/// ```text
/// z = ((y / M)^L − 1) / (L S), or ln(y / M) / S where L = 0
/// maximise Σ wᵢ (Lᵢ ln(yᵢ / Mᵢ) − ln Sᵢ − zᵢ² / 2)
/// ln M(x) and ln S(x): linear combinations of the natural spline; L(x): the same, or one number
/// ```
///
/// without penalty: the knots set how smooth the curves are. z is taken to be standard normal; that it has
/// an end where `L S z = −1` is ignored, as in the source. Each step follows the score through the observed
/// information (Newton) where that is positive definite, else through the expected (Fisher), and is halved
/// until the likelihood does not fall. The start is the log-normal curve of least squares, or another fit.
///
/// # Units
///
/// M in the unit of the values, L and S pure numbers. Only ratios of weights matter.
///
/// # Missing data and ties
///
/// Drop missing values before the call. A zero weight keeps its row out.
///
/// # Errors
///
/// [`StatError::Length`], [`StatError::Value`] or [`StatError::NoWeight`] for unusable rows;
/// [`StatError::Undefined`] if the rows with weight do not determine every coefficient, do not vary about
/// their curve, or the steps do not settle.
///
/// # Source
///
/// Cole and Green 1992, Stat Med 11:1305–1319, there with a roughness penalty in place of knots.
///
/// # Checked against
///
/// R `VGAM`, `vglm(y ~ ns(x), lms.bcn(), weights = w)`, and R `optim` of the same likelihood:
/// `tests/reference/lms_curve/`.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::NaturalSpline;
/// # use cutspan::stats::lms_data::{LmsData, Power};
/// # use cutspan::stats::lms_fit::fit;
/// let age = [20.0, 20.0, 20.0, 20.0, 60.0, 60.0, 60.0, 60.0];
/// let homa = [1.0, 2.0, 4.0, 2.0, 2.0, 4.0, 8.0, 4.0];
/// let line = NaturalSpline::new(&[20.0, 60.0])?;
/// let fitted = fit(&LmsData::new(&age, &homa, &line, Power::Constant)?, &[1.0; 8], None)?;
/// // Symmetric on the logarithm: power 0, and the median doubles.
/// assert!((fitted.at(&line.row(20.0))?.centile(0.0)? - 2.0).abs() < 1e-9);
/// assert!((fitted.at(&line.row(60.0))?.centile(0.0)? - 4.0).abs() < 1e-9);
/// # Ok::<(), cutspan::stats::StatError>(())
/// ```
pub fn fit(data: &LmsData, weight: &[f64], start: Option<&LmsFit>) -> Result<LmsFit, StatError> {
    data.check(weight)?;
    let total: f64 = weight.iter().sum();
    let used = weight.iter().enumerate().filter(|(_, weight)| **weight > 0.0);
    let rows: Vec<(usize, f64)> = used.map(|(row, weight)| (row, weight / total)).collect();
    let mut theta = match start {
        Some(fit) => [&fit.l[..], &fit.log_m, &fit.log_s].concat(),
        None => data.start(weight)?,
    };
    if theta.len() != data.coefficients() {
        return Err(StatError::Length(data.coefficients(), theta.len()));
    }
    let mut height = data.log_likelihood(&rows, &theta);
    for _ in 0..MOST_STEPS {
        let sums = data.derivatives(&rows, &theta);
        let (step, newton) = step(&sums)?;
        let promised = dot(&step, &sums.score);
        if promised <= CONVERGED && newton {
            let last: Vec<f64> = theta.iter().zip(&step).map(|(theta, step)| theta + step).collect();
            let [l, log_m, log_s] = data.split(&last).map(<[f64]>::to_vec);
            return Ok(LmsFit { l, log_m, log_s });
        }
        (theta, height) = halved(&theta, &step, height, &|theta| data.log_likelihood(&rows, theta))?;
    }
    Err(UNSETTLED)
}

/// Where to go, and whether the observed information says so.
fn step(sums: &Derivatives) -> Result<(Vec<f64>, bool), StatError> {
    let observed = Cholesky::of(&sums.observed);
    if observed.is_full_rank() {
        return Ok((observed.solve(&sums.score), true));
    }
    let expected = Cholesky::of(&sums.expected);
    if expected.is_full_rank() { Ok((expected.solve(&sums.score), false)) } else { Err(UNDETERMINED) }
}

/// The end of a step short enough not to lower the likelihood, and its height.
fn halved(
    from: &[f64],
    step: &[f64],
    height: f64,
    log_likelihood: &dyn Fn(&[f64]) -> f64,
) -> Result<(Vec<f64>, f64), StatError> {
    let mut share = 1.0;
    for _ in 0..MOST_HALVINGS {
        let to: Vec<f64> = from.iter().zip(step).map(|(from, step)| from + share * step).collect();
        let reached = log_likelihood(&to);
        if reached >= height {
            return Ok((to, reached));
        }
        share *= 0.5;
    }
    Err(UNSETTLED)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::NaturalSpline;
    use crate::stats::lms_data::Power;

    fn data(x: &[f64], value: &[f64]) -> Result<LmsData, StatError> {
        LmsData::new(x, value, &NaturalSpline::new(&[20.0, 60.0])?, Power::Constant)
    }

    #[test]
    fn what_cannot_be_fitted_is_refused() {
        let (x, value) = ([20.0, 20.0, 60.0, 60.0], [1.0, 2.0, 1.5, 4.0]);
        assert!(matches!(data(&x, &[1.0, 0.0, 1.0, 1.0]), Err(StatError::Value { row: 1, .. })));
        assert_eq!(data(&x, &value[1..]).map(|_| ()), Err(StatError::Length(4, 3)));
        assert!(matches!(data(&[f64::NAN; 4], &value), Err(StatError::Value { .. })));
        let usable = data(&x, &value).expect("usable");
        assert_eq!(fit(&usable, &[1.0; 3], None), Err(StatError::Length(4, 3)));
        assert_eq!(fit(&usable, &[0.0; 4], None), Err(StatError::NoWeight));
        assert!(
            matches!(fit(&usable, &[1.0, 1.0, 0.0, 0.0], None), Err(StatError::Undefined(_))),
            "nobody at 60"
        );
        let flat = data(&x, &[2.0; 4]).expect("usable");
        assert!(matches!(fit(&flat, &[1.0; 4], None), Err(StatError::Undefined(_))), "no spread");
        // One person at 60: its median is that person's value and its spread shrinks for ever.
        let lonely = data(&[20.0, 20.0, 20.0, 60.0], &value).expect("usable");
        assert!(
            matches!(fit(&lonely, &[1.0; 4], None), Err(StatError::Undefined(_))),
            "{:?}",
            fit(&lonely, &[1.0; 4], None)
        );
        let other = LmsFit { l: vec![0.0], log_m: vec![0.0; 3], log_s: vec![0.0; 3] };
        assert_eq!(fit(&usable, &[1.0; 4], Some(&other)), Err(StatError::Length(5, 7)));
    }

    #[test]
    fn a_step_that_overshoots_is_halved() {
        let valley = |theta: &[f64]| -(theta[0] - 1.0).powi(2);
        let (to, height) = halved(&[0.0], &[4.0], -1.0, &valley).expect("reached");
        assert_eq!((to, height), (vec![2.0], -1.0), "4 overshoots, 2 is no lower");
        assert_eq!(halved(&[1.0], &[1.0], 0.0, &valley).map(|_| ()), Err(UNSETTLED));
    }
}
