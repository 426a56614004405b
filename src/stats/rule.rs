//! Rules that pick one cutoff from a ROC curve.

/// A rule with its parameters. The chosen point has the largest score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rule {
    /// Largest sensitivity + specificity − 1 (Youden 1950, Cancer 3:32–35).
    Youden,
    /// Nearest to sensitivity 1, specificity 1 (Perkins and Schisterman 2006, Am J Epidemiol 163:670–675).
    ClosestToCorner,
    /// Largest sensitivity × specificity (Liu 2012, Stat Med 31:2676–2686).
    LargestProduct,
    /// Smallest difference between sensitivity and specificity.
    SmallestDifference,
    /// Highest specificity among points with at least this sensitivity.
    SensitivityAtLeast(f64),
    /// Highest sensitivity among points with at least this specificity.
    SpecificityAtLeast(f64),
    /// Lowest expected cost for a prevalence and the cost of a miss relative to a false alarm.
    LowestCost { prevalence: f64, miss_to_false_alarm: f64 },
    /// Largest net benefit at a threshold probability (Vickers and Elkin 2006, Med Decis Making 26:565–574).
    NetBenefit { threshold_probability: f64 },
}
