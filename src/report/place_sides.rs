//! On which sides of a stated threshold the values of one or two dates are, and what a step over it is worth.

use super::place_factor::{side, sides_of};
use super::place_index::measured_again;
use super::place_words::value;
use crate::analysis::{Change, PassedThen, PlacedIndex, ThresholdMark};

/// On which side of a stated threshold the value is, or each of two values was, by both factors where none is known.
pub(super) fn sides(index: &PlacedIndex, mark: &ThresholdMark) -> String {
    let then =
        measured_again(index).and_then(|change| Some((change, change.second?, put_then(change, mark)?)));
    let first = sides_of(index, mark);
    let Some((change, second, PassedThen { passed, passed_by_other, .. })) = then else {
        return format!("the value is {}", side(first, "it"));
    };
    let factors = change.by_other.as_ref().map(|other| (other.taken, other.factor));
    let turns = |one: bool, other: Option<bool>| other.is_some_and(|other| other != one);
    if turns(mark.passed, mark.passed_by_other) || turns(*passed, *passed_by_other) {
        return format!(
            "first date: {}; second date: {}{}",
            side(first, "it"),
            side((factors, *passed, *passed_by_other), "it"),
            caveat(change, mark.passed != *passed)
        );
    }
    let words = match (mark.passed, *passed) {
        (true, true) => ("past it", "still is"),
        (true, false) => ("past it", "no longer is"),
        (false, true) => ("short of it", "is past it"),
        (false, false) => ("short of it", "still is"),
    };
    let caveat = caveat(change, mark.passed != *passed);
    format!("{} was {}, {} {}{caveat}", value(index, index.value), words.0, value(index, second), words.1)
}

/// A stated threshold put to the second value.
pub(super) fn put_then<'a>(change: &'a Change, mark: &ThresholdMark) -> Option<&'a PassedThen> {
    let same = |then: &&PassedThen| (then.threshold, then.strict) == (mark.value, mark.strict);
    change.thresholds.iter().find(same)
}

/// What two values beside one threshold do not say: that they may be compared, or that a step over it is a change.
fn caveat(change: &Change, steps_over: bool) -> String {
    let step = if steps_over && change.depends_on_factor() {
        ", a step that may be day-to-day variation by one of the factors"
    } else if steps_over && change.beyond_chance == Some(false) {
        ", a step within day-to-day variation"
    } else {
        ""
    };
    if change.beyond_chance.is_none() && !change.why_not.is_empty() {
        format!("{step} (not to be compared, as {})", change.why_not)
    } else if change.if_same_assay {
        format!("{step} (to be compared only if by the same assay)")
    } else {
        step.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Labels;
    use crate::report::place_fixture::{by_the_older_factor, of_two_dates, rank};
    use crate::report::place_limits::marks;
    use crate::report::place_words::EVERYBODY;

    /// The index with a threshold that stands somewhere among everybody.
    fn index_with(index: &PlacedIndex, mark: &ThresholdMark) -> PlacedIndex {
        let ranks = vec![rank(EVERYBODY, EVERYBODY, 46.0)];
        PlacedIndex { thresholds: vec![ThresholdMark { ranks, ..mark.clone() }], ..index.clone() }
    }

    #[test]
    fn a_threshold_is_put_to_both_dates() {
        let mut index = of_two_dates();
        let mut mark = ThresholdMark {
            value: 2.0,
            strict: false,
            source: "often quoted".to_owned(),
            passed: true,
            passed_by_other: None,
            ranks: Vec::new(),
        };
        assert_eq!(sides(&index, &mark), "2.44 was past it, 1.66 no longer is");
        let change = index.change.as_mut().expect("two dates");
        change.beyond_chance = Some(false);
        let step = "2.44 was past it, 1.66 no longer is, a step within day-to-day variation";
        assert_eq!(sides(&index, &mark), step);
        let change = index.change.as_mut().expect("two dates");
        (change.beyond_chance, change.why_not) = (None, "the assays differ".to_owned());
        let unlike = "2.44 was past it, 1.66 no longer is (not to be compared, as the assays differ)";
        assert_eq!(sides(&index, &mark), unlike);
        let line = marks(&index_with(&index, &mark), &Labels::default()).join(" ");
        assert!(line.contains("; below it are 46 of 100 in everybody"), "{line}");
        assert!(line.contains("35 of 100 in 25-29.9 (bmi), the group of the second date."), "{line}");
        let change = index.change.as_mut().expect("two dates");
        change.why_not.clear();
        mark.passed = false;
        assert_eq!(sides(&index, &mark), "2.44 was short of it, 1.66 still is");
        index.change = None;
        assert_eq!(sides(&index, &mark), "the value is short of it");
        // The other factor puts the value on the other side.
        (mark.passed, mark.passed_by_other) = (true, Some(false));
        index.other_factor = Some(by_the_older_factor(1.9));
        assert_eq!(sides(&index, &mark), "the value is past it by the factor 6.00, short of it by 6.945");
    }
}
