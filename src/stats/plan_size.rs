//! How many people an interval of a wanted width needs.

use super::StatError;
use super::plan::Planned;
use super::plan_area::area_interval;

/// More people than any study has.
const MOST: u64 = 10_000_000;
/// An area needs so many people with, and so many without.
const FEWEST: u64 = 2;

/// How the people to come part into those with the outcome and those without.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Parted {
    /// So large a share of all has it.
    Share(f64),
    /// So many people have it; those without are sought.
    With(u64),
    /// So many people do not; those with it are sought.
    Without(u64),
}

impl Parted {
    /// People with and without the outcome: of so many in all, or of so many in the class that is sought.
    fn of(self, people: u64) -> (u64, u64) {
        match self {
            Self::Share(share) => {
                let with = (share * people as f64).round() as u64;
                (with, people - with.min(people))
            }
            Self::With(with) => (with, people),
            Self::Without(without) => (people, without),
        }
    }
}

/// The fewest people, with and without the outcome, among whom the interval of an area that comes out as expected is no wider
/// than `width`; `None` when no number of them is enough, because the other class alone makes it wider.
///
/// # Formula
///
/// The width of [`area_interval`] falls with every person more of either class, so the number is found by halving.
///
/// # Errors
///
/// As [`area_interval`].
pub fn people_for_area(
    auc: f64,
    parted: Parted,
    width: f64,
    planned: &Planned,
) -> Result<Option<(u64, u64)>, StatError> {
    let narrow = |people: u64| -> Result<bool, StatError> {
        let (with, without) = parted.of(people);
        if with.min(without) < FEWEST {
            return Ok(false);
        }
        Ok(area_interval(auc, (with, without), planned)?.width() <= width)
    };
    if !narrow(MOST)? {
        return Ok(None);
    }
    let (mut too_few, mut enough) = (0, MOST);
    while enough - too_few > 1 {
        let middle = too_few.midpoint(enough);
        if narrow(middle)? {
            enough = middle;
        } else {
            too_few = middle;
        }
    }
    Ok(Some(parted.of(enough)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn planned(design_effect: f64, df: Option<f64>) -> Planned {
        Planned { people: FEWEST, design_effect, df, confidence: 0.95 }
    }

    #[test]
    fn so_many_people_are_enough_and_one_fewer_is_not() {
        for auc in [0.6, 0.8, 0.95] {
            for width in [0.05, 0.1, 0.21] {
                for (effect, df) in [(1.0, None), (2.3, Some(16.0))] {
                    for share in [0.08, 0.3, 0.5, 0.81] {
                        let planned = planned(effect, df);
                        let width_of = |people: u64| {
                            let (with, without) = Parted::Share(share).of(people);
                            area_interval(auc, (with, without), &planned).expect("valid").width()
                        };
                        let found = people_for_area(auc, Parted::Share(share), width, &planned);
                        let (with, without) = found.expect("valid").expect("enough people");
                        let all = with + without;
                        let case = format!("{auc} {width} {effect} {share}: {with} and {without}");
                        assert!(width_of(all) <= width && width_of(all - 1) > width, "{case}");
                        assert!((with as f64 - share * all as f64).abs() <= 0.5, "{case}");
                    }
                }
            }
        }
    }

    #[test]
    fn one_class_may_be_given_and_may_be_too_small() {
        let planned = planned(1.0, None);
        let width = |with, without| area_interval(0.8, (with, without), &planned).expect("valid").width();
        let (with, without) =
            people_for_area(0.8, Parted::With(100), 0.1, &planned).expect("valid").expect("enough people");
        assert!(with == 100 && width(100, without) <= 0.1 && width(100, without - 1) > 0.1, "{without}");
        let (with, without) =
            people_for_area(0.8, Parted::Without(100), 0.1, &planned).expect("valid").expect("enough people");
        assert!(without == 100 && width(with, 100) <= 0.1 && width(with - 1, 100) > 0.1, "{with}");
        assert_eq!(people_for_area(0.8, Parted::With(10), 0.05, &planned), Ok(None));
        assert!(people_for_area(1.0, Parted::Share(0.5), 0.1, &planned).is_err());
    }
}
