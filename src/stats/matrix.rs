//! Small symmetric systems: covariances of a handful of groups.

/// A pivot this small beside its diagonal is rounding: the row repeats the rows before it.
const RANK_SLACK: f64 = 1e-10;

/// Lower triangle `L` with `L Lᵀ` = a symmetric, positive semidefinite matrix.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cholesky {
    lower: Vec<Vec<f64>>,
    rank: usize,
}

impl Cholesky {
    /// Rows that depend on those before them get a pivot of 0.
    pub(super) fn of(matrix: &[Vec<f64>]) -> Self {
        let n = matrix.len();
        let mut lower = vec![vec![0.0; n]; n];
        let mut rank = 0;
        for column in 0..n {
            let known: f64 = lower[column][..column].iter().map(|x| x * x).sum();
            let left = matrix[column][column] - known;
            if left <= RANK_SLACK * matrix[column][column] {
                continue;
            }
            rank += 1;
            let pivot = left.sqrt();
            lower[column][column] = pivot;
            for row in column + 1..n {
                let shared: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
                lower[row][column] = (matrix[row][column] - shared) / pivot;
            }
        }
        Self { lower, rank }
    }

    pub(super) fn is_full_rank(&self) -> bool {
        self.rank == self.lower.len()
    }

    /// `xᵀ M⁻¹ x`; for full rank only.
    pub(super) fn inverse_form(&self, x: &[f64]) -> f64 {
        self.forward(x).iter().map(|y| y * y).sum()
    }

    /// `M⁻¹ x`; for full rank only.
    pub(super) fn solve(&self, x: &[f64]) -> Vec<f64> {
        let mut solved = self.forward(x);
        for row in (0..solved.len()).rev() {
            let known: f64 = (row + 1..solved.len()).map(|k| self.lower[k][row] * solved[k]).sum();
            solved[row] = (solved[row] - known) / self.lower[row][row];
        }
        solved
    }

    /// `L⁻¹ x`.
    fn forward(&self, x: &[f64]) -> Vec<f64> {
        let mut solved: Vec<f64> = Vec::with_capacity(x.len());
        for (row, lower) in self.lower.iter().enumerate() {
            let known: f64 = lower.iter().zip(&solved).map(|(l, y)| l * y).sum();
            solved.push((x[row] - known) / lower[row]);
        }
        solved
    }

    /// `L z`: correlated numbers from independent ones.
    pub(super) fn times(&self, z: &[f64]) -> Vec<f64> {
        self.lower.iter().map(|row| row.iter().zip(z).map(|(l, z)| l * z).sum()).collect()
    }
}

/// Covariance of the differences from the first of several estimates.
pub(super) fn contrast_covariance(covariance: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let v = covariance;
    let others = 1..v.len();
    others.clone().map(|j| others.clone().map(|k| v[j][k] - v[j][0] - v[0][k] + v[0][0]).collect()).collect()
}

/// Differences from the first of several estimates.
pub(super) fn contrasts(estimates: &[f64]) -> Vec<f64> {
    estimates.iter().skip(1).map(|x| x - estimates[0]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_by_hand() {
        // [[4, 2], [2, 5]] = L Lᵀ with L = [[2, 0], [1, 2]]; inverse [[5, −2], [−2, 4]] / 16.
        let factor = Cholesky::of(&[vec![4.0, 2.0], vec![2.0, 5.0]]);
        assert!(factor.is_full_rank());
        assert_eq!(factor.times(&[1.0, 1.0]), [2.0, 3.0]);
        // (1, 3): (5 − 12 + 36) / 16.
        assert!((factor.inverse_form(&[1.0, 3.0]) - 29.0 / 16.0).abs() < 1e-15);
        let solved = factor.solve(&[1.0, 3.0]);
        assert!(
            (solved[0] + 1.0 / 16.0).abs() < 1e-15 && (solved[1] - 10.0 / 16.0).abs() < 1e-15,
            "{solved:?}"
        );
    }

    #[test]
    fn repeated_rows_lower_the_rank() {
        let factor = Cholesky::of(&[vec![4.0, 4.0, 0.0], vec![4.0, 4.0, 0.0], vec![0.0, 0.0, 1.0]]);
        assert!(!factor.is_full_rank());
        assert_eq!(factor.times(&[1.0, 5.0, 3.0]), [2.0, 2.0, 3.0]);
    }
}
