//! The second date of one person: the same sentences, and the groups of both dates in one table.

use super::place_change::time_between;
use super::place_factor::by_the_other;
use super::place_first::FIRST_DATE;
use super::place_fit::deciding;
use super::place_format::Block;
use super::place_index::measured_again;
use super::place_limits::limit_cell;
use super::place_sentence::{sentence, unlike};
use super::place_verdict::{if_right, verdict};
use super::place_words::{COHORT, EVERYBODY, NOBODY, group, header, named, percentile};
use super::sentence::capital;
use crate::analysis::{Change, PlacedCutoff, PlacedIndex, Rank};
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
    words.extend(other_group(index, &then, labels));
    words.push(stands(&then));
    let other = then.other_factor.as_ref();
    words.extend(other.map(|other| by_the_other(&then, (other, &then.cutoffs), labels)));
    Some(format!("Second date, {} later: {}", time_between(of.months), words.join(" ")))
}

/// That the cutoffs of the two dates are those of two groups, so that their verdicts are no change.
fn other_group(index: &PlacedIndex, then: &PlacedIndex, labels: &Labels) -> Option<String> {
    let of = |index: &PlacedIndex| {
        deciding(index, &index.cutoffs).map(|cutoff| group(&cutoff.grouping, &cutoff.group, labels))
    };
    let (before, after) = (of(index)?, of(then)?);
    (before != after).then(|| {
        format!(
            "The cutoff is that of another group than at the first date ({before} then, {after} now), so that past one and short of the \
             other is no change by itself."
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Doubt;
    use crate::report::place_fixture::of_two_dates;

    #[test]
    fn the_groups_of_both_dates_stand_in_one_table() {
        let index = of_two_dates();
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
        let mut index = of_two_dates();
        let (given, measured) = ("insulin 71 uU/mL".to_owned(), "insulin".to_owned());
        let doubt = Doubt { measured, given, ..Doubt::default() };
        index.change.as_mut().expect("two dates").doubt = Some(doubt);
        let then = at_second(&index).expect("two dates");
        let said = |of: &PlacedIndex| verdict(of, &of.cutoffs[1]);
        assert_eq!(
            (said(&index).as_str(), said(&then).as_str()),
            ("likely short", "likely short, if insulin is right")
        );
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

    #[test]
    fn a_line_of_the_first_date_is_marked_where_there_are_two() {
        let two = of_two_dates();
        assert_eq!(of_first(&two, "HOMA-IR 2.44"), "First date: HOMA-IR 2.44");
        let one = PlacedIndex { change: None, ..two };
        assert_eq!(of_first(&one, "HOMA-IR 2.44"), "HOMA-IR 2.44");
    }
}
