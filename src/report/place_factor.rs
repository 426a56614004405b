//! What the factor of insulin that was not taken makes of a value.

use super::place_fit::answer;
use super::place_words::{factor, first_screen, group, named, share, sided};
use crate::analysis::{OtherFactor, PlacedCutoff, PlacedIndex};
use crate::chart::Labels;

/// The value by the other factor, and whether its verdicts are those of some cutoffs.
pub(super) fn by_the_other(
    index: &PlacedIndex,
    (other, cutoffs): (&OtherFactor, &[PlacedCutoff]),
    labels: &Labels,
) -> String {
    let percentile = other.percentile.map(|p| format!(", {} of 100 less resistant", share(p)));
    let (one, two) = (first_screen(cutoffs), first_screen(&other.cutoffs));
    let verdicts: Vec<String> = two
        .iter()
        .map(|c| format!("{}: {}", group(&c.grouping, &c.group, labels), sided(index, c)))
        .collect();
    let agree = one.iter().zip(&two).all(|(a, b)| answer(a) == answer(b));
    let words = match verdicts.as_slice() {
        [] => String::new(),
        _ if agree => "; the verdicts are the same".to_owned(),
        _ => format!("; {}", verdicts.join("; ")),
    };
    format!(
        "By the other factor, {}: {}{}{words}.",
        factor(other.factor),
        named(index, other.value),
        percentile.unwrap_or_default()
    )
}
