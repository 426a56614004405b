//! The second pass: the best point by each rule, looked for where it can be.

use super::RuleScan;
use super::block::{BLOCK, Block, Lanes, lanes};
use super::marks::{Mark, Marks, Totals};
use super::walk::{Beyond, walk};
use crate::stats::rule::SLACK;
use crate::stats::{Rule, Sample};

/// What every rule is known to reach at one of the marks.
pub struct Search<'a> {
    rules: &'a [Rule],
    marks: &'a Marks,
    /// One per rule: the best score among the marks in each replicate.
    reached: Vec<Lanes>,
}

impl<'a> Search<'a> {
    #[inline(always)]
    pub fn new(rules: &'a [Rule], marks: &'a Marks) -> Self {
        let mut of_rules = Vec::with_capacity(rules.len());
        for &rule in rules {
            of_rules.push(reached(rule, marks));
        }
        Self { rules, marks, reached: of_rules }
    }

    /// The best point of each rule. A stretch between two marks is passed over where no point of it can reach, in
    /// any replicate, what a mark is known to reach.
    #[inline(always)]
    pub fn run(&self, sample: &Sample, class: &[bool], block: &Block<'_>) -> Vec<Best> {
        let mut best: Vec<Best> = self.rules.iter().map(|_| Best::none()).collect();
        for ends in self.marks.points.windows(2) {
            let (start, end) = (&ends[0], &ends[1]);
            let mut open = Vec::with_capacity(self.rules.len());
            for k in 0..self.rules.len() {
                if self.may_hold(k, start, end) {
                    open.push(k);
                }
            }
            if open.is_empty() {
                continue;
            }
            let mut candidates = Candidates::at(start, &self.marks.totals);
            let mut beyond = Beyond::after(start.with, start.without);
            walk(
                sample,
                class,
                (block, end.row..start.row),
                &mut beyond,
                #[inline(always)]
                |row, beyond| {
                    candidates.go_to(beyond);
                    if !open.iter().any(|&k| candidates.may_win(self.rules[k], beyond)) {
                        return;
                    }
                    candidates.update(beyond);
                    for &k in &open {
                        if candidates.may_win(self.rules[k], beyond) {
                            best[k].offer(row, &candidates.scores(self.rules[k]), beyond);
                        }
                    }
                },
            );
        }
        best
    }

    /// Whether a point of the stretch can be the best of a rule in some replicate.
    #[inline(always)]
    fn may_hold(&self, rule: usize, start: &Mark, end: &Mark) -> bool {
        let most = most_between(self.rules[rule], (start, end), &self.marks.totals);
        let reached = &self.reached[rule];
        let mut any = false;
        for r in 0..BLOCK {
            any |= most[r] >= reached[r] - SLACK;
        }
        any
    }
}

/// The best score of a rule among the marks. A mark has the sensitivity and specificity of the last candidate
/// before it, if there is one.
#[inline(always)]
fn reached(rule: Rule, marks: &Marks) -> Lanes {
    let totals = &marks.totals;
    let mut best = [f64::MIN; BLOCK];
    for mark in &marks.points {
        let scores = scores(rule, (&mark.sensitivity, &mark.specificity), &totals.prevalence);
        for (lane, best) in best.iter_mut().enumerate() {
            let somebody = mark.with[lane] + mark.without[lane] > 0.0;
            let everybody =
                (mark.with[lane] == totals.with[lane]) && (mark.without[lane] == totals.without[lane]);
            let better = somebody && !everybody && scores[lane] > *best;
            *best = if better { scores[lane] } else { *best };
        }
    }
    best
}

/// A score that no point between two marks exceeds.
///
/// Sensitivity rises along the way and specificity falls, and each score but one rises with both: it is at most
/// that of the sensitivity at the end with the specificity at the start. The smallest difference is 0 where the
/// two cross, else that of the nearer end.
#[inline(always)]
fn most_between(rule: Rule, (start, end): (&Mark, &Mark), totals: &Totals) -> Lanes {
    if rule != Rule::SmallestDifference {
        return scores(rule, (&end.sensitivity, &start.specificity), &totals.prevalence);
    }
    lanes(|r| {
        let before = start.specificity[r] - start.sensitivity[r];
        let after = end.sensitivity[r] - end.specificity[r];
        -(before.min(0.0).abs().max(after.min(0.0).abs()))
    })
}

/// Scores of one rule. The rule is matched here, once for all lanes, and not in the loop.
#[inline(always)]
fn scores(rule: Rule, of: (&Lanes, &Lanes), prevalence: &Lanes) -> Lanes {
    let of = (of.0, of.1, prevalence);
    match rule {
        Rule::Youden => scored(of, |se, sp, p| Rule::Youden.score(se, sp, p)),
        Rule::ClosestToCorner => scored(of, |se, sp, p| Rule::ClosestToCorner.score(se, sp, p)),
        Rule::LargestProduct => scored(of, |se, sp, p| Rule::LargestProduct.score(se, sp, p)),
        Rule::SmallestDifference => scored(of, |se, sp, p| Rule::SmallestDifference.score(se, sp, p)),
        Rule::SensitivityAtLeast(s) => scored(of, |se, sp, p| Rule::SensitivityAtLeast(s).score(se, sp, p)),
        Rule::SpecificityAtLeast(s) => scored(of, |se, sp, p| Rule::SpecificityAtLeast(s).score(se, sp, p)),
        Rule::LowestCost { .. } | Rule::NetBenefit { .. } => scored(of, |se, sp, p| rule.score(se, sp, p)),
    }
}

#[inline(always)]
fn scored(
    (sensitivity, specificity, prevalence): (&Lanes, &Lanes, &Lanes),
    score: impl Fn(f64, f64, f64) -> f64,
) -> Lanes {
    lanes(|r| score(sensitivity[r], specificity[r], prevalence[r]))
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
    /// Whether people of the class have been met since the point was computed.
    new_with: bool,
    new_without: bool,
}

impl<'a> Candidates<'a> {
    /// Having met the people beyond a mark.
    #[inline(always)]
    fn at(mark: &Mark, totals: &'a Totals) -> Self {
        let met = |(weight, total): (&f64, &f64)| *weight > 0.0 || *total == 0.0;
        Self {
            totals,
            sensitivity: mark.sensitivity,
            specificity: mark.specificity,
            penalty: [f64::NEG_INFINITY; BLOCK],
            sensitive: mark.with.iter().zip(&totals.with).all(met),
            new_with: false,
            new_without: false,
        }
    }

    /// Notes what the people at the current value change; most values are never scored.
    #[inline(always)]
    fn go_to(&mut self, beyond: &Beyond) {
        self.new_with |= beyond.some_with;
        self.new_without |= beyond.some_without;
        if beyond.some_with && !self.sensitive {
            let met = |(weight, total): (&f64, &f64)| *weight > 0.0 || *total == 0.0;
            self.sensitive = beyond.with.iter().zip(&self.totals.with).all(met);
        }
    }

    /// Computes the point of the current value.
    #[inline(always)]
    fn update(&mut self, beyond: &Beyond) {
        let totals = self.totals;
        if std::mem::take(&mut self.new_with) {
            self.sensitivity = lanes(|r| beyond.with[r] / totals.with[r]);
        }
        if std::mem::take(&mut self.new_without) {
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
    #[inline(always)]
    fn may_win(&self, rule: Rule, beyond: &Beyond) -> bool {
        beyond.some_with || !self.sensitive || rule.may_prefer_lower_specificity()
    }

    #[inline(always)]
    fn scores(&self, rule: Rule) -> Lanes {
        let mut scores = scores(rule, (&self.sensitivity, &self.specificity), &self.totals.prevalence);
        scores.iter_mut().zip(&self.penalty).for_each(|(score, penalty)| *score += penalty);
        scores
    }
}

/// The best point so far in each replicate.
pub struct Best {
    score: Lanes,
    /// Row as a number, −1 for none: lanes of one width keep the loop vectorised.
    row: Lanes,
    with: Lanes,
    without: Lanes,
}

impl Best {
    /// No point yet. The score is the smallest finite number, so that −∞ never ties with it.
    #[inline(always)]
    fn none() -> Self {
        Self { score: [f64::MIN; BLOCK], row: [-1.0; BLOCK], with: [0.0; BLOCK], without: [0.0; BLOCK] }
    }

    /// Adds the choice of these replicates to those of earlier blocks.
    #[inline(always)]
    pub fn leave(&self, to: &mut RuleScan, width: usize) {
        to.row.extend(self.row[..width].iter().map(|&row| if row < 0.0 { u32::MAX } else { row as u32 }));
        to.positive_with.extend(&self.with[..width]);
        to.positive_without.extend(&self.without[..width]);
    }

    /// Takes the point where its score ties with or beats the best. A class that vanished makes scores
    /// `NaN`, which never win.
    #[inline(always)]
    fn offer(&mut self, row: usize, scores: &Lanes, beyond: &Beyond) {
        // Most values beat the best in no replicate: each without the outcome lowers most scores.
        let mut any = false;
        for (score, best) in scores.iter().zip(&self.score) {
            any |= *score >= *best - SLACK;
        }
        if !any {
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
