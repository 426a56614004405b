//! Variances and covariances of unweighted AUCs, for data without a design.

use statrs::distribution::{ContinuousCDF, Normal};

use super::StatError;

/// AUCs of several markers on the same people, with their covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct DeLong {
    pub auc: Vec<f64>,
    /// `covariance[a][b]`.
    pub covariance: Vec<Vec<f64>>,
}

/// A test that two AUCs on the same people are equal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairedTest {
    pub difference: f64,
    pub standard_error: f64,
    pub z: f64,
    /// Two-sided.
    pub p_value: f64,
}

/// AUC of each marker and their covariance matrix; every person has weight 1 and a value of every marker.
///
/// # Formula
///
/// For a person with the outcome, the placement is the share of people without it who lie below
/// (ties half), and the other way round. With `S10`, `S01` the covariance matrices of the placements of
/// the `m` people with and the `n` without the outcome, `cov = S10 / m + S01 / n`.
///
/// # Errors
///
/// [`StatError::Length`] if slices differ in length, [`StatError::Value`] for a value that is not
/// finite, [`StatError::Undefined`] with fewer than two people in a class, [`StatError::Empty`] without markers.
///
/// # Source
///
/// DeLong, DeLong and Clarke-Pearson 1988, Biometrics 44:837–845.
///
/// # Checked against
///
/// R `pROC`, `var`, `cov` and `roc.test`: `tests/reference/delong/`.
pub fn delong(markers: &[&[f64]], class: &[bool]) -> Result<DeLong, StatError> {
    if markers.is_empty() {
        return Err(StatError::Empty);
    }
    let with = class.iter().filter(|y| **y).count();
    if with < 2 || class.len() - with < 2 {
        return Err(StatError::Undefined(
            "the variance of an AUC needs two people with and two without the outcome",
        ));
    }
    let placements =
        markers.iter().map(|marker| Placements::of(marker, class)).collect::<Result<Vec<_>, _>>()?;
    let covariance =
        placements.iter().map(|a| placements.iter().map(|b| a.covariance(b)).collect()).collect();
    Ok(DeLong { auc: placements.iter().map(|p| mean(&p.with)).collect(), covariance })
}

impl DeLong {
    #[must_use]
    pub fn standard_error(&self, marker: usize) -> f64 {
        self.covariance[marker][marker].sqrt()
    }

    /// Difference of two AUCs, `a − b`, over its standard error, against the normal distribution.
    ///
    /// # Errors
    ///
    /// [`StatError::Undefined`] if the difference does not vary: one marker is a monotone transform of the other.
    pub fn paired_test(&self, a: usize, b: usize) -> Result<PairedTest, StatError> {
        let difference = self.auc[a] - self.auc[b];
        let variance = self.covariance[a][a] + self.covariance[b][b] - 2.0 * self.covariance[a][b];
        if variance <= f64::EPSILON * self.covariance[a][a] {
            return Err(StatError::Undefined("the two markers order people in the same way"));
        }
        let standard_error = variance.sqrt();
        let z = difference / standard_error;
        Ok(PairedTest { difference, standard_error, z, p_value: 2.0 * Normal::standard().sf(z.abs()) })
    }
}

/// For each person, the share of the other class on the right side.
struct Placements {
    with: Vec<f64>,
    without: Vec<f64>,
}

impl Placements {
    fn of(marker: &[f64], class: &[bool]) -> Result<Self, StatError> {
        if marker.len() != class.len() {
            return Err(StatError::Length(class.len(), marker.len()));
        }
        if let Some(row) = marker.iter().position(|x| !x.is_finite()) {
            return Err(StatError::Value { row, what: "value", value: marker[row] });
        }
        let of_class = |wanted: bool| -> Vec<f64> {
            marker.iter().zip(class).filter(|(_, y)| **y == wanted).map(|(x, _)| *x).collect()
        };
        let (with, without) = (of_class(true), of_class(false));
        let below = shares_below(&with, &without);
        let above = shares_below(&without, &with).into_iter().map(|share| 1.0 - share).collect();
        Ok(Self { with: below, without: above })
    }

    fn covariance(&self, other: &Self) -> f64 {
        covariance(&self.with, &other.with) / self.with.len() as f64
            + covariance(&self.without, &other.without) / self.without.len() as f64
    }
}

/// For each value, the share of `reference` below it, ties counting half.
fn shares_below(values: &[f64], reference: &[f64]) -> Vec<f64> {
    let mut sorted = reference.to_vec();
    sorted.sort_by(f64::total_cmp);
    let share = |x: f64| {
        let below = sorted.partition_point(|r| *r < x);
        let not_above = sorted.partition_point(|r| *r <= x);
        (below + not_above) as f64 / (2 * sorted.len()) as f64
    };
    values.iter().map(|&x| share(x)).collect()
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

fn covariance(x: &[f64], y: &[f64]) -> f64 {
    let (mean_x, mean_y) = (mean(x), mean(y));
    x.iter().zip(y).map(|(a, b)| (a - mean_x) * (b - mean_y)).sum::<f64>() / (x.len() - 1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    const CLASS: [bool; 5] = [false, false, true, true, true];

    #[test]
    fn auc_and_variance_by_hand() {
        // Without: 1, 3; with: 2, 3, 4. Placements of those with: 1/2, 3/4, 1; of those without: 1, 1/2.
        let got = delong(&[&[1.0, 3.0, 2.0, 3.0, 4.0]], &CLASS).expect("both classes");
        assert!((got.auc[0] - 0.75).abs() < 1e-15);
        // Sample variances 1/16 and 1/8: 1/48 + 1/16 (the second: placements 1 and 1/2, mean 3/4).
        assert!((got.covariance[0][0] - (1.0 / 48.0 + 1.0 / 16.0)).abs() < 1e-15);
    }

    #[test]
    fn markers_in_the_same_order_cannot_be_compared() {
        let marker = [1.0, 3.0, 2.0, 3.0, 4.0];
        let doubled = marker.map(|x| 2.0 * x);
        let got = delong(&[&marker, &doubled], &CLASS).expect("both classes");
        assert!(matches!(got.paired_test(0, 1), Err(StatError::Undefined(_))));
    }

    #[test]
    fn bad_input_is_refused() {
        assert_eq!(delong(&[], &CLASS), Err(StatError::Empty));
        assert!(matches!(delong(&[&[1.0; 5]], &[true; 5]), Err(StatError::Undefined(_))));
        assert_eq!(delong(&[&[1.0; 4]], &CLASS), Err(StatError::Length(5, 4)));
        assert!(matches!(
            delong(&[&[1.0, 2.0, f64::NAN, 1.0, 1.0]], &CLASS),
            Err(StatError::Value { row: 2, .. })
        ));
    }
}
