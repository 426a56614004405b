//! How many factors a set of replicates may have: one for each sampling unit and replicate.

use super::{Design, StatError};

/// Most factors that are kept, in millions, at 8 bytes each: 1.6 GB.
const MOST_MILLIONS: usize = 200;
/// What to do where the design makes too many replicates.
pub(super) const DRAW_INSTEAD: &str =
    "take the bootstrap, which draws as many replicates as you ask for (kind = \"bootstrap\")";

/// Refuses more factors than a computer holds with ease, before memory is asked for.
pub(super) fn check_size(design: &Design, replicates: usize, instead: &'static str) -> Result<(), StatError> {
    let (units, most) = (design.units(), MOST_MILLIONS);
    if units.saturating_mul(replicates) > most * 1_000_000 {
        return Err(StatError::TooManyFactors { units, replicates, most, instead });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{LonelyPsu, Replicates};

    fn design(strata: &[u32]) -> Design {
        Design::new(strata.to_vec(), None, LonelyPsu::Fail).expect("several units")
    }

    #[test]
    fn more_factors_than_can_be_kept_are_refused() {
        // 30,000 people in one stratum, each a unit: 30,000² = 900 million. 15,000 pairs: 16,384 half-samples of 30,000
        // units, 491 million.
        let people = Replicates::jackknife(&design(&vec![0; 30_000])).expect_err("too many").to_string();
        assert!(people.contains("900 million") && people.contains("kind = \"bootstrap\""), "{people}");
        let pairs: Vec<u32> = (0..30_000).map(|unit| unit / 2).collect();
        let pairs = Replicates::brr(&design(&pairs), 0.0).expect_err("too many").to_string();
        assert!(pairs.contains("491 million") && pairs.contains("kind = \"bootstrap\""), "{pairs}");
        let drawn = Replicates::bootstrap(&design(&[0; 3000]), &[1], 100_000, 1).expect_err("too many");
        assert!(drawn.to_string().ends_with("fewer replicates"), "{drawn}");
        // Exactly 200 million are kept.
        let (units, instead) = (design(&vec![0; 20_000]), "");
        assert_eq!(check_size(&units, 10_000, instead), Ok(()));
        assert!(check_size(&units, 10_001, instead).is_err());
    }
}
