//! The first sentences about one index: where the value stands, on which side of which cutoff, and what to make of it.

use super::place_change::change;
use super::place_factor::by_the_other;
use super::place_fit::deciding;
use super::place_rule::rule;
use super::place_second::{of_first, second};
use super::place_sentence::{reasons, sentence, torn};
use super::place_verdict::{chances, sided, varies};
use super::place_words::{
    COHORT, EVERYBODY, bare, first_screen, group, leading, listed, named, named_by_taken, share, splits_by,
};
use crate::analysis::{GroupingTest, PlacedCutoff, PlacedIndex, Rank};
use crate::chart::Labels;
use crate::table::number::{fixed, p_is, reading};

/// What the p values are adjusted for.
const ADJUSTED: &str = "These p are by Holm's method over all such tests.";
/// Points by which a percentile must be lower in a group than in everybody for the group to be at high risk.
const LOWER_BY: f64 = 10.0;

/// A percentile from here on does not read as low.
const LOW: f64 = 40.0;

/// The sentences of one index: which cutoff fits and on which side the value is, where it stands, and what to make of it.
pub(super) fn lead(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<String> {
    let name = named(index, index.value);
    if !index.withheld.is_empty() {
        return vec![format!("{} is withheld, as {}.", index.label, index.withheld)];
    }
    if index.ranks.is_empty() {
        let mut lines = vec![bare(index)];
        lines.extend(index.change.iter().map(|of| change(index, of)));
        return lines;
    }
    // Of two dates all is of the first, up to the sentence that names the second.
    let mut lines = vec![of_first(index, &sentence(index, &index.cutoffs, labels, &name))];
    lines.extend(rule(index));
    lines.extend(variation(index));
    lines.extend(index.lower_is_resistant.then(|| {
        format!("Lower {} means more insulin resistant: beyond a cutoff is below it.", index.label)
    }));
    let (reasons, tested) = (reasons(index, labels), tested(index, labels));
    let why: Vec<String> = reasons.into_iter().chain(tested).collect();
    lines.extend((!why.is_empty()).then(|| why.join(" ")));
    lines.extend(torn(index, labels));
    lines.push(stands(&index.ranks, labels, &named_in_doubt(index)));
    let other = index.other_factor.as_ref().filter(|other| other.unknown || all);
    lines.extend(other.map(|other| by_the_other(index, (other, &index.cutoffs), labels)));
    lines.extend(no_reassurance(index, labels));
    if let Some(of) = &index.change {
        lines.extend(second(index, of, labels, |then| {
            let low = no_reassurance(then, labels).map(|words| format!(" {words}")).unwrap_or_default();
            format!("{}{low}", stands(&then.ranks, labels, &named_in_doubt(then)))
        }));
        lines.push(change(index, of));
    }
    lines
}

/// The chances behind the first sentence, or how much the index varies where the sentence has none.
fn variation(index: &PlacedIndex) -> Option<String> {
    let said = deciding(index, &index.cutoffs).filter(|_| index.doubt.is_none());
    said.and_then(|cutoff| chances(index, cutoff)).or_else(|| {
        index.variation.as_ref().map(|used| format!("One measurement varies ({}).", varies(used)))
    })
}

/// The value, with what a percentile of it hangs on where a measurement is in doubt.
fn named_in_doubt(index: &PlacedIndex) -> String {
    let condition = match &index.doubt {
        None => String::new(),
        Some(doubt) if doubt.stands_in => ", by the guess".to_owned(),
        Some(doubt) => format!(", if {} is right", doubt.measured),
    };
    format!("{}{condition}", named_by_taken(index))
}

/// Where a value stands among everybody and in the reference groups.
fn stands(ranks: &[Rank], labels: &Labels, name: &str) -> String {
    let of = |rank: &Rank| {
        let p = rank.percentile?;
        let (lower, upper) = (rank.lower.unwrap_or(p), rank.upper.unwrap_or(p));
        Some(format!("{} of 100 ({}–{})", share(p), share(lower), share(upper)))
    };
    let everybody = ranks.iter().filter(|r| r.grouping == EVERYBODY);
    let words: Vec<String> = everybody
        .map(|rank| {
            let whom = if rank.population == COHORT {
                "people of the study".to_owned()
            } else {
                labels.people_of(&rank.population)
            };
            match (of(rank), rank.at_least) {
                (Some(found), _) => format!("{found} {whom}"),
                (None, Some(least)) => format!("at least {} of 100 {whom}", fixed(least, 0)),
                (None, None) => format!("a share that is withheld of {whom}"),
            }
        })
        .collect();
    format!("{name}: more insulin resistant than {}.", words.join(", and than "))
}

/// Which groupings the test of heterogeneity supports.
pub(super) fn tested(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let p = |test: &GroupingTest| format!("p {}", p_is(test.p_holm.unwrap_or(1.0)));
    let of = |wanted: bool| -> Vec<String> {
        let mut words: Vec<(String, String)> = Vec::new();
        for test in index.tests.iter().filter(|test| test.differ == Some(wanted)) {
            // Two classifications of one quantity count once.
            let by = splits_by(&test.grouping, labels);
            if words.iter().all(|(known, _)| *known != by) {
                words.push((by.clone(), format!("{by} ({})", p(test))));
            }
        }
        words.into_iter().map(|(_, words)| words).collect()
    };
    let (differ, alike) = (of(true), of(false));
    let cutoffs = match &index.tests_of {
        None => "smoothed cutoffs".to_owned(),
        Some(twin) => format!("smoothed cutoffs of {twin}, which says the same,"),
    };
    let whole = || {
        let everybody =
            leading(&index.cutoffs).into_iter().find(|c| c.grouping == EVERYBODY && c.cutoff.is_some());
        let placed = everybody.filter(|c| c.passed.is_some());
        placed.map(|c| format!("; in everybody: {}", sided(index, c))).unwrap_or_default()
    };
    let sentence = match (differ.is_empty(), alike.is_empty()) {
        (true, true) => return None,
        (false, true) => {
            format!("Between groups the {cutoffs} differ by more than noise by {}.", listed(&differ))
        }
        (false, false) => format!(
            "Between groups the {cutoffs} differ by more than noise by {}; not distinguishable by {}.",
            listed(&differ),
            listed(&alike)
        ),
        (true, false) => format!(
            "Between groups the {cutoffs} are not distinguishable by {}: one cutoff for everybody may do as well{}.",
            listed(&alike),
            whole()
        ),
    };
    Some(format!("{sentence}{} {ADJUSTED}", smoothed(index, labels).unwrap_or_default()))
}

/// The smoothed cutoffs of the person's smallest groups, which the test is of.
fn smoothed(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let one = |c: &PlacedCutoff| {
        Some(format!("{} in {}", reading(c.smoothed?, 3), group(&c.grouping, &c.group, labels)))
    };
    let words: Vec<String> = first_screen(&index.cutoffs).into_iter().filter_map(one).collect();
    (!words.is_empty()).then(|| format!(" Smoothed they are {}.", listed(&words)))
}

/// What a low percentile in a group means whose cutoff lies high.
fn no_reassurance(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let cohort = |r: &&Rank| r.population == COHORT;
    let everybody = index.ranks.iter().filter(cohort).find(|r| r.grouping == EVERYBODY)?.percentile?;
    let own = index.own.iter().map(|&at| &index.ranks[at]);
    let low: Vec<(&Rank, String)> = own
        .filter(|rank| rank.percentile.is_some_and(|p| p < everybody - LOWER_BY && p < LOW))
        .map(|rank| {
            let p = rank.percentile.unwrap_or_default();
            (rank, format!("{} of 100 in {}", share(p), group(&rank.grouping, &rank.group, labels)))
        })
        .collect();
    (!low.is_empty()).then(|| {
        format!(
            "Less resistant are only {}. A low percentile in a group whose values lie high is no reassurance{}.",
            listed(&low.iter().map(|(_, words)| words.clone()).collect::<Vec<_>>()),
            low.iter().find_map(|(rank, _)| most_have_it(index, rank)).unwrap_or_default()
        )
    })
}

/// That most people of a group have the outcome, where they do.
fn most_have_it(index: &PlacedIndex, rank: &Rank) -> Option<String> {
    let of_group = |c: &&PlacedCutoff| (&c.grouping, &c.group) == (&rank.grouping, &rank.group);
    let cutoff = first_screen(&index.cutoffs).into_iter().find(of_group)?;
    (2 * cutoff.n_with > cutoff.n)
        .then(|| format!(": {} of its {} people have the outcome", cutoff.n_with, cutoff.n))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Doubt;
    use crate::report::place_fixture::{index, with_tests};

    #[test]
    fn a_percentile_of_a_guess_says_so() {
        let mut index = index("short", "short");
        assert_eq!(named_in_doubt(&index), "HOMA-IR 2.50");
        let doubt = Doubt { measured: "insulin".to_owned(), ..Doubt::default() };
        index.doubt = Some(doubt.clone());
        assert_eq!(named_in_doubt(&index), "HOMA-IR 2.50, if insulin is right");
        index.doubt = Some(Doubt { stands_in: true, ..doubt });
        assert_eq!(named_in_doubt(&index), "HOMA-IR 2.50, by the guess");
    }

    #[test]
    fn the_test_between_groups_is_said_to_be_of_smoothed_cutoffs() {
        let mut index = with_tests(index("short", "short"), &["bmi"]);
        let said = |index: &PlacedIndex| tested(index, &Labels::default()).unwrap_or_default();
        assert!(
            said(&index).starts_with("Between groups the smoothed cutoffs differ by more than noise by bmi")
        );
        assert!(!said(&index).contains("Smoothed they are"), "{}", said(&index));
        index.cutoffs[0].smoothed = Some(2.0);
        index.cutoffs[1].smoothed = Some(2.9);
        let both = " Smoothed they are 2.00 in age 40-59 and 2.90 in female × 30 and over. These p";
        assert!(said(&index).contains(both), "{}", said(&index));
    }
}
