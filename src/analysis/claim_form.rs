//! Sentences with a threshold, and the forms in which a claim about one can be put to the test.

use super::claim_verdict::Region;
use crate::study::{StudyIndex, Threshold};

/// The side of a threshold that a sentence speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Below,
    AtMost,
    AtLeast,
    Above,
}

impl Side {
    /// The option that states it.
    #[must_use]
    pub fn option(self) -> &'static str {
        match self {
            Self::Below => "--below",
            Self::AtMost => "--at-most",
            Self::AtLeast => "--at-least",
            Self::Above => "--above",
        }
    }
}

/// A threshold as a sentence states it: `below 2`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    pub side: Side,
    pub value: f64,
}

impl Side {
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Below => "below",
            Self::AtMost => "at or below",
            Self::AtLeast => "at or above",
            Self::Above => "above",
        }
    }

    /// Everybody who is not on this side.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Below => Self::AtLeast,
            Self::AtMost => Self::Above,
            Self::AtLeast => Self::Below,
            Self::Above => Self::AtMost,
        }
    }

    fn is_high(self) -> bool {
        matches!(self, Self::AtLeast | Self::Above)
    }

    /// Whether a value exactly at the threshold is on this side.
    fn holds_the_threshold(self) -> bool {
        matches!(self, Self::AtMost | Self::AtLeast)
    }
}

impl Stated {
    /// Whether the stated side is the more resistant one.
    #[must_use]
    pub fn is_beyond(&self, index: &StudyIndex) -> bool {
        self.side.is_high() == (index.sign() > 0)
    }

    /// The threshold as a study states it: a value exactly at it counts as beyond unless it is strict.
    #[must_use]
    pub fn threshold(&self, position: usize, index: &StudyIndex) -> Threshold {
        let at_is_beyond = self.is_beyond(index) == self.side.holds_the_threshold();
        Threshold { index: position, value: self.value, strict: !at_is_beyond, source: "claim".to_owned() }
    }
}

/// What is claimed of a threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// The share of people on the stated side, in per cent.
    Share(Bound),
    /// The share of people at or beyond the threshold, in the order of resistance, in per cent.
    ShareBeyond(Bound),
    /// The threshold is this percentile, give or take some percentage points.
    Percentile { percentile: f64, within: f64 },
    /// Sensitivity, specificity or a predictive value, in per cent.
    Accuracy { measure: &'static str, bound: Bound },
    /// Between the best cutoff and the threshold lie at most some per cent of everybody: the same for an index
    /// and its logarithm or reciprocal, which a distance in its own unit would not be.
    BestCutoff { within: f64 },
}

/// At least, at most or about so much. Of a share, which is never known exactly, "more than" says no more than "at least".
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    AtLeast(f64),
    MoreThan(f64),
    AtMost(f64),
    LessThan(f64),
    /// Give or take so many percentage points.
    About {
        near: f64,
        within: f64,
    },
}

/// Measures of accuracy that count people at or beyond the threshold, or call those the sign.
const OF_THE_RESISTANT_SIDE: [&str; 3] = ["sensitivity", "specificity", "ppv"];

impl Form {
    /// The `measure` that the claim is about.
    #[must_use]
    pub fn measure(&self) -> &'static str {
        match self {
            Self::Share(_) => "share",
            Self::ShareBeyond(_) => "share_beyond",
            Self::Percentile { .. } => "percentile",
            Self::Accuracy { measure, .. } => measure,
            Self::BestCutoff { .. } => "best_cutoff",
        }
    }

    #[must_use]
    pub fn needs_outcome(&self) -> bool {
        matches!(self, Self::Accuracy { .. } | Self::BestCutoff { .. })
    }

    /// Whether it is about a share of all people, which a threshold beyond all values has too: nobody or everybody.
    #[must_use]
    pub fn is_share(&self) -> bool {
        matches!(self, Self::Share(_) | Self::ShareBeyond(_))
    }

    /// The side of a threshold that the measure is about: the stated one, unless the measure has its own.
    #[must_use]
    pub fn side(&self, stated: &Stated, index: &StudyIndex) -> Side {
        let beyond = match self {
            Self::Accuracy { measure, .. } => OF_THE_RESISTANT_SIDE.contains(measure),
            Self::ShareBeyond(_) => true,
            Self::Share(_) | Self::Percentile { .. } | Self::BestCutoff { .. } => return stated.side,
        };
        if beyond == stated.is_beyond(index) { stated.side } else { stated.side.other() }
    }

    /// How the claim bounds the measure, in words.
    #[must_use]
    pub fn relation(&self) -> &'static str {
        match self {
            Self::Share(bound) | Self::ShareBeyond(bound) | Self::Accuracy { bound, .. } => bound.words(),
            Self::Percentile { .. } | Self::BestCutoff { .. } => "from, to",
        }
    }

    /// The values of the measure with which the claim is true; `None` where they depend on the people.
    #[must_use]
    pub fn region(&self) -> Option<Region> {
        match self {
            Self::Share(bound) | Self::ShareBeyond(bound) | Self::Accuracy { bound, .. } => {
                Some(bound.region())
            }
            Self::Percentile { percentile, within } => {
                Some(Region { from: percentile - within, to: percentile + within })
            }
            Self::BestCutoff { .. } => None,
        }
    }
}

impl Bound {
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::AtLeast(_) => "at least",
            Self::MoreThan(_) => "more than",
            Self::AtMost(_) => "at most",
            Self::LessThan(_) => "less than",
            Self::About { .. } => "about",
        }
    }

    /// The number that bounds or is meant, in per cent.
    #[must_use]
    pub fn limit(self) -> f64 {
        match self {
            Self::AtLeast(limit) | Self::MoreThan(limit) | Self::AtMost(limit) | Self::LessThan(limit) => {
                limit
            }
            Self::About { near, .. } => near,
        }
    }

    /// The same said of everybody else: at most 20 % is at least 80 % of the others.
    #[must_use]
    pub fn of_the_others(self) -> Self {
        match self {
            Self::AtLeast(limit) => Self::AtMost(100.0 - limit),
            Self::MoreThan(limit) => Self::LessThan(100.0 - limit),
            Self::AtMost(limit) => Self::AtLeast(100.0 - limit),
            Self::LessThan(limit) => Self::MoreThan(100.0 - limit),
            Self::About { near, within } => Self::About { near: 100.0 - near, within },
        }
    }

    fn region(self) -> Region {
        match self {
            Self::AtLeast(least) | Self::MoreThan(least) => Region { from: least, to: f64::INFINITY },
            Self::AtMost(most) | Self::LessThan(most) => Region { from: f64::NEG_INFINITY, to: most },
            Self::About { near, within } => Region { from: near - within, to: near + within },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_of_shares_are_in_per_cent() {
        let region = |bound: Bound| {
            let region = Form::Accuracy { measure: "npv", bound }.region().expect("a bound");
            (region.from, region.to)
        };
        assert_eq!(region(Bound::AtMost(25.0)), (f64::NEG_INFINITY, 25.0));
        assert_eq!(region(Bound::MoreThan(80.0)), (80.0, f64::INFINITY));
        assert_eq!(region(Bound::About { near: 33.0, within: 5.0 }), (28.0, 38.0));
        let percentile = Form::Percentile { percentile: 75.0, within: 5.0 }.region().expect("a range");
        assert_eq!((percentile.from, percentile.to), (70.0, 80.0));
        assert_eq!(Form::BestCutoff { within: 10.0 }.region(), None);
    }

    #[test]
    fn the_other_side_holds_everybody_else() {
        for side in [Side::Below, Side::AtMost, Side::AtLeast, Side::Above] {
            assert_eq!(side.other().other(), side);
            assert_ne!(side.is_high(), side.other().is_high());
            assert_ne!(side.holds_the_threshold(), side.other().holds_the_threshold());
        }
    }
}
