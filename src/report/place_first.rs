//! What must be read before any number: who is outside the study, what is not known, and what the measurements say alone.

use super::made_up::to_a_person;
use super::place::PlaceInput;
use super::place_outcomes::met;
use super::place_words::{listed, splits_by};
use super::sentence::capital;
use crate::analysis::{Alone, Placed, Second, Standing, Unknown};
use crate::table::number::significant;

/// Before what is said of one of two dates.
pub(super) const FIRST_DATE: &str = "first date: ";
const SECOND_DATE: &str = "second date: ";
/// Digits of an age.
const AGE_DIGITS: usize = 3;
/// How a reason starts that is the lack of something.
const NOT: &str = "not ";

/// What must be acted on, that people are invented, what single measurements say, the outcomes if one is met; then how the
/// person stands to the study's people, and the rest.
pub(super) fn first_lines(input: &PlaceInput<'_>) -> Vec<String> {
    let placed = input.placed;
    let mut lines = place_urgent(&placed.alone, placed.second.as_ref().map(|second| &*second.alone));
    // Before anything else that is no reason to act.
    lines.extend(to_a_person(&placed.invented));
    let (outcomes, people) = (outcomes(placed, input.flags), of_people(input));
    let plain = lines.is_empty() && people.is_empty();
    let (met, open) = if any_met(placed) { (outcomes, Vec::new()) } else { (Vec::new(), outcomes) };
    lines.extend(calm(placed));
    lines.extend(met);
    lines.extend(people);
    if plain {
        lines.push("The study's people include this person, as far as the values given tell.".to_owned());
    }
    lines.extend(groups_not_known(input));
    lines.extend(open);
    lines
}

/// Whether an outcome is met at either date.
fn any_met(placed: &Placed) -> bool {
    let then = placed.second.iter().flat_map(|second| &second.outcomes);
    placed.outcomes.iter().chain(then).any(|outcome| outcome.met == Some(true))
}

/// How the person stands to the study's people: outside, what is not judged, cautions, and what is not known.
fn of_people(input: &PlaceInput<'_>) -> Vec<String> {
    let placed = input.placed;
    let standing = &placed.standing;
    let mut lines = Vec::new();
    if !standing.outside.is_empty() {
        lines.push(format!(
            "CAUTION: outside the study's people: {}. No percentile and no cutoff is given.",
            standing.outside.join("; ")
        ));
    }
    lines.extend(placed.second.iter().filter_map(not_judged));
    let unknown = (!standing.unknown.is_empty()).then(|| unknown(standing, input.flags));
    let unstated = not_stated("", unknown, (standing.assay_not_stated.as_ref(), &standing.not_grouped));
    // What may be a further reason stands beside the reasons.
    let (beside, last) = if standing.inside() { (None, unstated) } else { (unstated, None) };
    lines.extend(beside);
    lines.extend(standing.cautions.iter().map(|caution| format!("CAUTION: {caution}.")));
    lines.extend(last);
    lines.extend(placed.second.iter().flat_map(|second| of_second(second, standing, input.flags)));
    lines
}

/// What is not given although cutoffs differ by it, and the option that gives it.
fn groups_not_known(input: &PlaceInput<'_>) -> Vec<String> {
    let mut lines: Vec<(String, String)> = Vec::new();
    for index in input.placed.indices.iter().filter(|index| input.shows(index)) {
        for test in index.tests.iter().filter(|t| t.differ == Some(true) && !t.needs.is_empty()) {
            let by = splits_by(&test.grouping, input.labels);
            let option = flagged(test.needs.iter(), input.flags);
            let line = format!(
                "CAUTION: {by} is not given, and cutoffs of {} differ by it by more than noise: give {option}.",
                index.label
            );
            if lines.iter().all(|(known, _)| *known != by) {
                lines.push((by, line));
            }
        }
    }
    lines.into_iter().map(|(_, line)| line).collect()
}

/// What must be acted on before anything else, at one date or at two, where nothing else can be said.
#[must_use]
pub fn place_urgent(first: &[Alone], second: Option<&[Alone]>) -> Vec<String> {
    let whose = if second.is_some() { FIRST_DATE } else { "" };
    urgent(whose, first).into_iter().chain(urgent(SECOND_DATE, second.unwrap_or_default())).collect()
}

fn urgent(whose: &str, alone: &[Alone]) -> Vec<String> {
    let urgent = alone.iter().filter(|a| a.urgent);
    urgent.map(|a| format!("ACT ON THIS FIRST: {whose}{}.", a.words)).collect()
}

/// What goes before a line about the first measurement: a date where there are two.
fn first_date(placed: &Placed) -> &'static str {
    if placed.second.is_some() { FIRST_DATE } else { "" }
}

/// What single measurements say, whatever the index says: cautions of either date, then the rest.
fn calm(placed: &Placed) -> Vec<String> {
    let two = placed.second.is_some();
    let line = |date: &str, alone: &Alone| {
        let words = format!("{date}{}", alone.words);
        match (alone.quiet, alone.caution) {
            (true, _) => format!("{}.", capital(&words)),
            (_, true) => format!("CAUTION: {words}. This holds whatever the index says."),
            _ => format!("{}. This holds whatever the index says.", capital(&words)),
        }
    };
    let first = placed.alone.iter().filter(|a| !a.urgent && (two || !a.quiet));
    let mut lines: Vec<String> = first.map(|alone| line(first_date(placed), alone)).collect();
    if let Some(second) = &placed.second {
        // What stops a change from being judged is said there.
        let said = |a: &&Alone| second.outside.iter().any(|reason| reason.contains(&a.words));
        let rest = second.alone.iter().filter(|a| !a.urgent && !said(a));
        lines.extend(rest.map(|alone| line(SECOND_DATE, alone)));
        let in_two = in_two_ranges(&placed.alone, &second.alone);
        lines.extend(second.glucose.iter().filter(|_| in_two).map(|words| format!("{}.", capital(words))));
    }
    lines.sort_by_key(|line| !line.starts_with("CAUTION"));
    lines
}

/// The outcomes' own items, at each date where there are two.
fn outcomes(placed: &Placed, flags: &[(&str, &str)]) -> Vec<String> {
    let first = met(&placed.outcomes, flags);
    let Some(second) = &placed.second else { return first };
    let mut then = met(&second.outcomes, flags);
    if let (Some(line), false) = (then.first_mut(), second.outcomes_with.is_empty()) {
        *line = format!(
            "{}; as at the first date: {}.",
            line.trim_end_matches('.'),
            listed(&second.outcomes_with)
        );
    }
    let first = first.iter().map(|line| dated(FIRST_DATE, line));
    first.chain(then.iter().map(|line| dated(SECOND_DATE, line))).collect()
}

/// A sentence of one of two dates.
fn dated(date: &str, sentence: &str) -> String {
    let mut letters = sentence.chars();
    let small = letters.next().map(char::to_lowercase).into_iter().flatten();
    format!("{}{}", capital(date), small.chain(letters).collect::<String>())
}

/// Whether glucose is in a range to act on at one of two dates alone, and at neither comes before everything else.
fn in_two_ranges(first: &[Alone], second: &[Alone]) -> bool {
    let glucose = |of: &[Alone]| of.iter().find(|a| a.quantity == "glucose" && !a.urgent).map(|a| a.quiet);
    glucose(first).zip(glucose(second)).is_some_and(|(one, other)| one != other)
}

/// Why a change is not judged.
fn not_judged(second: &Second) -> Option<String> {
    let reasons = second.outside.iter().chain(&second.assays_differ).chain(&second.below_detection);
    let reasons: Vec<&str> = reasons.map(String::as_str).collect();
    (!reasons.is_empty()).then(|| format!("CAUTION: {}; the change is not judged.", reasons.join("; ")))
}

/// What is not known of the second date, remarks on its values, and what is taken as at the first.
fn of_second(second: &Second, first: &Standing, flags: &[(&str, &str)]) -> Vec<String> {
    let mut lines = Vec::new();
    let new: Vec<&Unknown> = second.unknown.iter().filter(|u| !first.unknown.contains(u)).collect();
    let unknown = (!new.is_empty()).then(|| {
        format!(
            "the answer holds only for somebody {}. Not given inside --second: {}",
            assumed(&new),
            options(&new, flags)
        )
    });
    let more = (second.assay_not_stated.as_ref(), &*second.not_grouped);
    lines.extend(not_stated(SECOND_DATE, unknown, more));
    lines.extend(second.cautions.iter().map(|caution| format!("CAUTION: {SECOND_DATE}{caution}.")));
    if second.outside.is_empty() {
        let taken =
            (!second.taken.is_empty()).then(|| format!("taken as at the first: {}", second.taken.join(", ")));
        let age = second.age.map(|age| format!("age {}, counted on", significant(age, AGE_DIGITS)));
        let words: Vec<String> = taken.into_iter().chain(age).collect();
        lines.extend((!words.is_empty()).then(|| format!("Second date: {}.", words.join("; "))));
    }
    lines
}

/// Everything of one date that is not stated, in one line: what the answer hangs on, the insulin assay, and by what nobody
/// is compared.
fn not_stated(
    date: &str,
    unknown: Option<String>,
    (assay, groups): (Option<&String>, &[String]),
) -> Option<String> {
    let groups = (!groups.is_empty())
        .then(|| format!("not given, so not compared within groups by it: {}", groups.join(", ")));
    let parts: Vec<String> = unknown.into_iter().chain(assay.cloned()).chain(groups).collect();
    let (first, rest) = parts.split_first()?;
    let sentences: Vec<String> =
        std::iter::once(first.clone()).chain(rest.iter().map(|part| capital(part))).collect();
    Some(format!("CAUTION: {date}{}.", sentences.join(". ")))
}

/// What is not known, and the options that would tell.
fn unknown(standing: &Standing, flags: &[(&str, &str)]) -> String {
    let unknown: Vec<&Unknown> = standing.unknown.iter().collect();
    let options = options(&unknown, flags);
    if standing.inside() {
        let assumed = assumed(&unknown);
        format!("the answer holds only for somebody {assumed}. Not given: {options}")
    } else {
        format!("not given either, and it may be a reason too: {options}")
    }
}

/// What is taken to be so: `who fasted 8 to under 24 hours, and of whom nothing of this is true: pregnant`.
pub(super) fn assumed(unknown: &[&Unknown]) -> String {
    let (so, not): (Vec<&str>, Vec<&str>) =
        unknown.iter().map(|u| u.reason.as_str()).partition(|reason| reason.starts_with(NOT));
    let so: Vec<String> = so.iter().map(|reason| reason.trim_start_matches(NOT).to_owned()).collect();
    let mut words = Vec::new();
    words.extend((!so.is_empty()).then(|| format!("who {}", listed(&so))));
    words.extend((!not.is_empty()).then(|| format!("of whom nothing of this is true: {}", not.join("; "))));
    words.join(", and ")
}

fn options(unknown: &[&Unknown], flags: &[(&str, &str)]) -> String {
    flagged(unknown.iter().flat_map(|u| &u.needs), flags)
}

/// The options that give some quantities.
pub(super) fn flagged<'a>(names: impl Iterator<Item = &'a String>, flags: &[(&str, &str)]) -> String {
    let mut options: Vec<String> = Vec::new();
    for name in names {
        let flag = flags.iter().find(|(quantity, _)| quantity == name);
        let option = flag.map_or_else(|| format!("--value {name}=…"), |(_, flag)| (*flag).to_owned());
        if !options.contains(&option) {
            options.push(option);
        }
    }
    options.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_stated_of_one_date_is_one_line() {
        let assay = "fasting insulin: assay not stated".to_owned();
        let groups = ["race and Hispanic origin".to_owned()];
        assert_eq!(not_stated("", None, (None, &[])), None);
        assert_eq!(
            not_stated("", Some("not given: --pregnant".to_owned()), (Some(&assay), &groups)).as_deref(),
            Some(
                "CAUTION: not given: --pregnant. Fasting insulin: assay not stated. Not given, so not compared within groups \
                 by it: race and Hispanic origin."
            )
        );
        assert_eq!(
            not_stated(SECOND_DATE, None, (Some(&assay), &[])).as_deref(),
            Some("CAUTION: second date: fasting insulin: assay not stated.")
        );
    }

    #[test]
    fn what_is_assumed_is_said_without_a_double_negative() {
        let of = |reason: &str| Unknown { reason: reason.to_owned(), needs: Vec::new() };
        let (fasted, pregnant) = (of("not fasted 8 to under 24 hours"), of("pregnant"));
        assert_eq!(
            assumed(&[&pregnant, &fasted]),
            "who fasted 8 to under 24 hours, and of whom nothing of this is true: pregnant"
        );
        assert_eq!(assumed(&[&pregnant]), "of whom nothing of this is true: pregnant");
        assert_eq!(dated(FIRST_DATE, "Of the 5 items"), "First date: of the 5 items");
    }
}
