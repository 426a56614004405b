//! Weighted least squares.
//!
//! Written out because the linear regression of `linfa-linear` 0.8.1 ignores a data set's weights and, on
//! rows scaled by √w, notices a missing rank only where a pivot is exactly zero: a replicate that lost an age
//! range would get wild numbers instead of an error.

use super::regressors::dot;
use super::{Regressors, StatError};

/// A pivot below this share of its column's length means that the column follows from the others.
const RANK_TOLERANCE: f64 = 1e-9;

/// Coefficients that minimise the weighted sum of squared residuals.
///
/// # Formula
///
/// ```text
/// β = argmin Σ wᵢ (yᵢ − xᵢ β)²
/// ```
///
/// solved by Householder's orthogonal triangularisation of the rows scaled by √w, which does not square the
/// condition number as the normal equations do.
///
/// # Units
///
/// A coefficient is in the unit of `y` over that of its column. Only ratios of weights matter.
///
/// # Missing data and ties
///
/// Drop missing values before the call. A zero weight keeps its row out.
///
/// # Errors
///
/// [`StatError::Length`], [`StatError::Value`] or [`StatError::NoWeight`] for unusable rows;
/// [`StatError::Undefined`] if the rows with weight do not determine every coefficient.
///
/// # Source
///
/// Golub and Van Loan 2013, Matrix Computations, 4th edition, sections 5.2 and 5.3.
///
/// # Checked against
///
/// R `lm(weights = w)` on `splines::ns`: `tests/reference/spline_least_squares/`.
pub fn fit(x: &Regressors, y: &[f64], weight: &[f64]) -> Result<Vec<f64>, StatError> {
    x.check(y, weight)?;
    let used: Vec<usize> = (0..y.len()).filter(|&row| weight[row] > 0.0).collect();
    let columns = x.columns();
    if used.len() < columns {
        return Err(UNDETERMINED);
    }
    let root: Vec<f64> = used.iter().map(|&row| weight[row].sqrt()).collect();
    let scaled = |value: &dyn Fn(usize) -> f64| -> Vec<f64> {
        used.iter().zip(&root).map(|(&row, root)| root * value(row)).collect()
    };
    // The response is the last column and is reflected along with the others.
    let mut matrix: Vec<Vec<f64>> = (0..columns).map(|j| scaled(&|row| x.row(row)[j])).collect();
    matrix.push(scaled(&|row| y[row]));
    triangularise(&mut matrix)?;
    Ok(back_substitute(&matrix))
}

const UNDETERMINED: StatError =
    StatError::Undefined("the rows with weight do not determine every coefficient: use fewer knots");

/// Reflects the columns so that all but the last vanish below the diagonal.
fn triangularise(matrix: &mut [Vec<f64>]) -> Result<(), StatError> {
    let columns = matrix.len() - 1;
    for k in 0..columns {
        let (done, rest) = matrix.split_at_mut(k + 1);
        let length = dot(&done[k], &done[k]).sqrt();
        let pivot = &mut done[k][k..];
        let norm = dot(pivot, pivot).sqrt();
        if norm <= RANK_TOLERANCE * length {
            return Err(UNDETERMINED);
        }
        let diagonal = -norm.copysign(pivot[0]);
        pivot[0] -= diagonal;
        let square = dot(pivot, pivot);
        for column in rest {
            let factor = 2.0 * dot(pivot, &column[k..]) / square;
            for (entry, reflector) in column[k..].iter_mut().zip(&*pivot) {
                *entry -= factor * reflector;
            }
        }
        pivot[0] = diagonal;
    }
    Ok(())
}

fn back_substitute(matrix: &[Vec<f64>]) -> Vec<f64> {
    let columns = matrix.len() - 1;
    let mut solution = vec![0.0; columns];
    for k in (0..columns).rev() {
        let known: f64 = (k + 1..columns).map(|j| matrix[j][k] * solution[j]).sum();
        solution[k] = (matrix[columns][k] - known) / matrix[k][k];
    }
    solution
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn line(x: &[f64]) -> Regressors {
        Regressors::new(2, x.iter().flat_map(|&x| [1.0, x]).collect()).expect("finite")
    }

    #[test]
    fn a_weighted_line_by_hand() {
        // Points (0, 0), (1, 1), (2, 0) with weights 1, 2, 1: x̄ = 1, ȳ = ½, slope 0.
        let got = fit(&line(&[0.0, 1.0, 2.0]), &[0.0, 1.0, 0.0], &[1.0, 2.0, 1.0]).expect("determined");
        assert!((got[0] - 0.5).abs() < 1e-15 && got[1].abs() < 1e-15, "{got:?}");
    }

    #[test]
    fn what_cannot_be_fitted_is_refused() {
        let x = line(&[1.0, 1.0, 2.0]);
        assert_eq!(fit(&x, &[1.0, 2.0, 3.0], &[1.0, 1.0, 0.0]), Err(UNDETERMINED));
        assert_eq!(fit(&x, &[1.0, 2.0, 3.0], &[1.0, 0.0, 0.0]), Err(UNDETERMINED));
        assert_eq!(fit(&x, &[1.0, 2.0], &[1.0; 2]), Err(StatError::Length(3, 2)));
        assert!(matches!(fit(&x, &[1.0, f64::NAN, 1.0], &[1.0; 3]), Err(StatError::Value { row: 1, .. })));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn weight_k_is_the_row_k_times(
            rows in prop::collection::vec((-5.0_f64..5.0, -5.0_f64..5.0, 1_u8..4), 4..20)
        ) {
            let (mut x, mut y, mut w) = (vec![], vec![], vec![]);
            let (mut repeated_x, mut repeated_y) = (vec![], vec![]);
            for (at, &(jitter, height, times)) in rows.iter().enumerate() {
                let place = at as f64 + 0.1 * jitter;
                x.push(place);
                y.push(height);
                w.push(f64::from(times));
                repeated_x.extend(std::iter::repeat_n(place, times.into()));
                repeated_y.extend(std::iter::repeat_n(height, times.into()));
            }
            let weighted = fit(&line(&x), &y, &w).expect("determined");
            let repeated = fit(&line(&repeated_x), &repeated_y, &vec![1.0; repeated_y.len()]).expect("determined");
            for (a, b) in weighted.iter().zip(&repeated) {
                prop_assert!((a - b).abs() < 1e-11, "{weighted:?} {repeated:?}");
            }
        }
    }
}
