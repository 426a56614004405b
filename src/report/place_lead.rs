//! The first sentences about one index: where the value stands, on which side of which cutoff, and what to make of it.

use super::place_change::change;
use super::place_first::capital;
use super::place_fit::{Fit, fit};
use super::place_sentence::{reasons, rule, sentence, torn};
use super::place_verdict::{answer, chances, if_right, sided, varies};
use super::place_words::{
    COHORT, EVERYBODY, by_factors, factor, first_screen, group, leading, listed, named, share, splits_by,
};
use crate::analysis::{Change, Doubt, GroupingTest, PlacedCutoff, PlacedIndex, Rank};
use crate::chart::Labels;
use crate::table::number::{fixed, reading, significant};

/// Below this a p value is given as below it.
const SMALLEST_P: f64 = 0.001;
/// Points by which a percentile must be lower in a group than in everybody for the group to be at high risk.
const LOWER_BY: f64 = 10.0;

/// A percentile from here on does not read as low.
const HALF: f64 = 50.0;

/// The sentences of one index: which cutoff fits and on which side the value is, where it stands, and what to make of it.
pub(super) fn lead(index: &PlacedIndex, labels: &Labels, all: bool) -> Vec<String> {
    let name = named(index, index.value);
    if !index.withheld.is_empty() {
        return vec![format!("{} is withheld, as {}.", index.label, index.withheld)];
    }
    if index.ranks.is_empty() {
        let mut lines = vec![format!("{}.", by_factors(index))];
        lines.extend(index.change.iter().map(|of| change(index, of)));
        return lines;
    }
    let first = sentence(index, &index.cutoffs, labels, &name);
    let mut lines = vec![match &index.doubt {
        Some(doubt) => format!("{}: {first}", conditional(index, doubt)),
        None => first,
    }];
    lines.extend(rule(index));
    lines.extend(variation(index));
    lines.extend(index.lower_is_resistant.then(|| {
        format!("Lower {} means more insulin resistant: beyond a cutoff is below it.", index.label)
    }));
    let (reasons, tested) = (reasons(index, labels), tested(index, labels));
    let why: Vec<String> = reasons.into_iter().chain(tested).collect();
    lines.extend((!why.is_empty()).then(|| why.join(" ")));
    lines.extend(torn(index, labels, &name));
    lines.push(stands(&index.ranks, labels, &name));
    lines.extend(by_the_other_factor(index, labels, all));
    if let Some(of) = &index.change {
        lines.extend(second(index, of, labels));
        lines.push(change(index, of));
    }
    lines.extend(no_reassurance(index, labels));
    lines
}

/// What the answer hangs on, where a measurement is one that few people have.
pub(super) fn conditional(index: &PlacedIndex, doubt: &Doubt) -> String {
    let otherwise = doubt.unit.as_ref().zip(doubt.value);
    let otherwise = otherwise
        .map(|(unit, value)| format!(" (read as {unit} it would be {})", named(index, value)))
        .unwrap_or_default();
    format!("If {} is right{otherwise}", doubt.given)
}

/// The chances behind the first sentence, or how much the index varies where the sentence has none.
fn variation(index: &PlacedIndex) -> Option<String> {
    let said = deciding(index, &index.cutoffs).filter(|_| index.doubt.is_none());
    said.and_then(|cutoff| chances(index, cutoff)).or_else(|| {
        index.variation.as_ref().map(|used| format!("One measurement varies ({}).", varies(used)))
    })
}

/// The cutoff that fits, where one does.
fn deciding<'a>(index: &PlacedIndex, cutoffs: &'a [PlacedCutoff]) -> Option<&'a PlacedCutoff> {
    match fit(index, first_screen(cutoffs)) {
        Fit::One(cutoff, ..) => Some(cutoff),
        Fit::Several(_) | Fit::Nothing => None,
    }
}

/// The same answers for the value of the second date.
fn second(index: &PlacedIndex, of: &Change, labels: &Labels) -> Option<String> {
    let value = of.second.filter(|_| !of.ranks.is_empty())?;
    let name = named(index, value);
    let mut words = Vec::new();
    if !of.cutoffs.is_empty() {
        words.push(sentence(index, &of.cutoffs, labels, &name));
        let chances = deciding(index, &of.cutoffs).and_then(if_right);
        words.extend(chances.map(|chances| format!("{}.", capital(&chances))));
    }
    words.push(stands(&of.ranks, labels, &name));
    Some(format!("Second date, {} months later: {}", significant(of.months, 3), words.join(" ")))
}

/// The value by the factor that was not stated, and whether its verdicts are the same.
fn by_the_other_factor(index: &PlacedIndex, labels: &Labels, all: bool) -> Option<String> {
    let other = index.other_factor.as_ref().filter(|other| other.unknown || all)?;
    let percentile = other.percentile.map(|p| format!(", {} of 100 less resistant", share(p)));
    let (one, two) = (first_screen(&index.cutoffs), first_screen(&other.cutoffs));
    let verdicts: Vec<String> = two
        .iter()
        .map(|c| format!("{}: {}", group(&c.grouping, &c.group, labels), sided(index, c)))
        .collect();
    let agree = one.iter().zip(&two).all(|(a, b)| answer(a) == answer(b));
    let words = match verdicts.as_slice() {
        [] => String::new(),
        _ if agree => "; the verdicts are the same".to_owned(),
        _ => format!("; {}", verdicts.join("; ")),
    };
    Some(format!(
        "By the other factor, {}: {}{}{words}.",
        factor(other.factor),
        named(index, other.value),
        percentile.unwrap_or_default()
    ))
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
fn tested(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let p = |test: &GroupingTest| {
        let p = test.p_holm.unwrap_or(1.0);
        if p < SMALLEST_P { format!("p < {SMALLEST_P}") } else { format!("p = {}", reading(p, 2)) }
    };
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
        None => "cutoffs".to_owned(),
        Some(twin) => format!("cutoffs of {twin}, which says the same,"),
    };
    let whole = || {
        let everybody =
            leading(&index.cutoffs).into_iter().find(|c| c.grouping == EVERYBODY && c.cutoff.is_some());
        everybody.map(|c| format!("; in everybody: {}", sided(index, c))).unwrap_or_default()
    };
    Some(match (differ.is_empty(), alike.is_empty()) {
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
    })
}

/// What a low percentile in a group means whose cutoff lies high.
fn no_reassurance(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let cohort = |r: &&Rank| r.population == COHORT;
    let everybody = index.ranks.iter().filter(cohort).find(|r| r.grouping == EVERYBODY)?.percentile?;
    let own = index.own.iter().map(|&at| &index.ranks[at]);
    let low: Vec<(&Rank, String)> = own
        .filter(|rank| rank.percentile.is_some_and(|p| p < everybody - LOWER_BY && p < HALF))
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
