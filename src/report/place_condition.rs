//! What the answer about one index hangs on, where a measurement in it is in doubt.

use super::place_fit::{Fit, fit};
use super::place_words::{first_screen, named};
use crate::analysis::{Doubt, PlacedCutoff, PlacedIndex};
use crate::table::number::reading;

/// What the answer hangs on, where a measurement is one that few people have.
pub(super) fn conditional(index: &PlacedIndex, doubt: &Doubt) -> String {
    let otherwise = doubt.unit.as_ref().zip(doubt.value);
    let otherwise = otherwise
        .map(|(unit, value)| format!(" (read as {unit} it would be {})", named(index, value)))
        .unwrap_or_default();
    format!("If {} is right{otherwise}", doubt.given)
}

/// What the answer of the cutoffs that are named hangs on, or that it holds whatever the measurement is, where a measurement
/// is in doubt.
pub(super) fn condition(index: &PlacedIndex, cutoffs: &[PlacedCutoff]) -> Option<String> {
    let doubt = index.doubt.as_ref()?;
    let settled = |c: &PlacedCutoff| c.whatever_below && c.by_other.is_none();
    let settled = match fit(index, first_screen(cutoffs)) {
        Fit::One(cutoff, ..) => settled(cutoff),
        Fit::Several(shown) => shown.into_iter().all(settled),
        Fit::Nothing => false,
    };
    let known = doubt.below.as_ref().zip(doubt.at_limit).filter(|_| settled);
    Some(known.map_or_else(
        || conditional(index, doubt),
        |(limit, at)| {
            format!(
                "Wherever below {limit} {} lies (at {limit} {}; {} is a guess)",
                doubt.measured,
                named(index, at),
                reading(index.value, 3)
            )
        },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::report::place_fixture::{index, with_tests};
    use crate::report::place_sentence::sentence;

    #[test]
    fn below_a_limit_an_answer_that_holds_anyway_hangs_on_nothing() {
        let mut index = with_tests(index("cannot_tell", "short"), &["bmi"]);
        let (given, measured) = ("insulin 1.06 uU/mL, a guess,".to_owned(), "insulin".to_owned());
        let (below, at_limit) = (Some("1.5 uU/mL".to_owned()), Some(0.359));
        index.doubt = Some(Doubt { given, measured, below, at_limit, stands_in: true, ..Doubt::default() });
        let said = |index: &PlacedIndex| sentence(index, &index.cutoffs, &Labels::default(), "HOMA-IR 2.50");
        assert!(said(&index).starts_with("If insulin 1.06 uU/mL, a guess, is right: "), "{}", said(&index));
        index.cutoffs[1].whatever_below = true;
        let whatever = "Wherever below 1.5 uU/mL insulin lies (at 1.5 uU/mL HOMA-IR 0.359; 2.50 is a guess): HOMA-IR 2.50 is \
                        likely short of 3.00";
        assert!(said(&index).starts_with(whatever), "{}", said(&index));
    }
}
