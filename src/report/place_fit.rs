//! Which of a person's groups has the cutoff that fits.

use super::place_verdict::{answer, is_open, opposite};
use super::place_words::{first_screen, splits_by};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::chart::Labels;

/// The cutoff of the person's groups that fits.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fit<'a> {
    /// This one, and the others beside it.
    One(&'a PlacedCutoff, Why, Vec<&'a PlacedCutoff>),
    /// None can be named: the groups give different answers.
    Several(Vec<&'a PlacedCutoff>),
    /// None is printed.
    Nothing,
}

/// Why a cutoff fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Why {
    /// There is no other.
    Only,
    /// All give the same answer, and its group is split furthest.
    Agree,
    /// Its group is split by more of what cutoffs differ by, by more than noise.
    Supported,
}

/// The variables of a cutoff's grouping by which the index's cutoffs differ by more than noise.
fn supported<'a>(index: &PlacedIndex, cutoff: &'a PlacedCutoff) -> Vec<&'a str> {
    let differs = |name: &&str| index.tests.iter().any(|t| t.differ == Some(true) && t.grouping == *name);
    cutoff.grouping.split(" × ").filter(differs).collect()
}

/// What cutoffs differ by that splits a cutoff's group, in words.
pub(super) fn differing(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels) -> Vec<String> {
    let mut words: Vec<String> =
        supported(index, cutoff).into_iter().map(|name| splits_by(name, labels)).collect();
    words.dedup();
    words
}

/// The one cutoff whose group is split by more than the others' of what cutoffs differ by, whatever they say of a value.
pub(super) fn preferred<'a>(index: &PlacedIndex, shown: &[&'a PlacedCutoff]) -> Option<&'a PlacedCutoff> {
    let by = |c: &PlacedCutoff| supported(index, c).len();
    let most = shown.iter().map(|c| by(c)).max().filter(|most| *most > 0)?;
    let mut best = shown.iter().copied().filter(|c| by(c) == most);
    let first = best.next()?;
    best.next().is_none().then_some(first)
}

/// Chooses among the first rule's cutoffs for one outcome.
pub(super) fn fit<'a>(index: &PlacedIndex, shown: Vec<&'a PlacedCutoff>) -> Fit<'a> {
    let Some(first) = shown.first().copied() else { return Fit::Nothing };
    let supported = |c: &PlacedCutoff| supported(index, c).len();
    let split = |c: &PlacedCutoff| (supported(c), c.grouping.split(" × ").count());
    // The first of those split furthest.
    let best = shown.iter().rev().copied().max_by_key(|c| split(c)).unwrap_or(first);
    let others = shown.iter().copied().filter(|c| !std::ptr::eq(*c, best)).collect();
    if shown.len() == 1 {
        Fit::One(best, Why::Only, others)
    } else if shown.iter().all(|c| answer(c) == answer(first)) {
        Fit::One(best, Why::Agree, others)
    } else if preferred(index, &shown).is_some() {
        Fit::One(best, Why::Supported, others)
    } else {
        Fit::Several(shown)
    }
}

/// The first rule's cutoff for the first outcome that fits, where one does.
pub(super) fn deciding<'a>(index: &PlacedIndex, cutoffs: &'a [PlacedCutoff]) -> Option<&'a PlacedCutoff> {
    match fit(index, first_screen(cutoffs)) {
        Fit::One(cutoff, ..) => Some(cutoff),
        Fit::Several(_) | Fit::Nothing => None,
    }
}

/// How groups differ of which none is preferred.
pub(super) fn undecided(shown: &[&PlacedCutoff]) -> &'static str {
    if shown.iter().any(|one| shown.iter().any(|other| opposite(one, other))) {
        "groups disagree"
    } else if shown.iter().all(|c| is_open(c)) {
        "no group can tell"
    } else {
        "not every group can tell"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::place_fixture::{index, with_tests};

    fn chosen(index: &PlacedIndex) -> Option<(&str, Why)> {
        match fit(index, first_screen(&index.cutoffs)) {
            Fit::One(cutoff, why, _) => Some((cutoff.grouping.as_str(), why)),
            Fit::Several(_) | Fit::Nothing => None,
        }
    }

    #[test]
    fn groups_that_agree_or_that_the_test_supports_name_a_cutoff() {
        assert_eq!(chosen(&index("short", "short")), Some(("sex × bmi", Why::Agree)));
        let torn = index("short", "cannot_tell");
        assert_eq!(chosen(&torn), None);
        assert_eq!(chosen(&with_tests(torn.clone(), &["age"])), Some(("age", Why::Supported)));
        assert_eq!(chosen(&with_tests(torn.clone(), &["bmi"])), Some(("sex × bmi", Why::Supported)));
        assert_eq!(chosen(&with_tests(torn, &["age", "bmi"])), None);
    }

    #[test]
    fn an_open_verdict_beside_a_likely_one_is_no_disagreement() {
        let of = |by_age, by_bmi| {
            let index = index(by_age, by_bmi);
            undecided(&first_screen(&index.cutoffs))
        };
        assert_eq!(of("short", "beyond"), "groups disagree");
        assert_eq!(of("short", "cannot_tell"), "not every group can tell");
        assert_eq!(of("cannot_tell", "cannot_tell"), "no group can tell");
    }
}
