//! ROC points of two sets of residuals, one lifted above the other: the comparison behind a ROC curve at a
//! given age.

use super::rule::SLACK;

/// Residuals closer than this share of their spread are ties that rounding pulled apart.
const TIE: f64 = 1e-9;

/// Residuals of one class from the largest down, with the share of the class's weight that each carries.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Residuals {
    residual: Vec<f64>,
    share: Vec<f64>,
    /// Root of the weighted mean square.
    pub spread: f64,
}

impl Residuals {
    /// From residuals with positive weights, of which there must be some.
    pub fn new(mut rows: Vec<(f64, f64)>) -> Self {
        rows.sort_by(|a, b| b.0.total_cmp(&a.0));
        let total: f64 = rows.iter().map(|(_, weight)| weight).sum();
        let square: f64 = rows.iter().map(|(residual, weight)| weight * residual * residual).sum();
        Self {
            residual: rows.iter().map(|(residual, _)| *residual).collect(),
            share: rows.iter().map(|(_, weight)| weight / total).collect(),
            spread: (square / total).sqrt(),
        }
    }
}

/// What a comparison of two classes gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Comparison {
    pub auc: f64,
    /// Value with the largest Youden index, among the residuals of the class without the outcome.
    pub cutoff: f64,
    pub sensitivity: f64,
    pub specificity: f64,
}

/// Compares the class with the outcome, its residuals lifted by `lift`, with the class without it.
///
/// The candidates for the cutoff are the values of both classes; among Youden indices within 1e-12 the lowest
/// cutoff wins, and the one that calls everybody positive is not eligible.
pub(super) fn compare(with: &Residuals, without: &Residuals, lift: f64) -> Comparison {
    let tie = TIE * with.spread.max(without.spread);
    let (mut i, mut j) = (0, 0);
    let (mut sensitivity, mut false_positive) = (0.0, 0.0);
    let mut result = Comparison { auc: 0.0, cutoff: f64::NAN, sensitivity: f64::NAN, specificity: f64::NAN };
    let mut best = f64::NEG_INFINITY;
    let lifted = |i: usize| with.residual.get(i).map_or(f64::NEG_INFINITY, |r| r + lift);
    let flat = |j: usize| without.residual.get(j).copied().unwrap_or(f64::NEG_INFINITY);
    while i < with.residual.len() || j < without.residual.len() {
        let top = lifted(i).max(flat(j));
        let (mut at_with, mut at_without, mut cutoff) = (0.0, 0.0, top);
        while i < with.residual.len() && lifted(i) >= top - tie {
            at_with += with.share[i];
            cutoff = cutoff.min(lifted(i));
            i += 1;
        }
        while j < without.residual.len() && flat(j) >= top - tie {
            at_without += without.share[j];
            cutoff = cutoff.min(flat(j));
            j += 1;
        }
        result.auc += at_without * (sensitivity + 0.5 * at_with);
        sensitivity += at_with;
        false_positive += at_without;
        let everybody = i == with.residual.len() && j == without.residual.len();
        let youden = sensitivity - false_positive;
        if !everybody && youden >= best - SLACK {
            best = best.max(youden);
            result.cutoff = cutoff;
            result.sensitivity = sensitivity;
            result.specificity = 1.0 - false_positive;
        }
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comparison_by_hand() {
        let with = Residuals::new(vec![(0.0, 1.0), (1.0, 2.0), (-1.0, 1.0)]);
        let without = Residuals::new(vec![(1.0, 1.0), (-1.0, 3.0)]);
        assert!((with.spread - (3.0_f64 / 4.0).sqrt()).abs() < 1e-15 && without.spread == 1.0);
        // Lifted by 1 they are 2, 1, 0 with shares ½, ¼, ¼; the others 1 and −1 with ¼ and ¾. From the top:
        // 2: Se ½; 1 (tied): Se ¾, 1 − Sp ¼; 0: Se 1, J = ¾, the best; −1: everybody.
        let got = compare(&with, &without, 1.0);
        assert_eq!((got.cutoff, got.sensitivity, got.specificity), (0.0, 1.0, 0.75));
        // Pairs: value 1 without the outcome (¼) lies below ½ and ties with ¼: ¼ · (½ + ⅛); −1 (¾) below all.
        assert!((got.auc - (0.25 * 0.625 + 0.75)).abs() < 1e-15);
    }

    #[test]
    fn equal_youden_indices_go_to_the_lower_cutoff() {
        // 3 with, 2 without, 1 with, 0 without: J is ½, 0, ½, and the last calls everybody positive.
        let with = Residuals::new(vec![(3.0, 1.0), (1.0, 1.0)]);
        let without = Residuals::new(vec![(2.0, 1.0), (0.0, 1.0)]);
        assert_eq!(compare(&with, &without, 0.0).cutoff, 1.0);
    }
}
