//! The matrix that regressions predict from.

use super::StatError;
use super::sample::check_rows;

/// One row per row of data, one column per coefficient.
#[derive(Debug, Clone, PartialEq)]
pub struct Regressors {
    columns: usize,
    /// Row after row.
    values: Vec<f64>,
}

impl Regressors {
    /// `values` holds row after row of `columns` numbers.
    ///
    /// # Errors
    ///
    /// [`StatError::Empty`] without columns or rows, [`StatError::Length`] if the last row is short,
    /// [`StatError::Value`] for an entry that is not finite.
    pub fn new(columns: usize, values: Vec<f64>) -> Result<Self, StatError> {
        if columns == 0 || values.is_empty() {
            return Err(StatError::Empty);
        }
        if !values.len().is_multiple_of(columns) {
            return Err(StatError::Length(values.len() / columns * columns, values.len()));
        }
        match values.iter().position(|x| !x.is_finite()) {
            Some(at) => Err(StatError::Value { row: at / columns, what: "regressor", value: values[at] }),
            None => Ok(Self { columns, values }),
        }
    }

    #[must_use]
    pub fn columns(&self) -> usize {
        self.columns
    }

    #[must_use]
    pub fn rows(&self) -> usize {
        self.values.len() / self.columns
    }

    #[must_use]
    pub fn row(&self, row: usize) -> &[f64] {
        &self.values[row * self.columns..(row + 1) * self.columns]
    }

    /// Fitted value of each row.
    #[must_use]
    pub fn predict(&self, coefficients: &[f64]) -> Vec<f64> {
        self.values.chunks_exact(self.columns).map(|row| dot(row, coefficients)).collect()
    }

    /// What every regression relies on: a finite response and a usable weight in each row.
    pub(super) fn check(&self, y: &[f64], weight: &[f64]) -> Result<(), StatError> {
        if y.len() != self.rows() {
            return Err(StatError::Length(self.rows(), y.len()));
        }
        check_rows(y, weight)
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_and_predictions() {
        let x = Regressors::new(2, vec![1.0, 2.0, 1.0, 5.0]).expect("two rows");
        assert_eq!((x.rows(), x.columns(), x.row(1)), (2, 2, &[1.0, 5.0][..]));
        assert_eq!(x.predict(&[10.0, 3.0]), [16.0, 25.0]);
    }

    #[test]
    fn misshapen_input_is_refused() {
        assert_eq!(Regressors::new(0, vec![1.0]), Err(StatError::Empty));
        assert_eq!(Regressors::new(2, vec![]), Err(StatError::Empty));
        assert_eq!(Regressors::new(2, vec![1.0; 3]), Err(StatError::Length(2, 3)));
        let nan = Regressors::new(2, vec![1.0, 1.0, 1.0, f64::NAN]);
        assert!(matches!(nan, Err(StatError::Value { row: 1, what: "regressor", .. })));
        let x = Regressors::new(1, vec![1.0, 1.0]).expect("two rows");
        assert_eq!(x.check(&[1.0], &[1.0]), Err(StatError::Length(2, 1)));
        assert_eq!(x.check(&[1.0, 2.0], &[0.0, 0.0]), Err(StatError::NoWeight));
    }
}
