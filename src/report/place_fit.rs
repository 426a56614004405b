//! Which of a person's groups has the cutoff that fits: the only one, or the one that is split by more than the others of
//! what cutoffs differ by. Where none is, or several alike, none is named.

use super::place_verdict::{answer, is_open, opposite};
use super::place_words::{first_screen, listed, splits_by};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::chart::Labels;

/// The cutoff of the person's groups that fits.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fit<'a> {
    /// This one, and the others beside it.
    One(&'a PlacedCutoff, Why, Vec<&'a PlacedCutoff>),
    /// None is named: no group is preferred to the others, whether or not they give the same answer.
    Several(Vec<&'a PlacedCutoff>),
    /// None is printed.
    Nothing,
}

/// Why a cutoff fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Why {
    /// There is no other.
    Only,
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
    if shown.len() <= 1 {
        return shown.first().map_or(Fit::Nothing, |only| Fit::One(only, Why::Only, Vec::new()));
    }
    let Some(best) = preferred(index, &shown) else { return Fit::Several(shown) };
    let others = shown.into_iter().filter(|c| !std::ptr::eq(*c, best)).collect();
    Fit::One(best, Why::Supported, others)
}

/// Whether all say the same of the value.
pub(super) fn agree(shown: &[&PlacedCutoff]) -> bool {
    shown.windows(2).all(|two| answer(two[0]) == answer(two[1]))
}

/// Whether all say the same of the value, and are sure of it.
pub(super) fn agree_on_a_side(shown: &[&PlacedCutoff]) -> bool {
    agree(shown) && !shown.iter().any(|c| is_open(c))
}

/// The first rule's cutoff for the first outcome that fits, where one does.
pub(super) fn deciding<'a>(index: &PlacedIndex, cutoffs: &'a [PlacedCutoff]) -> Option<&'a PlacedCutoff> {
    match fit(index, first_screen(cutoffs)) {
        Fit::One(cutoff, ..) => Some(cutoff),
        Fit::Several(_) | Fit::Nothing => None,
    }
}

/// Why no group is preferred: nothing is tested between groups, the tests support none, or several alike.
pub(super) fn why_none(index: &PlacedIndex, shown: &[&PlacedCutoff], labels: &Labels) -> String {
    let mut by: Vec<String> = Vec::new();
    for name in shown.iter().flat_map(|cutoff| differing(index, cutoff, labels)) {
        if !by.contains(&name) {
            by.push(name);
        }
    }
    match &*by {
        [] if index.tests.iter().all(|test| test.differ.is_none()) => {
            "cutoffs could not be tested between groups".to_owned()
        }
        [] => {
            let by = tested_by(index, labels);
            if by.is_empty() {
                "the test between groups prefers none".to_owned()
            } else {
                format!("none of these groups is split by {}, by which cutoffs differ", listed(&by))
            }
        }
        [one] => format!("several of these groups are split by {one}, by which cutoffs differ"),
        several => format!("cutoffs differ by {} alike", listed(several)),
    }
}

/// What the index's cutoffs differ by, in words, whether or not a group of the person is split by it.
fn tested_by(index: &PlacedIndex, labels: &Labels) -> Vec<String> {
    let differ = index.tests.iter().filter(|test| test.differ == Some(true));
    let mut by: Vec<String> = differ.map(|test| splits_by(&test.grouping, labels)).collect();
    by.dedup();
    by
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
    use crate::analysis::GroupingTest;
    use crate::report::place_fixture::{index, with_tests};

    fn chosen(index: &PlacedIndex) -> Option<(&str, Why)> {
        match fit(index, first_screen(&index.cutoffs)) {
            Fit::One(cutoff, why, _) => Some((cutoff.grouping.as_str(), why)),
            Fit::Several(_) | Fit::Nothing => None,
        }
    }

    #[test]
    fn one_rule_names_a_cutoff_whatever_the_groups_say_of_the_value() {
        let mut one = index("short", "short");
        one.cutoffs.truncate(1);
        assert_eq!(chosen(&one), Some(("age", Why::Only)));
        for (by_age, by_bmi) in [
            ("short", "short"),
            ("short", "cannot_tell"),
            ("cannot_tell", "cannot_tell"),
            ("beyond", "short"),
        ] {
            follows_the_test(&index(by_age, by_bmi));
        }
    }

    fn follows_the_test(torn: &PlacedIndex) {
        assert_eq!(chosen(torn), None);
        assert_eq!(chosen(&with_tests(torn.clone(), &["age"])), Some(("age", Why::Supported)));
        assert_eq!(chosen(&with_tests(torn.clone(), &["bmi"])), Some(("sex × bmi", Why::Supported)));
        assert_eq!(chosen(&with_tests(torn.clone(), &["age", "bmi"])), None);
    }

    #[test]
    fn why_no_group_is_preferred_is_said_as_it_is() {
        let why = |index: &PlacedIndex| why_none(index, &first_screen(&index.cutoffs), &Labels::default());
        let mut torn = index("short", "short");
        assert_eq!(why(&torn), "cutoffs could not be tested between groups");
        torn.tests = vec![GroupingTest { differ: Some(false), ..GroupingTest::default() }];
        assert_eq!(why(&torn), "the test between groups prefers none");
        assert_eq!(why(&with_tests(torn.clone(), &["age", "bmi"])), "cutoffs differ by age and bmi alike");
        torn.cutoffs[0].grouping = "age × bmi".to_owned();
        let one = "several of these groups are split by bmi, by which cutoffs differ";
        assert_eq!(why(&with_tests(torn.clone(), &["bmi"])), one);
        let other = "none of these groups is split by ancestry, by which cutoffs differ";
        assert_eq!(why(&with_tests(torn, &["ancestry"])), other);
    }

    #[test]
    fn groups_agree_on_a_side_only_where_none_leaves_it_open() {
        let of = |by_age, by_bmi| {
            let index = index(by_age, by_bmi);
            let shown = first_screen(&index.cutoffs);
            (agree(&shown), agree_on_a_side(&shown))
        };
        assert_eq!(of("beyond", "beyond"), (true, true));
        assert_eq!(of("cannot_tell", "cannot_tell"), (true, false));
        assert_eq!(of("short", "cannot_tell"), (false, false));
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
