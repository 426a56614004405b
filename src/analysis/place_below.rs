//! A measurement of which only a limit is known: whether what a cutoff says holds wherever below that limit it lies.

use super::context::Context;
use super::place_cutoffs::{Cutoff, put};
use super::place_doubt::Doubt;
use super::place_usual::{Chances, VariationUsed};
use crate::cohort::Subject;

/// Marks the cutoffs that say the same of the guess that stands in and of the value at the limit, where everything between
/// the limit and nothing lies further on that side: an index rises or falls with each of its measurements.
pub(super) fn mark(
    (context, subject): (&Context, &Subject),
    (index, value): (usize, f64),
    (doubt, variation): (Option<&Doubt>, Option<&VariationUsed>),
    cutoffs: &mut [Cutoff],
) {
    let Some(limit) = doubt.and_then(|doubt| doubt.at_limit) else { return };
    let chances = Chances::new(context, subject, (index, limit), variation);
    let mut at_limit = cutoffs.to_vec();
    put((context, index), &mut at_limit, limit, chances.as_ref());
    let sign = context.study.indices[index].sign() as f64;
    let sinks = sign * value < sign * limit;
    for (cutoff, at_limit) in cutoffs.iter_mut().zip(at_limit) {
        cutoff.whatever_below = settled(cutoff.likely, at_limit.likely, sinks);
    }
}

/// Whether a verdict holds for every value below a limit; `sinks` where the index is the less resistant the smaller the
/// measurement is.
fn settled(of_guess: &str, at_limit: &str, sinks: bool) -> bool {
    of_guess == at_limit && of_guess == if sinks { "short" } else { "beyond" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_verdict_holds_below_a_limit_where_the_limit_is_on_its_side() {
        // Insulin below a limit: the index can only be smaller.
        assert!(settled("short", "short", true));
        assert!(!settled("short", "cannot_tell", true) && !settled("cannot_tell", "cannot_tell", true));
        assert!(!settled("beyond", "beyond", true));
        // HDL below a limit: the index can only be larger.
        assert!(settled("beyond", "beyond", false) && !settled("short", "short", false));
        assert!(!settled("", "", true));
    }
}
