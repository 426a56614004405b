//! The ROC curve of a weighted sample, its area and its points.

use super::interval::logit;
use super::{Sample, StatError};

/// What happens if everybody at least as resistant as `cutoff` is called positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RocPoint {
    /// First row of the sample that has this value.
    pub row: usize,
    /// In the order of resistance, as the sample's values.
    pub cutoff: f64,
    /// Weighted share of those with the outcome who are positive.
    pub sensitivity: f64,
    /// Weighted share of those without it who are negative.
    pub specificity: f64,
    /// Weight of the people who have exactly this value.
    pub weight: f64,
}

/// ROC curve: one point per distinct value with positive weight, from least to most resistant.
///
/// # Formula
///
/// ```text
/// Se(c) = Σ w y [x ≥ c] / Σ w y
/// Sp(c) = Σ w (1 − y) [x < c] / Σ w (1 − y)
/// ```
///
/// with `y` the `class`: true has the outcome. Positive means at least as resistant as `c`, so a person at
/// the cutoff is positive.
///
/// # Missing data and ties
///
/// People whose outcome is unknown must not be in the sample. Tied values are one point. The first point
/// calls everybody positive; there is none that calls nobody positive.
///
/// # Errors
///
/// [`StatError::OneClass`] if nobody with weight has, or lacks, the outcome; what [`Sample::check`] refuses.
///
/// # Checked against
///
/// scikit-learn, `roc_curve(sample_weight=…)`: `tests/reference/weighted_roc_auc/`.
pub fn curve(sample: &Sample, class: &[bool]) -> Result<Vec<RocPoint>, StatError> {
    let (with, without) = class_totals(sample, class)?;
    let (mut beyond_with, mut beyond_without) = (0.0, 0.0);
    let mut points = Vec::new();
    for tie in ties_from_the_top(sample, class) {
        beyond_with += tie.with;
        beyond_without += tie.without;
        let weight = tie.with + tie.without;
        if weight > 0.0 {
            points.push(RocPoint {
                row: tie.row,
                cutoff: sample.value[tie.row],
                sensitivity: beyond_with / with,
                specificity: 1.0 - beyond_without / without,
                weight,
            });
        }
    }
    points.reverse();
    Ok(points)
}

/// Area under the ROC curve: the probability that a person with the outcome is more resistant than one
/// without, ties counting half.
///
/// # Formula
///
/// `Σ_i Σ_j w_i w_j ([x_i > x_j] + ½ [x_i = x_j]) / (Σ w_i Σ w_j)`, `i` with, `j` without the outcome.
///
/// # Errors
///
/// As for [`curve`].
///
/// # Source
///
/// Mann and Whitney 1947, Ann Math Stat 18:50–60, with counts replaced by weights.
///
/// # Checked against
///
/// scikit-learn, `roc_auc_score(sample_weight=…)`: `tests/reference/weighted_roc_auc/`.
pub fn auc(sample: &Sample, class: &[bool]) -> Result<f64, StatError> {
    let (with, without) = class_totals(sample, class)?;
    let (mut beyond_with, mut pairs) = (0.0, 0.0);
    for tie in ties_from_the_top(sample, class) {
        pairs += tie.without * (beyond_with + 0.5 * tie.with);
        beyond_with += tie.with;
    }
    Ok(pairs / (with * without))
}

/// An area this close to 0 or 1 is 0 or 1: the sums behind it are no more exact.
const SEPARATED: f64 = 1e-12;

/// Logit of an area; none where the classes are separated completely, whatever the last bit of the sums says.
#[must_use]
pub fn logit_of_area(area: f64) -> Option<f64> {
    (area > SEPARATED && area < 1.0 - SEPARATED).then(|| logit(area))
}

/// Weighted share of the sample that has the outcome; `NaN` without any weight.
#[must_use]
pub fn prevalence(sample: &Sample, class: &[bool]) -> f64 {
    let (with, without) = totals(sample, class);
    with / (with + without)
}

/// Rows that share a value: the first of them and the weight in each class.
struct Tie {
    row: usize,
    with: f64,
    without: f64,
}

/// Distinct values from most to least resistant. The sums run in the order in which the replicate scan
/// runs, so that both agree to the last bit.
fn ties_from_the_top(sample: &Sample, class: &[bool]) -> impl Iterator<Item = Tie> {
    let mut end = sample.len();
    std::iter::from_fn(move || {
        let value = sample.value[end.checked_sub(1)?];
        let (mut with, mut without) = (0.0, 0.0);
        while end > 0 && sample.value[end - 1] == value {
            end -= 1;
            if class[end] {
                with += sample.weight[end];
            } else {
                without += sample.weight[end];
            }
        }
        Some(Tie { row: end, with, without })
    })
}

fn totals(sample: &Sample, class: &[bool]) -> (f64, f64) {
    ties_from_the_top(sample, class).fold((0.0, 0.0), |sum, tie| (sum.0 + tie.with, sum.1 + tie.without))
}

fn class_totals(sample: &Sample, class: &[bool]) -> Result<(f64, f64), StatError> {
    sample.check()?;
    if class.len() != sample.len() {
        return Err(StatError::Length(sample.len(), class.len()));
    }
    both_classes(totals(sample, class))
}

/// Weights with and without the outcome, of which neither may be 0.
pub(super) fn both_classes(weights: (f64, f64)) -> Result<(f64, f64), StatError> {
    match weights {
        (0.0, _) => Err(StatError::OneClass("has")),
        (_, 0.0) => Err(StatError::OneClass("lacks")),
        both => Ok(both),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOLERANCE: f64 = 1e-15;

    /// Two strata of four people; with the outcome: rows 2, 4, 5, 7.
    fn mini() -> (Sample, [bool; 8]) {
        let value = [1.2, 2.5, 2.5, 3.1, 4.8, 6.0, 7.7, 9.9];
        let weight = [3.0, 1.0, 2.0, 4.0, 2.0, 5.0, 1.0, 2.0];
        let sample = Sample::from_people(&value, &weight, &[0, 0, 1, 1, 2, 2, 3, 3]).expect("usable rows");
        (sample, [false, false, true, false, true, true, false, true])
    }

    #[test]
    fn auc_by_hand() {
        // With: 2.5 (2), 4.8 (2), 6.0 (5), 9.9 (2); without: 1.2 (3), 2.5 (1), 3.1 (4), 7.7 (1).
        // 2·(3 + ½) + 2·8 + 5·8 + 2·9 = 81 of 11 · 9.
        let (sample, class) = mini();
        assert!((auc(&sample, &class).expect("both classes") - 81.0 / 99.0).abs() < TOLERANCE);
        assert!((prevalence(&sample, &class) - 0.55).abs() < TOLERANCE);
    }

    #[test]
    fn points_by_hand() {
        let (mut sample, class) = mini();
        let points = curve(&sample, &class).expect("both classes");
        assert_eq!(points.len(), 7, "the two people at 2.5 are one point");
        assert_eq!((points[0].cutoff, points[0].sensitivity, points[0].specificity), (1.2, 1.0, 0.0));
        // At 2.5: everybody with the outcome, and 6 of the 9 without, are at or beyond.
        assert_eq!((points[1].row, points[1].weight, points[1].sensitivity), (1, 3.0, 1.0));
        assert!((points[1].specificity - 3.0 / 9.0).abs() < TOLERANCE);
        let last = points.last().expect("seven points");
        assert!((last.sensitivity - 2.0 / 11.0).abs() < TOLERANCE && last.specificity == 1.0);
        sample.weight[3] = 0.0;
        assert_eq!(curve(&sample, &class).expect("both classes").len(), 6, "no weight, no point");
    }

    #[test]
    fn both_classes_are_needed() {
        let (sample, class) = mini();
        assert_eq!(auc(&sample, &[false; 8]), Err(StatError::OneClass("has")));
        assert_eq!(curve(&sample, &[true; 8]), Err(StatError::OneClass("lacks")));
        assert_eq!(auc(&sample, &class[1..]), Err(StatError::Length(8, 7)));
    }
}
