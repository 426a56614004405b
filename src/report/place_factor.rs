//! What the factor of insulin that was not taken makes of a value.

use super::place_verdict::{answer, past, sided};
use super::place_words::{factor, first_screen, group, named, share};
use crate::analysis::{OtherFactor, PlacedCutoff, PlacedIndex, ThresholdMark};
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

/// Two factors of insulin, and on which side a value is by the one taken, and by the other where nobody knows which holds.
pub(super) type Sides = (Option<(f64, f64)>, bool, Option<bool>);

/// On which sides of a threshold that the study states the first value is.
pub(super) fn sides_of(index: &PlacedIndex, mark: &ThresholdMark) -> Sides {
    (index.other_factor.as_ref().map(|o| (o.taken, o.factor)), mark.passed, mark.passed_by_other)
}

/// One side of a limit, or where the factor decides both.
pub(super) fn side((factors, passed, by_other): Sides, limit: &str) -> String {
    let words = format!("{} {limit}", past(Some(passed)));
    match (factors, by_other) {
        (Some((taken, other)), Some(then)) if then != passed => {
            format!("{words} by the factor {}, {} it by {}", factor(taken), past(Some(then)), factor(other))
        }
        _ => words,
    }
}
