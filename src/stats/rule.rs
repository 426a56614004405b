//! Rules that pick one cutoff from a ROC curve.

use super::StatError;
use super::roc::RocPoint;

/// Slack on a demanded sensitivity or specificity, and the distance within which two scores tie:
/// rounding must not decide which cutoff is reported.
pub const SLACK: f64 = 1e-12;

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

/// A rule as listed: what it is called, what it maximises and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RuleRow {
    pub name: &'static str,
    pub label: &'static str,
    /// The score of a point; the point with the largest is chosen.
    pub formula: &'static str,
    pub source: &'static str,
    /// Numbers the rule needs, in order.
    pub parameters: &'static [&'static str],
}

/// Every rule known. A study names one of these.
pub const RULES: [RuleRow; 8] = [
    RuleRow {
        name: "youden",
        label: "largest Youden index",
        formula: "sensitivity + specificity − 1",
        source: "Youden 1950, Cancer 3:32–35",
        parameters: &[],
    },
    RuleRow {
        name: "closest_to_corner",
        label: "closest to the upper left corner",
        formula: "−((1 − sensitivity)² + (1 − specificity)²)",
        source: "Perkins and Schisterman 2006, Am J Epidemiol 163:670–675",
        parameters: &[],
    },
    RuleRow {
        name: "largest_product",
        label: "largest sensitivity × specificity",
        formula: "sensitivity × specificity",
        source: "Liu 2012, Stat Med 31:2676–2686",
        parameters: &[],
    },
    RuleRow {
        name: "smallest_difference",
        label: "smallest difference between sensitivity and specificity",
        formula: "−|sensitivity − specificity|",
        source: "common practice: the point where the two curves cross",
        parameters: &[],
    },
    RuleRow {
        name: "sensitivity_at_least",
        label: "highest specificity with sensitivity at least",
        formula: "specificity, where sensitivity ≥ value",
        source: "common practice: a screening demand stated beforehand",
        parameters: &["value"],
    },
    RuleRow {
        name: "specificity_at_least",
        label: "highest sensitivity with specificity at least",
        formula: "sensitivity, where specificity ≥ value",
        source: "common practice: a confirmatory demand stated beforehand",
        parameters: &["value"],
    },
    RuleRow {
        name: "lowest_cost",
        label: "lowest expected cost",
        formula: "−(prevalence × miss_to_false_alarm × (1 − sensitivity) + (1 − prevalence) × (1 − specificity))",
        source: "Metz 1978, Semin Nucl Med 8:283–298",
        parameters: &["prevalence", "miss_to_false_alarm"],
    },
    RuleRow {
        name: "net_benefit",
        label: "largest net benefit",
        formula: "π × sensitivity − (1 − π) × (1 − specificity) × t / (1 − t), π the sample's prevalence, t the threshold probability",
        source: "Vickers and Elkin 2006, Med Decis Making 26:565–574",
        parameters: &["threshold_probability"],
    },
];

impl Rule {
    /// The rule of this name with its numbers, checked.
    ///
    /// # Errors
    ///
    /// [`StatError::UnknownRule`] lists the known names; [`StatError::RuleParameters`] says which numbers the
    /// rule takes; [`StatError::Parameter`] which range they have.
    pub fn from_name(name: &str, parameters: &[(&str, f64)]) -> Result<Self, StatError> {
        let row = RULES.iter().find(|row| row.name == name).ok_or_else(|| unknown(name))?;
        let given: Vec<&str> = parameters.iter().map(|(key, _)| *key).collect();
        let number = |key: &str| parameters.iter().find(|(k, _)| *k == key).map(|(_, value)| *value);
        let numbers: Option<Vec<f64>> = row.parameters.iter().map(|key| number(key)).collect();
        let rule = match (numbers.as_deref(), row.name) {
            _ if given.len() != row.parameters.len() => None,
            (Some([]), "youden") => Some(Self::Youden),
            (Some([]), "closest_to_corner") => Some(Self::ClosestToCorner),
            (Some([]), "largest_product") => Some(Self::LargestProduct),
            (Some([]), "smallest_difference") => Some(Self::SmallestDifference),
            (Some(&[value]), "sensitivity_at_least") => Some(Self::SensitivityAtLeast(value)),
            (Some(&[value]), "specificity_at_least") => Some(Self::SpecificityAtLeast(value)),
            (Some(&[prevalence, miss_to_false_alarm]), "lowest_cost") => {
                Some(Self::LowestCost { prevalence, miss_to_false_alarm })
            }
            (Some(&[threshold_probability]), "net_benefit") => {
                Some(Self::NetBenefit { threshold_probability })
            }
            _ => None,
        };
        let in_words =
            |keys: &[&str]| if keys.is_empty() { "no numbers".to_owned() } else { keys.join(", ") };
        rule.ok_or_else(|| StatError::RuleParameters {
            rule: row.name,
            expected: in_words(row.parameters),
            found: in_words(&given),
        })?
        .checked()
    }

    /// The row that describes this rule.
    #[must_use]
    pub fn row(&self) -> &'static RuleRow {
        &RULES[match self {
            Self::Youden => 0,
            Self::ClosestToCorner => 1,
            Self::LargestProduct => 2,
            Self::SmallestDifference => 3,
            Self::SensitivityAtLeast(_) => 4,
            Self::SpecificityAtLeast(_) => 5,
            Self::LowestCost { .. } => 6,
            Self::NetBenefit { .. } => 7,
        }]
    }

    /// Name with its numbers, for the `rule` column of tables: `sensitivity_at_least_0.80`.
    #[must_use]
    pub fn name(&self) -> String {
        let name = self.row().name;
        match self {
            Self::SensitivityAtLeast(value) | Self::SpecificityAtLeast(value) => {
                format!("{name}_{}", at_least_two_decimals(*value))
            }
            Self::LowestCost { prevalence, miss_to_false_alarm } => {
                format!("{name}_{}_{miss_to_false_alarm}", at_least_two_decimals(*prevalence))
            }
            Self::NetBenefit { threshold_probability } => {
                format!("{name}_{}", at_least_two_decimals(*threshold_probability))
            }
            _ => name.to_owned(),
        }
    }

    /// Words for a reader: `highest specificity with sensitivity at least 0.80`.
    #[must_use]
    pub fn label(&self) -> String {
        let label = self.row().label;
        match self {
            Self::SensitivityAtLeast(value) | Self::SpecificityAtLeast(value) => {
                format!("{label} {}", at_least_two_decimals(*value))
            }
            Self::LowestCost { prevalence, miss_to_false_alarm } => format!(
                "{label} at prevalence {}, a miss costing {miss_to_false_alarm} false alarms",
                at_least_two_decimals(*prevalence)
            ),
            Self::NetBenefit { threshold_probability } => {
                format!("{label} at threshold probability {}", at_least_two_decimals(*threshold_probability))
            }
            _ => label.to_owned(),
        }
    }

    #[must_use]
    pub fn source(&self) -> &'static str {
        self.row().source
    }

    /// Whether of two points with the same positive sensitivity the one with the lower specificity can have the
    /// higher score or, being the less resistant value, win a tie.
    #[must_use]
    pub fn may_prefer_lower_specificity(&self) -> bool {
        matches!(self, Self::SmallestDifference | Self::SpecificityAtLeast(_))
    }

    /// Score of a point; the chosen point has the largest. `−∞` if the point does not qualify.
    ///
    /// `prevalence` is the sample's own and enters only the net benefit.
    #[inline]
    #[must_use]
    pub fn score(&self, sensitivity: f64, specificity: f64, prevalence: f64) -> f64 {
        let (missed, false_alarms) = (1.0 - sensitivity, 1.0 - specificity);
        match *self {
            Self::Youden => sensitivity + specificity - 1.0,
            Self::ClosestToCorner => -(missed * missed + false_alarms * false_alarms),
            Self::LargestProduct => sensitivity * specificity,
            Self::SmallestDifference => -(sensitivity - specificity).abs(),
            Self::SensitivityAtLeast(least) => {
                if sensitivity >= least - SLACK {
                    specificity
                } else {
                    f64::NEG_INFINITY
                }
            }
            Self::SpecificityAtLeast(least) => {
                if specificity >= least - SLACK {
                    sensitivity
                } else {
                    f64::NEG_INFINITY
                }
            }
            Self::LowestCost { prevalence, miss_to_false_alarm } => {
                -(prevalence * miss_to_false_alarm * missed + (1.0 - prevalence) * false_alarms)
            }
            Self::NetBenefit { threshold_probability } => {
                let odds = threshold_probability / (1.0 - threshold_probability);
                prevalence * sensitivity - (1.0 - prevalence) * false_alarms * odds
            }
        }
    }

    /// The rule if its numbers make sense.
    fn checked(self) -> Result<Self, StatError> {
        let inside = |what, value: f64| {
            let refused = StatError::Parameter { what, range: "(0, 1)", value };
            if value > 0.0 && value < 1.0 { Ok(()) } else { Err(refused) }
        };
        match self {
            Self::SensitivityAtLeast(value) => inside("the least sensitivity", value)?,
            Self::SpecificityAtLeast(value) => inside("the least specificity", value)?,
            Self::NetBenefit { threshold_probability } => {
                inside("threshold_probability", threshold_probability)?;
            }
            Self::LowestCost { prevalence, miss_to_false_alarm } => {
                inside("prevalence", prevalence)?;
                if !(miss_to_false_alarm > 0.0 && miss_to_false_alarm.is_finite()) {
                    let what = "miss_to_false_alarm";
                    return Err(StatError::Parameter { what, range: "(0, ∞)", value: miss_to_false_alarm });
                }
            }
            _ => {}
        }
        Ok(self)
    }
}

fn unknown(name: &str) -> StatError {
    let known: Vec<&str> = RULES.iter().map(|row| row.name).collect();
    StatError::UnknownRule { name: name.to_owned(), known: known.join(", ") }
}

/// `0.8` as `0.80`, `0.125` as it is: names line up and lose no digit.
fn at_least_two_decimals(value: f64) -> String {
    let (short, exact) = (format!("{value:.2}"), value.to_string());
    if exact.len() > short.len() { exact } else { short }
}

/// Position of the point the rule chooses.
///
/// # Formula
///
/// The point with the largest [`Rule::score`]. Scores within 1e-12 tie; then the higher sensitivity
/// wins, then the less resistant value. The first point, which calls everybody positive, is not eligible.
///
/// # Missing data and ties
///
/// `None` if no point qualifies: a single distinct value, or a demand that no point meets.
///
/// # Checked against
///
/// R `pROC`, `coords`: `tests/reference/cut_points/`.
#[must_use]
pub fn choose(points: &[RocPoint], rule: Rule, prevalence: f64) -> Option<usize> {
    let mut best = f64::NEG_INFINITY;
    let mut chosen = None;
    // From most to least resistant sensitivity only grows, so a later point that ties is the one to prefer.
    for (position, point) in points.iter().enumerate().skip(1).rev() {
        let score = rule.score(point.sensitivity, point.specificity, prevalence);
        if score > f64::NEG_INFINITY && score >= best - SLACK {
            chosen = Some(position);
            best = best.max(score);
        }
    }
    chosen
}

/// Least and most resistant cutoff whose Youden index is within `tolerance` of the best: the exact maximum
/// of a step function is noise, and this says how flat it is. `None` with fewer than two points.
#[must_use]
pub fn flat_range(points: &[RocPoint], tolerance: f64) -> Option<(f64, f64)> {
    let youden = |point: &RocPoint| Rule::Youden.score(point.sensitivity, point.specificity, 0.5);
    let eligible = points.get(1..)?;
    let best = eligible.iter().map(youden).fold(f64::NEG_INFINITY, f64::max);
    let mut near = eligible.iter().filter(|point| youden(point) >= best - tolerance - SLACK);
    let first = near.next()?.cutoff;
    Some((first, near.next_back().map_or(first, |point| point.cutoff)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(cutoff: f64, sensitivity: f64, specificity: f64) -> RocPoint {
        RocPoint { row: 0, cutoff, sensitivity, specificity, weight: 1.0 }
    }

    #[test]
    fn every_row_is_complete_and_builds_its_rule() {
        for (position, row) in RULES.iter().enumerate() {
            assert!(row.name.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{}", row.name);
            assert!(RULES[..position].iter().all(|other| other.name != row.name), "{} twice", row.name);
            assert!(!row.label.is_empty() && !row.formula.is_empty() && !row.source.is_empty());
            let numbers: Vec<(&str, f64)> = row.parameters.iter().map(|key| (*key, 0.25)).collect();
            let rule = Rule::from_name(row.name, &numbers).expect("a row builds its rule");
            assert_eq!(rule.row(), row);
            assert!(rule.name().starts_with(row.name) && rule.label().starts_with(row.label));
            assert!(rule.score(0.7, 0.6, 0.3).is_finite());
            assert!(Rule::from_name(row.name, &[("nonsense", 0.5)]).is_err());
        }
    }

    #[test]
    fn bad_rules_say_what_is_known() {
        let unknown = Rule::from_name("yuden", &[]).expect_err("unknown").to_string();
        assert!(unknown.contains("yuden") && unknown.contains("youden, closest_to_corner"), "{unknown}");
        let missing =
            Rule::from_name("lowest_cost", &[("prevalence", 0.2)]).expect_err("incomplete").to_string();
        assert!(missing.contains("prevalence, miss_to_false_alarm"), "{missing}");
        assert!(matches!(
            Rule::from_name("sensitivity_at_least", &[("value", 80.0)]),
            Err(StatError::Parameter { range: "(0, 1)", .. })
        ));
        assert!(
            Rule::from_name("lowest_cost", &[("prevalence", 0.2), ("miss_to_false_alarm", 0.0)]).is_err()
        );
    }

    #[test]
    fn names_carry_the_numbers() {
        assert_eq!(Rule::SensitivityAtLeast(0.8).name(), "sensitivity_at_least_0.80");
        assert_eq!(Rule::SpecificityAtLeast(0.125).name(), "specificity_at_least_0.125");
        assert_eq!(
            Rule::LowestCost { prevalence: 0.3, miss_to_false_alarm: 2.0 }.label(),
            "lowest expected cost at prevalence 0.30, a miss costing 2 false alarms"
        );
    }

    #[test]
    fn scores_by_hand() {
        let near = |rule: Rule, want: f64| {
            let got = rule.score(0.8, 0.6, 0.25);
            assert!((got - want).abs() < 1e-15, "{rule:?}: {got}");
        };
        near(Rule::Youden, 0.4);
        near(Rule::ClosestToCorner, -0.2);
        near(Rule::LargestProduct, 0.48);
        near(Rule::SmallestDifference, -0.2);
        near(Rule::SensitivityAtLeast(0.8), 0.6);
        assert_eq!(Rule::SensitivityAtLeast(0.81).score(0.8, 0.6, 0.25), f64::NEG_INFINITY);
        near(Rule::SpecificityAtLeast(0.6), 0.8);
        near(Rule::LowestCost { prevalence: 0.5, miss_to_false_alarm: 3.0 }, -(0.5 * 3.0 * 0.2 + 0.5 * 0.4));
        near(Rule::NetBenefit { threshold_probability: 0.2 }, 0.25 * 0.8 - 0.75 * 0.4 * 0.25);
    }

    #[test]
    fn ties_go_to_the_higher_sensitivity_and_everybody_is_not_eligible() {
        let points = [point(1.0, 1.0, 0.0), point(2.0, 0.9, 0.5), point(3.0, 0.7, 0.7), point(4.0, 0.2, 1.0)];
        assert_eq!(choose(&points, Rule::Youden, 0.5), Some(1), "0.4 twice");
        assert_eq!(choose(&points, Rule::SmallestDifference, 0.5), Some(2));
        assert_eq!(choose(&points, Rule::SensitivityAtLeast(0.95), 0.5), None);
        assert_eq!(choose(&points[..1], Rule::Youden, 0.5), None);
        assert_eq!(flat_range(&points, 0.01), Some((2.0, 3.0)));
        assert_eq!(flat_range(&points[..1], 0.01), None);
        assert_eq!(flat_range(&[], 0.01), None);
    }
}
