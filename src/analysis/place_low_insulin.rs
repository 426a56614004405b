//! Insulin that is little beside raised glucose: an index reads it as little resistance, and it may mean that too little is
//! made.

use polars::prelude::DataFrame;

use super::place::PlaceError;
use super::place_alone::{Alone, answered, as_taken, holds};
use super::place_assay::INSULIN;
use super::place_people::takes_insulin;
use crate::definitions::answer::{Answer, Given};
use crate::study::Study;

const GLUCOSE: &str = "glucose";
/// In uU/mL: of the adults without known diabetes of the national survey, 1999 to 2020, 5 of 100 (4 to 5) have less.
const LITTLE: f64 = 3.0;
/// From where glucose is raised, and from where it is in the diabetes range. Limits in the unit that was reported.
const RAISED: &str = "COALESCE(glucose_reported_mg_dl >= 100.0, glucose_reported_mmol_l >= 5.6)";
const OF_DIABETES: &str = "COALESCE(glucose_reported_mg_dl >= 126.0, glucose_reported_mmol_l >= 7.0)";

/// What is to be known of insulin that few people have so little of, or that is below detection, beside raised glucose.
pub(super) fn beside_raised_glucose(
    study: &Study,
    (answers, row): (&[Answer], &DataFrame),
    fasted: Option<bool>,
) -> Result<Option<Alone>, PlaceError> {
    let given =
        answered(&study.quantities, answers, INSULIN).zip(answered(&study.quantities, answers, GLUCOSE));
    let Some(((insulin, of_insulin), (glucose, of_glucose))) = given else { return Ok(None) };
    let Given::Number { value, unit, factor } = insulin.given else { return Ok(None) };
    let first = |value| of_insulin.units[unit].to_first(value, factor);
    let is_little = insulin.below.map_or(first(value) < LITTLE, |limit| first(limit) <= LITTLE);
    if !is_little || takes_insulin(answers) || holds(row, GLUCOSE, RAISED)? != Some(true) {
        return Ok(None);
    }
    let soon = if holds(row, GLUCOSE, OF_DIABETES)? == Some(true) {
        ", and a clinician should look at it without delay"
    } else {
        ""
    };
    let words = format!(
        "{} {} is little beside a glucose of {} (5 of 100 adults have less than {LITTLE} uU/mL): too little insulin may be made, \
         or the sample be spoilt; a low index is no reassurance then{soon} (common practice)",
        as_taken(&of_insulin.label, fasted),
        insulin.in_words(of_insulin),
        glucose.in_words(of_glucose),
    );
    Ok(Some(Alone { quantity: of_insulin.name.clone(), words, urgent: false, caution: true, quiet: false }))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::definitions::quantity::quantity;
    use crate::source;
    use crate::study;

    fn said(glucose: &str, insulin: &str, more: &[(&str, &str)]) -> Option<String> {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let read = |(name, written): &(&str, &str)| {
            Answer::read(quantity(name).expect("built in"), written, Some(6.0)).expect("readable")
        };
        let given = [("glucose", glucose), ("insulin", insulin)];
        let answers: Vec<Answer> = given.iter().chain(more).map(read).collect();
        let row = source::person(&study.quantities, &answers).expect("laid out");
        let found = beside_raised_glucose(&study, (&answers, &row), None).expect("computed");
        found.map(|alone| alone.words)
    }

    #[test]
    fn little_insulin_is_no_reassurance_where_glucose_is_raised() {
        // 17 pmol/L are 2.8 uU/mL.
        for (glucose, insulin) in [
            ("100mg/dL", "2.9uU/mL"),
            ("5.6mmol/L", "17pmol/L"),
            ("115mg/dL", "0.6uU/mL"),
            ("199mg/dL", "1.2uU/mL"),
            ("201mg/dL", "1.2uU/mL"),
        ] {
            let words = said(glucose, insulin, &[]).expect(glucose);
            assert!(words.contains("too little insulin may be made, or the sample be spoilt"), "{words}");
            let soon = words.contains("without delay");
            assert_eq!(soon, glucose.starts_with("199") || glucose.starts_with("201"), "{words}");
        }
        let words = said("115mg/dL", "<1uU/mL", &[]).expect("below detection");
        assert!(words.starts_with("insulin <1 uU/mL is little beside a glucose of 115 mg/dL"), "{words}");
        for (glucose, insulin) in [
            ("99mg/dL", "1.2uU/mL"),
            ("180mg/dL", "3uU/mL"),
            ("5.5mmol/L", "<2uU/mL"),
            ("115mg/dL", "<10uU/mL"),
        ] {
            assert_eq!(said(glucose, insulin, &[]), None, "{glucose} {insulin}");
        }
        // Injected insulin has a caution of its own.
        assert_eq!(said("180mg/dL", "1.2uU/mL", &[("insulin_treated", "yes")]), None);
    }
}
