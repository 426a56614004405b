//! The cutoffs of a person's groups where no value is given: which one would be used, how wide its interval is, and why.

use super::place::PlaceInput;
use super::place_fit::{differing, preferred, why_none};
use super::place_format::Block;
use super::place_lead::tested;
use super::place_limits::limit_cell;
use super::place_nothing::wrong_way;
use super::place_outcomes::already_met;
use super::place_words::{NOBODY, first_screen, group, header, limit, listed, share};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::chart::Labels;
use crate::table::number::fixed;

/// Sentences and a table, where the answer is of groups alone.
pub(super) fn groups(input: &PlaceInput<'_>) -> Vec<Block> {
    let Some(index) = &input.placed.groups else { return Vec::new() };
    let mut blocks = vec![Block::Heading("The cutoffs of this person's groups".to_owned())];
    let words = already_met(input.placed).into_iter().chain(sentences(index, input.labels));
    blocks.extend(words.map(Block::Paragraph));
    let rows = index.cutoffs.iter().map(|cutoff| row(index, cutoff, input.labels)).collect();
    let cutoff = format!("cutoff ({})", input.labels.confidence);
    let names = ["among", "people", "with the outcome", &cutoff, "finds/spares", "AUC"];
    blocks.push(Block::Table(header(&names), rows));
    let smaller =
        index.cutoffs.iter().flat_map(|cutoff| cutoff.instead_of.iter().map(move |of| (cutoff, of)));
    blocks.extend(smaller.map(|(cutoff, of)| {
        let [withheld, shown] = [(&of.grouping, &of.group), (&cutoff.grouping, &cutoff.group)]
            .map(|(by, name)| group(by, name, input.labels));
        Block::Paragraph(format!("Withheld in {withheld}: {}. Shown instead: {shown}.", of.why))
    }));
    blocks
}

/// That nothing is placed, and which cutoff would be used of this person.
pub(super) fn sentences(index: &PlacedIndex, labels: &Labels) -> Vec<String> {
    let Some(first) = index.cutoffs.first() else {
        return vec![format!("The study derives no cutoff for {}.", index.label)];
    };
    let of = format!("{} for {} ({})", index.label, first.outcome_label, first.rule_label);
    let nothing = format!("No value is given, so nothing is placed. The cutoffs are those of {of}.");
    let shown = first_screen(&index.cutoffs);
    let one = |cutoff: &PlacedCutoff| {
        let among = group(&cutoff.grouping, &cutoff.group, labels);
        format!("{} in {among} (n = {})", limit(index, cutoff), cutoff.n)
    };
    let used = match (preferred(index, &shown), &*shown) {
        (_, []) => wrong_way(index, &index.cutoffs, labels).map_or_else(
            || "The cutoff is withheld in every group of this person.".to_owned(),
            |why| format!("No cutoff fits: {why}."),
        ),
        (_, [only]) => {
            format!(
                "The cutoff that would be used: {}; no other group of this person is compared.",
                one(only)
            )
        }
        (Some(best), _) => format!(
            "The cutoff that would be used: {}, as cutoffs differ by {}.",
            one(best),
            listed(&differing(index, best, labels))
        ),
        (None, several) => {
            let all: Vec<String> = several.iter().map(|cutoff| one(cutoff)).collect();
            let why = why_none(index, several, labels);
            format!("No group of this person is preferred, as {why}: {}.", listed(&all))
        }
    };
    [nothing, used].into_iter().chain(tested(index, labels)).collect()
}

fn row(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels) -> Vec<String> {
    let or_nobody = |words: Option<String>| words.unwrap_or_else(|| NOBODY.to_owned());
    let both = cutoff.sensitivity.zip(cutoff.specificity);
    vec![
        group(&cutoff.grouping, &cutoff.group, labels),
        cutoff.n.to_string(),
        cutoff.n_with.to_string(),
        limit_cell(index, Some(cutoff)),
        or_nobody(both.map(|(finds, spares)| format!("{}/{}", share(finds), share(spares)))),
        or_nobody(cutoff.auc.map(|area| fixed(area, 2))),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::place_fixture::{index, with_tests};

    #[test]
    fn the_cutoff_that_would_be_used_is_named_with_its_interval() {
        let said = |index: &PlacedIndex| sentences(index, &Labels::default()).join(" ");
        let open = said(&index("", ""));
        assert!(open.starts_with("No value is given, so nothing is placed."), "{open}");
        let none = "No group of this person is preferred, as cutoffs could not be tested between groups: ";
        assert!(open.contains(none), "{open}");
        assert!(open.contains("3.00 (2.80–3.30) in age 40-59 (n = 300) and 3.00"), "{open}");
        let one = said(&with_tests(index("", ""), &["bmi"]));
        let used = "The cutoff that would be used: 3.00 (2.80–3.30) in female × 30 and over (n = 300), as cutoffs differ \
                    by bmi.";
        assert!(one.contains(used), "{one}");
        let mut withheld = index("", "");
        withheld.cutoffs.iter_mut().for_each(|cutoff| cutoff.cutoff = None);
        assert!(said(&withheld).contains("withheld in every group of this person"));
    }
}
