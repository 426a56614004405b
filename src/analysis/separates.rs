//! Whether an index separates people with an outcome from those without it, as the interval of its area has it.

use crate::stats::interval::Interval;
use crate::stats::roc::logit_of_area;

/// The area of an index that separates no better than chance.
const CHANCE: f64 = 0.5;
const MAY_BE_CHANCE: &str = "the interval of the AUC includes 0.5";
/// People with the outcome have the less resistant values: a cutoff would find those without it.
const WRONG_WAY: &str = "the interval of the AUC lies below 0.5 (the index separates the wrong way round)";

/// Why no cutoff can be drawn from an index of this area.
pub fn doubt(area: Interval) -> Option<&'static str> {
    if area.lower > CHANCE {
        None
    } else if area.upper < CHANCE {
        Some(WRONG_WAY)
    } else {
        Some(MAY_BE_CHANCE)
    }
}

/// Whether an area is above that of chance by more than its uncertainty. Of areas without an interval only complete
/// separation is known to be.
pub fn better_than_chance(area: f64, interval: Option<Interval>) -> bool {
    match interval {
        Some(interval) => interval.lower > CHANCE,
        None => area > CHANCE && logit_of_area(area).is_none(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_index_is_in_doubt_unless_its_whole_area_is_above_chance() {
        let of = |lower, upper| doubt(Interval { lower, upper });
        assert_eq!(of(0.501, 0.7), None);
        for (lower, upper) in [(0.5, 0.7), (0.4, 0.6), (0.3, 0.5)] {
            assert_eq!(of(lower, upper), Some(MAY_BE_CHANCE));
        }
        assert_eq!(of(0.3, 0.499), Some(WRONG_WAY));
        assert!(better_than_chance(1.0, None) && !better_than_chance(0.8, None));
        assert!(!better_than_chance(0.56, Some(Interval { lower: 0.49, upper: 0.63 })));
    }
}
