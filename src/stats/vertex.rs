//! The search behind quantile regression: from vertex to vertex of the check loss, downhill.
//!
//! A vertex is a curve through as many rows as it has coefficients, its basis. Along an edge one of these
//! rows is let go; the loss falls until the curve meets the row where its slope turns, which enters the
//! basis.

use super::StatError;
use super::regressors::{Regressors, dot};

/// More steps than any search that still descends has been seen to need, by far.
const MOST_STEPS: usize = 20_000;

/// A slope of this share of the sum of its terms' sizes is rounding, not descent.
const SLOPE_TOLERANCE: f64 = 1e-12;

/// A row whose fitted value moves less than this share of the fastest does not move.
const STILL: f64 = 1e-10;

/// Rows, response and probability of one regression. No two residuals of `y` may vanish together unless they
/// are in the basis: the caller shifts `y` by amounts too small to matter.
#[derive(Debug, Clone, Copy)]
pub(super) struct Problem<'a> {
    pub x: &'a Regressors,
    pub y: &'a [f64],
    pub weight: &'a [f64],
    pub p: f64,
}

/// How a search ended that did not find the lowest vertex.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stop {
    /// The loss of the open rows falls for ever along an edge: more rows have to be opened.
    Unbounded,
    Failed(StatError),
}

/// Rows that the search looks at one by one, copied together; all others are known to lie above or below the
/// curve and act only through their constant pull on the coefficients.
#[derive(Debug, Clone)]
pub(super) struct Open<'a> {
    problem: Problem<'a>,
    rows: Vec<usize>,
    x: Vec<f64>,
    /// `pull[j]`: derivative of the settled rows' loss by coefficient `j`, negated.
    pull: Vec<f64>,
    /// Sum of `w |x|` by column, over all rows: the size of the terms of a slope.
    size: Vec<f64>,
}

impl<'a> Open<'a> {
    /// Nothing open yet; `settled` are rows with weight and on which side of the curve they lie (true: above
    /// or on it).
    pub fn new(problem: Problem<'a>, settled: &[(usize, bool)]) -> Self {
        let columns = problem.x.columns();
        let mut size = vec![0.0; columns];
        for (row, weight) in problem.weight.iter().enumerate() {
            add(&mut size, *weight, problem.x.row(row).iter().map(|x| x.abs()));
        }
        let mut open = Self { problem, rows: vec![], x: vec![], pull: vec![0.0; columns], size };
        for &(row, above) in settled {
            open.settle(row, above, 1.0);
        }
        open
    }

    fn settle(&mut self, row: usize, above: bool, times: f64) {
        let amount = times * self.problem.weight[row] * tilt(above, self.problem.p);
        add(&mut self.pull, amount, self.problem.x.row(row).iter().copied());
    }

    /// Opens a row that was not settled.
    pub fn open(&mut self, row: usize) {
        self.rows.push(row);
        self.x.extend_from_slice(self.problem.x.row(row));
    }

    /// Opens a settled row.
    pub fn unsettle(&mut self, row: usize, above: bool) {
        self.settle(row, above, -1.0);
        self.open(row);
    }

    /// Moves `basis` to the lowest vertex and returns its coefficients.
    pub fn descend(&self, basis: &mut [usize]) -> Result<Vec<f64>, Stop> {
        let columns = basis.len();
        let mut slots: Vec<Option<usize>> =
            basis.iter().map(|row| self.rows.iter().position(|open| open == row)).collect();
        for _ in 0..MOST_STEPS {
            let inverse = inverse_of(self.problem.x, basis).ok_or(Stop::Failed(UNDETERMINED))?;
            let heights: Vec<f64> = basis.iter().map(|&row| self.problem.y[row]).collect();
            let coefficients: Vec<f64> = inverse.iter().map(|line| dot(line, &heights)).collect();
            let mut residual: Vec<f64> = (self.rows.iter().zip(self.x.chunks_exact(columns)))
                .map(|(&row, x)| self.problem.y[row] - dot(x, &coefficients))
                .collect();
            for slot in slots.iter().flatten() {
                residual[*slot] = f64::NAN;
            }
            let Some(edge) = self.steepest(basis, &inverse, &residual) else {
                return Ok(coefficients);
            };
            let slot = self.turning_point(&edge, &residual).ok_or(Stop::Unbounded)?;
            basis[edge.leaves] = self.rows[slot];
            slots[edge.leaves] = Some(slot);
        }
        Err(Stop::Failed(StatError::Undefined("the quantile regression did not settle")))
    }

    /// The edge along which the loss falls most, in units of its rounding; none at the lowest vertex. The
    /// residuals of the basis are `NaN`.
    fn steepest(&self, basis: &[usize], inverse: &[Vec<f64>], residual: &[f64]) -> Option<Edge> {
        let Problem { weight, p, .. } = self.problem;
        let mut pull = self.pull.clone();
        for (at, x) in self.x.chunks_exact(basis.len()).enumerate() {
            if !residual[at].is_nan() {
                add(&mut pull, weight[self.rows[at]] * tilt(residual[at] >= 0.0, p), x.iter().copied());
            }
        }
        let mut best: Option<(f64, Edge)> = None;
        for (leaves, &row) in basis.iter().enumerate() {
            let column: Vec<f64> = inverse.iter().map(|line| line[leaves]).collect();
            let size: f64 = column.iter().zip(&self.size).map(|(c, size)| c.abs() * size).sum();
            let along = dot(&column, &pull);
            // Up the edge the row falls below the curve and costs 1 − p, down it rises above and costs p.
            for (sign, slope) in [(1.0, weight[row] * (1.0 - p) - along), (-1.0, weight[row] * p + along)] {
                let relative = slope / size;
                // A row without weight in the basis holds the curve for no reason: it must leave, even where
                // the loss is flat (or where nobody with weight is, and its size is 0).
                let idle = weight[row] == 0.0 && (size == 0.0 || relative <= SLOPE_TOLERANCE);
                let score = if idle { f64::NEG_INFINITY } else { relative };
                if (idle || relative < -SLOPE_TOLERANCE) && best.as_ref().is_none_or(|b| score < b.0) {
                    let direction = column.iter().map(|c| sign * c).collect();
                    best = Some((score, Edge { leaves, slope, direction }));
                }
            }
        }
        best.map(|(_, edge)| edge)
    }

    /// Position of the open row at which the loss along the edge stops falling.
    fn turning_point(&self, edge: &Edge, residual: &[f64]) -> Option<usize> {
        let speed: Vec<f64> =
            self.x.chunks_exact(edge.direction.len()).map(|x| dot(x, &edge.direction)).collect();
        // The row that leaves moves at speed 1.
        let fastest = speed.iter().fold(1.0_f64, |most, s| most.max(s.abs()));
        let meets = |at: &usize| {
            let (r, s) = (residual[*at], speed[*at]);
            !r.is_nan() && s.abs() > STILL * fastest && (r >= 0.0) == (s > 0.0)
        };
        let crossings = (0..speed.len())
            .filter(meets)
            .map(|at| Crossing {
                at,
                step: residual[at] / speed[at],
                rise: self.problem.weight[self.rows[at]] * speed[at].abs(),
            })
            .collect();
        turn(crossings, -edge.slope)
    }
}

/// A direction of the coefficients that lets one row of the basis go.
struct Edge {
    /// Position in the basis.
    leaves: usize,
    /// Of the loss: not positive.
    slope: f64,
    direction: Vec<f64>,
}

/// An open row that the curve meets on its way along an edge.
struct Crossing {
    at: usize,
    step: f64,
    /// By how much the slope of the loss rises there.
    rise: f64,
}

/// The first crossing, in the order of their steps, by which the rises add up to `needed`.
fn turn(mut crossings: Vec<Crossing>, mut needed: f64) -> Option<usize> {
    if crossings.iter().map(|c| c.rise).sum::<f64>() < needed {
        return None;
    }
    while crossings.len() > 1 {
        let middle = (crossings.len() - 1) / 2;
        crossings.select_nth_unstable_by(middle, |a, b| a.step.total_cmp(&b.step));
        let lower: f64 = crossings[..=middle].iter().map(|c| c.rise).sum();
        if lower >= needed {
            crossings.truncate(middle + 1);
        } else {
            needed -= lower;
            crossings.drain(..=middle);
        }
    }
    crossings.first().map(|crossing| crossing.at)
}

pub(super) const UNDETERMINED: StatError =
    StatError::Undefined("the rows with weight do not determine every coefficient: use fewer knots");

/// Derivative of the check loss by the residual; a residual of 0 counts as above.
fn tilt(above: bool, p: f64) -> f64 {
    if above { p } else { p - 1.0 }
}

fn add(sum: &mut [f64], times: f64, values: impl Iterator<Item = f64>) {
    for (sum, value) in sum.iter_mut().zip(values) {
        *sum += times * value;
    }
}

/// Inverse of the basis rows' matrix; none if they do not determine a curve.
fn inverse_of(x: &Regressors, basis: &[usize]) -> Option<Vec<Vec<f64>>> {
    let n = basis.len();
    let unit = |k: usize| (0..n).map(move |j| f64::from(u8::from(j == k)));
    let mut matrix: Vec<Vec<f64>> = basis
        .iter()
        .enumerate()
        .map(|(k, &row)| x.row(row).iter().copied().chain(unit(k)).collect())
        .collect();
    let largest = matrix.iter().flatten().fold(0.0_f64, |most, x| most.max(x.abs()));
    for column in 0..n {
        let pivot =
            (column..n).max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs()))?;
        if matrix[pivot][column].abs() <= largest * f64::EPSILON * n as f64 {
            return None;
        }
        matrix.swap(column, pivot);
        let scale = 1.0 / matrix[column][column];
        matrix[column].iter_mut().for_each(|entry| *entry *= scale);
        let line = matrix[column].clone();
        for (row, other) in matrix.iter_mut().enumerate() {
            if row != column {
                let factor = -other[column];
                add(other, factor, line.iter().copied());
            }
        }
    }
    Some(matrix.into_iter().map(|line| line[n..].to_vec()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_turn_is_a_weighted_quantile_of_the_steps() {
        let crossings = || {
            [(3.0, 1.0), (1.0, 2.0), (2.0, 4.0)]
                .into_iter()
                .enumerate()
                .map(|(at, (step, rise))| Crossing { at, step, rise })
                .collect::<Vec<_>>()
        };
        // In the order of steps the rises 2, 4, 1 of rows 1, 2, 0 add up to 2, 6, 7.
        let at = |needed: f64| turn(crossings(), needed);
        assert_eq!([at(0.0), at(2.0), at(2.5), at(6.5), at(7.5)], [Some(1), Some(1), Some(2), Some(0), None]);
        assert_eq!(turn(vec![], 0.0), None);
    }

    #[test]
    fn an_inverse_by_hand() {
        let x = Regressors::new(2, vec![0.0, 2.0, 1.0, 1.0, 0.0, 1.0]).expect("three rows");
        assert_eq!(inverse_of(&x, &[0, 1]), Some(vec![vec![-0.5, 1.0], vec![0.5, 0.0]]));
        assert_eq!(inverse_of(&x, &[0, 2]), None);
    }
}
