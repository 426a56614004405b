//! Loops over replicates, by the widest vectors that the machine has.

/// Does some work, compiled once more for the wider vectors of newer machines.
///
/// Only what is inlined into the work uses them: functions and closures inside are `#[inline(always)]`. The same sums are made
/// in the same order, and no product is fused with a sum, so that every machine gets the same bits.
#[inline]
pub fn widest<R>(work: impl FnOnce() -> R) -> R {
    pulp::Arch::new().dispatch(work)
}
