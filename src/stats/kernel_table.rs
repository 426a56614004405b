//! The smoothed step of a value, worked out once for every distance at which a grid meets it.

use super::numeric::phi;

/// Points at which a curve is looked at before the best one is refined.
pub const GRID: usize = 256;
/// Bins between two grid points, for the replicates: far narrower than any bandwidth.
pub const BINS_PER_STEP: usize = 8;
/// Bandwidths below a value from which its kernel counts as nothing: less than the last digit of a sum, and a unit
/// without a sum costs nothing.
const REACH: f64 = 9.0;
/// Position of the last bin, plus one to spare for rounding at the largest value.
const LAST_BIN: usize = (GRID - 1) * BINS_PER_STEP + 1;

/// `Φ(distance / h)` for every distance between a grid point and a bin, with one more for the bin above the last.
pub struct KernelTable {
    /// By what is left of the distance in bins after whole grid steps: what one bin needs of all grid points then
    /// stands side by side.
    phases: Vec<Vec<f64>>,
}

impl KernelTable {
    /// Of a grid with this step, for kernels of this bandwidth.
    #[must_use]
    pub fn new(step: f64, bandwidth: f64) -> Self {
        let bin = step / BINS_PER_STEP as f64;
        let at = |entry: usize| match (entry as f64 - LAST_BIN as f64) * bin / bandwidth {
            z if z < -REACH => 0.0,
            z => phi(z),
        };
        let phase = |phase: usize| (phase..=2 * LAST_BIN).step_by(BINS_PER_STEP).map(at).collect();
        Self { phases: (0..BINS_PER_STEP).map(phase).collect() }
    }

    /// Entries of a bin for all grid points.
    #[must_use]
    pub fn of_bin(&self, bin: usize) -> &[f64] {
        let first = LAST_BIN - bin;
        &self.phases[first % BINS_PER_STEP][first / BINS_PER_STEP..][..GRID]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_the_normal_distribution_at_their_distance() {
        let table = KernelTable::new(0.5, 1.0);
        for bin in [0, 1, 7, 8, 1003, LAST_BIN - 1, LAST_BIN] {
            let entries = table.of_bin(bin);
            for (point, &entry) in entries.iter().enumerate() {
                let steps = point as f64 - bin as f64 / BINS_PER_STEP as f64;
                let want = if steps * 0.5 < -REACH { 0.0 } else { phi(steps * 0.5) };
                assert!((entry - want).abs() < 1e-15, "bin {bin}, point {point}: {entry}, not {want}");
            }
        }
    }
}
