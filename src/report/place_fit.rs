//! Which cutoff fits one person: the sentence that answers first, for whichever value is put to the cutoffs.

use super::place_words::{
    first_screen, group, leading, limit, of_outcome, share, sided, sided_with_chance, verdict,
};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::chart::Labels;
use crate::table::number::{fixed, reading};

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

/// Chooses among the first rule's cutoffs for one outcome.
pub(super) fn fit<'a>(index: &PlacedIndex, shown: Vec<&'a PlacedCutoff>) -> Fit<'a> {
    let Some(first) = shown.first().copied() else { return Fit::Nothing };
    let supported = |c: &PlacedCutoff| {
        let differs = |name: &str| index.tests.iter().any(|t| t.differ == Some(true) && t.grouping == name);
        c.grouping.split(" × ").filter(|name| differs(name)).count()
    };
    let split = |c: &PlacedCutoff| (supported(c), c.grouping.split(" × ").count());
    // The first of those split furthest.
    let best = shown.iter().rev().copied().max_by_key(|c| split(c)).unwrap_or(first);
    let rivals = shown.iter().filter(|c| supported(c) == supported(best)).count();
    let others = shown.iter().copied().filter(|c| !std::ptr::eq(*c, best)).collect();
    if shown.len() == 1 {
        Fit::One(best, Why::Only, others)
    } else if shown.iter().all(|c| answer(c) == answer(first)) {
        Fit::One(best, Why::Agree, others)
    } else if rivals == 1 && supported(best) > 0 {
        Fit::One(best, Why::Supported, others)
    } else {
        Fit::Several(shown)
    }
}

/// What one cutoff says: how likely, on which side, and by the other factor.
pub(super) type Said = (&'static str, Option<bool>, Option<&'static str>);

/// What a cutoff says of the value, and by the other factor of insulin where that says otherwise.
pub(super) fn answer(cutoff: &PlacedCutoff) -> Said {
    (cutoff.likely, cutoff.passed, cutoff.by_other.as_ref().map(|other| other.likely))
}

/// The rule behind the first sentence, and how well its cutoff, or each of them in their order, separates.
pub(super) fn rule(index: &PlacedIndex) -> Option<String> {
    let shares = |c: &PlacedCutoff| Some((share(c.sensitivity?), share(c.specificity?)));
    let (first, words) = match fit(index, first_screen(&index.cutoffs)) {
        Fit::One(cutoff, ..) => {
            let area = cutoff.auc.map(|area| format!(" (AUC {})", fixed(area, 2))).unwrap_or_default();
            let words = shares(cutoff).map(|(found, spared)| {
                format!("; finds {found} of 100 with the outcome, spares {spared} of 100 without it{area}")
            });
            (cutoff, words)
        }
        Fit::Several(shown) => {
            let all: Option<Vec<_>> = shown.iter().map(|c| shares(c)).collect();
            let words = all.map(|all| {
                let each = all.iter().map(|(found, spared)| format!("finds {found}, spares {spared}"));
                format!("; of 100, in this order: {}", each.collect::<Vec<_>>().join("; "))
            });
            (*shown.first()?, words)
        }
        Fit::Nothing => return None,
    };
    Some(format!("Rule: {}{}.", first.rule_label, words.unwrap_or_default()))
}

/// The first sentence: the cutoff that fits, its group, how many people and how sure, or why none can be named.
pub(super) fn sentence(index: &PlacedIndex, cutoffs: &[PlacedCutoff], labels: &Labels, name: &str) -> String {
    let outcome = cutoffs.first().map_or("", |c| c.outcome_label.as_str());
    match fit(index, first_screen(cutoffs)) {
        Fit::One(cutoff, ..) => format!(
            "{name} against the cutoff of {} for {outcome}: {}.",
            whose(cutoff, labels),
            sided_with_chance(index, cutoff)
        ),
        Fit::Several(shown) => {
            let words: Vec<String> = shown
                .into_iter()
                .map(|c| format!("{}: {}", whose(c, labels), sided_with_chance(index, c)))
                .collect();
            format!(
                "No single cutoff for {outcome} can be named for {name}, as this person's groups disagree: {}.",
                words.join("; ")
            )
        }
        Fit::Nothing => nothing(index, cutoffs, labels, name),
    }
}

/// The answer of an index after the first, in short.
pub(super) fn in_short(index: &PlacedIndex, labels: &Labels, name: &str) -> String {
    let among = |c: &PlacedCutoff| group(&c.grouping, &c.group, labels);
    match fit(index, first_screen(&index.cutoffs)) {
        Fit::One(cutoff, ..) => format!("{name}: {} ({}).", sided(index, cutoff), whose(cutoff, labels)),
        Fit::Several(shown) => {
            let words = shown.into_iter().map(|c| format!("{} in {}", verdict(c), among(c)));
            format!("{name}: groups disagree ({}).", words.collect::<Vec<_>>().join("; "))
        }
        Fit::Nothing => nothing(index, &index.cutoffs, labels, name),
    }
}

/// Why no cutoff can be named.
fn nothing(index: &PlacedIndex, cutoffs: &[PlacedCutoff], labels: &Labels, name: &str) -> String {
    let Some(first) = cutoffs.first() else {
        return format!("No cutoff can be named for {name}: the study derives none for {}.", index.label);
    };
    let widest = leading(cutoffs).into_iter().find(|c| c.outcome == first.outcome).unwrap_or(first);
    format!(
        "No cutoff for {} can be named for {name}: it is withheld in every group of this person ({}: {}).",
        first.outcome_label,
        group(&widest.grouping, &widest.group, labels),
        widest.withheld
    )
}

/// A group with its people, and in whose place it stands: `female × BMI 30 and over (n = 351)`.
fn whose(cutoff: &PlacedCutoff, labels: &Labels) -> String {
    let among = group(&cutoff.grouping, &cutoff.group, labels);
    let instead = cutoff.instead_of.iter().map(|withheld| {
        format!(" (withheld in {}, shown instead)", group(&withheld.grouping, &withheld.group, labels))
    });
    format!("{among} (n = {}){}", cutoff.n, instead.collect::<String>())
}

/// Why this cutoff, and what the person's other groups say.
pub(super) fn reasons(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let Fit::One(_, why, others) = fit(index, first_screen(&index.cutoffs)) else { return None };
    let list = |with: &dyn Fn(&PlacedCutoff) -> String| {
        let one = |c: &&PlacedCutoff| format!("{}: {}", whose(c, labels), with(c));
        others.iter().map(one).collect::<Vec<_>>().join("; ")
    };
    match why {
        Why::Only => None,
        Why::Agree => Some(format!("This person's other groups agree ({}).", list(&|c| limit(index, c)))),
        Why::Supported => Some(format!(
            "Of this person's groups this one decides, as cutoffs differ by what splits it; others say otherwise ({}).",
            list(&|c| sided(index, c))
        )),
    }
}

/// Where the cutoff that decides and its smoothed form lie on opposite sides of the value.
pub(super) fn torn(index: &PlacedIndex, labels: &Labels, name: &str) -> Option<String> {
    let sign = if index.lower_is_resistant { -1.0 } else { 1.0 };
    let passed = |limit: f64| sign * index.value >= sign * limit;
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
            "{name} lies between the cutoff as found and as smoothed, past one and short of the other: {}.",
            words.join("; ")
        )
    })
}

/// What the other outcomes of the study say, in a word each.
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
            Fit::One(c, Why::Agree, _) => verdict(c).to_owned(),
            Fit::One(c, ..) => format!("{} in {}", verdict(c), group(&c.grouping, &c.group, labels)),
            Fit::Several(_) => "groups disagree".to_owned(),
            Fit::Nothing => "withheld".to_owned(),
        };
        format!("{}: {words}", outcome.outcome_label)
    };
    let words: Vec<String> = outcomes.into_iter().skip(1).map(word).collect();
    (!words.is_empty()).then(|| format!("By other outcomes: {}.", words.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::GroupingTest;

    /// Two groups of a person: by age, and by sex and BMI.
    fn index(by_age: &'static str, by_bmi: &'static str) -> PlacedIndex {
        let cutoff = |grouping: &str, group: &str, likely| PlacedCutoff {
            outcome_label: "an outcome".to_owned(),
            grouping: grouping.to_owned(),
            group: group.to_owned(),
            n: 300,
            cutoff: Some(3.0),
            lower: Some(2.8),
            upper: Some(3.3),
            passed: Some(likely == "beyond"),
            own: true,
            likely,
            ..PlacedCutoff::default()
        };
        let cutoffs =
            vec![cutoff("age", "40-59", by_age), cutoff("sex × bmi", "female × 30 and over", by_bmi)];
        PlacedIndex {
            label: "HOMA-IR".to_owned(),
            unit: "1".to_owned(),
            value: 2.5,
            cutoffs,
            ..Default::default()
        }
    }

    fn with_tests(mut index: PlacedIndex, differing: &[&str]) -> PlacedIndex {
        let test = |name: &&str| GroupingTest {
            grouping: (*name).to_owned(),
            differ: Some(true),
            ..GroupingTest::default()
        };
        index.tests = differing.iter().map(test).collect();
        index
    }

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
    fn the_first_sentence_names_cutoff_group_people_and_side_or_says_why_not() {
        let labels = Labels::default();
        let said = |index: &PlacedIndex| sentence(index, &index.cutoffs, &labels, "HOMA-IR 2.50");
        let one = said(&index("short", "short"));
        assert!(one.contains("(n = 300) for an outcome: likely short of 3.00 (2.80–3.30)"), "{one}");
        let several = said(&index("short", "beyond"));
        assert!(
            several.starts_with("No single cutoff for an outcome can be named for HOMA-IR 2.50"),
            "{several}"
        );
        assert!(several.contains("likely short of") && several.contains("likely beyond"), "{several}");
        let mut withheld = index("", "");
        for cutoff in &mut withheld.cutoffs {
            (cutoff.cutoff, cutoff.withheld) = (None, "too few people".to_owned());
        }
        let none = said(&withheld);
        assert!(none.contains("withheld in every group") && none.contains("too few people"), "{none}");
    }

    #[test]
    fn the_rule_says_what_its_cutoff_finds_and_spares() {
        let mut index = index("short", "short");
        for cutoff in &mut index.cutoffs {
            cutoff.rule_label = "largest Youden index".to_owned();
        }
        let said = |index: &PlacedIndex| rule(index).unwrap_or_default();
        assert_eq!(said(&index), "Rule: largest Youden index.");
        for cutoff in &mut index.cutoffs {
            (cutoff.sensitivity, cutoff.specificity, cutoff.auc) = (Some(62.4), Some(58.6), Some(0.646));
        }
        let both = "finds 62 of 100 with the outcome, spares 59 of 100 without it (AUC 0.65)";
        assert_eq!(said(&index), format!("Rule: largest Youden index; {both}."));
        (index.cutoffs[0].likely, index.cutoffs[0].sensitivity) = ("beyond", Some(80.0));
        let each = "of 100, in this order: finds 80, spares 59; finds 62, spares 59";
        assert_eq!(said(&index), format!("Rule: largest Youden index; {each}."));
    }

    #[test]
    fn two_estimates_of_one_cutoff_on_opposite_sides_are_told() {
        let mut index = index("short", "short");
        assert_eq!(torn(&index, &Labels::default(), "HOMA-IR 2.50"), None);
        index.cutoffs[1].smoothed = Some(2.4);
        let said = torn(&index, &Labels::default(), "HOMA-IR 2.50").unwrap_or_default();
        assert!(said.contains("past one and short of the other: 3.00 and 2.40 in"), "{said}");
        index.cutoffs[1].smoothed = Some(2.6);
        assert_eq!(torn(&index, &Labels::default(), "HOMA-IR 2.50"), None);
    }
}
