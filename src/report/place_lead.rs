//! The first sentences about one index: where the value stands, on which side of which cutoff, and what to make of it.

use super::place_index::change;
use super::place_words::{
    COHORT, EVERYBODY, first_screen, group, leading, listed, share, sided, splits_by, value,
};
use crate::analysis::{GroupingTest, PlacedCutoff, PlacedIndex, Rank};
use crate::chart::Labels;
use crate::table::number::{fixed, reading};

/// Below this a p value is given as below it.
const SMALLEST_P: f64 = 0.001;
/// Points by which a percentile must be lower in a group than in everybody for the group to be at high risk.
const LOWER_BY: f64 = 10.0;

/// A percentile from here on does not read as low.
const HALF: f64 = 50.0;

/// The sentences of one index.
pub(super) fn lead(index: &PlacedIndex, labels: &Labels) -> Vec<String> {
    let name = format!("{} {}", index.label, value(index, index.value));
    if index.ranks.is_empty() {
        let mut lines = vec![format!("{name}.")];
        lines.extend(index.change.iter().map(|of| change(index, of)));
        return lines;
    }
    let mut lines = vec![stands(index, labels, &name)];
    lines.extend(index.change.iter().map(|of| change(index, of)));
    lines.extend(index.other_factor.iter().map(|other| {
        let percentile = other.percentile.map(|p| format!(", {} of 100 less resistant", share(p)));
        format!(
            "With the other factor, {}: {}{}.",
            reading(other.factor, 4),
            value(index, other.value),
            percentile.unwrap_or_default()
        )
    }));
    lines.extend(against(index, labels));
    lines.extend(no_reassurance(index, labels));
    lines
}

/// Where the value stands among everybody and in the reference groups.
fn stands(index: &PlacedIndex, labels: &Labels, name: &str) -> String {
    let of = |rank: &Rank| {
        let p = rank.percentile?;
        let (lower, upper) = (rank.lower.unwrap_or(p), rank.upper.unwrap_or(p));
        Some(format!("{} of 100 ({}–{})", share(p), share(lower), share(upper)))
    };
    let everybody = index.ranks.iter().filter(|r| r.grouping == EVERYBODY);
    let words: Vec<String> = everybody
        .map(|rank| {
            let whom = if rank.population == COHORT {
                "people of the study".to_owned()
            } else {
                format!("people with {}", labels.population(&rank.population))
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

/// On which side of the cutoffs of the smallest groups, side by side, and whether they agree.
fn against(index: &PlacedIndex, labels: &Labels) -> Vec<String> {
    let shown = first_screen(index);
    let Some(first) = shown.first() else { return Vec::new() };
    let words: Vec<String> = shown.iter().map(|cutoff| one(index, cutoff, labels)).collect();
    let mut lines = vec![format!("Best cutoff for {}: {}.", first.outcome_label, words.join("; "))];
    let differ = shown.iter().any(|c| c.likely != first.likely || c.passed != first.passed);
    let tested = tested(index, labels);
    if differ {
        lines.push(format!("The answer depends on the group. {tested}").trim_end().to_owned());
    } else if shown.len() > 1 {
        lines.push(format!("These groups agree. {tested}").trim_end().to_owned());
    } else if !tested.is_empty() {
        lines.push(tested);
    }
    lines
}

/// One group's cutoff: `female × BMI 30 and over: likely short of 3.44 (2.70–4.61), chance … 7 %, 39 % if …`.
fn one(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels) -> String {
    let among = group(&cutoff.grouping, &cutoff.group, labels);
    let mut words = format!("{among}: {}", sided(index, cutoff));
    let ends = [(cutoff.chance_at_lower, cutoff.lower), (cutoff.chance_at_upper, cutoff.upper)];
    let known: Vec<(f64, f64)> = ends.into_iter().filter_map(|(chance, end)| Some((chance?, end?))).collect();
    if let Some(chance) = cutoff.chance {
        // The end of the interval at which the answer would most likely be the other one.
        let sign = if chance < 50.0 { 1.0 } else { -1.0 };
        let other = known.into_iter().max_by(|a, b| (sign * a.0).total_cmp(&(sign * b.0)));
        let other = other
            .map(|(chance, end)| format!(", {} % if the true cutoff is {}", share(chance), reading(end, 3)));
        words = format!(
            "{words}, chance that the usual value is beyond {} %{}",
            share(chance),
            other.unwrap_or_default()
        );
    }
    let instead = cutoff.instead_of.iter().map(|withheld| {
        format!(" (withheld in {}, shown instead)", group(&withheld.grouping, &withheld.group, labels))
    });
    words.extend(instead);
    words
}

/// Which groupings the test of heterogeneity supports.
fn tested(index: &PlacedIndex, labels: &Labels) -> String {
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
    match (differ.is_empty(), alike.is_empty()) {
        (true, true) => String::new(),
        (false, true) => {
            format!("Between groups the cutoffs differ by more than noise by {}.", listed(&differ))
        }
        (false, false) => format!(
            "Between groups the cutoffs differ by more than noise by {}, which supports cutoffs of their own there; not \
             distinguishable by {}.",
            listed(&differ),
            listed(&alike)
        ),
        (true, false) => {
            let everybody =
                leading(index).into_iter().find(|c| c.grouping == EVERYBODY && c.cutoff.is_some());
            let whole = everybody.map(|c| format!("; in everybody: {}", sided(index, c)));
            format!(
                "Between groups the cutoffs are not distinguishable by {}: none of these groupings is supported over \
                 one cutoff for everybody{}.",
                listed(&alike),
                whole.unwrap_or_default()
            )
        }
    }
}

/// What a low percentile in a group means whose cutoff lies high.
fn no_reassurance(index: &PlacedIndex, labels: &Labels) -> Option<String> {
    let cohort = |r: &&Rank| r.population == COHORT;
    let everybody = index.ranks.iter().filter(cohort).find(|r| r.grouping == EVERYBODY)?.percentile?;
    let own = index.own.iter().map(|&at| &index.ranks[at]);
    let low: Vec<String> = own
        .filter(|rank| rank.percentile.is_some_and(|p| p < everybody - LOWER_BY && p < HALF))
        .map(|rank| {
            let p = rank.percentile.unwrap_or_default();
            format!("{} of 100 in {}", share(p), group(&rank.grouping, &rank.group, labels))
        })
        .collect();
    (!low.is_empty()).then(|| {
        format!(
            "Less resistant are only {}. A low percentile in a group at high risk is no reassurance: the group's cutoff is \
             high because most of the group is resistant.",
            listed(&low)
        )
    })
}
