//! The rule behind the first sentence, and how well its cutoff separates.

use super::place_fit::{Fit, fit};
use super::place_words::{first_screen, share};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::table::number::{fixed, reading};

/// Areas under the curve below which an index is commonly said to separate so; from the last on, well.
const SEPARATES: [(f64, &str); 3] =
    [(0.6, "little better than chance"), (0.7, "poorly"), (0.8, "moderately")];

/// The rule behind the first sentence, and how well its cutoff, or each of them in their order, separates.
pub(super) fn rule(index: &PlacedIndex) -> Option<String> {
    let shares = |c: &PlacedCutoff| Some((share(c.sensitivity?), share(c.specificity?)));
    match fit(index, first_screen(&index.cutoffs)) {
        Fit::One(cutoff, ..) => {
            let found = shares(cutoff).map(|(found, spared)| {
                format!(": finds {found} of 100 with it, spares {spared} of 100 without it")
            });
            let area = cutoff.auc.map(|area| {
                let (area, how) = (fixed(area, 2), separates(area));
                format!("; AUC {area}, so the index separates the two {how} (as commonly read)")
            });
            Some(format!(
                "Rule: {} for {}, n = {}{}{}.{}",
                cutoff.rule_label,
                cutoff.outcome_label,
                cutoff.n,
                found.unwrap_or_default(),
                area.unwrap_or_default(),
                at_an_end(cutoff).unwrap_or_default()
            ))
        }
        Fit::Several(shown) => {
            let first = shown.first()?;
            let each = |c: &&PlacedCutoff| {
                let (found, spared) = shares(c)?;
                let area = c.auc.map(|area| format!(" (AUC {}, {})", fixed(area, 2), separates(area)));
                Some(format!("finds {found}, spares {spared}{}", area.unwrap_or_default()))
            };
            let all: Option<Vec<String>> = shown.iter().map(each).collect();
            let words = all.map(|all| format!("; of 100, in this order: {}", all.join("; ")));
            Some(format!("Rule: {}{}.", first.rule_label, words.unwrap_or_default()))
        }
        Fit::Nothing => None,
    }
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
    use crate::report::place_fixture::index;

    #[test]
    fn the_rule_says_what_its_cutoff_finds_and_spares() {
        let mut index = index("short", "short");
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
        (index.cutoffs[0].likely, index.cutoffs[0].sensitivity) = ("beyond", Some(80.0));
        let each = "of 100, in this order: finds 80, spares 59 (AUC 0.65, poorly); finds 62, spares 59 (AUC 0.65, poorly)";
        assert_eq!(said(&index), format!("Rule: largest Youden index; {each}."));
    }

    #[test]
    fn a_cutoff_at_an_end_of_its_interval_is_explained() {
        let mut index = index("short", "short");
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
        for (area, words) in
            [(0.55, "little better than chance"), (0.6, "poorly"), (0.7, "moderately"), (0.8, "well")]
        {
            assert_eq!(separates(area), words);
        }
    }
}
