//! Rows for the LMS method, and the log-likelihood with its derivatives summed over them.

use super::lms::Lms;
use super::lms_fit::LmsFit;
use super::lms_terms::{Information, Score, Terms, expected};
use super::regressors::dot;
use super::sample::check_rows;
use super::{NaturalSpline, Regressors, StatError, least_squares};

/// How the power L runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Power {
    /// The same everywhere.
    Constant,
    /// On the same spline as median and spread.
    Spline,
}

/// Rows made ready for fitting: those at one age share everything but their value.
#[derive(Debug, Clone)]
pub struct LmsData {
    /// Columns of the power, and of median and spread, at each distinct place.
    power_columns: Regressors,
    columns: Regressors,
    place: Vec<usize>,
    log_value: Vec<f64>,
}

impl LmsData {
    /// # Errors
    ///
    /// [`StatError::Length`] or [`StatError::Empty`] for misshapen slices, [`StatError::Value`] for a place
    /// that is not finite or a value that is not positive.
    pub fn new(x: &[f64], value: &[f64], spline: &NaturalSpline, power: Power) -> Result<Self, StatError> {
        if x.len() != value.len() {
            return Err(StatError::Length(x.len(), value.len()));
        }
        if let Some(row) = value.iter().position(|y| !(*y > 0.0 && y.is_finite())) {
            let what = "value that is not positive";
            return Err(StatError::Value { row, what, value: value[row] });
        }
        let mut places = x.to_vec();
        places.sort_by(f64::total_cmp);
        places.dedup();
        let columns = spline.regressors(&places)?;
        let power_columns = match power {
            Power::Constant => Regressors::new(1, vec![1.0; places.len()])?,
            Power::Spline => columns.clone(),
        };
        let place = x.iter().map(|x| places.partition_point(|place| place < x)).collect();
        let log_value = value.iter().map(|y| y.ln()).collect();
        Ok(Self { power_columns, columns, place, log_value })
    }

    /// A finite value and a usable weight in each row.
    pub(super) fn check(&self, weight: &[f64]) -> Result<(), StatError> {
        check_rows(&self.log_value, weight)
    }

    pub(super) fn coefficients(&self) -> usize {
        self.power_columns.columns() + 2 * self.columns.columns()
    }

    /// Coefficients of L, ln M and ln S.
    pub(super) fn split<'t>(&self, theta: &'t [f64]) -> [&'t [f64]; 3] {
        let (l, rest) = theta.split_at(self.power_columns.columns());
        let (log_m, log_s) = rest.split_at(self.columns.columns());
        [l, log_m, log_s]
    }

    /// L, ln M and ln S at each place.
    fn parameters(&self, theta: &[f64]) -> Vec<[f64; 3]> {
        let [l, log_m, log_s] = self.split(theta);
        let place = |at| {
            let row = self.columns.row(at);
            [dot(self.power_columns.row(at), l), dot(row, log_m), dot(row, log_s)]
        };
        (0..self.columns.rows()).map(place).collect()
    }

    fn terms(&self, row: usize, parameters: &[[f64; 3]]) -> Terms {
        let [l, log_m, log_s] = parameters[self.place[row]];
        Terms::new(self.log_value[row], l, (log_m, log_s))
    }

    /// Weighted log-likelihood without its constants; rows are `(row, weight)`.
    pub(super) fn log_likelihood(&self, rows: &[(usize, f64)], theta: &[f64]) -> f64 {
        let parameters = self.parameters(theta);
        rows.iter().map(|&(row, weight)| weight * self.terms(row, &parameters).log_likelihood()).sum()
    }

    /// z-score of each row.
    pub(super) fn z_scores(&self, fit: &LmsFit) -> Result<Vec<f64>, StatError> {
        let places: Vec<Lms> =
            (0..self.columns.rows()).map(|at| fit.at(self.columns.row(at))).collect::<Result<_, _>>()?;
        self.place.iter().zip(&self.log_value).map(|(&at, log)| places[at].z(log.exp())).collect()
    }

    /// The log-normal curve of least squares with one spread: power 0.
    pub(super) fn start(&self, weight: &[f64]) -> Result<Vec<f64>, StatError> {
        let rows = self.place.iter().flat_map(|&at| self.columns.row(at)).copied().collect();
        let rows = Regressors::new(self.columns.columns(), rows)?;
        let log_m = least_squares::fit(&rows, &self.log_value, weight)?;
        let residual = self.log_value.iter().zip(rows.predict(&log_m)).map(|(y, fitted)| y - fitted);
        let squares: f64 = residual.zip(weight).map(|(r, w)| w * r * r).sum();
        let variance = squares / weight.iter().sum::<f64>();
        if variance <= 0.0 {
            return Err(StatError::Undefined("the values do not vary about their curve"));
        }
        let mut theta = vec![0.0; self.power_columns.columns()];
        theta.extend(log_m);
        theta.extend(vec![0.5 * variance.ln(); self.columns.columns()]);
        Ok(theta)
    }
}

/// Derivatives summed over the people.
pub(super) struct Derivatives {
    pub score: Vec<f64>,
    pub observed: Vec<Vec<f64>>,
    pub expected: Vec<Vec<f64>>,
}

impl LmsData {
    pub(super) fn derivatives(&self, rows: &[(usize, f64)], theta: &[f64]) -> Derivatives {
        let parameters = self.parameters(theta);
        let places = parameters.len();
        let mut score: Vec<Score> = vec![[0.0; 3]; places];
        let mut observed: Vec<Information> = vec![[[0.0; 3]; 3]; places];
        let mut total = vec![0.0; places];
        for &(row, weight) in rows {
            let at = self.place[row];
            let (first, second) = self.terms(row, &parameters).derivatives();
            total[at] += weight;
            score[at].iter_mut().zip(first).for_each(|(sum, x)| *sum += weight * x);
            let entries = observed[at].iter_mut().flatten().zip(second.iter().flatten());
            entries.for_each(|(sum, x)| *sum += weight * x);
        }
        let n = self.coefficients();
        let mut sums = Derivatives {
            score: vec![0.0; n],
            observed: vec![vec![0.0; n]; n],
            expected: vec![vec![0.0; n]; n],
        };
        for at in (0..places).filter(|&at| total[at] > 0.0) {
            let [l, _, log_s] = parameters[at];
            let expected = expected(l, log_s.exp()).map(|row| row.map(|entry| total[at] * entry));
            self.spread(at, &score[at], &mut sums.score);
            self.spread_square(at, &observed[at], &mut sums.observed);
            self.spread_square(at, &expected, &mut sums.expected);
        }
        sums
    }

    /// First coefficient and columns at a place of L, ln M and ln S.
    fn blocks(&self, at: usize) -> [(usize, &[f64]); 3] {
        let (power, columns) = (self.power_columns.row(at), self.columns.row(at));
        [(0, power), (power.len(), columns), (power.len() + columns.len(), columns)]
    }

    fn spread(&self, at: usize, derivative: &Score, into: &mut [f64]) {
        for ((first, columns), d) in self.blocks(at).into_iter().zip(derivative) {
            into[first..].iter_mut().zip(columns).for_each(|(sum, column)| *sum += d * column);
        }
    }

    fn spread_square(&self, at: usize, information: &Information, into: &mut [Vec<f64>]) {
        let blocks = self.blocks(at);
        for ((first, columns), by) in blocks.into_iter().zip(information) {
            for (column, row) in columns.iter().zip(&mut into[first..]) {
                for ((other, others), entry) in blocks.into_iter().zip(by) {
                    let sums = row[other..].iter_mut().zip(others);
                    sums.for_each(|(sum, with)| *sum += entry * column * with);
                }
            }
        }
    }
}
