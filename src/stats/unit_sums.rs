//! Totals of many quantities in every replicate, from sums per sampling unit.
//!
//! A replicate multiplies all people of a unit by one factor, so a total needs the unit's sum once and not
//! its people again: a thousand replicates of a few hundred quantities are one small matrix product.

use super::Replicates;

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

    /// `totals[quantity][replicate] = Σ_unit sum(quantity, unit) · factor(unit, replicate)`.
    #[must_use]
    pub fn replicate_totals(&self, replicates: &Replicates) -> Vec<Vec<f64>> {
        let mut totals = vec![vec![0.0; replicates.count]; self.quantities];
        for (unit, sums) in self.sums.chunks_exact(self.quantities).enumerate() {
            let factors = replicates.of_unit(unit as u32);
            for (total, &sum) in totals.iter_mut().zip(sums).filter(|(_, sum)| **sum != 0.0) {
                for (total, factor) in total.iter_mut().zip(factors) {
                    *total += sum * factor;
                }
            }
        }
        totals
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
    }
}
