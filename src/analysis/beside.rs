//! How many people lie on either side of a percentile.

use crate::stats::Sample;

/// Slack on a number of people that is a share of them: 0.05 of 200 are 10.
const SLACK: f64 = 1e-9;

/// The fewer of the people before a row of a sample and those from it on.
pub fn fewer_beside(sample: &Sample, row: usize) -> u64 {
    let counted = |people: &[u32]| people.iter().map(|&n| u64::from(n)).sum::<u64>();
    let (before, after) = sample.people.split_at(row);
    counted(before).min(counted(after))
}

/// The fewer of the people above a percentile and those at it and below: a percentile is the last value of the people that
/// it parts off, so who has it does not lie above it.
pub fn fewer_beside_value(sample: &Sample, percentile: f64) -> u64 {
    fewer_beside(sample, sample.value.partition_point(|&value| value <= percentile))
}

/// How many people are expected beyond a smooth curve of a percentile, which is nobody's value.
pub fn expected_beyond(people: u64, p: f64) -> u64 {
    (people as f64 * p.min(1.0 - p) + SLACK) as u64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::quantile::weighted_quantile;

    fn sample(weight: impl Fn(u32) -> f64, value: impl Fn(u32) -> f64) -> Sample {
        let of = |each: &dyn Fn(u32) -> f64| (1..=200).map(each).collect::<Vec<f64>>();
        Sample::from_people(&of(&value), &of(&weight), &[0; 200]).expect("a sample")
    }

    fn beside(sample: &Sample, p: f64) -> u64 {
        let at = weighted_quantile(&sample.value, &sample.weight, p).expect("a percentile");
        fewer_beside_value(sample, at)
    }

    #[test]
    fn people_with_large_weights_are_few_beyond_a_percentile() {
        let equal = sample(|_| 1.0, f64::from);
        assert_eq!([0.05, 0.5, 0.95].map(|p| beside(&equal, p)), [10, 100, 10]);
        // The ten highest weigh 4 each: 218.5 of 230 are reached at the eighth of them, and two lie above.
        let heavy = sample(|at| if at > 190 { 4.0 } else { 1.0 }, f64::from);
        assert_eq!(beside(&heavy, 0.95), 2);
        // The ten lowest weigh 4 each: 11.5 of 230 are reached at the third.
        let low = sample(|at| if at <= 10 { 4.0 } else { 1.0 }, f64::from);
        assert_eq!(beside(&low, 0.05), 3);
    }

    #[test]
    fn who_shares_the_value_of_a_percentile_is_not_above_it() {
        // The 181st to the 197th share a value, which is the 95th percentile.
        let tied = sample(|_| 1.0, |at| if (181..=197).contains(&at) { 181.0 } else { f64::from(at) });
        assert_eq!(beside(&tied, 0.95), 3);
        // The lowest 50 share one, which is the 5th percentile: they are the people that it parts off.
        let floor = sample(|_| 1.0, |at| f64::from(at.max(50)));
        assert_eq!(beside(&floor, 0.05), 50);
    }

    #[test]
    fn a_share_of_people_is_not_cut_by_rounding() {
        assert_eq!([(200, 0.95), (200, 0.05), (199, 0.95)].map(|(n, p)| expected_beyond(n, p)), [10, 10, 9]);
    }
}
