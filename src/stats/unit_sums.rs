//! Totals of many quantities in every replicate, from sums per sampling unit.
//!
//! A replicate multiplies all people of a unit by one factor, so a total needs the unit's sum once and not
//! its people again: a thousand replicates of a few hundred quantities are one small matrix product.

#![expect(clippy::inline_always, reason = "what is not inlined into `widest` does not use its vectors")]

use std::ops::Range;

use super::Replicates;
use super::vector::widest;

/// Replicates whose totals are added up together.
const BLOCK: usize = 16;
/// Neighbouring quantities whose totals are added up together.
pub const WINDOW: usize = 16;

/// Sums of several quantities within sampling units.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitSums {
    quantities: usize,
    /// `sums[unit * quantities + quantity]`, and a window of zeros after the last unit.
    sums: Vec<f64>,
}

impl UnitSums {
    #[must_use]
    pub fn new(quantities: usize, units: usize) -> Self {
        Self { quantities, sums: vec![0.0; quantities * units + WINDOW] }
    }

    /// Adds a row's share of a quantity to its unit.
    ///
    /// # Panics
    ///
    /// If the quantity or the unit is out of range.
    #[inline]
    pub fn add(&mut self, quantity: usize, unit: u32, amount: f64) {
        debug_assert!(quantity < self.quantities, "no such quantity");
        self.sums[unit as usize * self.quantities + quantity] += amount;
    }

    /// `totals[quantity][replicate] = Σ_unit sum(quantity, unit) · factor(unit, replicate)`, over the units with a sum.
    #[must_use]
    pub fn replicate_totals(&self, replicates: &Replicates) -> Vec<Vec<f64>> {
        self.totals_of(&(0..self.quantities), replicates)
    }

    /// [`UnitSums::replicate_totals`] of some of the quantities.
    ///
    /// A block of replicates is finished before the next, so that its factors stay in the cache.
    #[must_use]
    pub fn totals_of(
        &self,
        quantities: &(impl Iterator<Item = usize> + Clone),
        replicates: &Replicates,
    ) -> Vec<Vec<f64>> {
        let of_quantities: Vec<Vec<f64>> =
            quantities.clone().map(|quantity| self.of_quantity(quantity)).collect();
        let mut totals: Vec<Vec<f64>> =
            of_quantities.iter().map(|_| Vec::with_capacity(replicates.count)).collect();
        let mut factors = vec![[0.0; BLOCK]; self.units()];
        for start in (0..replicates.count).step_by(BLOCK) {
            let width = BLOCK.min(replicates.count - start);
            for (unit, factors) in factors.iter_mut().enumerate() {
                factors[..width].copy_from_slice(&replicates.of_unit(unit as u32)[start..start + width]);
            }
            widest(
                #[inline(always)]
                || {
                    for (total, sums) in totals.iter_mut().zip(&of_quantities) {
                        total.extend(&total_of(sums, &factors)[..width]);
                    }
                },
            );
        }
        totals
    }

    /// Totals of neighbouring quantities in one replicate, given its factor on each unit. Beyond the last quantity
    /// they mean nothing.
    #[must_use]
    pub fn window(&self, first: usize, factors: &[f64]) -> [f64; WINDOW] {
        widest(
            #[inline(always)]
            || window_of(&self.sums[first..], self.quantities, factors),
        )
    }

    /// Some of a unit's sums.
    pub fn of_unit(&mut self, unit: u32, quantities: Range<usize>) -> &mut [f64] {
        &mut self.sums[unit as usize * self.quantities..][quantities]
    }

    #[must_use]
    pub fn units(&self) -> usize {
        (self.sums.len() - WINDOW) / self.quantities
    }

    fn of_quantity(&self, quantity: usize) -> Vec<f64> {
        (0..self.units()).map(|unit| self.sums[unit * self.quantities + quantity]).collect()
    }
}

/// The total of a quantity in a block of replicates, from its sums and the factors of the units.
#[inline(always)]
fn total_of(sums: &[f64], factors: &[[f64; BLOCK]]) -> [f64; BLOCK] {
    let mut totals = [0.0; BLOCK];
    for (&sum, factors) in sums.iter().zip(factors) {
        // A unit without a sum costs nothing.
        if sum == 0.0 {
            continue;
        }
        for (total, factor) in totals.iter_mut().zip(factors) {
            *total += sum * factor;
        }
    }
    totals
}

/// Totals of the first quantities of every unit, `stride` apart, in one replicate.
#[inline(always)]
fn window_of(sums: &[f64], stride: usize, factors: &[f64]) -> [f64; WINDOW] {
    let mut totals = [0.0; WINDOW];
    for (unit, &factor) in factors.iter().enumerate() {
        let sums = &sums[unit * stride..][..WINDOW];
        for (total, sum) in totals.iter_mut().zip(sums) {
            *total += sum * factor;
        }
    }
    totals
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{Design, LonelyPsu};

    #[test]
    fn totals_are_factors_times_sums() {
        let design = Design::new(vec![0, 0], None, LonelyPsu::Fail).expect("a pair");
        let replicates = Replicates::jackknife(&design).expect("a pair");
        let mut sums = UnitSums::new(2, 2);
        sums.add(0, 0, 1.0);
        sums.add(0, 1, 10.0);
        sums.add(0, 1, 5.0);
        sums.add(1, 0, 7.0);
        // Leaving out one of two units doubles the other.
        assert_eq!(sums.replicate_totals(&replicates), [[30.0, 2.0], [0.0, 14.0]]);
        assert_eq!(sums.totals_of(&[1].into_iter(), &replicates), [[0.0, 14.0]]);
        let second: Vec<f64> = (0..2).map(|unit| replicates.of_unit(unit)[1]).collect();
        assert_eq!(sums.window(0, &second)[..2], [2.0, 14.0]);
        assert_eq!(sums.window(1, &second)[0], 14.0);
    }

    #[test]
    fn blocks_that_are_not_full_are_totals_too() {
        let units = 3;
        let design = Design::new(vec![0; units], None, LonelyPsu::Fail).expect("three units");
        let replicates = Replicates::bootstrap(&design, &[1], 2 * BLOCK + 3, 5).expect("valid");
        let mut sums = UnitSums::new(WINDOW + 4, units);
        for unit in 0..units as u32 {
            for (quantity, sum) in sums.of_unit(unit, 0..WINDOW + 4).iter_mut().enumerate() {
                *sum = f64::from(unit + 1) * 100.0 + quantity as f64;
            }
        }
        let totals = sums.replicate_totals(&replicates);
        for replicate in 0..replicates.count {
            let factors: Vec<f64> =
                (0..units as u32).map(|unit| replicates.of_unit(unit)[replicate]).collect();
            let plain = |quantity: usize| -> f64 {
                (0..units).map(|unit| ((unit + 1) as f64 * 100.0 + quantity as f64) * factors[unit]).sum()
            };
            let of_replicate: Vec<f64> = totals.iter().map(|total| total[replicate]).collect();
            assert_eq!(of_replicate, (0..WINDOW + 4).map(plain).collect::<Vec<_>>());
            assert!((0..WINDOW).all(|k| sums.window(4, &factors)[k] == plain(4 + k)));
        }
    }
}
