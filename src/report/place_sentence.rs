//! Which cutoff fits one person, in sentences, for whichever value is put to the cutoffs.

use super::place_condition::condition;
use super::place_fit::{Fit, Why, agree, agree_on_a_side, differing, fit, undecided, why_none};
use super::place_nothing::nothing;
use super::place_verdict::{answer, is_open, otherwise, plainly, side_before, sided, verdict};
use super::place_words::{EVERYBODY, factor, first_screen, group, leading, limit, listed, named, of_outcome};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::chart::Labels;
use crate::table::number::reading;

/// The first sentence, with what it hangs on.
pub(super) fn sentence(index: &PlacedIndex, cutoffs: &[PlacedCutoff], labels: &Labels, name: &str) -> String {
    // Nothing is left to predict of an outcome that is met.
    let alone = if cutoffs.first().is_some_and(|c| c.already_met) { "By the index alone: " } else { "" };
    let condition = condition(index, cutoffs).map(|words| format!("{words}: "));
    format!("{alone}{}{}", condition.unwrap_or_default(), by_fit(index, cutoffs, labels, name))
}

/// On which side of the cutoff that fits the value is, or why none can be named.
fn by_fit(index: &PlacedIndex, cutoffs: &[PlacedCutoff], labels: &Labels, name: &str) -> String {
    let outcome = cutoffs.first().map_or("", |c| c.outcome_label.as_str());
    match fit(index, first_screen(cutoffs)) {
        Fit::One(cutoff, ..) => format!("{}.", plainly(index, cutoff, (name, &fitting(cutoff, labels)))),
        Fit::Several(shown) => {
            let why = why_none(index, &shown, labels);
            if agree_on_a_side(&shown) {
                let side = shown.first().map_or("", |c| side_before(c));
                let limits = limits(index, &shown, labels);
                let unknown = shown.iter().any(|c| c.likely.is_empty());
                let varies = if unknown { " How much it varies from day to day is not known." } else { "" };
                return format!(
                    "{name} is {side} the cutoff for {outcome} of each of this person's groups: {limits}. None of them is \
                     preferred, as {why}.{varies}"
                );
            }
            let how = undecided(&shown);
            let each = |c: &PlacedCutoff| format!("{}: {}", counted(c, labels), sided(index, c));
            let words: Vec<String> = shown.into_iter().map(each).collect();
            format!(
                "No single cutoff for {outcome} can be named for {name}, as {why}, and {how}: {}.",
                words.join("; ")
            )
        }
        Fit::Nothing => nothing(index, cutoffs, labels, name),
    }
}

/// The answer of an index after the first, without its name: on which side, in which group, and why that one.
pub(super) fn in_short(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    match fit(index, first_screen(&index.cutoffs)) {
        Fit::One(cutoff, why, _) => {
            let why = match why {
                Why::Only => String::new(),
                Why::Supported => {
                    format!(", as its cutoffs differ by {}", listed(&differing(index, cutoff, labels)))
                }
            };
            Some(format!("{} in {}{why}", sided(index, cutoff), counted(cutoff, labels)))
        }
        Fit::Several(shown) if agree_on_a_side(&shown) => {
            let side = shown.first().map_or("", |c| side_before(c));
            Some(format!("{side} the cutoff of each group ({})", limits(index, &shown, labels)))
        }
        Fit::Several(shown) => Some(format!("{} ({})", undecided(&shown), by_verdict(index, &shown, labels))),
        Fit::Nothing => None,
    }
}

/// Verdicts, each with its groups: `likely beyond in age 40-59; cannot tell in female and in BMI 30 and over`.
fn by_verdict(index: &PlacedIndex, shown: &[&PlacedCutoff], labels: &Labels) -> String {
    let mut all: Vec<(String, Vec<String>)> = Vec::new();
    for cutoff in shown {
        let (said, among) = (verdict(index, cutoff), format!("in {}", whose(cutoff, labels)));
        match all.iter_mut().find(|(known, _)| *known == said) {
            Some((_, groups)) => groups.push(among),
            None => all.push((said, vec![among])),
        }
    }
    let words = all.iter().map(|(said, groups)| format!("{said} {}", listed(groups)));
    words.collect::<Vec<_>>().join("; ")
}

/// Whose cutoff is taken: the one that fits, or one in place of those that are withheld.
fn fitting(cutoff: &PlacedCutoff, labels: &Labels) -> String {
    let among = group(&cutoff.grouping, &cutoff.group, labels);
    if cutoff.instead_of.is_empty() {
        return format!("the cutoff that fits ({among})");
    }
    let whom = if cutoff.grouping == EVERYBODY { "everybody in the study" } else { among.as_str() };
    format!("the cutoff of {whom}, as none can be printed of {}", listed(&withheld_in(cutoff, labels)))
}

/// A group, and in whose place it stands: `female, as it is withheld in female × BMI under 18.5`.
fn whose(cutoff: &PlacedCutoff, labels: &Labels) -> String {
    format!("{}{}", group(&cutoff.grouping, &cutoff.group, labels), instead(cutoff, labels))
}

/// A group with its people, and in whose place it stands.
fn counted(cutoff: &PlacedCutoff, labels: &Labels) -> String {
    let among = group(&cutoff.grouping, &cutoff.group, labels);
    format!("{among} (n = {}){}", cutoff.n, instead(cutoff, labels))
}

fn instead(cutoff: &PlacedCutoff, labels: &Labels) -> String {
    let withheld = withheld_in(cutoff, labels);
    if withheld.is_empty() { String::new() } else { format!(", as it is withheld in {}", listed(&withheld)) }
}

/// Cutoffs, each with its group and people.
fn limits(index: &PlacedIndex, cutoffs: &[&PlacedCutoff], labels: &Labels) -> String {
    let one = |c: &&PlacedCutoff| format!("{}: {}", counted(c, labels), limit(index, c));
    cutoffs.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// The groups in whose place a cutoff stands.
fn withheld_in(cutoff: &PlacedCutoff, labels: &Labels) -> Vec<String> {
    cutoff.instead_of.iter().map(|of| group(&of.grouping, &of.group, labels)).collect()
}

/// Why this cutoff, and what those of the person's other groups say.
pub(super) fn reasons(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let Fit::One(deciding, why, others) = fit(index, first_screen(&index.cutoffs)) else { return None };
    match why {
        // Whoever's cutoff stands in has been said, with the reason.
        Why::Only if !deciding.instead_of.is_empty() => None,
        Why::Only => Some("No other group of this person is compared here.".to_owned()),
        Why::Supported => {
            let by = listed(&differing(index, deciding, labels));
            let beside = unlike(index, labels).unwrap_or_else(|| {
                let say = if is_open(deciding) { "cannot tell either" } else { "say the same" };
                format!("This person's other groups {say} ({}).", limits(index, &others, labels))
            });
            Some(format!("This group's cutoff is taken because cutoffs differ by {by}. {beside}"))
        }
    }
}

/// What the cutoffs of the person's other groups say that say otherwise than one that the test supports.
pub(super) fn unlike(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let Fit::One(deciding, Why::Supported, others) = fit(index, first_screen(&index.cutoffs)) else {
        return None;
    };
    let unlike = others.into_iter().filter(|c| otherwise(deciding, c));
    let words: Vec<String> = unlike.map(|c| format!("{}: {}", counted(c, labels), sided(index, c))).collect();
    (!words.is_empty()).then(|| format!("Otherwise in {}.", words.join("; ")))
}

/// Where the cutoff that decides and its smoothed form lie on opposite sides of the value, by either factor of insulin.
pub(super) fn torn(index: &PlacedIndex, labels: &Labels) -> Vec<String> {
    let name = |at: f64| named(index, at);
    match index.other_factor.as_ref().filter(|other| other.unknown) {
        None => torn_at(index, (index.value, &name(index.value)), labels).into_iter().collect(),
        Some(other) => [(index.value, other.taken), (other.value, other.factor)]
            .into_iter()
            .filter_map(|(at, by)| {
                let name = format!("{} by the factor {}", name(at), factor(by));
                torn_at(index, (at, &name), labels)
            })
            .collect(),
    }
}

fn torn_at(index: &PlacedIndex, (at, name): (f64, &str), labels: &Labels) -> Option<String> {
    let sign = if index.lower_is_resistant { -1.0 } else { 1.0 };
    let passed = |limit: f64| sign * at >= sign * limit;
    let deciding = match fit(index, first_screen(&index.cutoffs)) {
        Fit::One(cutoff, ..) => vec![cutoff],
        Fit::Several(shown) => shown,
        Fit::Nothing => Vec::new(),
    };
    let words: Vec<String> = deciding
        .into_iter()
        .filter_map(|c| Some((c, c.cutoff?, c.smoothed?)))
        .filter(|(_, found, smoothed)| passed(*found) != passed(*smoothed))
        .map(|(c, found, smoothed)| {
            let among = group(&c.grouping, &c.group, labels);
            format!("{} and {} in {among}", reading(found, 3), reading(smoothed, 3))
        })
        .collect();
    (!words.is_empty()).then(|| {
        format!(
            "{name} lies between the cutoff as found and as smoothed, past one and short of the other: {}. The one to write \
             down is the one as found, with its interval.",
            words.join("; ")
        )
    })
}

/// What the other outcomes of the study say that the person does not already meet, in a word each.
pub(super) fn other_outcomes(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let leading = leading(&index.cutoffs);
    let mut outcomes: Vec<&PlacedCutoff> = Vec::new();
    for cutoff in &leading {
        if outcomes.iter().all(|o| o.outcome != cutoff.outcome) {
            outcomes.push(cutoff);
        }
    }
    let word = |outcome: &PlacedCutoff| {
        let words = match fit(index, of_outcome(&leading, &outcome.outcome)) {
            Fit::One(c, Why::Supported, others) if others.iter().all(|o| answer(o) == answer(c)) => {
                verdict(index, c)
            }
            Fit::One(c, ..) => format!("{} in {}", verdict(index, c), group(&c.grouping, &c.group, labels)),
            Fit::Several(shown) if agree(&shown) => {
                shown.first().map_or_else(String::new, |c| verdict(index, c))
            }
            Fit::Several(shown) => undecided(&shown).to_owned(),
            Fit::Nothing => "withheld".to_owned(),
        };
        format!("{}: {words}", outcome.outcome_label)
    };
    let open = outcomes.into_iter().skip(1).filter(|outcome| !outcome.already_met);
    let words: Vec<String> = open.map(word).collect();
    (!words.is_empty()).then(|| format!("By other outcomes: {}.", words.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Instead;
    use crate::report::place_fixture::{by_the_older_factor, index, with_tests};

    #[test]
    fn the_first_sentence_names_cutoff_group_people_and_side_or_says_why_not() {
        let labels = Labels::default();
        let said = |index: &PlacedIndex| sentence(index, &index.cutoffs, &labels, "HOMA-IR 2.50");
        let one = said(&with_tests(index("short", "short"), &["bmi"]));
        assert!(
            one.starts_with("HOMA-IR 2.50 is likely short of 3.00 (2.80–3.30), the cutoff that fits ("),
            "{one}"
        );
        let none_preferred = said(&with_tests(index("short", "short"), &["age", "bmi"]));
        let each = "HOMA-IR 2.50 is likely short of the cutoff for an outcome of each of this person's groups: age 40-59 (n = \
                    300): 3.00 (2.80–3.30); ";
        assert!(none_preferred.starts_with(each), "{none_preferred}");
        let why = ". None of them is preferred, as cutoffs differ by age and bmi alike.";
        assert!(none_preferred.ends_with(why), "{none_preferred}");
        let several = said(&index("short", "beyond"));
        assert!(
            several.starts_with("No single cutoff for an outcome can be named for HOMA-IR 2.50"),
            "{several}"
        );
        let why = "as cutoffs could not be tested between groups, and groups disagree: ";
        assert!(several.contains(why), "{several}");
        assert!(several.contains("likely short of") && several.contains("likely beyond"), "{several}");
        assert!(said(&index("short", "cannot_tell")).contains(" and not every group can tell: "));
        assert!(said(&index("cannot_tell", "cannot_tell")).contains(" and no group can tell: "));
        let mut withheld = index("", "");
        for cutoff in &mut withheld.cutoffs {
            (cutoff.cutoff, cutoff.withheld) = (None, "too few people".to_owned());
        }
        let none = said(&withheld);
        assert!(none.contains("withheld in every group") && none.contains("too few people"), "{none}");
    }

    #[test]
    fn an_outcome_that_is_met_is_not_predicted_again() {
        let labels = Labels::default();
        let mut index = index("short", "short");
        let of = |name: &str, met, cutoff: &PlacedCutoff| PlacedCutoff {
            outcome: name.to_owned(),
            outcome_label: name.to_owned(),
            already_met: met,
            ..cutoff.clone()
        };
        let first = index.cutoffs[1].clone();
        index.cutoffs.extend([of("A1c", true, &first), of("glucose", false, &first)]);
        let said = other_outcomes(&index, &labels).unwrap_or_default();
        assert_eq!(said, "By other outcomes: glucose: likely short in female × 30 and over.");
        index.cutoffs[3].already_met = true;
        assert_eq!(other_outcomes(&index, &labels), None);
        let plain = sentence(&index, &index.cutoffs, &labels, "HOMA-IR 2.50");
        assert!(plain.starts_with("HOMA-IR 2.50 is likely short"), "{plain}");
        index.cutoffs[0].already_met = true;
        let met = sentence(&index, &index.cutoffs, &labels, "HOMA-IR 2.50");
        assert!(met.starts_with("By the index alone: HOMA-IR 2.50 is likely short"), "{met}");
    }

    #[test]
    fn two_estimates_of_one_cutoff_on_opposite_sides_are_told() {
        let mut index = index("short", "short");
        let said = |index: &PlacedIndex| torn(index, &Labels::default());
        assert!(said(&index).is_empty());
        index.cutoffs[1].smoothed = Some(2.4);
        let one = said(&index).join(" ");
        assert!(one.contains("past one and short of the other: 3.00 and 2.40 in"), "{one}");
        assert!(
            one.starts_with("HOMA-IR 2.50 lies") && one.ends_with("as found, with its interval."),
            "{one}"
        );
        index.cutoffs[1].smoothed = Some(2.6);
        assert!(said(&index).is_empty());
        // By the other factor alone.
        index.other_factor = Some(by_the_older_factor(2.7));
        let other = said(&index);
        assert_eq!(other.len(), 1, "{other:?}");
        assert!(other[0].starts_with("HOMA-IR 2.70 by the factor 6.945 lies between"), "{other:?}");
    }

    #[test]
    fn a_cutoff_in_place_of_a_withheld_one_is_not_called_fitting() {
        let mut index = index("short", "short");
        let withheld = Instead {
            grouping: "sex × age".to_owned(),
            group: "female × 12-15".to_owned(),
            why: "too few people".to_owned(),
        };
        index.cutoffs.truncate(1);
        let cutoff = &mut index.cutoffs[0];
        (cutoff.grouping, cutoff.group) = (EVERYBODY.to_owned(), EVERYBODY.to_owned());
        cutoff.instead_of = vec![withheld];
        let said = sentence(&index, &index.cutoffs, &Labels::default(), "HOMA-IR 2.50");
        let whose = "3.00 (2.80–3.30), the cutoff of everybody in the study, as none can be printed of female × age 12-15";
        assert!(said.starts_with(&format!("HOMA-IR 2.50 is likely short of {whose}")), "{said}");
    }

    #[test]
    fn only_groups_that_say_otherwise_are_listed() {
        let labels = Labels::default();
        let of = |by_age, by_bmi| {
            reasons(&with_tests(index(by_age, by_bmi), &["bmi"]), &labels).unwrap_or_default()
        };
        let reason = "This group's cutoff is taken because cutoffs differ by bmi. ";
        let said = of("short", "cannot_tell");
        let other = "Otherwise in age 40-59 (n = 300): likely short of 3.00 (2.80–3.30).";
        assert_eq!(said, format!("{reason}{other}"));
        let said = of("beyond", "cannot_tell");
        assert!(
            said.contains(" Otherwise in age 40-59 (n = 300): likely beyond 3.00 (2.80–3.30)."),
            "{said}"
        );
        for (both, words) in [("cannot_tell", "cannot tell either"), ("short", "say the same")] {
            let said = of(both, both);
            let limits = "(age 40-59 (n = 300): 3.00 (2.80–3.30)).";
            assert_eq!(said, format!("{reason}This person's other groups {words} {limits}"));
        }
        let mut one = index("short", "short");
        one.cutoffs.truncate(1);
        let said = reasons(&one, &labels);
        assert_eq!(said.as_deref(), Some("No other group of this person is compared here."));
    }

    #[test]
    fn another_index_says_its_group_and_why() {
        let labels = Labels::default();
        let said = |index: &PlacedIndex| in_short(index, &labels).unwrap_or_default();
        let one = said(&with_tests(index("beyond", "short"), &["bmi"]));
        assert!(one.starts_with("likely short of 3.00 (2.80–3.30) in "), "{one}");
        assert!(one.ends_with("(n = 300), as its cutoffs differ by bmi"), "{one}");
        let same = said(&index("short", "short"));
        assert!(
            same.starts_with("likely short of the cutoff of each group (age 40-59 (n = 300): 3.00"),
            "{same}"
        );
        let several = said(&index("beyond", "cannot_tell"));
        assert!(several.starts_with("not every group can tell (likely beyond in "), "{several}");
    }
}
