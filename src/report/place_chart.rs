//! The picture of one person's value, put together from the numbers of the answer.

use super::made_up::on_picture;
use super::place_change::{brief, time_between};
use super::place_condition::conditional;
use super::place_first::assumed;
use super::place_fit::deciding;
use super::place_index::measured_again;
use super::place_outcomes::already_met;
use super::place_second::at_second;
use super::place_short::shared;
use super::place_verdict::verdict;
use super::place_words::{
    COHORT, EVERYBODY, NOBODY, by_factors, group, leading, named, percentile, value, why_at_least,
};
use super::sentence::capital;
use crate::analysis::{
    Change, INSULIN, Placed, PlacedCutoff, PlacedIndex, Rank, Spread, Unknown, is_of_study,
};
use crate::chart::{Labels, PictureCutoff, PictureGroup, PictureSecond, PlacePicture};

/// z of a two-sided 95 % range.
const TWO_SIDED_95: f64 = 1.959_964;

/// The picture of one index; `None` where the person is outside the study's people.
#[must_use]
pub fn place_picture(placed: &Placed, index: &PlacedIndex, labels: &Labels) -> Option<PlacePicture> {
    if index.spreads.is_empty() {
        return None;
    }
    let cutoffs = shown(&index.cutoffs);
    let of_outcome = cutoffs.first().map_or("", |c| c.outcome_label.as_str());
    let met = if cutoffs.first().is_some_and(|c| c.already_met) { ", already met" } else { "" };
    let at = if index.change.is_some() { "the value of the first date" } else { "this value" };
    let resistant = if index.lower_is_resistant { "left" } else { "right" };
    Some(PlacePicture {
        index: index.index.clone(),
        axis: labels.index_with_unit(&index.index),
        title: format!("{} among the groups of one person", named(index, index.value)),
        notes: vec![
            format!(
                "{}. Further {resistant} is more insulin resistant. Pale band: where 95 of 100 measurements of one person lie who \
                 is usually at {at}. Lines at a cutoff: {} interval; hollow: the smoothed cutoff.{}",
                labels.survey(&placed.survey),
                labels.confidence,
                on_picture(&placed.invented).map(|words| format!(" {words}")).unwrap_or_default()
            ),
            of_the_answer(placed, index, cutoffs.first().map(|c| c.rule_label.as_str())),
        ]
        .into_iter()
        .chain(already_met(placed))
        .chain(doubts(index))
        .chain(little_insulin(placed, index))
        .chain(conditions(placed))
        .chain(shared(std::iter::once(index)))
        .chain(why_at_least(ranks_shown(index)))
        .collect(),
        value: index.value,
        value_text: doubted(index),
        second: measured_again(index).and_then(|change| {
            let value_text = doubted(&at_second(index)?);
            let text = format!("{} later: {value_text}", time_between(change.months));
            Some(PictureSecond { value: change.second?, text })
        }),
        span: span(index),
        groups: spreads(index).into_iter().map(|spread| of_group(index, spread, labels)).collect(),
        cutoffs_heading: format!("Best cutoff for {of_outcome}{met}"),
        cutoffs: then_too(index, cutoffs).into_iter().map(|c| of_cutoff(index, c, labels)).collect(),
    })
}

/// The cutoffs that answer first: those of the smallest groups and of everybody.
fn shown(cutoffs: &[PlacedCutoff]) -> Vec<&PlacedCutoff> {
    let leading = leading(cutoffs);
    let outcome = leading.first().map(|c| c.outcome.clone()).unwrap_or_default();
    let shown = |c: &&PlacedCutoff| c.outcome == outcome && (c.own || c.grouping == EVERYBODY);
    leading.into_iter().filter(shown).collect()
}

/// With the cutoffs of groups to which the person belongs at the second date alone.
fn then_too<'a>(index: &'a PlacedIndex, first: Vec<&'a PlacedCutoff>) -> Vec<&'a PlacedCutoff> {
    let then = measured_again(index).map(|change| shown(&change.cutoffs)).unwrap_or_default();
    let new = then.into_iter().filter(|c| !first.iter().any(|known| of_one_group(known, c)));
    let new: Vec<&PlacedCutoff> = new.collect();
    first.into_iter().chain(new).collect()
}

fn of_one_group(one: &PlacedCutoff, other: &PlacedCutoff) -> bool {
    (&one.grouping, &one.group) == (&other.grouping, &other.group)
}

/// The groups of the first date, then those of the second alone.
fn spreads(index: &PlacedIndex) -> Vec<&Spread> {
    let then = measured_again(index).map_or(&[][..], |change| &change.spreads);
    let new = |s: &&Spread| {
        index.spreads.iter().all(|known| (&known.grouping, &known.group) != (&s.grouping, &s.group))
    };
    index.spreads.iter().chain(then.iter().filter(new)).collect()
}

/// What the answer says beside the numbers: rule, insulin assay and factor, and whether a change is more than noise.
fn of_the_answer(placed: &Placed, index: &PlacedIndex, rule: Option<&str>) -> String {
    let mut words: Vec<String> = rule.iter().map(|rule| format!("Cutoffs: {rule}.")).collect();
    if index.from_insulin {
        words.push(assays(placed));
    }
    if index.other_factor.as_ref().is_some_and(|other| other.unknown) {
        words.push(format!("Insulin factor not known: {}.", by_factors(index)));
    }
    // Nothing is said before a picture.
    let alone = |change: &Change| Change { said_of_all: false, ..change.clone() };
    words.extend(index.change.iter().map(|change| brief(index, &alone(change))));
    words.join(" ")
}

/// What the answer hangs on that is not known, at each date.
fn conditions(placed: &Placed) -> Option<String> {
    let of = |date: &str, unknown: &[Unknown]| {
        let unknown: Vec<&Unknown> = unknown.iter().collect();
        (!unknown.is_empty()).then(|| format!("{date} only for somebody {}.", assumed(&unknown)))
    };
    let first = of("Holds", &placed.standing.unknown);
    let then = placed.second.as_ref().filter(|second| second.unknown != placed.standing.unknown);
    let then = then.and_then(|second| of("At the second date", &second.unknown));
    let words: Vec<String> = first.into_iter().chain(then).collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// That insulin is little beside raised glucose, at either date, where the index is made from it.
fn little_insulin(placed: &Placed, index: &PlacedIndex) -> Vec<String> {
    let then = placed.second.iter().flat_map(|second| &second.alone);
    let of_insulin = placed.alone.iter().chain(then).filter(|a| index.from_insulin && a.quantity == INSULIN);
    of_insulin.map(|alone| format!("{}.", capital(&alone.words))).collect()
}

/// The value with what it hangs on, where a measurement in it is in doubt.
fn doubted(index: &PlacedIndex) -> String {
    let value = value(index, index.value);
    match &index.doubt {
        None => value,
        Some(doubt) if doubt.stands_in => format!("{value}, {} below detection", doubt.measured),
        Some(doubt) => format!("{value}, if {} is right", doubt.measured),
    }
}

/// What the picture hangs on, where a measurement is in doubt, at each date.
fn doubts(index: &PlacedIndex) -> Option<String> {
    let of = |date: &str, index: &PlacedIndex| {
        let doubt = index.doubt.as_ref()?;
        Some(format!("{date} only {}.", conditional(index, doubt).replacen("If", "if", 1)))
    };
    let first = of("Holds", index);
    let then = at_second(index).and_then(|then| of("At the second date", &then));
    let words: Vec<String> = first.into_iter().chain(then).collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// The ranks of which the picture shows percentiles, of both dates.
fn ranks_shown(index: &PlacedIndex) -> impl Iterator<Item = &Rank> {
    let then = measured_again(index).map_or(&[][..], |change| &change.ranks);
    let is_shown = |rank: &&Rank| {
        let same = |s: &&Spread| (&s.grouping, &s.group) == (&rank.grouping, &rank.group);
        rank.population == COHORT && spreads(index).iter().any(same)
    };
    index.ranks.iter().chain(then).filter(is_shown)
}

/// The insulin assay of each date, and the study's where it is not known to be the same.
fn assays(placed: &Placed) -> String {
    let study = &placed.standing.assays;
    let of = |assay: Option<&String>| {
        let known = is_of_study(assay.map(String::as_str), study);
        (assay.map_or("not stated", String::as_str).to_owned(), known)
    };
    let (first, same) = of(placed.assay.as_ref());
    let second = placed.second.as_ref().map(|second| of(second.assay.as_ref()));
    let all_same = same && second.as_ref().is_none_or(|(_, same)| *same);
    let then = second.filter(|(second, _)| *second != first);
    let then = then.map(|(second, _)| format!(", then {second}")).unwrap_or_default();
    if all_same {
        return format!("Insulin assay: {first}{then}.");
    }
    let of_study = if study.is_empty() { "not stated".to_owned() } else { study.join(", ") };
    format!("Insulin assay: {first}{then}; the study's: {of_study}. Assays are not interchangeable.")
}

fn span(index: &PlacedIndex) -> Option<(f64, f64)> {
    let used = index.variation.as_ref()?;
    let log = |cv: f64| (cv * cv).ln_1p();
    let reach = TWO_SIDED_95 * (log(used.within_person) + log(used.analytical)).sqrt();
    Some((index.value * (-reach).exp(), index.value * reach.exp()))
}

fn of_group(index: &PlacedIndex, spread: &Spread, labels: &Labels) -> PictureGroup {
    let same = |r: &&Rank| {
        (r.population.as_str(), &r.grouping, &r.group) == (COHORT, &spread.grouping, &spread.group)
    };
    let of = |ranks: &[Rank]| ranks.iter().find(same).map_or_else(|| NOBODY.to_owned(), percentile);
    PictureGroup {
        label: group(&spread.grouping, &spread.group, labels),
        median: spread.median,
        quarters: spread.lower_quarter.zip(spread.upper_quarter).map(|(a, b)| (a.min(b), a.max(b))),
        percentile: of(&index.ranks),
        second: measured_again(index).map(|change| of(&change.ranks)).unwrap_or_default(),
    }
}

/// That the answer goes by a cutoff: at the first date, at the second, or at both.
fn fits(index: &PlacedIndex, cutoff: &PlacedCutoff) -> Option<String> {
    let by = |index: &PlacedIndex| deciding(index, &index.cutoffs).is_some_and(|c| of_one_group(c, cutoff));
    let then = at_second(index);
    let dates = match (by(index), then.as_ref().map(by)) {
        (true, None | Some(true)) => "",
        (true, Some(false)) => " at the first date",
        (false, Some(true)) => " at the second date",
        (false, _) => return None,
    };
    let words = if cutoff.instead_of.is_empty() { "the one that fits" } else { "the one taken" };
    Some(format!("{words}{dates}"))
}

fn of_cutoff(index: &PlacedIndex, cutoff: &PlacedCutoff, labels: &Labels) -> PictureCutoff {
    let said = |index: &PlacedIndex| {
        let found = shown(&index.cutoffs).into_iter().find(|c| of_one_group(c, cutoff));
        found.map_or_else(|| NOBODY.to_owned(), |c| verdict(index, c))
    };
    let fits = fits(index, cutoff);
    let among = group(&cutoff.grouping, &cutoff.group, labels);
    PictureCutoff {
        label: fits.as_ref().map_or_else(|| among.clone(), |words| format!("{among}: {words}")),
        fits: fits.is_some(),
        everybody: cutoff.grouping == EVERYBODY,
        cutoff: cutoff.cutoff,
        interval: cutoff.lower.zip(cutoff.upper).map(|(a, b)| (a.min(b), a.max(b))),
        smoothed: cutoff.smoothed,
        verdict: said(index),
        second: at_second(index).map(|then| said(&then)).unwrap_or_default(),
        withheld: cutoff.withheld.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::{Alone, Doubt, Standing};
    use crate::report::place_fixture::{index, with_tests};
    use crate::study::Invented;

    fn placed(assay: Option<&str>, study: &[&str]) -> Placed {
        let assays = study.iter().map(|&assay| assay.to_owned()).collect();
        Placed {
            survey: String::new(),
            invented: Invented::Nobody,
            title: String::new(),
            standing: Standing { assays, ..Standing::default() },
            assay: assay.map(str::to_owned),
            alone: Vec::new(),
            outcomes: Vec::new(),
            second: None,
            indices: Vec::new(),
            groups: None,
            missing: Vec::new(),
        }
    }

    #[test]
    fn the_studys_assay_is_named_where_it_is_not_the_persons() {
        let tosoh = ["Tosoh AIA-900, Missouri"];
        assert_eq!(assays(&placed(Some("Tosoh"), &tosoh)), "Insulin assay: Tosoh.");
        let unlike = "the study's: Tosoh AIA-900, Missouri. Assays are not interchangeable.";
        for (own, said) in [(Some("Roche Elecsys"), "Roche Elecsys"), (None, "not stated")] {
            assert_eq!(assays(&placed(own, &tosoh)), format!("Insulin assay: {said}; {unlike}"));
        }
        let unknown = "Insulin assay: Tosoh; the study's: not stated. Assays are not interchangeable.";
        assert_eq!(assays(&placed(Some("Tosoh"), &[])), unknown);
    }

    #[test]
    fn a_picture_that_is_handed_on_carries_what_the_answer_warns_of() {
        let words = "insulin 1.2 uU/mL is little beside a glucose of 115 mg/dL".to_owned();
        let (quantity, urgent, caution, quiet) = (INSULIN.to_owned(), false, true, false);
        let little = Alone { quantity, words, urgent, caution, quiet };
        let placed = Placed { alone: vec![little], ..placed(Some("Tosoh"), &["Tosoh"]) };
        let everybody = Spread {
            grouping: EVERYBODY.to_owned(),
            group: EVERYBODY.to_owned(),
            lower_quarter: Some(1.0),
            median: Some(2.0),
            upper_quarter: Some(3.0),
        };
        let shared = vec!["glucose".to_owned()];
        let mut index =
            PlacedIndex { spreads: vec![everybody], shared, from_insulin: true, ..index("short", "short") };
        let notes = |index: &PlacedIndex| {
            let picture = place_picture(&placed, index, &Labels::default()).expect("drawn");
            picture.notes.join(" ")
        };
        let said = notes(&index);
        assert!(said.contains("Insulin 1.2 uU/mL is little beside a glucose of 115 mg/dL."), "{said}");
        let built_in =
            "The outcome itself counts what is in HOMA-IR (glucose): part of their agreement is built in.";
        assert!(said.contains(built_in) && said.contains("who is usually at this value."), "{said}");
        // Of two dates the band is that of the first; an index without insulin is not read from it.
        (index.from_insulin, index.change) = (false, Some(Change::default()));
        let said = notes(&index);
        assert!(said.contains("who is usually at the value of the first date."), "{said}");
        assert!(!said.contains("is little beside"), "{said}");
    }

    #[test]
    fn a_value_that_stands_in_is_said_to() {
        let mut index = index("short", "short");
        assert_eq!((doubted(&index).as_str(), doubts(&index)), ("2.50", None));
        let given = "insulin 1.41 uU/mL, a guess that stands in for below detection (<2),".to_owned();
        let doubt = Doubt { given, measured: "insulin".to_owned(), stands_in: true, ..Doubt::default() };
        index.doubt = Some(doubt);
        assert_eq!(doubted(&index), "2.50, insulin below detection");
        let said = doubts(&index).unwrap_or_default();
        assert!(said.starts_with("Holds only if insulin 1.41 uU/mL, a guess"), "{said}");
        assert_eq!(verdict(&index, &index.cutoffs[0]), "likely short, if insulin is right");
    }

    #[test]
    fn the_cutoff_that_fits_is_marked_in_words() {
        let torn = index("short", "cannot_tell");
        assert!(torn.cutoffs.iter().all(|cutoff| fits(&torn, cutoff).is_none()));
        let one = with_tests(torn, &["bmi"]);
        let said: Vec<_> = one.cutoffs.iter().map(|cutoff| fits(&one, cutoff)).collect();
        assert_eq!(said, [None, Some("the one that fits".to_owned())]);
    }
}
