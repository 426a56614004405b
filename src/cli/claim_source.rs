//! What a claim's page says about its study: whose data, what is shared, what was asked afterwards.

use crate::analysis::claim::{Question, Side, Stated};
use crate::definitions::survey::survey;
use crate::official::catalogue;
use crate::study::{Source, Study, shared_ingredients};
use crate::table::number::significant;

/// More releases than this are told by the first, the last and their number.
const MOST_RELEASES: usize = 3;

const INSULIN: &str = "insulin";

/// Who collected the data and of which years: `National … Survey (NHANES), NCHS/CDC, 2017–2020`.
pub fn source(study: &Study) -> String {
    let mut named: Vec<(String, Vec<String>)> = Vec::new();
    for source in &study.sources {
        let (title, years) = match source {
            Source::Survey { survey: name, cycle, .. } => {
                let title = survey(name).map_or_else(|| name.clone(), |survey| survey.title.clone());
                (title, Some(cycle.replace('-', "–")))
            }
            Source::Table(table) => (table.name.clone(), None),
        };
        match named.iter_mut().find(|(known, _)| *known == title) {
            Some((_, all)) => all.extend(years),
            None => named.push((title, years.into_iter().collect())),
        }
    }
    let one = |(title, years): &(String, Vec<String>)| match &*releases(years) {
        "" => title.clone(),
        years => format!("{title}, {years}"),
    };
    named.iter().map(one).collect::<Vec<_>>().join("; ")
}

fn releases(years: &[String]) -> String {
    match years {
        [first, .., last] if years.len() > MOST_RELEASES => {
            format!("{first} to {last} ({} releases)", years.len())
        }
        _ => years.join(", "),
    }
}

/// Which files of a known survey were read, and where the agency has them. When they were fetched is not known; a
/// release does not change.
pub fn address(study: &Study) -> Option<String> {
    let known =
        |source: &&Source| matches!(source, Source::Survey { survey, .. } if *survey == catalogue().survey);
    let of = match study.sources.iter().filter(known).count() {
        0 => return None,
        1 => "this release",
        _ => "these releases",
    };
    Some(format!("public data files of {of}: {}", catalogue().address))
}

/// The insulin assays behind an index that contains insulin, with the releases of each where there are several.
pub fn insulin_assay(study: &Study, index: usize) -> Option<String> {
    if !study.indices[index].ingredients.iter().any(|ingredient| ingredient == INSULIN) {
        return None;
    }
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for source in &study.sources {
        let (assay, release) = assay_of(source);
        match found.iter_mut().find(|(known, _)| *known == assay) {
            Some((_, releases)) => releases.push(release),
            None => found.push((assay, vec![release])),
        }
    }
    if let [(assay, _)] = found.as_slice() {
        return Some(assay.clone());
    }
    let one = |(assay, years): &(String, Vec<String>)| format!("{assay} ({})", releases(years));
    Some(found.iter().map(one).collect::<Vec<_>>().join("; "))
}

fn assay_of(source: &Source) -> (String, String) {
    match source {
        Source::Survey { survey: name, cycle, .. } => {
            let row = survey(name).and_then(|survey| survey.cycle(cycle).ok());
            (row.map(|row| row.insulin_assay.clone()).unwrap_or_default(), cycle.replace('-', "–"))
        }
        Source::Table(table) => {
            let insulin = table.columns.iter().find(|column| column.quantity == INSULIN);
            let stated = insulin.and_then(|column| column.assay.clone());
            (stated.unwrap_or_else(|| "not stated in the study".to_owned()), table.name.clone())
        }
    }
}

/// An outcome that contains an ingredient of the index agrees with it by construction.
pub fn remarks(study: &Study, question: &Question) -> Vec<String> {
    let Some(outcome) = question.outcome else { return Vec::new() };
    let (index, outcome) = (&study.indices[question.index], &study.outcomes[outcome]);
    let shared = shared_ingredients(index, outcome);
    let text = format!(
        "The outcome, {}, counts {}: measured in {}, or treatment for what is; part of their agreement is built in.",
        outcome.row.label,
        shared.join(", ").replace('_', " "),
        index.row.label
    );
    (!shared.is_empty()).then_some(text).into_iter().collect()
}

/// What is left out of an answer about people who may not be shown in small counts.
pub fn small_counts(study: &Study) -> Option<String> {
    let limit = study.fewest_shown()?;
    Some(format!(
        "Counts of fewer than {limit} people, shares that stand for so few, and what would give them away are left out."
    ))
}

/// Thresholds that the study does not state, or not with this side of the value itself.
pub fn asked(study: &Study, question: &Question) -> Vec<String> {
    let index = &study.indices[question.index];
    let sentence = |stated: &Stated| {
        let threshold = stated.threshold(question.index, index);
        let of_study =
            study.thresholds.iter().filter(|t| (t.index, t.value) == (threshold.index, threshold.value));
        let stricts: Vec<bool> = of_study.map(|t| t.strict).collect();
        let at = format!("{} {}", index.row.label, significant(stated.value, 6));
        match stricts.first() {
            _ if stricts.contains(&threshold.strict) => None,
            Some(strict) => Some(format!(
                "The study states {at} as “{}”; you asked “{}”, which puts people exactly there on the other side: asked \
                 afterwards, exploratory.",
                beyond(index.sign() > 0, *strict).words(),
                stated.side.words()
            )),
            None => Some(format!("The threshold {at} is not in the study: asked afterwards, exploratory.")),
        }
    };
    question.stated.iter().filter_map(sentence).collect()
}

/// The resistant side of a threshold as a study states it.
fn beyond(higher: bool, strict: bool) -> Side {
    match (higher, strict) {
        (true, false) => Side::AtLeast,
        (true, true) => Side::Above,
        (false, false) => Side::AtMost,
        (false, true) => Side::Below,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study;

    #[test]
    fn a_source_names_agency_survey_and_years() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let of = |file: &str| source(&study::load(&root.join(file)).expect("a study"));
        let nhanes = "National Health and Nutrition Examination Survey (NHANES), NCHS/CDC";
        assert_eq!(of("nhanes-2017-2020-adults.toml"), format!("{nhanes}, 2017–2020"));
        assert_eq!(
            of("nhanes-1999-2020-adults.toml"),
            format!("{nhanes}, 1999–2000 to 2017–2020 (10 releases)")
        );
        assert_eq!(of("demo.toml"), "Veldmark (invented)");
    }

    #[test]
    fn assays_are_named_by_release_for_an_index_that_contains_insulin() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let load = |file: &str| study::load(&root.join(file)).expect("a study");
        let one = load("nhanes-2017-2020-adults.toml");
        assert_eq!(insulin_assay(&one, 0).as_deref(), Some("Tosoh AIA-900, Missouri"));
        let tyg = one.indices.iter().position(|index| index.row.name == "tyg").expect("an index");
        assert_eq!(insulin_assay(&one, tyg), None);
        let all = insulin_assay(&load("nhanes-1999-2020-adults.toml"), 0).expect("assays");
        assert!(all.starts_with("Pharmacia radioimmunoassay, Missouri (1999–2000, 2001–2002); "), "{all}");
        assert!(all.contains("Mercodia ELISA, Minnesota (2005–2006, 2007–2008, 2009–2010); "), "{all}");
        assert_eq!(insulin_assay(&load("demo.toml"), 0).as_deref(), Some("invented"));
        assert_eq!(insulin_assay(&load("own-table.toml"), 0).as_deref(), Some("not stated in the study"));
    }

    #[test]
    fn the_address_is_the_agencys_and_a_table_has_none() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let of = |file: &str| address(&study::load(&root.join(file)).expect("a study"));
        let one = of("nhanes-2017-2020-adults.toml").expect("an address");
        assert!(
            one.starts_with("public data files of this release: https://") && one.contains("cdc.gov"),
            "{one}"
        );
        assert!(of("nhanes-1999-2020-adults.toml").expect("an address").contains("these releases"));
        assert_eq!(of("demo.toml"), None);
    }
}
