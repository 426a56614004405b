//! Quantiles in every replicate, by one pass over the sorted people.

use super::{Replicates, Sample};

/// Relative slack on the running weight, as for the quantile of the full sample.
const RELATIVE_SLACK: f64 = 1e-12;

/// Step quantiles of everybody in `sample` in every replicate: `[probability][replicate]`, `NaN` where a
/// replicate is empty.
///
/// # Formula
///
/// [`super::quantile::QuantileRule::Step`] on the weights of the replicate.
///
/// # Missing data and ties
///
/// As in [`super::quantile::weighted_quantile`]; the sample is sorted by value.
///
/// # Checked against
///
/// [`super::quantile::weighted_quantile`] on the weights of each replicate (unit test).
#[must_use]
pub fn replicate_quantiles(sample: &Sample, probabilities: &[f64], replicates: &Replicates) -> Vec<Vec<f64>> {
    let add = |running: &mut [f64], row: usize| {
        let factors = replicates.of_unit(sample.unit[row]);
        running.iter_mut().zip(factors).for_each(|(sum, factor)| *sum += sample.weight[row] * factor);
    };
    let mut totals = vec![0.0; replicates.count];
    (0..sample.len()).for_each(|row| add(&mut totals, row));
    let mut found = vec![vec![f64::NAN; replicates.count]; probabilities.len()];
    let mut running = vec![0.0; replicates.count];
    let mut start = 0;
    while start < sample.len() {
        let value = sample.value[start];
        let end = start + sample.value[start..].partition_point(|&v| v <= value);
        (start..end).for_each(|row| add(&mut running, row));
        for (found, &p) in found.iter_mut().zip(probabilities) {
            for ((found, &sum), &total) in found.iter_mut().zip(&running).zip(&totals) {
                if found.is_nan() && total > 0.0 && sum >= p * total * (1.0 - RELATIVE_SLACK) {
                    *found = value;
                }
            }
        }
        start = end;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::quantile::weighted_quantile;
    use crate::stats::{Design, LonelyPsu};

    #[test]
    fn each_replicate_is_the_quantile_by_its_weights() {
        let value = [1.0, 2.0, 2.0, 4.0, 8.0, 9.0];
        let weight = [3.0, 1.0, 2.0, 4.0, 2.0, 5.0];
        let unit = [0, 1, 2, 3, 0, 1];
        let sample = Sample::from_people(&value, &weight, &unit).expect("usable rows");
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let replicates = Replicates::bootstrap(&design, &[1, 2], 50, 3).expect("valid");
        let wanted = [0.1, 0.5, 0.9];
        let got = replicate_quantiles(&sample, &wanted, &replicates);
        for r in 0..50 {
            let of_row = |row: usize| weight[row] * replicates.of_unit(unit[row])[r];
            let weights: Vec<f64> = (0..6).map(of_row).collect();
            for (got, &p) in got.iter().zip(&wanted) {
                assert_eq!(Ok(got[r]), weighted_quantile(&value, &weights, p), "replicate {r}, p {p}");
            }
        }
        assert!(got[1].iter().any(|&q| q != got[1][0]), "the replicates differ");
    }
}
