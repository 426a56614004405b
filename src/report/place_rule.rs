//! The rule behind the first sentence, and how well its cutoff separates.

use super::place_fit::{Fit, fit};
use super::place_words::{first_screen, share};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::table::number::{fixed, reading};

/// Areas under the curve below which an index is commonly said to separate so; from the last on, well.
const SEPARATES: [(f64, &str); 4] = [
    (0.5, "no better than chance"),
    (0.6, "little better than chance"),
    (0.7, "poorly"),
    (0.8, "moderately"),
];

/// The rule behind the first sentence, and how well its cutoff, or each of them in their order, separates.
pub(super) fn rule(index: &PlacedIndex) -> Option<String> {
    match fit(index, first_screen(&index.cutoffs)) {
        Fit::One(cutoff, ..) => {
            let area = cutoff.auc.map(|area| {
                let (area, how) = (fixed(area, 2), separates(area));
                format!("; AUC {area}, so the index separates the two {how} (as commonly read)")
            });
            Some(format!(
                "Rule: {} for {}, n = {}{}{}.{}",
                cutoff.rule_label,
                cutoff.outcome_label,
                cutoff.n,
                finds_and_spares(cutoff),
                area.unwrap_or_default(),
                at_an_end(cutoff).unwrap_or_default()
            ))
        }
        Fit::Several(shown) => {
            let first = shown.first()?;
            let all: Vec<String> = shown.iter().filter_map(|c| briefly(c)).collect();
            let words = if all.is_empty() {
                String::new()
            } else {
                format!("; of 100, in this order: {}", all.join("; "))
            };
            Some(format!("Rule: {}{words}.", first.rule_label))
        }
        Fit::Nothing => None,
    }
}

/// What a cutoff finds and spares, as far as that is printed, and why the rest is not.
fn finds_and_spares(cutoff: &PlacedCutoff) -> String {
    let why = &cutoff.accuracy_withheld;
    let shares = (cutoff.sensitivity.map(share), cutoff.specificity.map(share));
    match shares {
        (Some(found), Some(spared)) => {
            format!(": finds {found} of 100 with it, spares {spared} of 100 without it")
        }
        (None, None) if why.is_empty() => String::new(),
        (Some(found), None) => {
            format!(
                ": finds {found} of 100 with it; of those without it, how many are spared is withheld ({why})"
            )
        }
        (None, Some(spared)) => {
            format!(
                ": spares {spared} of 100 without it; of those with it, how many are found is withheld ({why})"
            )
        }
        (None, None) => format!(": what it finds and spares is withheld ({why})"),
    }
}

/// The same of one of several cutoffs, with how well the index separates there.
fn briefly(cutoff: &PlacedCutoff) -> Option<String> {
    let shares = (cutoff.sensitivity, cutoff.specificity);
    if shares == (None, None) && cutoff.accuracy_withheld.is_empty() {
        return None;
    }
    let printed = |percent: Option<f64>| percent.map_or_else(|| "withheld".to_owned(), share);
    let area = cutoff.auc.map(|area| format!(" (AUC {}, {})", fixed(area, 2), separates(area)));
    let why = &cutoff.accuracy_withheld;
    let why = if why.is_empty() { String::new() } else { format!(" ({why})") };
    let (found, spared) = (printed(shares.0), printed(shares.1));
    Some(format!("finds {found}, spares {spared}{why}{}", area.unwrap_or_default()))
}

/// That a cutoff, as it is printed, is an end of its own interval.
fn at_an_end(cutoff: &PlacedCutoff) -> Option<&'static str> {
    let printed = |limit: f64| reading(limit, 3);
    let (estimate, lower, upper) = (printed(cutoff.cutoff?), printed(cutoff.lower?), printed(cutoff.upper?));
    match (estimate == lower, estimate == upper) {
        (true, false) => Some(" The interval starts at the cutoff itself: resamples seldom go lower."),
        (false, true) => Some(" The interval ends at the cutoff itself: resamples seldom go higher."),
        _ => None,
    }
}

/// How well an index of this area under the curve, as it is printed, separates people with the outcome from those without,
/// as it is commonly put.
fn separates(area: f64) -> &'static str {
    let area = (100.0 * area).round() / 100.0;
    SEPARATES.iter().find(|(below, _)| area < *below).map_or("well", |(_, words)| words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::place_fixture::{index, with_tests};

    #[test]
    fn the_rule_says_what_its_cutoff_finds_and_spares() {
        let mut index = with_tests(index("short", "short"), &["bmi"]);
        for cutoff in &mut index.cutoffs {
            cutoff.rule_label = "largest Youden index".to_owned();
        }
        let said = |index: &PlacedIndex| rule(index).unwrap_or_default();
        assert_eq!(said(&index), "Rule: largest Youden index for an outcome, n = 300.");
        for cutoff in &mut index.cutoffs {
            (cutoff.sensitivity, cutoff.specificity, cutoff.auc) = (Some(62.4), Some(58.6), Some(0.646));
        }
        let both = "finds 62 of 100 with it, spares 59 of 100 without it; AUC 0.65, so the index separates the two poorly (as \
                    commonly read)";
        assert_eq!(said(&index), format!("Rule: largest Youden index for an outcome, n = 300: {both}."));
        index.cutoffs[0].sensitivity = Some(80.0);
        index.tests.clear();
        let each = "of 100, in this order: finds 80, spares 59 (AUC 0.65, poorly); finds 62, spares 59 (AUC 0.65, poorly)";
        assert_eq!(said(&index), format!("Rule: largest Youden index; {each}."));
    }

    #[test]
    fn a_share_that_is_withheld_is_said_to_be() {
        let mut index = with_tests(index("short", "short"), &["bmi"]);
        for cutoff in &mut index.cutoffs {
            (cutoff.specificity, cutoff.accuracy_withheld) = (Some(70.0), "too wide".to_owned());
        }
        let said = |index: &PlacedIndex| rule(index).unwrap_or_default();
        let one =
            ": spares 70 of 100 without it; of those with it, how many are found is withheld (too wide)";
        assert!(said(&index).contains(one), "{}", said(&index));
        index.cutoffs[1].specificity = None;
        let none = ": what it finds and spares is withheld (too wide)";
        assert!(said(&index).contains(none), "{}", said(&index));
        index.tests.clear();
        let each = "; of 100, in this order: finds withheld, spares 70 (too wide); finds withheld, spares withheld (too wide).";
        assert!(said(&index).ends_with(each), "{}", said(&index));
    }

    #[test]
    fn a_cutoff_at_an_end_of_its_interval_is_explained() {
        let mut index = with_tests(index("short", "short"), &["bmi"]);
        let said = |index: &PlacedIndex| rule(index).unwrap_or_default();
        assert!(!said(&index).contains("The interval"));
        for cutoff in &mut index.cutoffs {
            cutoff.lower = cutoff.cutoff;
        }
        assert!(
            said(&index).ends_with("The interval starts at the cutoff itself: resamples seldom go lower.")
        );
    }

    #[test]
    fn an_area_is_read_as_it_commonly_is() {
        for (area, words) in [
            (0.45, "no better than chance"),
            (0.55, "little better than chance"),
            (0.6, "poorly"),
            (0.7, "moderately"),
            (0.8, "well"),
        ] {
            assert_eq!(separates(area), words);
        }
    }
}
