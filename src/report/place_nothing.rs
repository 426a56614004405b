//! Why no cutoff can be named of one person: none is derived, none is printed, or the index runs the other way.

use super::place_words::{group, leading};
use crate::analysis::{PlacedCutoff, PlacedIndex};
use crate::chart::Labels;
use crate::table::number::fixed;

/// Why no cutoff can be named.
pub(super) fn nothing(index: &PlacedIndex, cutoffs: &[PlacedCutoff], labels: &Labels, name: &str) -> String {
    let Some(first) = cutoffs.first() else {
        return format!("No cutoff can be named for {name}: the study derives none for {}.", index.label);
    };
    if let Some(why) = wrong_way(index, cutoffs, labels) {
        return format!("No cutoff for {} fits {name}: {why}.", first.outcome_label);
    }
    let widest = leading(cutoffs).into_iter().find(|c| c.outcome == first.outcome).unwrap_or(first);
    format!(
        "No cutoff for {} can be named for {name}: it is withheld in every group of this person ({}: {}).",
        first.outcome_label,
        group(&widest.grouping, &widest.group, labels),
        widest.withheld
    )
}

/// That an index runs the other way, in the first of the person's groups in which it does.
pub(super) fn wrong_way(index: &PlacedIndex, cutoffs: &[PlacedCutoff], labels: &Labels) -> Option<String> {
    let first = cutoffs.first()?;
    let is = |c: &&PlacedCutoff| c.outcome == first.outcome && c.runs_the_other_way();
    let cutoff = leading(cutoffs).into_iter().find(is)?;
    Some(format!(
        "in {} {} runs the other way, as people with the outcome have the less resistant values (AUC {}, its whole interval \
         below 0.5)",
        group(&cutoff.grouping, &cutoff.group, labels),
        index.label,
        fixed(cutoff.auc?, 3)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::place_fixture::{index, with_tests};
    use crate::report::place_sentence::sentence;

    #[test]
    fn where_an_index_runs_the_other_way_no_cutoff_fits() {
        let labels = Labels::default();
        let mut index = with_tests(index("beyond", "beyond"), &["bmi"]);
        for cutoff in &mut index.cutoffs {
            (cutoff.auc, cutoff.auc_upper) = (Some(0.4), Some(0.47));
        }
        let said = sentence(&index, &index.cutoffs, &labels, "HOMA-IR 6.11");
        let words = "No cutoff for an outcome fits HOMA-IR 6.11: in age 40-59 HOMA-IR runs the other way, as people with the \
                     outcome have the less resistant values (AUC 0.400, its whole interval below 0.5).";
        assert_eq!(said, words);
        // The group in which it does not is the only one whose cutoff fits.
        index.cutoffs[1].auc_upper = Some(0.8);
        let said = sentence(&index, &index.cutoffs, &labels, "HOMA-IR 6.11");
        assert!(said.contains("the cutoff that fits (female × 30 and over"), "{said}");
    }
}
