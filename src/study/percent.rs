//! Percentiles as they are written: per cent, not shares.

use crate::table::number::significant;

/// Digits of a percentile in a message.
const DIGITS: usize = 6;

/// What is wrong with percentiles that were written as shares. One below 1 is taken as it stands beside others of 1 or more,
/// which show that per cent is meant.
#[must_use]
pub fn written_as_shares(percentiles: &[f64]) -> Option<String> {
    let is_share = |value: &f64| *value > 0.0 && *value < 1.0;
    if percentiles.is_empty() || !percentiles.iter().all(is_share) {
        return None;
    }
    let list = |factor: f64| {
        let values: Vec<String> = percentiles.iter().map(|p| significant(factor * p, DIGITS)).collect();
        values.join(", ")
    };
    Some(format!(
        "percentiles are per cent, and {} would lie below the 1st: did you mean {}?",
        list(1.0),
        list(100.0)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_told_from_low_percentiles_by_their_company() {
        let said = written_as_shares(&[0.5, 0.75, 0.9]).expect("shares");
        assert!(
            said.contains("0.5, 0.75, 0.9 would") && said.ends_with("did you mean 50, 75, 90?"),
            "{said}"
        );
        assert!(written_as_shares(&[0.5]).expect("a share").ends_with("did you mean 50?"));
        for meant in [&[0.5, 2.5, 97.5][..], &[1.0], &[50.0], &[]] {
            assert_eq!(written_as_shares(meant), None);
        }
    }
}
