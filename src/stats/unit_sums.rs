//! Totals of many quantities in every replicate, from sums per sampling unit.
//!
//! A replicate multiplies all people of a unit by one factor, so a total needs the unit's sum once and not
//! its people again: a thousand replicates of a few hundred quantities are one small matrix product.

use super::Replicates;

/// Replicates whose totals are added up together.
const BLOCK: usize = 64;

/// Sums of several quantities within sampling units.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitSums {
    quantities: usize,
    /// `sums[unit * quantities + quantity]`.
    sums: Vec<f64>,
}

impl UnitSums {
    #[must_use]
    pub fn new(quantities: usize, units: usize) -> Self {
        Self { quantities, sums: vec![0.0; quantities * units] }
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
        let mut totals: Vec<Vec<f64>> =
            quantities.clone().map(|_| Vec::with_capacity(replicates.count)).collect();
        for start in (0..replicates.count).step_by(BLOCK) {
            let end = replicates.count.min(start + BLOCK);
            for (total, quantity) in totals.iter_mut().zip(quantities.clone()) {
                let mut block = [0.0; BLOCK];
                for unit in 0..self.units() {
                    let sum = self.sums[unit * self.quantities + quantity];
                    if sum == 0.0 {
                        continue;
                    }
                    let factors = &replicates.of_unit(unit as u32)[start..end];
                    for (total, factor) in block.iter_mut().zip(factors) {
                        *total += sum * factor;
                    }
                }
                total.extend(&block[..end - start]);
            }
        }
        totals
    }

    /// Totals of neighbouring quantities in one replicate, added to `totals`.
    pub fn add_totals(&self, first: usize, replicates: &Replicates, replicate: usize, totals: &mut [f64]) {
        for unit in 0..self.units() {
            let factor = replicates.of_unit(unit as u32)[replicate];
            let sums = &self.sums[unit * self.quantities + first..][..totals.len()];
            for (total, sum) in totals.iter_mut().zip(sums) {
                *total += sum * factor;
            }
        }
    }

    fn units(&self) -> usize {
        self.sums.len() / self.quantities
    }
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
        let mut second = [0.0, 0.0];
        sums.add_totals(0, &replicates, 1, &mut second);
        assert_eq!(second, [2.0, 14.0]);
    }
}
