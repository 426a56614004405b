//! All replicates at once: cutoffs by every rule, areas and class totals from sorted rows.
//!
//! Rows are sorted once. A block of replicates runs along them from most to least resistant, one number
//! per replicate and quantity, in loops without branches that the compiler turns into vector code. The sums
//! run in the order of [`super::roc::curve`], so that both agree to the last bit.
//!
//! The first pass sums and leaves marks on the way; the second goes only through stretches between two marks
//! that can hold the best point of a rule in some replicate.
//!
//! Everything inside `widest` is inlined into it, closures too, and no loop hides in an adapter of an iterator.

#![expect(clippy::inline_always, reason = "what is not inlined into `widest` does not use its vectors")]

mod block;
mod choice;
mod marks;
mod walk;

use block::{BLOCK, Block, blocks};
use choice::Search;
use marks::{Mark, Marks};
use walk::{Beyond, walk};

use super::rule::SLACK;
use super::vector::widest;
use super::{Replicates, Rule, Sample};

/// What one rule chose in each replicate.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleScan {
    /// First row of the chosen value; `u32::MAX` where no point qualifies.
    pub row: Vec<u32>,
    /// Weight of the people with the outcome at or beyond it.
    pub positive_with: Vec<f64>,
    /// Weight of the people without the outcome at or beyond it.
    pub positive_without: Vec<f64>,
}

/// Results per replicate.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// `NaN` where a class vanished.
    pub auc: Vec<f64>,
    /// Weight of the people with the outcome.
    pub with: Vec<f64>,
    /// Weight of the people without the outcome.
    pub without: Vec<f64>,
    /// One per rule asked for.
    pub rules: Vec<RuleScan>,
}

/// Area and cutoffs by each rule in every replicate.
///
/// # Formula
///
/// In replicate `r` a row's weight is `weight · factor(unit, r)`; on these weights the results are those of
/// [`super::roc::auc`], [`super::roc::curve`] and [`super::rule::choose`], to the last bit.
///
/// # Missing data and ties
///
/// Candidates are the values with positive weight in the replicate, except the one that calls everybody
/// positive. Among scores within 1e-12 the least resistant value, which has the highest sensitivity, wins.
///
/// # Panics
///
/// If `class` is shorter than the sample or a unit has no factors.
#[must_use]
pub fn scan(sample: &Sample, class: &[bool], rules: &[Rule], replicates: &Replicates) -> Scan {
    let mut result = Scan {
        auc: Vec::with_capacity(replicates.count),
        with: Vec::with_capacity(replicates.count),
        without: Vec::with_capacity(replicates.count),
        rules: rules
            .iter()
            .map(|_| RuleScan { row: vec![], positive_with: vec![], positive_without: vec![] })
            .collect(),
    };
    let mut room = Vec::new();
    for block in blocks(replicates) {
        room = widest(
            #[inline(always)]
            || scan_block((sample, class), rules, (&block, std::mem::take(&mut room)), &mut result),
        );
    }
    result
}

/// Adds the results of a block of replicates, and gives back the room for marks.
#[inline(always)]
fn scan_block(
    (sample, class): (&Sample, &[bool]),
    rules: &[Rule],
    (block, room): (&Block<'_>, Vec<Mark>),
    result: &mut Scan,
) -> Vec<Mark> {
    let marks = Marks::of(sample, class, block, room);
    let totals = &marks.totals;
    result.auc.extend((0..block.width).map(|r| totals.pairs[r] / (totals.with[r] * totals.without[r])));
    result.with.extend(&totals.with[..block.width]);
    result.without.extend(&totals.without[..block.width]);
    // Areas alone need no second pass.
    if !rules.is_empty() {
        let best = Search::new(rules, &marks).run(sample, class, block);
        for (rule, best) in result.rules.iter_mut().zip(&best) {
            best.leave(rule, block.width);
        }
    }
    marks.points
}

/// Replicate weights of the people with and without the outcome at or beyond a fixed cutoff, the value of
/// row `first_row` (the first row that has it; the number of rows for a cutoff that nobody reaches).
#[must_use]
pub fn beyond(
    sample: &Sample,
    class: &[bool],
    first_row: usize,
    replicates: &Replicates,
) -> (Vec<f64>, Vec<f64>) {
    let (mut with, mut without) = (Vec::new(), Vec::new());
    for block in blocks(replicates) {
        let mut beyond = Beyond::nobody();
        widest(
            #[inline(always)]
            || walk(sample, class, (&block, first_row..sample.len()), &mut beyond, |_, _| {}),
        );
        with.extend(&beyond.with[..block.width]);
        without.extend(&beyond.without[..block.width]);
    }
    (with, without)
}

/// Sensitivity of each replicate at given false positive shares, for bands around a ROC curve.
///
/// # Formula
///
/// The curve is a step function: at share `g` the largest sensitivity among its points, the empty one
/// included, with `1 − specificity ≤ g + 1e-12`.
///
/// # Missing data and ties
///
/// One vector per entry of `false_positive_shares`, which must ascend; `NaN` where a class vanished.
#[must_use]
pub fn sensitivity_at(
    sample: &Sample,
    class: &[bool],
    replicates: &Replicates,
    false_positive_shares: &[f64],
) -> Vec<Vec<f64>> {
    debug_assert!(false_positive_shares.is_sorted(), "the grid must ascend");
    let grid = false_positive_shares;
    let mut result = vec![Vec::with_capacity(replicates.count); grid.len()];
    for block in blocks(replicates) {
        let totals = Marks::of(sample, class, &block, Vec::new()).totals;
        // The weight with the outcome beyond the last point that each grid share allows.
        let mut reached = vec![[0.0; BLOCK]; grid.len()];
        let mut current = [0.0; BLOCK];
        let mut passed = [0; BLOCK];
        walk(sample, class, (&block, 0..sample.len()), &mut Beyond::nobody(), |_, beyond| {
            for lane in 0..block.width {
                let share = beyond.without[lane] / totals.without[lane];
                while passed[lane] < grid.len() && share > grid[passed[lane]] + SLACK {
                    reached[passed[lane]][lane] = current[lane];
                    passed[lane] += 1;
                }
                current[lane] = beyond.with[lane];
            }
        });
        for (position, (out, reached)) in result.iter_mut().zip(&reached).enumerate() {
            out.extend((0..block.width).map(|lane| {
                let weight = if position < passed[lane] { reached[lane] } else { current[lane] };
                if totals.without[lane] > 0.0 { weight / totals.with[lane] } else { f64::NAN }
            }));
        }
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu, roc};

    fn mini() -> (Sample, [bool; 8], Replicates) {
        let value = [1.2, 2.5, 2.5, 3.1, 4.8, 6.0, 7.7, 9.9];
        let weight = [3.0, 1.0, 2.0, 4.0, 2.0, 5.0, 1.0, 2.0];
        let sample = Sample::from_people(&value, &weight, &[0, 0, 1, 1, 2, 2, 3, 3]).expect("usable rows");
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let replicates = Replicates::bootstrap(&design, &[1, 2], 100, 3).expect("valid");
        (sample, [false, false, true, false, true, true, false, true], replicates)
    }

    #[test]
    fn unit_factors_give_the_full_sample() {
        let (sample, class, mut replicates) = mini();
        replicates.factors.fill(1.0);
        let got = scan(&sample, &class, &[Rule::Youden], &replicates);
        assert_eq!(got.auc.len(), 100, "two blocks, the second not full");
        let points = roc::curve(&sample, &class).expect("both classes");
        let chosen = points[crate::stats::rule::choose(&points, Rule::Youden, 0.55).expect("a point")];
        assert!(got.auc.iter().all(|&a| a == roc::auc(&sample, &class).expect("both classes")));
        assert!(got.rules[0].row.iter().all(|&row| row as usize == chosen.row));
        let (with, without) = beyond(&sample, &class, chosen.row, &replicates);
        assert_eq!((&with, &without), (&got.rules[0].positive_with, &got.rules[0].positive_without));
    }

    #[test]
    fn a_replicate_without_a_class_fails() {
        let (sample, class, mut replicates) = mini();
        let with_outcome = [1, 2, 3];
        for unit in with_outcome {
            replicates.factors[unit * 100 + 70] = 0.0;
        }
        replicates.factors[70] = 1.0;
        let got = scan(&sample, &class, &[Rule::Youden, Rule::SpecificityAtLeast(0.5)], &replicates);
        assert!(got.auc[70].is_nan() && got.with[70] == 0.0 && got.without[70] == 4.0);
        assert!(got.rules.iter().all(|rule| rule.row[70] == u32::MAX));
        assert!(sensitivity_at(&sample, &class, &replicates, &[0.5])[0][70].is_nan());
    }

    #[test]
    fn sensitivities_follow_the_steps() {
        let (sample, class, mut replicates) = mini();
        replicates.factors.fill(1.0);
        // From the top: 9.9 with 2/11 at 0; 7.7 is a false positive of 1/9; 6.0 and 4.8 bring 9/11;
        // 3.1 takes the false positives to 5/9; 2.5 brings 11/11 at 6/9.
        let got = sensitivity_at(&sample, &class, &replicates, &[0.0, 1.0 / 9.0, 0.5, 6.0 / 9.0, 1.0]);
        for (got, want) in got.iter().zip([2.0, 9.0, 9.0, 11.0, 11.0]) {
            assert!((got[99] - want / 11.0).abs() < 1e-15, "{} {want}", got[99]);
        }
    }
}
