//! Replicates that run together.

use std::borrow::Cow;

use crate::stats::Replicates;

/// Replicates carried along together: enough to fill the vector units, few enough to stay in the cache and to agree
/// on where the best point can be.
pub const BLOCK: usize = 32;

/// One number per replicate of a block.
pub type Lanes = [f64; BLOCK];

/// A range of replicates that run together.
pub struct Block<'a> {
    /// Those of unit `u` begin at `u * stride`.
    factors: Cow<'a, [f64]>,
    stride: usize,
    /// Lanes that are replicates; the factors of the others are 0.
    pub width: usize,
}

impl Block<'_> {
    #[inline(always)]
    pub fn factors(&self, unit: u32) -> &Lanes {
        self.factors[unit as usize * self.stride..]
            .first_chunk()
            .expect("every unit has a factor in every lane")
    }
}

/// All replicates, block by block.
pub fn blocks(replicates: &Replicates) -> impl Iterator<Item = Block<'_>> {
    (0..replicates.count).step_by(BLOCK).map(|start| {
        let stride = replicates.count;
        if start + BLOCK <= stride {
            return Block { factors: Cow::Borrowed(&replicates.factors[start..]), stride, width: BLOCK };
        }
        let mut factors = Vec::with_capacity(replicates.factors.len() / stride * BLOCK);
        for of_unit in replicates.factors.chunks_exact(stride) {
            factors.extend(&of_unit[start..]);
            factors.resize(factors.len().next_multiple_of(BLOCK), 0.0);
        }
        Block { factors: Cow::Owned(factors), stride: BLOCK, width: stride - start }
    })
}

#[inline(always)]
pub fn lanes(of: impl Fn(usize) -> f64) -> Lanes {
    let mut lanes = [0.0; BLOCK];
    for (r, lane) in lanes.iter_mut().enumerate() {
        *lane = of(r);
    }
    lanes
}
