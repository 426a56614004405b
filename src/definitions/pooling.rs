//! By what the weights of pooled cycles are multiplied.

use super::survey::{Cycle, SURVEYS, survey};

/// Factors by which the weights of the listed cycles are multiplied when they are pooled, in the
/// order given. An overlap of releases or an unknown name is an error in words.
///
/// # Formula
///
/// ```text
/// share = years of the cycle / years of all cycles
/// ```
///
/// Cycles with weights made for both together (1999-2000 and 2001-2002: four-year weights, which each
/// sum to the population over both files) count as one block of four years, and both get its share.
/// The shares sum to 1 when such a pair is counted once.
///
/// Two-year cycles alone give 1/k; with n cycles of which two are 1999-2002, 2/n and 1/n; with the 3.2
/// years before the pandemic and m two-year cycles, 2/(2m + 3.2) and 3.2/(2m + 3.2). 2021-2023 counts
/// as the two years its weights are named for.
pub fn pooling_shares(name: &str, cycles: &[String]) -> Result<Vec<f64>, String> {
    let survey =
        survey(name).ok_or_else(|| format!("unknown survey `{name}`; known: {}", SURVEYS.join(", ")))?;
    let listed = cycles.iter().map(|c| survey.cycle(c)).collect::<Result<Vec<_>, _>>()?;
    for (position, cycle) in listed.iter().enumerate() {
        for other in &listed[..position] {
            if other.name == cycle.name {
                return Err(format!("cycle {} is listed twice; list it once", cycle.name));
            }
            if cycle.overlaps.contains(&other.name) {
                return Err(format!(
                    "cycles {} and {} hold the same people; keep one of them",
                    other.name, cycle.name
                ));
            }
        }
    }
    let years: f64 = listed.iter().map(|c| c.years).sum();
    let block = |cycle: &Cycle| {
        let partner = cycle.partner_in(cycles).and_then(|p| survey.cycle(p).ok());
        cycle.years + partner.map_or(0.0, |p| p.years)
    };
    Ok(listed.iter().map(|cycle| block(cycle) / years).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::survey::cycles;

    /// Sums of a handful of quotients.
    const ROUNDING: f64 = 1e-12;

    fn shares(cycles: &[&str]) -> Result<Vec<f64>, String> {
        pooling_shares("nhanes", &cycles.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn shares_follow_the_official_fractions() {
        assert_eq!(shares(&["2017-2018"]).unwrap(), [1.0]);
        assert_eq!(shares(&["2013-2014", "2015-2016"]).unwrap(), [0.5, 0.5]);
        // published: 2/7.2, 2/7.2, 3.2/7.2 (NCHS Series 2, no. 190)
        assert_eq!(
            shares(&["2013-2014", "2015-2016", "2017-2020"]).unwrap(),
            [2.0 / 7.2, 2.0 / 7.2, 3.2 / 7.2]
        );
        // 1999-2004: four-year weights × 2/3, two-year weights × 1/3
        assert_eq!(
            shares(&["1999-2000", "2001-2002", "2003-2004"]).unwrap(),
            [4.0 / 6.0, 4.0 / 6.0, 2.0 / 6.0]
        );
        assert_eq!(shares(&["1999-2000", "2001-2002"]).unwrap(), [1.0, 1.0]);
        assert_eq!(shares(&["2001-2002", "2003-2004"]).unwrap(), [0.5, 0.5]);
    }

    #[test]
    fn shares_sum_to_one_with_a_pair_counted_once() {
        let all: Vec<String> = cycles("nhanes").unwrap().into_iter().filter(|c| c != "2017-2018").collect();
        for first in 0..all.len() {
            let listed = &all[first..];
            let shares = pooling_shares("nhanes", listed).unwrap();
            let skip = usize::from(first == 0);
            let sum: f64 = shares[skip..].iter().sum();
            assert!((sum - 1.0).abs() < ROUNDING, "{listed:?}: {sum}");
        }
    }

    #[test]
    fn the_same_people_are_refused_and_names_are_checked() {
        assert!(shares(&["2017-2018", "2017-2020"]).unwrap_err().contains("same people"));
        assert!(shares(&["2015-2016", "2015-2016"]).unwrap_err().contains("listed twice"));
        assert!(shares(&["2015"]).unwrap_err().contains("2015-2016"));
        assert!(pooling_shares("other", &[]).unwrap_err().contains("known: nhanes"));
    }
}
