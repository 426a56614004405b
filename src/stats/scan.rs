//! All replicates at once: cutoffs by every rule, areas and class totals from one sorted pass.
//!
//! Rows are sorted once. A block of replicates runs along them from most to least resistant, one number
//! per replicate and quantity, in loops without branches that the compiler turns into vector code. The sums
//! run in the order of [`super::roc::curve`], so that both agree to the last bit.

use super::rule::SLACK;
use super::{Replicates, Rule, Sample};

/// Replicates carried along together: enough to fill the vector units, few enough to stay in the cache.
const BLOCK: usize = 64;

/// One number per replicate of a block.
type Lanes = [f64; BLOCK];

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
    for block in blocks(replicates) {
        let totals = Totals::of(sample, class, &block);
        let mut best: Vec<Best> = rules.iter().map(|_| Best::none()).collect();
        // Areas alone need no second pass.
        if !rules.is_empty() {
            let mut candidates = Candidates::before_any(&totals);
            walk(sample, class, &block, |row, beyond| {
                candidates.go_to(beyond);
                for (rule, best) in rules.iter().zip(&mut best) {
                    if candidates.may_win(*rule, beyond) {
                        best.offer(row, &candidates.scores(*rule), beyond);
                    }
                }
            });
        }
        result.auc.extend((0..block.width).map(|r| totals.pairs[r] / (totals.with[r] * totals.without[r])));
        result.with.extend(&totals.with[..block.width]);
        result.without.extend(&totals.without[..block.width]);
        for (rule, best) in result.rules.iter_mut().zip(&best) {
            rule.row.extend(
                best.row[..block.width].iter().map(|&row| if row < 0.0 { u32::MAX } else { row as u32 }),
            );
            rule.positive_with.extend(&best.with[..block.width]);
            rule.positive_without.extend(&best.without[..block.width]);
        }
    }
    result
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
        let (mut block_with, mut block_without) = ([0.0; BLOCK], [0.0; BLOCK]);
        walk(sample, class, &block, |row, beyond| {
            if row >= first_row {
                block_with = beyond.with;
                block_without = beyond.without;
            }
        });
        with.extend(&block_with[..block.width]);
        without.extend(&block_without[..block.width]);
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
        let totals = Totals::of(sample, class, &block);
        // The weight with the outcome beyond the last point that each grid share allows.
        let mut reached = vec![[0.0; BLOCK]; grid.len()];
        let mut current = [0.0; BLOCK];
        let mut passed = [0; BLOCK];
        walk(sample, class, &block, |_, beyond| {
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

/// A range of replicates that run together.
struct Block<'a> {
    replicates: &'a Replicates,
    start: usize,
    width: usize,
}

impl Block<'_> {
    fn factors(&self, unit: u32) -> &[f64] {
        &self.replicates.of_unit(unit)[self.start..self.start + self.width]
    }
}

fn blocks(replicates: &Replicates) -> impl Iterator<Item = Block<'_>> {
    (0..replicates.count).step_by(BLOCK).map(|start| Block {
        replicates,
        start,
        width: BLOCK.min(replicates.count - start),
    })
}

fn lanes(of: impl Fn(usize) -> f64) -> Lanes {
    std::array::from_fn(of)
}

/// Replicate weights met so far, coming from the most resistant value.
struct Beyond {
    with: Lanes,
    without: Lanes,
    /// Of these, the weights at the current value.
    at_with: Lanes,
    at_without: Lanes,
    /// Whether the current value has people of the class at all: loops over the other class are spared.
    some_with: bool,
    some_without: bool,
}

impl Beyond {
    /// Counts the people at the current value.
    fn reach(&mut self) {
        if self.some_with {
            self.with.iter_mut().zip(&self.at_with).for_each(|(sum, at)| *sum += at);
        }
        if self.some_without {
            self.without.iter_mut().zip(&self.at_without).for_each(|(sum, at)| *sum += at);
        }
    }

    /// Makes ready for the next value.
    fn leave(&mut self) {
        if std::mem::take(&mut self.some_with) {
            self.at_with = [0.0; BLOCK];
        }
        if std::mem::take(&mut self.some_without) {
            self.at_without = [0.0; BLOCK];
        }
    }
}

/// Visits each distinct value from most to least resistant, with the first row that has it.
fn walk(sample: &Sample, class: &[bool], block: &Block<'_>, mut visit: impl FnMut(usize, &Beyond)) {
    let zero = [0.0; BLOCK];
    let mut beyond = Beyond {
        with: zero,
        without: zero,
        at_with: zero,
        at_without: zero,
        some_with: false,
        some_without: false,
    };
    for row in (0..sample.len()).rev() {
        let (at, some) = if class[row] {
            (&mut beyond.at_with, &mut beyond.some_with)
        } else {
            (&mut beyond.at_without, &mut beyond.some_without)
        };
        *some = true;
        let weight = sample.weight[row];
        for (sum, factor) in at.iter_mut().zip(block.factors(sample.unit[row])) {
            *sum += weight * factor;
        }
        if row > 0 && sample.value[row - 1] == sample.value[row] {
            continue;
        }
        beyond.reach();
        visit(row, &beyond);
        beyond.leave();
    }
}

/// Class totals and the concordant pairs behind the AUC.
struct Totals {
    with: Lanes,
    without: Lanes,
    pairs: Lanes,
    prevalence: Lanes,
}

impl Totals {
    fn of(sample: &Sample, class: &[bool], block: &Block<'_>) -> Self {
        let zero = [0.0; BLOCK];
        let mut totals = Self { with: zero, without: zero, pairs: zero, prevalence: zero };
        walk(sample, class, block, |_, beyond| {
            if beyond.some_without {
                for lane in 0..BLOCK {
                    let ahead = totals.with[lane] + 0.5 * beyond.at_with[lane];
                    totals.pairs[lane] += beyond.at_without[lane] * ahead;
                }
                totals.without = beyond.without;
            }
            if beyond.some_with {
                totals.with = beyond.with;
            }
        });
        totals.prevalence = lanes(|r| totals.with[r] / (totals.with[r] + totals.without[r]));
        totals
    }
}

/// The ROC point of the current value in each replicate.
struct Candidates<'a> {
    totals: &'a Totals,
    sensitivity: Lanes,
    specificity: Lanes,
    /// 0 where the point may be chosen, −∞ where nobody has the value or everybody would be positive.
    penalty: Lanes,
    /// Whether somebody with the outcome has been met in every replicate that has any.
    sensitive: bool,
}

impl<'a> Candidates<'a> {
    fn before_any(totals: &'a Totals) -> Self {
        // 0 and 1, but `NaN` where the class vanished.
        let sensitivity = lanes(|r| 0.0 / totals.with[r]);
        let specificity = lanes(|r| 1.0 - 0.0 / totals.without[r]);
        Self { totals, sensitivity, specificity, penalty: [f64::NEG_INFINITY; BLOCK], sensitive: false }
    }

    fn go_to(&mut self, beyond: &Beyond) {
        let totals = self.totals;
        if beyond.some_with {
            self.sensitivity = lanes(|r| beyond.with[r] / totals.with[r]);
            let met = |(weight, total): (&f64, &f64)| *weight > 0.0 || *total == 0.0;
            self.sensitive = self.sensitive || beyond.with.iter().zip(&totals.with).all(met);
        }
        if beyond.some_without {
            self.specificity = lanes(|r| 1.0 - beyond.without[r] / totals.without[r]);
        }
        self.penalty = lanes(|r| {
            let somebody = beyond.at_with[r] + beyond.at_without[r] > 0.0;
            let everybody = (beyond.with[r] == totals.with[r]) && (beyond.without[r] == totals.without[r]);
            if somebody && !everybody { 0.0 } else { f64::NEG_INFINITY }
        });
    }

    /// Whether the current value can be chosen by a rule in any replicate. A value that nobody with the
    /// outcome has keeps the sensitivity of an earlier candidate and lowers the specificity.
    fn may_win(&self, rule: Rule, beyond: &Beyond) -> bool {
        beyond.some_with || !self.sensitive || rule.may_prefer_lower_specificity()
    }

    /// Scores of one rule. The rule is matched here, once for all lanes, and not in the loop.
    fn scores(&self, rule: Rule) -> Lanes {
        match rule {
            Rule::Youden => self.scored(|se, sp, p| Rule::Youden.score(se, sp, p)),
            Rule::ClosestToCorner => self.scored(|se, sp, p| Rule::ClosestToCorner.score(se, sp, p)),
            Rule::LargestProduct => self.scored(|se, sp, p| Rule::LargestProduct.score(se, sp, p)),
            Rule::SmallestDifference => self.scored(|se, sp, p| Rule::SmallestDifference.score(se, sp, p)),
            Rule::SensitivityAtLeast(s) => {
                self.scored(|se, sp, p| Rule::SensitivityAtLeast(s).score(se, sp, p))
            }
            Rule::SpecificityAtLeast(s) => {
                self.scored(|se, sp, p| Rule::SpecificityAtLeast(s).score(se, sp, p))
            }
            Rule::LowestCost { .. } | Rule::NetBenefit { .. } => {
                self.scored(|se, sp, p| rule.score(se, sp, p))
            }
        }
    }

    fn scored(&self, score: impl Fn(f64, f64, f64) -> f64) -> Lanes {
        let mut scores = self.penalty;
        for (lane, out) in scores.iter_mut().enumerate() {
            *out += score(self.sensitivity[lane], self.specificity[lane], self.totals.prevalence[lane]);
        }
        scores
    }
}

/// The best point so far in each replicate.
struct Best {
    score: Lanes,
    /// Row as a number, −1 for none: lanes of one width keep the loop vectorised.
    row: Lanes,
    with: Lanes,
    without: Lanes,
}

impl Best {
    /// No point yet. The score is the smallest finite number, so that −∞ never ties with it.
    fn none() -> Self {
        Self { score: [f64::MIN; BLOCK], row: [-1.0; BLOCK], with: [0.0; BLOCK], without: [0.0; BLOCK] }
    }

    /// Takes the point where its score ties with or beats the best. A class that vanished makes scores
    /// `NaN`, which never win.
    fn offer(&mut self, row: usize, scores: &Lanes, beyond: &Beyond) {
        // Most values beat the best in no replicate: each without the outcome lowers most scores.
        let wins = |(score, best): (&f64, &f64)| *score >= *best - SLACK;
        if !scores.iter().zip(&self.score).fold(false, |any, pair| any | wins(pair)) {
            return;
        }
        let row = row as f64;
        for (lane, &score) in scores.iter().enumerate() {
            let best = self.score[lane];
            let wins = score >= best - SLACK;
            self.score[lane] = if score > best { score } else { best };
            self.row[lane] = if wins { row } else { self.row[lane] };
            self.with[lane] = if wins { beyond.with[lane] } else { self.with[lane] };
            self.without[lane] = if wins { beyond.without[lane] } else { self.without[lane] };
        }
    }
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
