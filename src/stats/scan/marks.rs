//! The first pass: totals of the classes, concordant pairs, and marks on the way.

use super::block::{BLOCK, Block, Lanes, lanes};
use super::walk::{Beyond, begins_value, walk};
use crate::stats::Sample;

/// Marks along the rows at most, and rows between two at least: more marks narrow the stretches that must be gone
/// through again, fewer stay in the cache.
const MOST: usize = 128;
const FEWEST_ROWS: usize = 8;

/// Class totals and the concordant pairs behind the AUC.
pub struct Totals {
    pub with: Lanes,
    pub without: Lanes,
    pub pairs: Lanes,
    pub prevalence: Lanes,
}

/// A point of the ROC curve of each replicate.
pub struct Mark {
    /// The first row beyond: the number of rows at the empty point.
    pub row: usize,
    pub with: Lanes,
    pub without: Lanes,
    pub sensitivity: Lanes,
    pub specificity: Lanes,
}

/// The points between which the rows are gone through, from nobody to everybody.
pub struct Marks {
    pub totals: Totals,
    pub points: Vec<Mark>,
}

impl Marks {
    #[inline(always)]
    pub fn of(sample: &Sample, class: &[bool], block: &Block<'_>, mut points: Vec<Mark>) -> Self {
        let zero = [0.0; BLOCK];
        let mut totals = Totals { with: zero, without: zero, pairs: zero, prevalence: zero };
        points.clear();
        points.push(Mark::at(sample.len(), &totals));
        let step = (sample.len() / MOST).max(FEWEST_ROWS);
        let mut last = sample.len();
        for row in (0..sample.len()).rev() {
            if !begins_value(sample, row) {
                continue;
            }
            totals.count(sample, class, block, row..last);
            last = row;
            if points[points.len() - 1].row - row >= step || row == 0 {
                points.push(Mark::at(row, &totals));
            }
        }
        totals.prevalence = lanes(|r| totals.with[r] / (totals.with[r] + totals.without[r]));
        for mark in &mut points {
            mark.sensitivity = lanes(|r| mark.with[r] / totals.with[r]);
            mark.specificity = lanes(|r| 1.0 - mark.without[r] / totals.without[r]);
        }
        Self { totals, points }
    }
}

impl Mark {
    /// Having met these people, of whom the totals are not yet known.
    #[inline(always)]
    fn at(row: usize, met: &Totals) -> Self {
        let unknown = [f64::NAN; BLOCK];
        Self { row, with: met.with, without: met.without, sensitivity: unknown, specificity: unknown }
    }
}

impl Totals {
    /// Counts the people at one value, those of higher values being counted.
    #[inline(always)]
    fn count(&mut self, sample: &Sample, class: &[bool], block: &Block<'_>, rows: std::ops::Range<usize>) {
        if rows.len() == 1 {
            let row = rows.start;
            return self.count_one(class[row], sample.weight[row], block.factors(sample.unit[row]));
        }
        let mut beyond = Beyond::after(self.with, self.without);
        walk(
            sample,
            class,
            (block, rows),
            &mut beyond,
            #[inline(always)]
            |_, beyond| {
                if beyond.some_without {
                    for lane in 0..BLOCK {
                        let ahead = self.with[lane] + 0.5 * beyond.at_with[lane];
                        self.pairs[lane] += beyond.at_without[lane] * ahead;
                    }
                }
            },
        );
        (self.with, self.without) = (beyond.with, beyond.without);
    }

    /// The only person at a value: the same sums without ties.
    #[inline(always)]
    fn count_one(&mut self, class: bool, weight: f64, factors: &Lanes) {
        let at = lanes(|r| weight * factors[r]);
        if class {
            for (with, at) in self.with.iter_mut().zip(&at) {
                *with += at;
            }
            return;
        }
        for (r, at) in at.iter().enumerate() {
            self.without[r] += at;
            self.pairs[r] += at * self.with[r];
        }
    }
}
