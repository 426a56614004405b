//! Cutoffs in print beside one person's value: how many of those for people like this are passed.

use super::place_format::Block;
use super::place_verdict::past;
use super::place_words::{factor, header, listed, value};
use crate::analysis::{PlacedIndex, PublishedMark};

/// Cutoffs in print, and how many of those for people like this are passed.
pub(super) fn printed(index: &PlacedIndex) -> Vec<Block> {
    let mut blocks: Vec<Block> = passed_in_print(index).into_iter().map(Block::Paragraph).collect();
    if !index.published.is_empty() {
        let rows = index.published.iter().map(|p| published_row(index, p)).collect();
        let names = header(&["in print", "the value is", "people", "rule", "source"]);
        blocks.push(Block::Table(names, rows));
        let converted = index.published.iter().map(|p| &p.conversion).find(|words| !words.is_empty());
        blocks.extend(converted.map(|words| Block::Paragraph(format!("* {words}."))));
    }
    blocks
}

/// How many of the cutoffs in print for people like this are passed.
pub(super) fn passed_in_print(index: &PlacedIndex) -> Option<String> {
    let fitting: Vec<&PublishedMark> = index.published.iter().filter(|p| p.matches).collect();
    let (first, last) = (fitting.first()?, fitting.last()?);
    let by_other = index.other_factor.as_ref().filter(|other| other.unknown).map(|other| {
        let passed = fitting.iter().filter(|p| p.passed_by_other == Some(true)).count();
        format!(" by the factor {}, {passed} by {}", factor(other.taken), factor(other.factor))
    });
    let whom = if index.matched_by.is_empty() {
        " for anybody".to_owned()
    } else {
        format!(" for this {}", listed(&index.matched_by))
    };
    // The lower number first, whichever of them is the more resistant.
    let (low, high) = (first.value.min(last.value), first.value.max(last.value));
    Some(format!(
        "In print{whom}: past {} of {} cutoffs{}, from {} to {}, by country, rule and assay{}.",
        fitting.iter().filter(|p| p.passed).count(),
        fitting.len(),
        by_other.unwrap_or_default(),
        value(index, low),
        value(index, high),
        by_stage(index),
    ))
}

/// The cutoffs that are for the person but for a stage of life, of which nobody is asked: `; not counted: 2.39 before, 2.48
/// after menopause`.
fn by_stage(index: &PlacedIndex) -> String {
    let of_stage = index.published.iter().filter(|p| !p.of_stage.is_empty());
    let of_stage: Vec<&PublishedMark> = of_stage.collect();
    let word = |(at, mark): (usize, &&PublishedMark)| {
        let (when, what) = mark.of_stage.split_once(' ').unwrap_or((mark.of_stage, ""));
        // What two have in common is said once.
        let goes_on = of_stage.get(at + 1).is_some_and(|next| next.of_stage.ends_with(what));
        format!("{} {}", value(index, mark.value), if goes_on { when } else { mark.of_stage })
    };
    let words: Vec<String> = of_stage.iter().enumerate().map(word).collect();
    if words.is_empty() { String::new() } else { format!("; not counted: {}", words.join(", ")) }
}

fn published_row(index: &PlacedIndex, published: &PublishedMark) -> Vec<String> {
    let rule = if published.outcome.is_empty() {
        published.rule.clone()
    } else {
        format!("{}, {}", published.rule, published.outcome)
    };
    let side = if published.at { "at it".to_owned() } else { format!("{} it", past(Some(published.passed))) };
    let other = match (published.matches, published.of_stage) {
        (true, _) => String::new(),
        (false, "") => "; another age or BMI".to_owned(),
        (false, stage) => format!("; not counted: {stage}"),
    };
    let people = format!("{}: {} (n = {}{other})", published.country, published.population, published.n);
    let star = if published.conversion.is_empty() { "" } else { "*" };
    vec![format!("{}{star}", value(index, published.value)), side, people, rule, published.source.clone()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cutoffs_in_print_are_held_against_what_is_given() {
        let mark = PublishedMark { matches: true, passed: true, value: 2.0, ..PublishedMark::default() };
        let of = |matched_by: &[&str]| {
            let matched_by = matched_by.iter().map(|&known| known.to_owned()).collect();
            let index = PlacedIndex {
                unit: "1".to_owned(),
                published: vec![mark.clone()],
                matched_by,
                ..Default::default()
            };
            passed_in_print(&index).unwrap_or_default()
        };
        assert!(of(&["age", "BMI"]).starts_with("In print for this age and BMI: past 1 of 1"));
        assert!(of(&[]).starts_with("In print for anybody: past 1 of 1"));
    }

    #[test]
    fn a_range_runs_from_the_lower_number_up() {
        let of = |value| PublishedMark { value, matches: true, ..PublishedMark::default() };
        // Least resistant first: of QUICKI the highest number.
        let index = PlacedIndex {
            unit: "1".to_owned(),
            lower_is_resistant: true,
            published: vec![of(0.330), of(0.325), of(0.320)],
            ..PlacedIndex::default()
        };
        let said = passed_in_print(&index).unwrap_or_default();
        assert!(said.contains("of 3 cutoffs, from 0.320 to 0.330, by country"), "{said}");
    }

    #[test]
    fn a_cutoff_of_a_stage_that_is_not_known_is_not_counted() {
        let of = |value, matches, of_stage| PublishedMark {
            value,
            matches,
            of_stage,
            population: "women".to_owned(),
            ..PublishedMark::default()
        };
        let published = vec![
            of(2.0, true, ""),
            of(2.39, false, "before menopause"),
            of(2.48, false, "after menopause"),
            of(2.77, false, ""),
        ];
        let index = PlacedIndex { unit: "1".to_owned(), published, ..PlacedIndex::default() };
        let said = passed_in_print(&index).unwrap_or_default();
        assert!(said.contains("past 0 of 1 cutoffs, from 2.00 to 2.00"), "{said}");
        assert!(said.ends_with("; not counted: 2.39 before, 2.48 after menopause."), "{said}");
        let whose = |at: usize| published_row(&index, &index.published[at])[2].clone();
        assert!(whose(1).ends_with("; not counted: before menopause)"), "{}", whose(1));
        assert!(whose(3).ends_with("; another age or BMI)"), "{}", whose(3));
    }
}
