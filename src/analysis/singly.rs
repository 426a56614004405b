//! Areas of people who were drawn singly and all count the same.

use std::iter;

use super::select::Classed;
use crate::stats::delong::delong;

/// Variance of the area of these people, each of whom counts once; `None` where it does not vary.
pub fn area_variance(people: &Classed) -> Option<f64> {
    let rows =
        || (0..people.class.len()).flat_map(|row| iter::repeat_n(row, people.sample.people[row] as usize));
    let value: Vec<f64> = rows().map(|row| people.sample.value[row]).collect();
    let class: Vec<bool> = rows().map(|row| people.class[row]).collect();
    let variance = delong(&[&value], &class).ok()?.covariance[0][0];
    (variance > 0.0).then_some(variance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::Sample;

    #[test]
    fn people_who_share_a_row_are_counted_each() {
        // Without: 1, 3; with: 2, 2, 3, 4. Placements of those with: 1/2, 1/2, 3/4, 1, mean 11/16, squares about it 11/64;
        // of those without: 1, 3/8, squares about 11/16 25/128. Variances 11/192 of 4 and 25/128 of 2.
        let people = Classed {
            sample: Sample {
                value: vec![1.0, 2.0, 3.0, 3.0, 4.0],
                weight: vec![1.0, 2.0, 1.0, 1.0, 1.0],
                weight_squared: vec![1.0, 2.0, 1.0, 1.0, 1.0],
                people: vec![1, 2, 1, 1, 1],
                unit: vec![0; 5],
            },
            class: vec![false, true, false, true, true],
            with: 4,
            without: 2,
            unknown: 0,
        };
        let got = area_variance(&people).expect("both classes");
        assert!((got - (11.0 / 768.0 + 25.0 / 256.0)).abs() < 1e-15, "{got}");
    }
}
