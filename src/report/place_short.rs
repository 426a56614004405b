//! The answer about every index: the first in a block, the others in a line where they add something; or all in full.

use super::place::PlaceInput;
use super::place_change::brief;
use super::place_condition::condition;
use super::place_format::Block;
use super::place_index::{measured_again, section};
use super::place_lead::lead;
use super::place_limits::{limits_row, marks};
use super::place_nothing::nothing;
use super::place_second::{at_second, of_first, shown, table};
use super::place_sentence::{self, other_outcomes};
use super::place_verdict::{Said, answer};
use super::place_words::{bare, by_factors, first_screen, header, listed, named, why_at_least};
use crate::analysis::PlacedIndex;
use crate::chart::Labels;

/// Every index with everything.
pub(super) fn in_full(input: &PlaceInput<'_>) -> Vec<Block> {
    let indices = &input.placed.indices;
    let leads = indices.iter().filter(|index| index.withheld.is_empty());
    let leads = leads.flat_map(|index| lead(index, input.labels, true)).map(Block::Paragraph);
    let leads =
        withheld(indices).into_iter().chain(leads).chain(shared(indices.iter()).map(Block::Paragraph));
    let sections = indices.iter().filter(|index| !index.ranks.is_empty());
    leads.chain(sections.flat_map(|index| section(index, input.labels))).collect()
}

/// The indices that say nothing of this person, by why.
fn withheld(indices: &[PlacedIndex]) -> Vec<Block> {
    let all = indices.iter().filter(|index| !index.withheld.is_empty());
    let lines = by_words(all.map(|index| (index.label.clone(), index.withheld.clone())));
    let block = |(why, names): (String, Vec<String>)| {
        Block::Paragraph(format!("Withheld, as {why}: {}.", names.join("; ")))
    };
    lines.into_iter().map(block).collect()
}

/// Names of the same words, in the order in which the words are first said.
pub(super) fn by_words(all: impl Iterator<Item = (String, String)>) -> Vec<(String, Vec<String>)> {
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for (name, words) in all {
        match found.iter_mut().find(|(known, _)| *known == words) {
            Some((_, names)) => names.push(name),
            None => found.push((words, vec![name])),
        }
    }
    found
}

/// That an outcome counts what indices are made of.
pub(super) fn shared<'a>(indices: impl Iterator<Item = &'a PlacedIndex>) -> Option<String> {
    let compared = indices.filter(|index| !index.cutoffs.is_empty() && !index.shared.is_empty());
    let words: Vec<String> =
        compared.map(|index| format!("{} ({})", index.label, index.shared.join(", "))).collect();
    let words = listed(&words);
    (!words.is_empty()).then(|| {
        format!("The outcome itself counts what is in {words}: part of their agreement is built in.")
    })
}

/// The first index, or those asked for, in a block each; the others in a line.
pub(super) fn in_short(input: &PlaceInput<'_>) -> Vec<Block> {
    let said = input.placed.indices.iter().filter(|index| index.withheld.is_empty());
    let (shown, twins): (Vec<&PlacedIndex>, Vec<&PlacedIndex>) = said.partition(|index| input.shows(index));
    let (first, rest) = shown.split_at(if input.asked { shown.len() } else { shown.len().min(1) });
    let mut blocks = withheld(&input.placed.indices);
    blocks.extend(first.iter().flat_map(|index| block(index, input.labels)));
    if let Some(first) = first.first() {
        blocks.extend(others(first, rest, input.labels).into_iter().map(Block::Paragraph));
    }
    blocks.extend(shared(shown.iter().copied()).map(Block::Paragraph));
    if let Some(one) = twins.first() {
        let names: Vec<String> = twins.iter().map(|index| named(index, index.value)).collect();
        blocks.push(Block::Paragraph(format!(
            "{} rises or falls with {} and says the same; --all or --index {} shows it.",
            listed(&names),
            one.twin_of.as_deref().unwrap_or_default(),
            one.index
        )));
    }
    blocks
}

/// Sentences and one table of the groups.
fn block(index: &PlacedIndex, labels: &Labels) -> Vec<Block> {
    let mut blocks: Vec<Block> = lead(index, labels, false).into_iter().map(Block::Paragraph).collect();
    if index.ranks.is_empty() {
        return blocks;
    }
    blocks.push(groups(index, labels));
    let then = at_second(index);
    let then = then.iter().flat_map(|then| shown(&then.ranks, &then.own));
    let listed = shown(&index.ranks, &index.own).into_iter().chain(then);
    blocks.extend(why_at_least(listed).map(Block::Paragraph));
    blocks.extend(marks(index, labels).into_iter().map(Block::Paragraph));
    let rest = other_outcomes(index, labels).map(|line| of_first(index, &line));
    blocks.extend(rest.map(Block::Paragraph));
    blocks
}

/// Everybody and the person's smallest groups: percentile, cutoff and verdict, of both dates where there are two.
fn groups(index: &PlacedIndex, labels: &Labels) -> Block {
    if let Some(then) = at_second(index) {
        return table(index, &then, labels);
    }
    let rows = shown(&index.ranks, &index.own).into_iter();
    let rows = rows.map(|rank| limits_row(index, rank, labels)).collect();
    let names = ["among", "people", "percentile", "cutoff", "chance beyond, %", "usual value"];
    Block::Table(header(&names), rows)
}

/// How a group is chosen for each index.
const EACH_BY_ITS_OWN: &str = "Each index goes by the group that its own cutoffs differ by, in the test between groups; where they \
                               differ by none, or by several alike, no group is preferred.";

/// Indices after the first: those of the same answer in one line, the others by their answers.
fn others(first: &PlacedIndex, rest: &[&PlacedIndex], labels: &Labels) -> Vec<String> {
    let mut lines = Vec::new();
    let mut same = Vec::new();
    let mut unlike = Vec::new();
    for index in rest {
        let name = named(index, index.value);
        if index.ranks.is_empty() {
            lines.push(bare(index));
        } else if answers(index) == answers(first) {
            same.push(by_factors(index));
        } else if let Some(words) = place_sentence::in_short(index, labels) {
            let condition = condition(index, &index.cutoffs).map(|words| format!("{words}, "));
            unlike.push((format!("{}{}", condition.unwrap_or_default(), by_factors(index)), words));
        } else {
            lines.push(of_first(index, &nothing(index, &index.cutoffs, labels, &name)));
        }
        lines.extend(index.change.iter().map(|change| brief(index, change)));
    }
    if !unlike.is_empty() {
        lines.insert(0, EACH_BY_ITS_OWN.to_owned());
    }
    let dated = rest.iter().copied().find(|index| measured_again(index).is_some()).unwrap_or(first);
    let unlike = by_words(unlike.into_iter()).into_iter();
    lines.extend(unlike.map(|(words, names)| of_first(dated, &format!("{}: {words}.", listed(&names)))));
    if !same.is_empty() {
        let line = format!("The same answer as by {}: {}.", first.label, listed(&same));
        lines.push(of_first(dated, &line));
    }
    lines
}

/// What the cutoffs of the person's groups say, group by group.
fn answers(index: &PlacedIndex) -> Vec<(&str, Said)> {
    let shown = first_screen(&index.cutoffs).into_iter();
    shown.map(|c| (c.group.as_str(), answer(c))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Rank;
    use crate::report::place_fixture::{index, with_tests};
    use crate::report::place_words::{COHORT, EVERYBODY};

    fn named_so(label: &str, mut index: PlacedIndex) -> PlacedIndex {
        label.clone_into(&mut index.label);
        index.ranks = vec![rank()];
        index
    }

    fn rank() -> Rank {
        Rank {
            population: COHORT.to_owned(),
            population_label: String::new(),
            grouping: EVERYBODY.to_owned(),
            group: EVERYBODY.to_owned(),
            n: 300,
            df: None,
            percentile: Some(50.0),
            lower: None,
            upper: None,
            at_least: None,
            withheld: String::new(),
            notices: String::new(),
        }
    }

    #[test]
    fn what_an_outcome_shares_with_the_indices_shown_is_said_once() {
        let mut tyg = named_so("TyG", index("short", "short"));
        tyg.shared = vec!["glucose".to_owned(), "triglycerides".to_owned()];
        let insulin = named_so("insulin", index("short", "short"));
        let said = shared([&tyg, &insulin].into_iter());
        let words = "The outcome itself counts what is in TyG (glucose, triglycerides): part of their agreement is built in.";
        assert_eq!(said.as_deref(), Some(words));
        assert_eq!(shared([&insulin].into_iter()), None);
    }

    #[test]
    fn indices_of_the_same_answer_share_a_line_and_each_group_has_its_reason() {
        let homa = named_so("HOMA-IR", index("short", "short"));
        let tyg = named_so("TyG", with_tests(index("beyond", "short"), &["bmi"]));
        let (mets, spise) = (index("beyond", "cannot_tell"), index("beyond", "cannot_tell"));
        let (mets, spise) = (named_so("METS-IR", mets), named_so("SPISE", spise));
        let said = others(&homa, &[&tyg, &mets, &spise], &Labels::default());
        assert_eq!(said.len(), 3, "{said:?}");
        assert_eq!(said[0], EACH_BY_ITS_OWN);
        assert!(said[1].starts_with("TyG 2.50: likely short of 3.00"), "{said:?}");
        assert!(said[1].ends_with(", as its cutoffs differ by bmi."), "{said:?}");
        assert!(
            said[2].starts_with("METS-IR 2.50 and SPISE 2.50: not every group can tell (likely"),
            "{said:?}"
        );
    }
}
