//! Quantile regression with weights: percentiles of a value given regressors, such as a spline of age.

use super::regressors::Regressors;
use super::replicate::Replicates;
use super::untied::shifted;
use super::vertex::{Open, Problem, Stop, UNDETERMINED};
use super::{StatError, least_squares, quantile::weighted_quantile};

/// Share of the rows, those nearest to the starting curve, that a search looks at before it checks the
/// others.
const NEAR_SHARE: f64 = 0.1;

/// And so many rows more per coefficient, for small samples.
const NEAR_PER_COLUMN: usize = 40;

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
/// followed downhill, each to the row where the loss turns; rows far from the curve are settled as above or
/// below it and checked at the end. To keep ties from stopping the search, `y` is shifted by up to 1e-10 of
/// its size while the rows are chosen; the coefficients are computed from `y` itself.
///
/// # Units
///
/// A coefficient is in the unit of `y` over that of its column. `p` is a proportion. Only ratios of weights
/// matter.
///
/// # Missing data and ties
///
/// Drop missing values before the call. A zero weight keeps its row out. Where several curves have the same
/// loss, one of those that pass through rows is returned; which one depends on the order of the rows.
///
/// # Errors
///
/// [`StatError::Parameter`] for `p` outside (0, 1); [`StatError::Length`], [`StatError::Value`] or
/// [`StatError::NoWeight`] for unusable rows; [`StatError::Undefined`] if the rows with weight do not
/// determine every coefficient.
///
/// # Source
///
/// Koenker and Bassett 1978, Econometrica 46:33–50; Barrodale and Roberts 1973, SIAM J Numer Anal 10:839–848
/// for the descent; Portnoy and Koenker 1997, Stat Sci 12:279–300 for setting far rows aside.
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
        let nearest = by_distance(&residual.iter().map(|r| r - height).collect::<Vec<_>>());
        let basis = first_basis(x, weight, &nearest)?;
        let mut regression = Self { x, y, p, shifted: shifted(y), nearest, basis, coefficients: Vec::new() };
        let (basis, mut residual) = regression.solve(weight)?;
        for &row in &basis {
            residual[row] = 0.0;
        }
        regression.coefficients = through(x, y, &basis)?;
        regression.nearest = by_distance(&residual);
        regression.basis = basis;
        Ok(regression)
    }

    /// Coefficients for the full weights.
    #[must_use]
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }

    /// Coefficients for other weights on the same rows, such as a replicate's: quick where they are near the
    /// full ones.
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

fn by_distance(residual: &[f64]) -> Vec<(usize, bool)> {
    let mut order: Vec<usize> = (0..residual.len()).collect();
    order.sort_by(|&a, &b| residual[a].abs().total_cmp(&residual[b].abs()));
    order.into_iter().map(|row| (row, residual[row] >= 0.0)).collect()
}

/// Rows near the curve that determine one: for each column in turn the row that differs most in it, after
/// elimination, among the nearest, or among all if the nearest do not suffice.
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
        let best =
            (0..left.len()).max_by(|&a, &b| left[a].1[column].abs().total_cmp(&left[b].1[column].abs()))?;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::untied::scatter;
    use crate::stats::{Design, LonelyPsu};
    use proptest::prelude::*;

    /// Losses of the same curve summed in another order.
    const ROUNDING: f64 = 1e-10;

    fn line(x: &[f64]) -> Regressors {
        Regressors::new(2, x.iter().flat_map(|&x| [1.0, x]).collect()).expect("finite")
    }

    fn loss(x: &Regressors, y: &[f64], weight: &[f64], p: f64, coefficients: &[f64]) -> f64 {
        let rows = residuals(x, y, coefficients).into_iter().zip(weight);
        rows.map(|(r, w)| w * r * if r < 0.0 { p - 1.0 } else { p }).sum()
    }

    #[test]
    fn replicates_start_from_the_full_fit_and_may_be_undetermined() {
        let x = line(&[0.0, 0.0, 1.0, 1.0]);
        let (y, weight, unit) = ([1.0, 2.0, 3.0, 5.0], [1.0, 3.0, 1.0, 3.0], [0, 1, 2, 3]);
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let mut replicates = Replicates::jackknife(&design).expect("pairs");
        replicates.factors[2 * 4 + 3] = 0.0;
        replicates.factors[3 * 4 + 3] = 0.0;
        let full = QuantileRegression::new(&x, &y, &weight, 0.5).expect("determined");
        let near = |got: &[f64], want: [f64; 2]| got.iter().zip(want).all(|(a, b)| (a - b).abs() < ROUNDING);
        assert!(near(full.coefficients(), [2.0, 3.0]), "{:?}", full.coefficients());
        let fitted = |r| full.replicate(&replicate_weights(&weight, &unit, &replicates, r));
        // Without unit 0 the rest stays; without unit 1 the curve starts at 1; without 2 nothing moves; in
        // the last replicate nobody at x = 1 is left.
        let want = [[2.0, 3.0], [1.0, 4.0], [2.0, 3.0]];
        for (replicate, want) in want.into_iter().enumerate() {
            let got = fitted(replicate).expect("determined");
            assert!(near(&got, want), "{got:?}");
        }
        assert_eq!(fitted(3), Err(UNDETERMINED));
    }

    #[test]
    fn what_cannot_be_fitted_is_refused() {
        let x = line(&[1.0, 1.0, 2.0]);
        let y = [1.0, 2.0, 3.0];
        assert!(matches!(fit(&x, &y, &[1.0; 3], 0.0), Err(StatError::Parameter { .. })));
        assert!(matches!(fit(&x, &y, &[1.0, 1.0, 0.0], 0.5), Err(StatError::Undefined(_))));
        assert_eq!(fit(&x, &y[..2], &[1.0; 2], 0.5), Err(StatError::Length(3, 2)));
        assert!(matches!(fit(&x, &y, &[1.0, -1.0, 1.0], 0.5), Err(StatError::Value { row: 1, .. })));
        let full = QuantileRegression::new(&x, &y, &[1.0; 3], 0.5).expect("determined");
        assert_eq!(full.replicate(&[1.0, 0.0, 0.0]), Err(UNDETERMINED));
        assert_eq!(full.replicate(&[0.0; 3]), Err(StatError::NoWeight));
    }

    #[test]
    fn a_curve_that_leaves_its_neighbourhood_is_found() {
        // With a single constant column the regression is the weighted quantile. The replicate moves nearly
        // all weight to the top tenth, far from the rows near the full-sample curve.
        let n = 3000;
        let constant = Regressors::new(1, vec![1.0; n]).expect("ones");
        let y: Vec<f64> = (0..n).map(|i| (i * 1009 % n) as f64 + scatter(i as u64)).collect();
        let weight: Vec<f64> = (0..n).map(|i| 1.0 + (i % 7) as f64 + scatter((i + n) as u64)).collect();
        let moved: Vec<f64> =
            y.iter().zip(&weight).map(|(y, w)| if *y > 2700.0 { *w } else { 0.001 * w }).collect();
        for p in [0.03, 0.5, 0.96] {
            let full = QuantileRegression::new(&constant, &y, &weight, p).expect("determined");
            assert_eq!(full.coefficients(), [weighted_quantile(&y, &weight, p).expect("usable")]);
            let replicate = full.replicate(&moved).expect("determined");
            assert_eq!(replicate, [weighted_quantile(&y, &moved, p).expect("usable")]);
        }
    }

    #[test]
    fn rows_set_aside_are_looked_at_again() {
        // Nearly all weight is at x = 0 and x = 1, where medians move a little in the replicate; carried on
        // to x = 10, the line then passes rows that were set aside as far above it.
        let n = 3000;
        let place = |i: usize| [0.0, 1.0, 10.0][if i.is_multiple_of(15) { 2 } else { i % 2 }];
        let x: Vec<f64> = (0..n).map(place).collect();
        let side = |i: usize| if i.is_multiple_of(2) { 1.0 } else { -1.0 };
        let y: Vec<f64> = (0..n)
            .map(|i| if x[i] > 5.0 { side(i) + 0.4 * scatter(i as u64) } else { scatter(i as u64) })
            .collect();
        let weight: Vec<f64> = x.iter().map(|x| if *x > 5.0 { 0.01 } else { 1.0 }).collect();
        let moved: Vec<f64> = (0..n)
            .map(|i| weight[i] * if x[i] < 5.0 && (x[i] > 0.5) == (y[i] > 0.0) { 1.2 } else { 1.0 })
            .collect();
        let design = line(&x);
        let full = QuantileRegression::new(&design, &y, &weight, 0.5).expect("determined");
        let got = full.replicate(&moved).expect("determined");
        let passed = |b: &[f64]| b[0] + 10.0 * b[1] > 0.7;
        assert!(!passed(full.coefficients()) && passed(&got), "{:?} {got:?}", full.coefficients());
        let direct = fit(&design, &y, &moved, 0.5).expect("determined");
        assert!(got.iter().zip(&direct).all(|(a, b)| (a - b).abs() < ROUNDING), "{got:?} {direct:?}");
    }

    prop_compose! {
        /// Few distinct ages, heights and weights: ties everywhere.
        fn tied_rows()(rows in prop::collection::vec((0_u8..5, 0_u8..4, 0_u8..3), 3..12))
            -> (Vec<f64>, Vec<f64>, Vec<f64>) {
            let column = |of: &dyn Fn(&(u8, u8, u8)) -> u8| rows.iter().map(|row| f64::from(of(row))).collect();
            let (mut x, mut y, mut w): (Vec<f64>, Vec<f64>, Vec<f64>) =
                (column(&|row| row.0), column(&|row| row.1), column(&|row| row.2));
            x.extend([0.0, 4.0]);
            y.extend([0.0, 1.0]);
            w.extend([1.0, 1.0]);
            (x, y, w)
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn no_line_through_two_rows_has_a_smaller_loss(
            (x, y, w) in tied_rows(), (_, _, other) in tied_rows(), p in 0.02_f64..0.98
        ) {
            let design = line(&x);
            let full = QuantileRegression::new(&design, &y, &w, p).expect("determined");
            let mut changed: Vec<f64> = (0..x.len()).map(|i| w[i] * other.get(i).unwrap_or(&1.0)).collect();
            *changed.last_mut().expect("rows") = 1.0;
            changed[x.len() - 2] = 1.0;
            let replicate = full.replicate(&changed).expect("determined");
            for (weight, fit) in [(&w, full.coefficients()), (&changed, &replicate[..])] {
                let got = loss(&design, &y, weight, p, fit);
                for i in 0..x.len() {
                    for j in (0..i).filter(|&j| x[j] != x[i]) {
                        let slope = (y[i] - y[j]) / (x[i] - x[j]);
                        let best = loss(&design, &y, weight, p, &[y[i] - slope * x[i], slope]);
                        prop_assert!(got <= best + ROUNDING, "{got} above {best} through {i} and {j}");
                    }
                }
            }
        }
    }

    /// Rows without ties in the response, so that the curve is unique for almost every probability.
    fn scattered(n: usize) -> (Vec<f64>, Vec<f64>) {
        let x: Vec<f64> = (0..n).map(|i| 20.0 + (i * 7 % 61) as f64).collect();
        let y = x.iter().enumerate().map(|(i, x)| 0.02 * x + scatter(1000 + i as u64)).collect();
        (x, y)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]

        #[test]
        fn equivariance_and_weights(
            p in 0.03_f64..0.97, shift in -3.0_f64..3.0, scale in 0.2_f64..4.0,
            times in prop::collection::vec(1_u8..4, 90)
        ) {
            let (x, y) = scattered(90);
            let spline = crate::stats::NaturalSpline::new(&[20.0, 40.0, 60.0, 80.0]).expect("ascending");
            let design = spline.regressors(&x).expect("finite");
            let w: Vec<f64> = times.iter().map(|&k| f64::from(k)).collect();
            let base = fit(&design, &y, &w, p).expect("determined");
            let moved: Vec<f64> = y.iter().map(|y| shift + scale * y).collect();
            let up = fit(&design, &moved, &w, p).expect("determined");
            let turned: Vec<f64> = y.iter().map(|y| shift - scale * y).collect();
            let down = fit(&design, &turned, &w, 1.0 - p).expect("determined");
            let repeat = |values: &[f64]| -> Vec<f64> {
                values.iter().zip(&times).flat_map(|(v, &k)| std::iter::repeat_n(*v, k.into())).collect()
            };
            let long = spline.regressors(&repeat(&x)).expect("finite");
            let repeated = fit(&long, &repeat(&y), &vec![1.0; long.rows()], p).expect("determined");
            // A coefficient is the height at a knot, so it moves as the response does.
            for k in 0..4 {
                prop_assert!((up[k] - shift - scale * base[k]).abs() < 1e-9);
                prop_assert!((down[k] - shift + scale * base[k]).abs() < 1e-9);
                prop_assert!((repeated[k] - base[k]).abs() < 1e-9);
            }
        }
    }
}
