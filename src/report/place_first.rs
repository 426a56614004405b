//! What must be read before any number: who is outside the study, what is not known, and what the measurements say alone.

use super::place::PlaceInput;
use crate::analysis::{Alone, OutcomeMet, Placed, Second, Standing, Unknown};

/// Cautions: what comes before any index, then outside the study's people, then what is not known, then the rest.
pub(super) fn first_lines(input: &PlaceInput<'_>) -> Vec<String> {
    let placed = input.placed;
    let standing = &placed.standing;
    let mut lines: Vec<String> = urgent("", &placed.alone);
    if let Some(second) = &placed.second {
        lines.extend(urgent("second measurement: ", &second.alone));
    }
    if !standing.outside.is_empty() {
        lines.push(format!(
            "CAUTION: outside the study's people: {}. No percentile and no cutoff is given.",
            standing.outside.join("; ")
        ));
    }
    lines.extend(input.elsewhere.map(|words| format!("{words}.")));
    lines.extend(placed.second.iter().filter_map(not_judged));
    if !standing.unknown.is_empty() {
        lines.push(unknown(standing, input.flags));
    }
    lines.extend(standing.cautions.iter().map(|caution| format!("CAUTION: {caution}.")));
    lines.extend(placed.second.iter().flat_map(|second| of_second(second, standing, input.flags)));
    if lines.is_empty() {
        lines.push("The study's people include this person, as far as the values given tell.".to_owned());
    }
    lines.extend(calm(placed));
    lines
}

fn urgent(whose: &str, alone: &[Alone]) -> Vec<String> {
    let urgent = alone.iter().filter(|a| a.urgent);
    urgent.map(|a| format!("ACT ON THIS FIRST: {whose}{}.", a.words)).collect()
}

/// What single measurements and the outcomes' own items say, whatever the index says.
fn calm(placed: &Placed) -> Vec<String> {
    let line = |alone: &Alone| {
        let words = if alone.caution { format!("CAUTION: {}", alone.words) } else { capital(&alone.words) };
        format!("{words}. This holds whatever the index says.")
    };
    let mut lines: Vec<String> = placed.alone.iter().filter(|a| !a.urgent).map(line).collect();
    lines.extend(met(&placed.outcomes));
    lines
}

/// The outcomes that the person already meets: the items of the first that counts them, the others by name.
fn met(outcomes: &[OutcomeMet]) -> Vec<String> {
    let met: Vec<&OutcomeMet> = outcomes.iter().filter(|o| o.met == Some(true)).collect();
    let counted = met.iter().find(|o| o.items > 0);
    let mut lines: Vec<String> = counted
        .iter()
        .map(|o| {
            format!(
                "Items given that {} counts: {} of {}, {} met ({}): the person already meets the outcome that its cutoffs predict.",
                o.label,
                o.known,
                o.items,
                o.yes,
                o.which.join("; ")
            )
        })
        .collect();
    let others = met.iter().filter(|o| counted.is_none_or(|first| first.outcome != o.outcome));
    let others: Vec<&str> = others.map(|o| o.label.as_str()).collect();
    if !others.is_empty() {
        lines.push(format!(
            "By the values given the person already meets, whatever the index says: {}.",
            others.join("; ")
        ));
    }
    lines
}

/// Why a change is not judged.
fn not_judged(second: &Second) -> Option<String> {
    let reasons = second.outside.join("; ");
    (!reasons.is_empty()).then(|| format!("CAUTION: {reasons}; the change is not judged."))
}

/// What is not known of the second measurement, remarks on its values, and what is taken as at the first.
fn of_second(second: &Second, first: &Standing, flags: &[(&str, &str)]) -> Vec<String> {
    let mut lines = Vec::new();
    let new: Vec<&Unknown> = second.unknown.iter().filter(|u| !first.unknown.contains(u)).collect();
    if !new.is_empty() {
        let reasons: Vec<&str> = new.iter().map(|u| u.reason.as_str()).collect();
        let options = options(&new, flags);
        lines.push(format!(
            "CAUTION: second measurement: not known whether: {}; {options} inside --second would tell.",
            reasons.join("; ")
        ));
    }
    lines.extend(second.cautions.iter().map(|caution| format!("CAUTION: second measurement: {caution}.")));
    if !second.taken.is_empty() && second.outside.is_empty() {
        lines.push(format!(
            "Second measurement: not given again and taken as at the first: {}.",
            second.taken.join(", ")
        ));
    }
    lines
}

/// What is not known, and the options that would tell.
fn unknown(standing: &Standing, flags: &[(&str, &str)]) -> String {
    let unknown: Vec<&Unknown> = standing.unknown.iter().collect();
    let reasons: Vec<&str> = unknown.iter().map(|u| u.reason.as_str()).collect();
    let (reasons, options) = (reasons.join("; "), options(&unknown, flags));
    if standing.inside() {
        format!(
            "CAUTION: not known whether: {reasons}. What follows holds only if none of these is so; {options} would tell."
        )
    } else {
        format!("CAUTION: not known whether: {reasons}; {options} would tell.")
    }
}

fn options(unknown: &[&Unknown], flags: &[(&str, &str)]) -> String {
    let mut options: Vec<String> = Vec::new();
    for name in unknown.iter().flat_map(|u| &u.needs) {
        let flag = flags.iter().find(|(quantity, _)| quantity == name);
        let option = flag.map_or_else(|| format!("--value {name}=…"), |(_, flag)| (*flag).to_owned());
        if !options.contains(&option) {
            options.push(option);
        }
    }
    options.join(", ")
}

pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
