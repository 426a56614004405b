//! Replicates that run together.

use crate::stats::Replicates;

/// Replicates carried along together: enough to fill the vector units, few enough to stay in the cache and to agree
/// on where the best point can be.
pub const BLOCK: usize = 32;

/// One number per replicate of a block.
pub type Lanes = [f64; BLOCK];

/// A range of replicates that run together.
pub struct Block<'a> {
    replicates: &'a Replicates,
    start: usize,
    pub width: usize,
}

impl Block<'_> {
    pub fn factors(&self, unit: u32) -> &[f64] {
        &self.replicates.of_unit(unit)[self.start..self.start + self.width]
    }
}

pub fn blocks(replicates: &Replicates) -> impl Iterator<Item = Block<'_>> {
    (0..replicates.count).step_by(BLOCK).map(|start| Block {
        replicates,
        start,
        width: BLOCK.min(replicates.count - start),
    })
}

pub fn lanes(of: impl Fn(usize) -> f64) -> Lanes {
    std::array::from_fn(of)
}
