//! Neighbouring bands of a number that words name together: over 40; and what is said where a run is cut elsewhere.

use super::claim_names::quoted;
use crate::definitions::level_words::{Span, span};
use crate::definitions::overlay::ANY;
use crate::finished::Opened;
use crate::study::{Split, Variable};

/// The bands of one variable.
struct Bands<'o> {
    variable: usize,
    name: &'o str,
    is_age: bool,
    cuts: &'o [f64],
    /// All of the study's, of which the run may have none in some.
    labels: &'o [String],
    /// Those of the run.
    known: &'o [String],
}

/// The variables of the run's groupings, each once, in order.
pub(super) fn variables(opened: &Opened) -> Vec<usize> {
    let mut variables: Vec<usize> = opened.study.groupings.iter().flatten().copied().collect();
    variables.sort_unstable();
    variables.dedup();
    variables
}

/// Whether a variable parts people by age.
pub(super) fn is_age(variable: &Variable) -> bool {
    match &variable.split {
        Split::Bands { column, .. } => column.starts_with("age"),
        Split::Levels { .. } => variable.name.starts_with("age"),
    }
}

/// The groups by age of the run, for whom no number of years is said.
pub(super) fn groups_by_age(opened: &Opened) -> Option<String> {
    let by_age = variables(opened).into_iter().find(|&variable| is_age(&opened.study.variables[variable]))?;
    let labels = &opened.tallies.plan.variables[by_age].labels;
    Some(quoted(&labels.iter().map(String::as_str).collect::<Vec<_>>()))
}

/// The variables of the run that are bands of an age or a body mass index.
fn bands(opened: &Opened) -> impl Iterator<Item = Bands<'_>> {
    variables(opened).into_iter().filter_map(|variable| {
        let row = &opened.study.variables[variable];
        let Split::Bands { column, cuts, labels } = &row.split else { return None };
        let is_age = is_age(row);
        if !is_age && !column.starts_with("bmi") {
            return None;
        }
        let known = &opened.tallies.plan.variables[variable].labels;
        Some(Bands { variable, name: &row.name, is_age, cuts, labels, known })
    })
}

/// The bands of each variable that make up what words name.
pub(super) fn of_span(opened: &Opened, words: &str) -> Vec<(usize, String)> {
    let ages = opened.study.published.age;
    let of = |bands: Bands<'_>| -> Vec<(usize, String)> {
        let within = if bands.is_age { ages } else { ANY };
        let found = span(words, bands.is_age).and_then(|span| span.bands(bands.cuts, within));
        let labels = found.and_then(|found| bands.labels.get(found)).unwrap_or_default();
        labels
            .iter()
            .filter(|label| bands.known.contains(label))
            .map(|label| (bands.variable, label.clone()))
            .collect()
    };
    bands(opened).flat_map(of).collect()
}

/// Of words that name a span at whose ends the run is not cut: where it is cut, and which bands it has.
pub(super) fn not_cut_there(opened: &Opened, words: &str) -> Option<String> {
    let of = |bands: Bands<'_>| {
        let span = span(words, bands.is_age)?;
        let labels: Vec<&str> = bands.known.iter().map(String::as_str).collect();
        let cuts = nearest_cuts(&span, bands.cuts);
        let (verb, all) = if cuts.len() == 1 { ("is", "cut") } else { ("are", "cuts") };
        Some(format!(
            "the nearest {all} of {} {verb} {}; it has {}",
            bands.name,
            cuts.join(" and "),
            quoted(&labels)
        ))
    };
    let each: Vec<String> = bands(opened).filter_map(of).collect();
    let whom = words.replace('_', " ");
    (!each.is_empty())
        .then(|| format!("“{whom}”: this run has no groups of exactly these people; {}", each.join(". ")))
}

/// The cuts on both sides of each end of a span, in order.
fn nearest_cuts(span: &Span, cuts: &[f64]) -> Vec<String> {
    let mut near: Vec<f64> = Vec::new();
    for end in span.ends() {
        near.extend(cuts.iter().rev().find(|cut| **cut <= end));
        near.extend(cuts.iter().find(|cut| **cut > end));
    }
    near.sort_by(f64::total_cmp);
    near.dedup();
    near.iter().map(f64::to_string).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finished;

    #[test]
    fn a_span_is_its_bands_or_the_cuts_are_named() {
        // Ages of the demo are cut at 20, 40 and 60, and nobody is under 20; body mass index at 18.5, 25 and 30.
        let opened = finished::open(None, &[]).expect("the demo");
        let of = |words: &str| -> Vec<String> {
            of_span(&opened, words).into_iter().map(|(_, label)| label).collect()
        };
        assert_eq!(of("over_40"), ["40-59", "60 and over"]);
        assert_eq!(of("under_60"), ["20-39", "40-59"]);
        assert_eq!(of("40_to_59"), ["40-59"]);
        assert_eq!(of("bmi_over_25"), ["25-29.9", "30 and over"]);
        for words in ["over_50", "black", "60"] {
            assert_eq!(of(words), Vec::<String>::new(), "{words}");
        }
        let said = |words: &str| not_cut_there(&opened, words).unwrap_or_default();
        assert_eq!(
            said("over_50"),
            "“over 50”: this run has no groups of exactly these people; the nearest cuts of age_20_40_60 are 40 and 60; it has \"20-39\", \
             \"40-59\", \"60 and over\""
        );
        assert!(said("over_65").contains("the nearest cut of age_20_40_60 is 60;"), "{}", said("over_65"));
        assert!(said("bmi_over_27").contains("nearest cuts of bmi_class are 25 and 30;"));
        assert_eq!(said("black"), "");
    }
}
