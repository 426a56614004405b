//! Running along sorted values from most to least resistant.

use std::ops::Range;

use super::block::{BLOCK, Block, Lanes, lanes};
use crate::stats::Sample;

/// Replicate weights met so far, coming from the most resistant value.
#[derive(Debug, Clone)]
pub struct Beyond {
    pub with: Lanes,
    pub without: Lanes,
    /// Of these, the weights at the current value.
    pub at_with: Lanes,
    pub at_without: Lanes,
    /// Whether the current value has people of the class at all: loops over the other class are spared.
    pub some_with: bool,
    pub some_without: bool,
}

impl Beyond {
    #[inline(always)]
    pub fn nobody() -> Self {
        Self::after([0.0; BLOCK], [0.0; BLOCK])
    }

    /// Between two values, with these weights met.
    #[inline(always)]
    pub fn after(with: Lanes, without: Lanes) -> Self {
        let zero = [0.0; BLOCK];
        Self { with, without, at_with: zero, at_without: zero, some_with: false, some_without: false }
    }

    /// Counts a person at the current value.
    #[inline(always)]
    fn meet(&mut self, class: bool, weight: f64, factors: &Lanes) {
        let (at, some) = if class {
            (&mut self.at_with, &mut self.some_with)
        } else {
            (&mut self.at_without, &mut self.some_without)
        };
        *some = true;
        // All of them before the first sum, which the compiler would otherwise take for one of the factors.
        let shares = lanes(|r| weight * factors[r]);
        for r in 0..BLOCK {
            at[r] += shares[r];
        }
    }

    /// Counts the people at the current value.
    #[inline(always)]
    fn reach(&mut self) {
        if self.some_with {
            self.with.iter_mut().zip(&self.at_with).for_each(|(sum, at)| *sum += at);
        }
        if self.some_without {
            self.without.iter_mut().zip(&self.at_without).for_each(|(sum, at)| *sum += at);
        }
    }

    /// Makes ready for the next value.
    #[inline(always)]
    fn leave(&mut self) {
        if std::mem::take(&mut self.some_with) {
            self.at_with = [0.0; BLOCK];
        }
        if std::mem::take(&mut self.some_without) {
            self.at_without = [0.0; BLOCK];
        }
    }
}

/// Visits each distinct value of the rows from most to least resistant, with the first row that has it. The
/// range must begin and end between two values.
#[inline(always)]
pub fn walk(
    sample: &Sample,
    class: &[bool],
    (block, rows): (&Block<'_>, Range<usize>),
    beyond: &mut Beyond,
    mut visit: impl FnMut(usize, &Beyond),
) {
    for row in rows.rev() {
        beyond.meet(class[row], sample.weight[row], block.factors(sample.unit[row]));
        if begins_value(sample, row) {
            beyond.reach();
            visit(row, beyond);
            beyond.leave();
        }
    }
}

/// Whether a row is the first that has its value.
#[inline(always)]
pub fn begins_value(sample: &Sample, row: usize) -> bool {
    row == 0 || sample.value[row - 1] != sample.value[row]
}
