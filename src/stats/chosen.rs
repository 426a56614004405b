//! Cutoffs chosen by another way than a rule, as if a rule had chosen them.

use super::logistic::class_weights;
use super::scan::{RuleScan, Scan};
use super::unit_sums::UnitSums;
use super::{Replicates, Sample, StatError};

/// First row at or beyond a cutoff.
#[must_use]
pub fn row_of(sample: &Sample, cutoff: f64) -> usize {
    sample.value.partition_point(|&value| value < cutoff)
}

/// Youden index counted at a cutoff: the weighted shares at or beyond it with and without the outcome.
///
/// # Errors
///
/// As for [`scan_at`].
pub fn youden_at(sample: &Sample, class: &[bool], cutoff: f64) -> Result<f64, StatError> {
    sample.check()?;
    let (with, without) = class_weights(sample, class)?;
    let beyond = |wanted: bool| -> f64 {
        let rows = row_of(sample, cutoff)..sample.len();
        rows.filter(|&row| class[row] == wanted).map(|row| sample.weight[row]).sum()
    };
    Ok(beyond(true) / with - beyond(false) / without)
}

/// A scan whose one rule chose the given cutoff in each replicate, for [`super::external::optimism`].
///
/// # Formula
///
/// The row is the first at or beyond the replicate's cutoff; the weights beyond it are those of the replicate,
/// `Σ_unit factor · Σ weight`.
///
/// # Missing data and ties
///
/// `NaN`, or a cutoff beyond every value, marks a replicate without one. Areas are not computed: `auc` is `NaN`.
///
/// # Errors
///
/// [`StatError::Length`] if the cutoffs do not fit the replicates, [`StatError::OneClass`] for an empty class; what
/// [`Sample::check`] refuses.
///
/// # Checked against
///
/// [`super::scan::scan`] on the cutoffs that it chose.
pub fn scan_at(
    sample: &Sample,
    class: &[bool],
    cutoffs: &[f64],
    replicates: &Replicates,
) -> Result<Scan, StatError> {
    sample.check()?;
    class_weights(sample, class)?;
    if cutoffs.len() != replicates.count {
        return Err(StatError::Length(replicates.count, cutoffs.len()));
    }
    let rows = |cutoff: &f64| if cutoff.is_nan() { sample.len() } else { row_of(sample, *cutoff) };
    let rows: Vec<usize> = cutoffs.iter().map(rows).collect();
    let units = sample.units();
    let mut all = UnitSums::new(2, units);
    let mut beyond = vec![[0.0; 2]; units];
    let mut positive = [vec![0.0; replicates.count], vec![0.0; replicates.count]];
    let mut waiting: Vec<usize> = (0..replicates.count).filter(|&r| rows[r] < sample.len()).collect();
    waiting.sort_by_key(|&r| rows[r]);
    for row in (0..sample.len()).rev() {
        let (unit, class) = (sample.unit[row], usize::from(class[row]));
        all.add(class, unit, sample.weight[row]);
        beyond[unit as usize][class] += sample.weight[row];
        while let Some(r) = waiting.pop_if(|r| rows[*r] == row) {
            for (unit, sums) in beyond.iter().enumerate() {
                let factor = replicates.of_unit(unit as u32)[r];
                positive[0][r] += factor * sums[0];
                positive[1][r] += factor * sums[1];
            }
        }
    }
    let totals = all.replicate_totals(replicates);
    let (with, without) = (totals[1].clone(), totals[0].clone());
    let row = |&row: &usize| if row < sample.len() { row as u32 } else { u32::MAX };
    let [positive_without, positive_with] = positive;
    let rule = RuleScan { row: rows.iter().map(row).collect(), positive_with, positive_without };
    Ok(Scan { auc: vec![f64::NAN; replicates.count], with, without, rules: vec![rule] })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::scan::scan;
    use crate::stats::{Design, LonelyPsu, Rule, roc};

    /// Sums of a few weights in another order.
    const ROUNDING: f64 = 1e-12;

    fn mini() -> (Sample, [bool; 8], Replicates) {
        let value = [1.2, 2.5, 2.5, 3.1, 4.8, 6.0, 7.7, 9.9];
        let weight = [3.0, 1.0, 2.0, 4.0, 2.0, 5.0, 1.0, 2.0];
        let sample = Sample::from_people(&value, &weight, &[0, 0, 1, 1, 2, 2, 3, 3]).expect("usable rows");
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let replicates = Replicates::bootstrap(&design, &[1, 2], 100, 3).expect("valid");
        (sample, [false, false, true, false, true, true, false, true], replicates)
    }

    #[test]
    fn the_cutoffs_of_a_rule_give_its_scan() {
        let (sample, class, replicates) = mini();
        let want = scan(&sample, &class, &[Rule::Youden], &replicates);
        let value = |&row: &u32| sample.value.get(row as usize).copied().unwrap_or(f64::NAN);
        let cutoffs: Vec<f64> = want.rules[0].row.iter().map(value).collect();
        let got = scan_at(&sample, &class, &cutoffs, &replicates).expect("both classes");
        let close = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < ROUNDING);
        assert_eq!(got.rules[0].row, want.rules[0].row);
        assert!(close(&got.with, &want.with) && close(&got.without, &want.without));
        let chosen: Vec<usize> = (0..100).filter(|&r| got.rules[0].row[r] != u32::MAX).collect();
        assert!(chosen.len() > 90);
        let of = |all: &[f64]| -> Vec<f64> { chosen.iter().map(|&r| all[r]).collect() };
        assert!(close(&of(&got.rules[0].positive_with), &of(&want.rules[0].positive_with)));
        assert!(close(&of(&got.rules[0].positive_without), &of(&want.rules[0].positive_without)));
        assert_eq!(scan_at(&sample, &class, &[1.0], &replicates), Err(StatError::Length(100, 1)));
    }

    #[test]
    fn a_cutoff_between_values_counts_from_the_next() {
        let (sample, class, replicates) = mini();
        let points = roc::curve(&sample, &class).expect("both classes");
        let want = points.iter().find(|p| p.cutoff == 4.8).map(|p| p.sensitivity + p.specificity - 1.0);
        assert_eq!(youden_at(&sample, &class, 4.8).ok(), want);
        assert_eq!(youden_at(&sample, &class, 4.0).ok(), want);
        // 9 of 11 with the outcome and 1 of 9 without it.
        assert!((youden_at(&sample, &class, 4.8).expect("both") - (9.0 / 11.0 - 1.0 / 9.0)).abs() < ROUNDING);
        let got = scan_at(&sample, &class, &[1e9; 100], &replicates).expect("both classes");
        assert!(got.rules[0].row.iter().all(|&row| row == u32::MAX), "beyond every value: no cutoff");
        assert!(scan_at(&sample, &[true; 8], &[1.0; 100], &replicates).is_err());
    }
}
