//! The second date of one person: the same sentences, the groups of both dates in one table, and a threshold at each.

use super::place_change::months;
use super::place_factor::{by_the_other, side, sides_of};
use super::place_first::{FIRST_DATE, capital};
use super::place_fit::deciding;
use super::place_format::Block;
use super::place_index::measured_again;
use super::place_limits::limit_cell;
use super::place_sentence::{sentence, unlike};
use super::place_verdict::{if_right, verdict};
use super::place_words::{COHORT, EVERYBODY, NOBODY, group, header, named, percentile, value};
use crate::analysis::{Change, PassedThen, PlacedCutoff, PlacedIndex, Rank, ThresholdMark};
use crate::chart::Labels;

/// A line about the first measurement, marked where there is a second one that may be placed.
pub(super) fn of_first(index: &PlacedIndex, line: &str) -> String {
    if measured_again(index).is_some() { format!("{}{line}", capital(FIRST_DATE)) } else { line.to_owned() }
}

/// The index as it stands at the second date, where that value may be placed.
pub(super) fn at_second(index: &PlacedIndex) -> Option<PlacedIndex> {
    let of = measured_again(index)?;
    Some(PlacedIndex {
        value: of.second?,
        doubt: of.doubt.clone(),
        other_factor: of.other_factor.clone(),
        ranks: of.ranks.clone(),
        own: of.own.clone(),
        cutoffs: of.cutoffs.clone(),
        ..index.clone()
    })
}

/// The first sentences for the value of the second date; `stands` says where it stands among people, and what a low place in
/// a group means.
pub(super) fn second(
    index: &PlacedIndex,
    of: &Change,
    labels: &Labels,
    stands: impl Fn(&PlacedIndex) -> String,
) -> Option<String> {
    let then = at_second(index)?;
    let name = named(&then, then.value);
    let mut words = Vec::new();
    if !then.cutoffs.is_empty() {
        words.push(sentence(&then, &then.cutoffs, labels, &name));
        let cutoff = deciding(&then, &then.cutoffs).filter(|_| then.doubt.is_none());
        let chances = cutoff.and_then(|cutoff| if_right(&then, cutoff));
        words.extend(chances.map(|chances| format!("{}.", capital(&chances))));
        words.extend(unlike(&then, labels));
    }
    words.extend(other_group(index, &then));
    words.push(stands(&then));
    let other = then.other_factor.as_ref();
    words.extend(other.map(|other| by_the_other(&then, (other, &then.cutoffs), labels)));
    Some(format!("Second date, {} later: {}", months(of.months), words.join(" ")))
}

/// That the cutoffs of the two dates are those of two groups, so that their verdicts are no change.
fn other_group(index: &PlacedIndex, then: &PlacedIndex) -> Option<String> {
    let of = |index: &PlacedIndex| {
        deciding(index, &index.cutoffs).map(|cutoff| (cutoff.grouping.clone(), cutoff.group.clone()))
    };
    let (before, after) = (of(index)?, of(then)?);
    (before != after).then(|| {
        format!(
            "The cutoff is that of another group than at the first date ({} then, {} now), so that past one and short of the \
             other is no change by itself.",
            before.1, after.1
        )
    })
}

/// A group to which the person belongs at one of two dates, or at both.
struct Row<'a> {
    first: Option<&'a Rank>,
    second: Option<&'a Rank>,
}

/// The groups of both dates: everybody, the smallest ones of the first, then those of the second alone.
pub(super) fn table(index: &PlacedIndex, then: &PlacedIndex, labels: &Labels) -> Block {
    let rows = both(index, then);
    let rows = rows.iter().filter_map(|row| cells(index, then, row, labels)).collect();
    let names = ["among", "people", "cutoff", "first date", "usual value", "second date", "usual value then"];
    Block::Table(header(&names), rows)
}

fn both<'a>(index: &'a PlacedIndex, then: &'a PlacedIndex) -> Vec<Row<'a>> {
    let firsts = shown(&index.ranks, &index.own);
    let seconds = shown(&then.ranks, &then.own);
    let same = |a: &Rank, b: &Rank| (&a.grouping, &a.group) == (&b.grouping, &b.group);
    let mut rows: Vec<Row<'a>> = firsts
        .iter()
        .map(|&first| Row { first: Some(first), second: seconds.iter().copied().find(|s| same(s, first)) })
        .collect();
    let new = seconds.iter().copied().filter(|s| firsts.iter().all(|first| !same(s, first)));
    rows.extend(new.map(|second| Row { first: None, second: Some(second) }));
    rows
}

/// Everybody and the smallest groups of one date.
pub(super) fn shown<'a>(ranks: &'a [Rank], own: &[usize]) -> Vec<&'a Rank> {
    let is_shown = |(at, rank): &(usize, &Rank)| {
        rank.population == COHORT && (rank.grouping == EVERYBODY || own.contains(at))
    };
    ranks.iter().enumerate().filter(is_shown).map(|(_, rank)| rank).collect()
}

fn cells(index: &PlacedIndex, then: &PlacedIndex, row: &Row<'_>, labels: &Labels) -> Option<Vec<String>> {
    let rank = row.first.or(row.second)?;
    let one = row.first.and_then(|of| leading(&index.cutoffs, of));
    let two = row.second.and_then(|of| leading(&then.cutoffs, of));
    let mut cells =
        vec![group(&rank.grouping, &rank.group, labels), rank.n.to_string(), limit_cell(index, one.or(two))];
    for (at, rank, cutoff) in [(index, row.first, one), (then, row.second, two)] {
        let said = cutoff.filter(|c| c.cutoff.is_some()).map(|c| verdict(at, c));
        cells.push(rank.map_or_else(|| NOBODY.to_owned(), percentile));
        cells.push(said.unwrap_or_else(|| NOBODY.to_owned()));
    }
    Some(cells)
}

/// The cutoff of the first outcome and rule in the group of a rank.
fn leading<'a>(cutoffs: &'a [PlacedCutoff], rank: &Rank) -> Option<&'a PlacedCutoff> {
    let first = cutoffs.first()?;
    let same = |c: &&PlacedCutoff| {
        (&c.outcome, &c.rule, &c.grouping, &c.group)
            == (&first.outcome, &first.rule, &rank.grouping, &rank.group)
    };
    cutoffs.iter().find(same)
}

/// On which side of a stated threshold the value is, or each of two values was, by both factors where none is known.
pub(super) fn sides(index: &PlacedIndex, mark: &ThresholdMark) -> String {
    let then = measured_again(index)
        .and_then(|change| Some((change, change.second?, put_then(change, mark)?)));
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
    let mut words = String::new();
    if steps_over && change.depends_on_factor() {
        words.push_str(", a step that may be day-to-day variation by one of the factors");
    } else if steps_over && change.beyond_chance == Some(false) {
        words.push_str(", a step within day-to-day variation");
    }
    if change.beyond_chance.is_none() && !change.why_not.is_empty() {
        words.push_str(&format!(" (not to be compared, as {})", change.why_not));
    } else if change.if_same_assay {
        words.push_str(" (to be compared only if by the same assay)");
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Doubt;
    use crate::report::place_fixture::by_the_older_factor;
    use crate::report::place_limits::marks;

    fn rank(grouping: &str, group: &str, percentile: f64) -> Rank {
        Rank {
            population: COHORT.to_owned(),
            population_label: String::new(),
            grouping: grouping.to_owned(),
            group: group.to_owned(),
            n: 300,
            df: None,
            percentile: Some(percentile),
            lower: None,
            upper: None,
            at_least: None,
            withheld: String::new(),
            notices: String::new(),
        }
    }

    fn cutoff(grouping: &str, group: &str, likely: &'static str) -> PlacedCutoff {
        PlacedCutoff {
            grouping: grouping.to_owned(),
            group: group.to_owned(),
            cutoff: Some(3.0),
            own: grouping != EVERYBODY,
            likely,
            ..PlacedCutoff::default()
        }
    }

    /// Of a BMI of 30 and over at the first date and of 25 to 29.9 at the second.
    fn index() -> PlacedIndex {
        let change = Change {
            second: Some(1.66),
            ranks: vec![rank(EVERYBODY, EVERYBODY, 28.0), rank("bmi", "25-29.9", 30.0)],
            own: vec![1],
            cutoffs: vec![cutoff(EVERYBODY, EVERYBODY, "short"), cutoff("bmi", "25-29.9", "short")],
            thresholds: vec![PassedThen {
                threshold: 2.0,
                strict: false,
                passed: false,
                passed_by_other: None,
                ranks: vec![rank(EVERYBODY, EVERYBODY, 46.0), rank("bmi", "25-29.9", 35.0)],
            }],
            ..Change::default()
        };
        PlacedIndex {
            label: "HOMA-IR".to_owned(),
            unit: "1".to_owned(),
            value: 2.44,
            ranks: vec![rank(EVERYBODY, EVERYBODY, 57.0), rank("bmi", "30 and over", 20.0)],
            own: vec![1],
            cutoffs: vec![cutoff(EVERYBODY, EVERYBODY, "cannot_tell"), cutoff("bmi", "30 and over", "short")],
            change: Some(change),
            ..PlacedIndex::default()
        }
    }

    #[test]
    fn the_groups_of_both_dates_stand_in_one_table() {
        let index = index();
        let then = at_second(&index).expect("two dates");
        let Block::Table(_, rows) = table(&index, &then, &Labels::default()) else { panic!("no table") };
        let cells = |row: usize| -> Vec<&str> { rows[row][3..].iter().map(String::as_str).collect() };
        assert_eq!(rows.len(), 3);
        assert_eq!(cells(0), ["57 (57–57)", "cannot tell", "28 (28–28)", "likely short"]);
        assert_eq!(cells(1), ["20 (20–20)", "likely short", NOBODY, NOBODY]);
        assert_eq!(cells(2), [NOBODY, NOBODY, "30 (30–30)", "likely short"]);
        assert!(rows[2][0].contains("25-29.9") && rows[1][0].contains("30 and over"), "{rows:?}");
    }

    #[test]
    fn a_doubtful_measurement_leaves_the_other_date_as_it_is() {
        let mut index = index();
        let (given, measured) = ("insulin 71 uU/mL".to_owned(), "insulin".to_owned());
        let doubt = Doubt { given, measured, ..Doubt::default() };
        index.change.as_mut().expect("two dates").doubt = Some(doubt);
        let then = at_second(&index).expect("two dates");
        let said = |of: &PlacedIndex| verdict(of, &of.cutoffs[1]);
        assert_eq!((said(&index).as_str(), said(&then).as_str()), ("likely short", "likely short, if insulin is right"));
        assert_eq!(then.value, 1.66);
        let sentence =
            second(&index, index.change.as_ref().expect("two dates"), &Labels::default(), |_| String::new());
        let sentence = sentence.unwrap_or_default();
        assert!(
            sentence.contains("later: If insulin 71 uU/mL is right: HOMA-IR 1.66 is likely"),
            "{sentence}"
        );
        assert!(!sentence.contains("the chance that"), "{sentence}");
    }

    /// The index with a threshold that stands somewhere among everybody.
    fn index_with(index: &PlacedIndex, mark: &ThresholdMark) -> PlacedIndex {
        let ranks = vec![rank(EVERYBODY, EVERYBODY, 46.0)];
        PlacedIndex { thresholds: vec![ThresholdMark { ranks, ..mark.clone() }], ..index.clone() }
    }

    #[test]
    fn a_threshold_is_put_to_both_dates() {
        let mut index = index();
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
        assert_eq!(of_first(&index, "HOMA-IR 2.44"), "First date: HOMA-IR 2.44");
        index.change = None;
        assert_eq!(sides(&index, &mark), "the value is short of it");
        assert_eq!(of_first(&index, "HOMA-IR 2.44"), "HOMA-IR 2.44");
        // The other factor puts the value on the other side.
        (mark.passed, mark.passed_by_other) = (true, Some(false));
        index.other_factor = Some(by_the_older_factor(1.9));
        assert_eq!(sides(&index, &mark), "the value is past it by the factor 6.00, short of it by 6.945");
    }
}
