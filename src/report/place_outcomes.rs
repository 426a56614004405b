//! What a person's own values say of the study's outcomes, item by item.

use super::place_first::flagged;
use super::place_words::listed;
use crate::analysis::{OutcomeMet, Placed};

/// Words at which the name of a condition ends and its limit begins.
const LIMIT: [&str; 5] = ["below", "above", "under", "over", "at"];

/// The items of the first outcome that counts some of which are given, then the outcomes that are met, by name.
pub(super) fn met(outcomes: &[OutcomeMet], flags: &[(&str, &str)]) -> Vec<String> {
    let counted = outcomes.iter().find(|o| o.given > 0);
    let mut lines: Vec<String> = counted.iter().map(|outcome| items(outcome, flags)).collect();
    let others = outcomes.iter().filter(|o| o.met == Some(true));
    let others = others.filter(|o| counted.is_none_or(|first| first.outcome != o.outcome));
    let others: Vec<String> =
        others.map(|o| format!("{}{}", o.label, condition_of(o.met_if_fasting))).collect();
    if !others.is_empty() {
        lines.push(format!(
            "By the values given the person already meets, whatever the index says: {}.",
            others.join("; ")
        ));
    }
    lines
}

/// That the person already meets the outcome that the first cutoffs predict: at either date, where there are two.
pub(super) fn already_met(placed: &Placed) -> Option<String> {
    let first = placed.indices.iter().chain(&placed.groups).find_map(|index| index.cutoffs.first())?;
    let is_met = |of: &[OutcomeMet]| {
        of.iter().find(|found| found.outcome == first.outcome && found.met == Some(true)).cloned()
    };
    let then = placed.second.as_ref().and_then(|second| is_met(&second.outcomes));
    let (outcome, date) = match (is_met(&placed.outcomes), then) {
        (Some(outcome), _) if placed.second.is_none() => (outcome, ""),
        (Some(outcome), Some(_)) => (outcome, " at both dates"),
        (Some(outcome), None) => (outcome, " at the first date"),
        (None, Some(outcome)) => (outcome, " at the second date"),
        (None, None) => return None,
    };
    Some(format!(
        "By the values given the person already meets {}{}{date}, the outcome that these cutoffs predict: no cutoff says \
         more of it, and each verdict is of the index alone.",
        outcome.label,
        condition_of(outcome.met_if_fasting)
    ))
}

/// What an answer hangs on that rests on a fast of which nothing is said.
fn condition_of(if_fasting: bool) -> &'static str {
    if if_fasting { ", if taken fasting" } else { "" }
}

/// How many items are given and met, which of them a drug would make count, and whether the outcome is met.
fn items(outcome: &OutcomeMet, flags: &[(&str, &str)]) -> String {
    let names = |labels: &[String]| labels.iter().map(|label| condition(label)).collect::<Vec<_>>();
    let which = if outcome.which.is_empty() {
        String::new()
    } else {
        format!(" ({})", names(&outcome.which).join("; "))
    };
    let if_fasting = if outcome.if_fasting.is_empty() {
        String::new()
    } else {
        let both = outcome.yes + outcome.if_fasting.len();
        format!("; {both} with {} if taken fasting", listed(&names(&outcome.if_fasting)))
    };
    let by_drug = if outcome.by_drug.is_empty() {
        String::new()
    } else {
        format!(
            "; {} not met by value, but counted as met if a drug for it is taken (not stated: {})",
            listed(&names(&outcome.by_drug)),
            flagged(outcome.drugs.iter(), flags)
        )
    };
    let verdict = match outcome.met {
        Some(true) => "the person already meets the outcome that its cutoffs predict",
        Some(false) => "the outcome is not met",
        None => "undecided",
    };
    format!(
        "Of the {} items of {}, {} given, {} met{which}{if_fasting}{by_drug}: {verdict}{}.",
        outcome.items,
        outcome.label,
        outcome.given,
        outcome.yes,
        condition_of(outcome.met_if_fasting)
    )
}

/// The name of a condition without its limit: `HDL` for `HDL below 40 mg/dL`.
fn condition(label: &str) -> String {
    let limit =
        |word: &&str| LIMIT.contains(word) || word.starts_with(|letter: char| letter.is_ascii_digit());
    let words: Vec<&str> = label.split(' ').take_while(|word| !limit(word)).collect();
    if words.is_empty() { label.to_owned() } else { words.join(" ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn syndrome() -> OutcomeMet {
        OutcomeMet {
            outcome: "syndrome".to_owned(),
            label: "the syndrome".to_owned(),
            met: Some(true),
            items: 5,
            given: 5,
            yes: 3,
            which: vec!["waist 88 cm or more".to_owned(), "glucose 100 mg/dL or more".to_owned()],
            by_drug: vec!["HDL below 50 mg/dL, or a drug".to_owned()],
            drugs: vec!["lipid_drug".to_owned()],
            ..OutcomeMet::default()
        }
    }

    #[test]
    fn items_that_a_drug_would_make_count_are_not_dropped() {
        let said = met(&[syndrome()], &[]).join(" ");
        assert_eq!(
            said,
            "Of the 5 items of the syndrome, 5 given, 3 met (waist; glucose); HDL not met by value, but counted as met if a \
             drug for it is taken (not stated: --value lipid_drug=…): the person already meets the outcome that its cutoffs \
             predict."
        );
    }

    #[test]
    fn what_rests_on_a_fast_that_is_not_known_says_so() {
        let open = OutcomeMet {
            given: 2,
            yes: 1,
            met: None,
            which: vec!["waist 88 cm or more".to_owned()],
            if_fasting: vec!["fasting glucose 100 mg/dL or more".to_owned()],
            by_drug: Vec::new(),
            ..syndrome()
        };
        let said = |outcome: &OutcomeMet| met(std::slice::from_ref(outcome), &[]).join(" ");
        let counted = "Of the 5 items of the syndrome, 2 given, 1 met (waist); 2 with fasting glucose if taken fasting: ";
        assert_eq!(said(&open), format!("{counted}undecided."));
        let decided = OutcomeMet { met: Some(false), met_if_fasting: true, ..open };
        assert_eq!(said(&decided), format!("{counted}the outcome is not met, if taken fasting."));
    }

    #[test]
    fn items_are_said_although_the_outcome_is_not_met() {
        let plain = OutcomeMet { by_drug: Vec::new(), drugs: Vec::new(), ..syndrome() };
        let one = |met| OutcomeMet { met, given: 1, yes: 0, which: Vec::new(), ..plain.clone() };
        let said = |outcome| met(&[outcome], &[]).join(" ");
        assert_eq!(said(one(None)), "Of the 5 items of the syndrome, 1 given, 0 met: undecided.");
        assert!(said(one(Some(false))).ends_with("0 met: the outcome is not met."));
        assert!(met(&[OutcomeMet { given: 0, met: None, ..plain }], &[]).is_empty());
    }
}
