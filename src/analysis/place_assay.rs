//! The insulin assay of a person against those of a study, and the official equation between them.

use super::place::{Person, PlaceError, label_of};
use super::place_alone::{as_taken, fasted};
use super::place_people::Date;
use crate::cohort::evaluate;
use crate::definitions::crosswalk::{Crosswalk, Method, crosswalks, methods, released};
use crate::definitions::quantity::quantity;
use crate::definitions::survey::survey;
use crate::study::{Source, Study};
use crate::table::number::significant;

pub const INSULIN: &str = "insulin";
/// Digits of a converted value.
const DIGITS: usize = 3;

/// Insulin assays of the sources, each once; empty where the study does not say.
pub(super) fn assays(study: &Study) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for source in &study.sources {
        let assay = match source {
            Source::Survey { survey: name, cycle, .. } => {
                survey(name).and_then(|s| s.cycle(cycle).ok()).map(|cycle| &cycle.insulin_assay)
            }
            Source::Table(table) => {
                let insulin = table.columns.iter().find(|column| column.quantity == "insulin");
                insulin.and_then(|column| column.assay.as_ref())
            }
        };
        if let Some(assay) = assay.filter(|assay| !found.contains(assay)) {
            found.push(assay.clone());
        }
    }
    found
}

/// What must be said when insulin was measured by another method, or it is not known by which.
pub(super) fn caution(
    study: &Study,
    person: &Person,
    (assays, date): (&[String], Date),
) -> Result<Option<String>, PlaceError> {
    if person.answers.iter().all(|answer| answer.quantity != INSULIN) {
        return Ok(None);
    }
    let measured = match assays {
        [] => "the study does not say by which assay".to_owned(),
        [one] => format!("the study's assay is {one}"),
        several => format!("the study's assays are {}", several.join(", ")),
    };
    let label = label_of(study, INSULIN);
    let insulin = as_taken(&label, fasted(&person.answers, date.row)?);
    let words = match &person.assay {
        None => format!("{insulin}: assay not stated, {measured}; assays are not interchangeable"),
        Some(_) if assays.is_empty() => format!("{insulin}: {measured}; assays are not interchangeable"),
        Some(own) if is_of_study(Some(own), assays) => return Ok(None),
        Some(own) => {
            let equation = equation(study, own, date)?.unwrap_or_default();
            format!("{insulin}: measured by {own}, {measured}; assays are not interchangeable{equation}")
        }
    };
    Ok(Some(words))
}

/// The value by the study's method, where one official equation leads there from the person's.
fn equation(study: &Study, own: &str, date: Date) -> Result<Option<String>, PlaceError> {
    let Some((crosswalk, to)) = found(study, own) else { return Ok(no_equation(study, own)) };
    let Some(insulin) = quantity(INSULIN) else { return Ok(None) };
    let column = insulin.column(&insulin.units[0]);
    let converted = evaluate(date.row, &crosswalk.to, &crosswalk.sql(&column, to.below()))?;
    Ok(converted.map(|value| {
        let unit = &insulin.units[0].unit;
        let value = significant(value, DIGITS);
        let to_use = if date.second {
            format!("write insulin={value}{unit},assay={} inside --second", to.label)
        } else {
            format!("give --insulin {value}{unit} --assay \"{}\"", to.label)
        };
        format!(
            ". An official equation of the survey turns it into {value} {unit} by {} ({} specimens; {}); it is not applied \
             here: {to_use} to use it",
            to.label, crosswalk.n, crosswalk.source
        )
    }))
}

/// Why none of a known survey's equations is offered.
fn no_equation(study: &Study, own: &str) -> Option<String> {
    study.sources.iter().all(|source| matches!(source, Source::Survey { .. })).then(|| {
        let known =
            methods().iter().any(|method| method.quantity == INSULIN && same_assay(own, &method.label));
        let why = if known {
            "no one official equation of the survey leads from it to the study's"
        } else {
            "no official equation of the survey starts from it, so no value is offered by the study's"
        };
        format!("; {why}")
    })
}

/// The equation from the person's method to the one method of all the study's cycles.
fn found(study: &Study, own: &str) -> Option<(&'static Crosswalk, &'static Method)> {
    let mut held: Vec<&str> = Vec::new();
    for source in &study.sources {
        let Source::Survey { cycle, .. } = source else { return None };
        let of_cycle = released().iter().find(|row| row.cycle == *cycle)?;
        if !held.contains(&of_cycle.insulin.as_str()) {
            held.push(&of_cycle.insulin);
        }
    }
    let [to] = held[..] else { return None };
    let to = methods().iter().find(|method| method.name == to)?;
    let from = |walk: &&Crosswalk| {
        let method = methods().iter().find(|method| method.name == walk.from);
        walk.to == to.name && method.is_some_and(|method| same_assay(own, &method.label))
    };
    Some((crosswalks().iter().find(from)?, to))
}

/// Whether insulin is known to have been measured by the assay of all a study's people.
#[must_use]
pub fn is_of_study(own: Option<&str>, assays: &[String]) -> bool {
    own.is_some_and(|own| !assays.is_empty() && assays.iter().all(|assay| same_assay(own, assay)))
}

/// Whether every word a person gives stands in the assay's name.
pub(super) fn same_assay(own: &str, assay: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        let lower = text.to_lowercase();
        lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let (own, assay) = (words(own), words(assay));
    !own.is_empty() && own.iter().all(|word| assay.contains(word))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::definitions::answer::Answer;
    use crate::source;
    use crate::study;

    #[test]
    fn the_official_equation_to_the_studys_assay_is_offered() {
        let pipelines = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&pipelines.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let insulin = Answer::read(quantity(INSULIN).expect("built in"), "10uU/mL", None).expect("readable");
        let row = source::person(&study.quantities, &[insulin]).expect("a row");
        // published: 10 uU/mL by Roche Elecsys 2010 are 8.7862 by Tosoh AIA-900.
        let date = |second| Date { row: &row, second };
        let words = |second| equation(&study, "Roche Elecsys 2010", date(second)).expect("computed");
        let first = words(false).expect("an equation");
        assert!(first.contains("turns it into 8.79 uU/mL by Tosoh AIA-900"), "{first}");
        assert!(first.ends_with("give --insulin 8.79uU/mL --assay \"Tosoh AIA-900\" to use it"), "{first}");
        // An option outside would replace the first date.
        let then = words(true).expect("an equation");
        let inside = "write insulin=8.79uU/mL,assay=Tosoh AIA-900 inside --second to use it";
        assert!(then.ends_with(inside) && !then.contains("--insulin"), "{then}");
        // No one equation leads from Mercodia to Tosoh AIA-900.
        let of = |assay: &str| equation(&study, assay, date(false)).expect("computed").unwrap_or_default();
        assert!(
            of("Mercodia").contains("no one official equation of the survey leads"),
            "{}",
            of("Mercodia")
        );
        assert!(of("Beckman Access").contains("no official equation of the survey starts"));
    }

    #[test]
    fn an_assay_is_known_by_its_words() {
        assert!(same_assay("Tosoh AIA-900", "Tosoh AIA-900, Missouri"));
        assert!(same_assay("tosoh", "Tosoh AIA-900, Missouri"));
        assert!(!same_assay("Mercodia", "Tosoh AIA-900, Missouri"));
        assert!(!same_assay("Tosoh AIA-2000", "Tosoh AIA-900, Missouri"));
        assert!(!same_assay("", "Tosoh AIA-900, Missouri"));
        let tosoh = ["Tosoh AIA-900, Missouri".to_owned()];
        assert!(is_of_study(Some("Tosoh"), &tosoh) && !is_of_study(Some("Roche"), &tosoh));
        assert!(!is_of_study(None, &tosoh) && !is_of_study(Some("Tosoh"), &[]));
    }
}
