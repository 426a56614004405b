//! What a claim's page says about its study: whose data, what is shared, what was asked afterwards.

use crate::analysis::claim::{Question, Side, Stated};
use crate::definitions::survey::survey;
use crate::study::{Source, Study, shared_ingredients};
use crate::table::number::significant;

/// More releases than this are told by the first, the last and their number.
const MOST_RELEASES: usize = 3;

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
    let one = |(title, years): &(String, Vec<String>)| match years.as_slice() {
        [] => title.clone(),
        [first, .., last] if years.len() > MOST_RELEASES => {
            format!("{title}, {first} to {last} ({} releases)", years.len())
        }
        _ => format!("{title}, {}", years.join(", ")),
    };
    named.iter().map(one).collect::<Vec<_>>().join("; ")
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
}
