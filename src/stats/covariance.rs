//! Covariance of several estimates that share their replicates.

use super::{Replicates, StatError};

/// Covariance matrix with the number of replicates that it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Covariance {
    /// `matrix[a][b]`.
    pub matrix: Vec<Vec<f64>>,
    /// Replicates in which every estimate succeeded.
    pub used: usize,
    pub failed: usize,
}

/// Covariance of estimates made on the same replicates.
///
/// # Formula
///
/// ```text
/// V_ab = scale · Σ_r rscale_r (a_r − a)(b_r − b)
/// ```
///
/// centred at the full-sample estimates, as [`Replicates::variance`].
///
/// # Units
///
/// Products of the units of the estimates; logarithms of cutoffs have none.
///
/// # Missing data and ties
///
/// `replicate_estimates[a][r]` is `NaN` where estimate `a` failed. A replicate counts only if every estimate
/// succeeded in it; the sum is scaled up to what the remaining `rscales` stand for.
///
/// # Errors
///
/// [`StatError::Empty`] without estimates, [`StatError::Length`] if the replicates do not match,
/// [`StatError::Value`] for a full-sample estimate that is not finite (the row is its position),
/// [`StatError::Undefined`] if no replicate has every estimate.
///
/// # Checked against
///
/// R `survey`, `withReplicates` with `mse = TRUE`: `tests/reference/heterogeneity/`.
pub fn replicate_covariance(
    estimates: &[f64],
    replicate_estimates: &[Vec<f64>],
    replicates: &Replicates,
) -> Result<Covariance, StatError> {
    if estimates.is_empty() {
        return Err(StatError::Empty);
    }
    if replicate_estimates.len() != estimates.len() {
        return Err(StatError::Length(estimates.len(), replicate_estimates.len()));
    }
    if let Some(wrong) = replicate_estimates.iter().find(|row| row.len() != replicates.count) {
        return Err(StatError::Length(replicates.count, wrong.len()));
    }
    if let Some(row) = estimates.iter().position(|x| !x.is_finite()) {
        return Err(StatError::Value { row, what: "estimate", value: estimates[row] });
    }
    let complete: Vec<usize> = (0..replicates.count)
        .filter(|&r| replicate_estimates.iter().all(|estimate| estimate[r].is_finite()))
        .collect();
    if complete.is_empty() {
        return Err(StatError::Undefined("no replicate in which every group succeeded"));
    }
    let total = |of: &mut dyn Iterator<Item = f64>| of.sum::<f64>();
    let kept = total(&mut complete.iter().map(|&r| replicates.rscales[r]));
    let scale = replicates.scale * total(&mut replicates.rscales.iter().copied()) / kept;
    let entry = |a: usize, b: usize| {
        let product = |&r: &usize| {
            replicates.rscales[r]
                * (replicate_estimates[a][r] - estimates[a])
                * (replicate_estimates[b][r] - estimates[b])
        };
        scale * complete.iter().map(product).sum::<f64>()
    };
    let groups = 0..estimates.len();
    Ok(Covariance {
        matrix: groups.clone().map(|a| groups.clone().map(|b| entry(a, b)).collect()).collect(),
        used: complete.len(),
        failed: replicates.count - complete.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    fn four() -> Replicates {
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        Replicates::jackknife(&design).expect("pairs")
    }

    #[test]
    fn the_diagonal_is_the_replicate_variance() {
        let replicates = four();
        let rows = [vec![1.0, 2.5, 0.5, 3.0], vec![2.0, 1.0, f64::NAN, 4.0]];
        let got = replicate_covariance(&[1.5, 2.0], &rows, &replicates).expect("three complete");
        let paired = [1.0, 2.5, f64::NAN, 3.0];
        assert!((got.matrix[0][0] - replicates.variance(1.5, &paired).variance).abs() < 1e-15);
        assert!((got.matrix[1][1] - replicates.variance(2.0, &rows[1]).variance).abs() < 1e-15);
        // Deviations (−½, 1, 1½) and (0, −1, 2): products 0 − 1 + 3 = 2, each with ½, scaled by 4/3.
        assert!((got.matrix[0][1] - 4.0 / 3.0).abs() < 1e-15);
        assert_eq!((got.used, got.failed), (3, 1));
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let replicates = four();
        let row = vec![1.0; 4];
        let refused = |estimates: &[f64], rows: &[Vec<f64>]| {
            replicate_covariance(estimates, rows, &replicates).expect_err("refused")
        };
        assert_eq!(refused(&[], &[]), StatError::Empty);
        assert_eq!(refused(&[1.0, 2.0], std::slice::from_ref(&row)), StatError::Length(2, 1));
        assert_eq!(refused(&[1.0], &[vec![1.0; 3]]), StatError::Length(4, 3));
        assert!(matches!(refused(&[f64::NAN], &[row]), StatError::Value { row: 0, .. }));
        assert!(matches!(refused(&[1.0], &[vec![f64::NAN; 4]]), StatError::Undefined(_)));
    }
}
