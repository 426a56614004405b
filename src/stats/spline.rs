//! Natural cubic splines: smooth functions of age or BMI that are straight beyond their last knots.

use super::quantile::weighted_quantile;
use super::{Regressors, StatError};

/// The natural cubic splines with given knots.
///
/// Column `j` of the basis is the spline that is 1 at knot `j` and 0 at every other knot, so a coefficient is
/// the height of the curve at its knot and the columns add to 1: they contain the intercept.
#[derive(Debug, Clone, PartialEq)]
pub struct NaturalSpline {
    knots: Vec<f64>,
    /// `curvature[k][j]`: second derivative at knot `k` of column `j`.
    curvature: Vec<Vec<f64>>,
}

impl NaturalSpline {
    /// Splines with these knots, ascending; the first and the last are the boundary knots.
    ///
    /// # Formula
    ///
    /// Cubic between knots, with continuous first and second derivatives; second derivative 0 at and beyond
    /// the boundary knots. With `h_k` the distance from knot `k` to the next, `f` the heights and `γ` the
    /// second derivatives at the knots,
    ///
    /// ```text
    /// h_{k−1} γ_{k−1} / 6 + (h_{k−1} + h_k) γ_k / 3 + h_k γ_{k+1} / 6
    ///     = (f_{k+1} − f_k) / h_k − (f_k − f_{k−1}) / h_{k−1}
    /// ```
    ///
    /// for the interior knots, and γ = 0 at both ends. The space is that of R's `ns(x, knots = interior,
    /// Boundary.knots = ends)` with an intercept; only the coefficients differ.
    ///
    /// # Units
    ///
    /// Knots in the unit of x; a coefficient in that of the response.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] with fewer than two knots, [`StatError::Value`] for a knot that is not finite
    /// or not above the one before it.
    ///
    /// # Source
    ///
    /// Green and Silverman 1994, Nonparametric Regression and Generalized Linear Models, section 2.1.
    ///
    /// # Checked against
    ///
    /// R `splines::ns` by the fitted values of weighted regressions: `tests/reference/spline_least_squares/`.
    pub fn new(knots: &[f64]) -> Result<Self, StatError> {
        if knots.len() < 2 {
            return Err(StatError::Undefined("a spline needs two knots at least: its boundary"));
        }
        let ascends = |k: usize| knots[k].is_finite() && (k == 0 || knots[k] > knots[k - 1]);
        if let Some(row) = (0..knots.len()).find(|&k| !ascends(k)) {
            return Err(StatError::Value { row, what: "knot out of order", value: knots[row] });
        }
        Ok(Self { knots: knots.to_vec(), curvature: curvature(knots) })
    }

    /// Splines with knots at weighted quantiles of `x`: the first and last probability place the boundary
    /// knots, 0 standing for the smallest value with weight.
    ///
    /// # Missing data and ties
    ///
    /// The step rule of [`weighted_quantile`]: each knot is an observed value.
    ///
    /// # Errors
    ///
    /// As for [`weighted_quantile`] and [`NaturalSpline::new`]: heavy ties may place two knots at one value.
    pub fn at_quantiles(x: &[f64], weight: &[f64], probabilities: &[f64]) -> Result<Self, StatError> {
        let knot = |&p: &f64| weighted_quantile(x, weight, if p == 0.0 { f64::MIN_POSITIVE } else { p });
        Self::new(&probabilities.iter().map(knot).collect::<Result<Vec<_>, _>>()?)
    }

    #[must_use]
    pub fn knots(&self) -> &[f64] {
        &self.knots
    }

    /// Number of coefficients: one per knot.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.knots.len()
    }

    /// The columns at `x`; straight lines beyond the boundary knots.
    #[must_use]
    pub fn row(&self, x: f64) -> Vec<f64> {
        let knots = &self.knots;
        let last = knots.len() - 1;
        let inside = x.clamp(knots[0], knots[last]);
        let k = knots.partition_point(|knot| *knot <= inside).clamp(1, last) - 1;
        let h = knots[k + 1] - knots[k];
        let (left, right) = ((knots[k + 1] - inside) / h, (inside - knots[k]) / h);
        let beyond = x - inside;
        // A cubic in the interval plus, beyond the boundary, its slope there times the distance.
        let bend_left = (left.powi(3) - left) * h * h / 6.0 - beyond * (3.0 * left * left - 1.0) * h / 6.0;
        let bend_right =
            (right.powi(3) - right) * h * h / 6.0 + beyond * (3.0 * right * right - 1.0) * h / 6.0;
        let mut row: Vec<f64> = (0..=last)
            .map(|j| bend_left * self.curvature[k][j] + bend_right * self.curvature[k + 1][j])
            .collect();
        row[k] += left - beyond / h;
        row[k + 1] += right + beyond / h;
        row
    }

    /// The columns at each `x`.
    ///
    /// # Errors
    ///
    /// [`StatError::Empty`] without values, [`StatError::Value`] for one that is not finite.
    pub fn regressors(&self, x: &[f64]) -> Result<Regressors, StatError> {
        Regressors::new(self.columns(), x.iter().flat_map(|&x| self.row(x)).collect())
    }
}

/// Second derivatives at the knots of each column: the tridiagonal system above for unit heights.
fn curvature(knots: &[f64]) -> Vec<Vec<f64>> {
    let n = knots.len();
    let h: Vec<f64> = knots.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let mut curvature = vec![vec![0.0; n]; n];
    let mut pivot = vec![0.0; n];
    for k in 1..n - 1 {
        curvature[k][k - 1] += 1.0 / h[k - 1];
        curvature[k][k] -= 1.0 / h[k - 1] + 1.0 / h[k];
        curvature[k][k + 1] += 1.0 / h[k];
        pivot[k] = (h[k - 1] + h[k]) / 3.0;
        if k > 1 {
            let factor = h[k - 1] / 6.0 / pivot[k - 1];
            pivot[k] -= factor * h[k - 1] / 6.0;
            let (above, below) = curvature.split_at_mut(k);
            below[0].iter_mut().zip(&above[k - 1]).for_each(|(entry, before)| *entry -= factor * before);
        }
    }
    for k in (1..n - 1).rev() {
        let (above, below) = curvature.split_at_mut(k + 1);
        for (entry, after) in above[k].iter_mut().zip(&below[0]) {
            *entry = (*entry - h[k] / 6.0 * after) / pivot[k];
        }
    }
    curvature
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A cubic on numbers of order 100 carries rounding of a few units in the last place.
    const ROUNDING: f64 = 1e-10;

    #[test]
    fn three_knots_by_hand() {
        // Heights 0, 1, 0 at 0, 1, 2: (1 + 1) γ / 3 = −2, γ = −3. At ½: ½ + ((½)³ − ½)(−3)/6 = 0.6875.
        let spline = NaturalSpline::new(&[0.0, 1.0, 2.0]).expect("ascending");
        assert!((spline.row(0.5)[1] - 0.6875).abs() < ROUNDING, "{:?}", spline.row(0.5));
        // Slope at 0: 1 − (2·0 − 3)/6 = 1.5, kept beyond: −1.5 at −1; by symmetry the same at 3.
        assert!((spline.row(-1.0)[1] + 1.5).abs() < ROUNDING && (spline.row(3.0)[1] + 1.5).abs() < ROUNDING);
    }

    #[test]
    fn two_knots_are_a_straight_line() {
        let spline = NaturalSpline::new(&[20.0, 40.0]).expect("ascending");
        assert_eq!(spline.row(50.0), [-0.5, 1.5]);
    }

    #[test]
    fn knots_at_quantiles() {
        let x = [5.0, 1.0, 2.0, 3.0, 4.0];
        let spline = NaturalSpline::at_quantiles(&x, &[1.0, 1.0, 1.0, 0.0, 1.0], &[0.0, 0.5, 1.0]);
        assert_eq!(spline.expect("distinct").knots(), [1.0, 2.0, 5.0]);
        let tied = NaturalSpline::at_quantiles(&x, &[1.0; 5], &[0.0, 0.1, 1.0]);
        assert_eq!(tied, Err(StatError::Value { row: 1, what: "knot out of order", value: 1.0 }));
    }

    #[test]
    fn unusable_knots_are_refused() {
        assert!(matches!(NaturalSpline::new(&[1.0]), Err(StatError::Undefined(_))));
        assert!(matches!(NaturalSpline::new(&[1.0, 1.0]), Err(StatError::Value { row: 1, .. })));
        assert!(matches!(NaturalSpline::new(&[f64::NAN, 1.0]), Err(StatError::Value { row: 0, .. })));
        let spline = NaturalSpline::new(&[1.0, 2.0]).expect("ascending");
        assert_eq!(spline.regressors(&[]), Err(StatError::Empty));
        assert!(matches!(spline.regressors(&[1.0, f64::NAN]), Err(StatError::Value { row: 1, .. })));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]

        #[test]
        fn straight_lines_are_reproduced(
            gaps in prop::collection::vec(0.5_f64..20.0, 1..7),
            x in -50.0_f64..200.0,
            intercept in -5.0_f64..5.0,
            slope in -2.0_f64..2.0,
        ) {
            let mut knots = vec![18.0];
            knots.extend(gaps.iter().scan(18.0, |knot, gap| { *knot += gap; Some(*knot) }));
            let spline = NaturalSpline::new(&knots).expect("ascending");
            let line = |x: f64| intercept + slope * x;
            let got: f64 = spline.row(x).iter().zip(&knots).map(|(b, knot)| b * line(*knot)).sum();
            let reach = 1.0 + spline.row(x).iter().map(|b| b.abs()).fold(0.0, f64::max);
            prop_assert!((got - line(x)).abs() < ROUNDING * reach * 100.0, "{got} {}", line(x));
        }

        #[test]
        fn a_column_is_one_at_its_knot(gaps in prop::collection::vec(0.5_f64..20.0, 1..7)) {
            let knots: Vec<f64> =
                std::iter::once(0.0).chain(gaps.iter().scan(0.0, |k, gap| { *k += gap; Some(*k) })).collect();
            let spline = NaturalSpline::new(&knots).expect("ascending");
            for (k, &knot) in knots.iter().enumerate() {
                for (j, b) in spline.row(knot).iter().enumerate() {
                    prop_assert!((b - f64::from(u8::from(j == k))).abs() < ROUNDING);
                }
            }
        }
    }
}
