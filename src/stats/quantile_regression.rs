//! Quantile regression with weights: percentiles of a value given regressors, such as a spline of age.

use super::regressors::Regressors;
use super::replicate::Replicates;
use super::vertex::{Open, Problem, Stop, UNDETERMINED};
use super::{StatError, least_squares, quantile::weighted_quantile};

/// Share of the rows, those nearest to the starting curve, that a search looks at before it checks the others.
const NEAR_SHARE: f64 = 0.1;

/// And so many rows more per coefficient, for small samples.
const NEAR_PER_COLUMN: usize = 40;

/// Size of the shifts that keep residuals from vanishing together, as a share of the response's size: far above the
/// rounding of a residual, far below the last digit of a measured value.
const SHIFT: f64 = 1e-10;

/// A regression solved for the full weights, from which those for other weights on the same rows start.
#[derive(Debug, Clone)]
pub struct QuantileRegression<'a> {
    x: &'a Regressors,
    y: &'a [f64],
    p: f64,
    /// `y` with its small shifts.
    shifted: Vec<f64>,
    /// Rows from nearest to farthest of the curve, with the side they are on (true: above or on it).
    nearest: Vec<(usize, bool)>,
    basis: Vec<usize>,
    coefficients: Vec<f64>,
}

/// Coefficients of the weighted quantile regression at probability `p`.
///
/// # Formula
///
/// ```text
/// β = argmin Σ wᵢ ρ(yᵢ − xᵢ β),   ρ(r) = p r where r ≥ 0, (p − 1) r where r < 0
/// ```
///
/// found exactly: the curve passes through as many rows as it has coefficients. Edges between such curves are
/// followed downhill, each to the row where the loss turns; rows far from the curve are settled as above or below it
/// and checked at the end. To keep ties from stopping the search, `y` is shifted by up to 1e-10 of its size while the
/// rows are chosen; the coefficients are computed from `y` itself.
///
/// # Units
///
/// A coefficient is in the unit of `y` over that of its column. `p` is a proportion. Only ratios of weights matter.
///
/// # Missing data and ties
///
/// Drop missing values before the call. A zero weight keeps its row out. Where several curves have the same loss, one
/// of those that pass through rows is returned; which one depends on the order of the rows.
///
/// # Errors
///
/// [`StatError::Parameter`] for `p` outside (0, 1); [`StatError::Length`], [`StatError::Value`] or
/// [`StatError::NoWeight`] for unusable rows; [`StatError::Undefined`] if the rows with weight do not determine every
/// coefficient.
///
/// # Source
///
/// Koenker and Bassett 1978, Econometrica 46:33–50; Barrodale and Roberts 1973, SIAM J Numer Anal 10:839–848 for the
/// descent; Portnoy and Koenker 1997, Stat Sci 12:279–300 for setting far rows aside.
///
/// # Checked against
///
/// R `quantreg`, `rq(y ~ ns(x), tau, weights = w)`: `tests/reference/quantile_regression/`.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::{NaturalSpline, quantile_regression};
/// let age = [20.0, 20.0, 20.0, 60.0, 60.0, 60.0];
/// let tyg = [8.1, 8.3, 8.2, 8.9, 8.7, 8.8];
/// let line = NaturalSpline::new(&[20.0, 60.0])?; // straight; its coefficients are the medians at 20 and at 60
/// let median = quantile_regression::fit(&line.regressors(&age)?, &tyg, &[1.0; 6], 0.5)?;
/// assert!((median[0] - 8.2).abs() < 1e-12 && (median[1] - 8.8).abs() < 1e-12);
/// # Ok::<(), cutspan::stats::StatError>(())
/// ```
pub fn fit(x: &Regressors, y: &[f64], weight: &[f64], p: f64) -> Result<Vec<f64>, StatError> {
    Ok(QuantileRegression::new(x, y, weight, p)?.coefficients)
}

/// Coefficients for every replicate of the weights, `NaN` where the replicate's rows do not determine them.
///
/// One after the other; to spread replicates over threads call [`QuantileRegression::replicate`].
///
/// # Errors
///
/// [`StatError::Length`] if `unit` does not match `weight`.
pub fn fit_replicates(
    full: &QuantileRegression<'_>,
    weight: &[f64],
    unit: &[u32],
    replicates: &Replicates,
) -> Result<Vec<Vec<f64>>, StatError> {
    if unit.len() != weight.len() {
        return Err(StatError::Length(weight.len(), unit.len()));
    }
    let fit = |replicate| {
        let weight = replicate_weights(weight, unit, replicates, replicate);
        full.replicate(&weight).unwrap_or_else(|_| vec![f64::NAN; full.coefficients.len()])
    };
    Ok((0..replicates.count).map(fit).collect())
}

/// Weight of each row in one replicate.
#[must_use]
pub fn replicate_weights(
    weight: &[f64],
    unit: &[u32],
    replicates: &Replicates,
    replicate: usize,
) -> Vec<f64> {
    weight.iter().zip(unit).map(|(weight, unit)| weight * replicates.of_unit(*unit)[replicate]).collect()
}

impl<'a> QuantileRegression<'a> {
    /// Solves the regression for the full weights, as [`fit`] says.
    pub fn new(x: &'a Regressors, y: &'a [f64], weight: &[f64], p: f64) -> Result<Self, StatError> {
        x.check(y, weight)?;
        if !(p > 0.0 && p < 1.0) {
            return Err(StatError::Parameter { what: "probability", range: "(0, 1)", value: p });
        }
        // The least squares curve, moved to the height at which its residuals have their quantile.
        let mean = x.predict(&least_squares::fit(x, y, weight)?);
        let residual: Vec<f64> = y.iter().zip(&mean).map(|(y, mean)| y - mean).collect();
        let height = weighted_quantile(&residual, weight, p)?;
        let nearest = by_distance(residual.iter().map(|r| r - height).collect());
        let basis = first_basis(x, weight, &nearest)?;
        let mut regression =
            Self { x, y, p, shifted: shifted(y), nearest, basis, coefficients: Vec::new() };
        let (basis, mut residual) = regression.solve(weight)?;
        for &row in &basis {
            residual[row] = 0.0;
        }
        regression.coefficients = through(x, y, &basis)?;
        regression.nearest = by_distance(residual);
        regression.basis = basis;
        Ok(regression)
    }

    /// Coefficients for the full weights.
    #[must_use]
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }

    /// Coefficients for other weights on the same rows, such as a replicate's: quick where they are near the full ones.
    ///
    /// # Errors
    ///
    /// As for [`fit`].
    pub fn replicate(&self, weight: &[f64]) -> Result<Vec<f64>, StatError> {
        self.x.check(self.y, weight)?;
        through(self.x, self.y, &self.solve(weight)?.0)
    }

    /// The best basis and the residuals of the shifted response.
    fn solve(&self, weight: &[f64]) -> Result<(Vec<usize>, Vec<f64>), StatError> {
        let problem = Problem { x: self.x, y: &self.shifted, weight, p: self.p };
        let used: Vec<(usize, bool)> =
            self.nearest.iter().copied().filter(|&(row, _)| weight[row] > 0.0).collect();
        let near = (used.len() as f64 * NEAR_SHARE) as usize + NEAR_PER_COLUMN * self.x.columns();
        let mut basis = self.basis.clone();
        let (near, far) = used.split_at(near.min(used.len()));
        let (held, mut settled): (Vec<_>, Vec<_>) = far.iter().partition(|(row, _)| basis.contains(row));
        let mut open = Open::new(problem, &settled);
        near.iter().chain(&held).for_each(|&(row, _)| open.open(row));
        loop {
            let found = match open.descend(&mut basis) {
                Ok(coefficients) => Some(residuals(self.x, &self.shifted, &coefficients)),
                Err(Stop::Unbounded) if !settled.is_empty() => None,
                Err(Stop::Unbounded) => return Err(UNDETERMINED),
                Err(Stop::Failed(error)) => return Err(error),
            };
            let before = settled.len();
            settled.retain(|&(row, above)| {
                let stays = found.as_ref().is_some_and(|residual| (residual[row] >= 0.0) == above);
                if !stays {
                    open.unsettle(row, above);
                }
                stays
            });
            if let Some(residual) = found
                && settled.len() == before
            {
                return Ok((basis, residual));
            }
        }
    }
}

fn residuals(x: &Regressors, y: &[f64], coefficients: &[f64]) -> Vec<f64> {
    y.iter().zip(x.predict(coefficients)).map(|(y, fitted)| y - fitted).collect()
}

/// The curve through the rows of a basis.
fn through(x: &Regressors, y: &[f64], basis: &[usize]) -> Result<Vec<f64>, StatError> {
    let rows = basis.iter().flat_map(|&row| x.row(row)).copied().collect();
    let heights: Vec<f64> = basis.iter().map(|&row| y[row]).collect();
    least_squares::fit(&Regressors::new(x.columns(), rows)?, &heights, &vec![1.0; basis.len()])
}

fn by_distance(residual: Vec<f64>) -> Vec<(usize, bool)> {
    let mut order: Vec<usize> = (0..residual.len()).collect();
    order.sort_by(|&a, &b| residual[a].abs().total_cmp(&residual[b].abs()));
    order.into_iter().map(|row| (row, residual[row] >= 0.0)).collect()
}

/// Rows near the curve that determine one: for each column in turn the row that differs most in it, after elimination,
/// among the nearest, or among all if the nearest do not suffice.
fn first_basis(x: &Regressors, weight: &[f64], nearest: &[(usize, bool)]) -> Result<Vec<usize>, StatError> {
    let used: Vec<usize> = nearest.iter().map(|(row, _)| *row).filter(|&row| weight[row] > 0.0).collect();
    let some = (NEAR_PER_COLUMN * x.columns()).min(used.len());
    eliminate(x, &used[..some]).or_else(|| eliminate(x, &used)).ok_or(UNDETERMINED)
}

fn eliminate(x: &Regressors, rows: &[usize]) -> Option<Vec<usize>> {
    /// Of the largest entry: below it a row adds nothing new.
    const NOTHING: f64 = 1e-6;
    let mut left: Vec<(usize, Vec<f64>)> = rows.iter().map(|&row| (row, x.row(row).to_vec())).collect();
    let largest = left.iter().flat_map(|(_, line)| line).fold(0.0_f64, |most, x| most.max(x.abs()));
    let mut basis = Vec::new();
    for column in 0..x.columns() {
        let best = (0..left.len())
            .max_by(|&a, &b| left[a].1[column].abs().total_cmp(&left[b].1[column].abs()))?;
        let (row, pivot) = left.swap_remove(best);
        if pivot[column].abs() <= NOTHING * largest {
            return None;
        }
        basis.push(row);
        for (_, line) in &mut left {
            let factor = line[column] / pivot[column];
            line.iter_mut().zip(&pivot).for_each(|(entry, pivot)| *entry -= factor * pivot);
        }
    }
    Some(basis)
}

/// `y` with a shift of its own on each row.
fn shifted(y: &[f64]) -> Vec<f64> {
    let size = y.iter().fold(0.0_f64, |most, y| most.max(y.abs()));
    let size = if size > 0.0 { size } else { 1.0 };
    y.iter().enumerate().map(|(row, y)| y + SHIFT * size * scatter(row as u64)).collect()
}

/// A number in (−1, 1) that looks random, the same for the same row for ever: Steele, Lea and Flood 2014, OOPSLA,
/// 453–472.
fn scatter(row: u64) -> f64 {
    let mut z = row.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}
