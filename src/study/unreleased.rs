//! Quantities that nobody of a source has, and what cannot be told without them.

use super::{Source, Study, StudyOutcome};
use crate::definitions::survey::survey as known_survey;
use crate::notice::Notice;

/// Why nobody of a source has a quantity; `None` where it is measured or asked.
fn why_absent<'s>(source: &'s Source, quantity: &str) -> Option<&'s str> {
    match source {
        Source::Survey { survey, cycle, .. } => {
            let survey = known_survey(survey)?;
            survey.why_absent(survey.cycle(cycle).ok()?, quantity)
        }
        Source::Table(table) => match table.columns.iter().find(|column| column.quantity == quantity) {
            None => Some("the table names no column for it"),
            Some(column) if column.empty => Some("nobody has a value in its column"),
            Some(_) => None,
        },
    }
}

/// The quantities among these that no source of a study has.
#[must_use]
pub fn known_of_nobody(study: &Study, read: &[String]) -> Vec<String> {
    let nowhere =
        |name: &&String| study.sources.iter().all(|source| why_absent(source, name.as_str()).is_some());
    read.iter().filter(nowhere).cloned().collect()
}

/// ` (nobody has a value in column `Insulin` of clinic)`: the columns of these quantities that turned out empty; empty itself
/// where there is none.
#[must_use]
pub fn empty_columns(study: &Study, quantities: &[String]) -> String {
    let tables = study.sources.iter().filter_map(|source| match source {
        Source::Table(table) => Some(table),
        Source::Survey { .. } => None,
    });
    let columns: Vec<String> = tables
        .flat_map(|table| table.columns.iter().map(move |column| (table, column)))
        .filter(|(_, column)| column.empty && quantities.contains(&column.quantity))
        .map(|(table, column)| format!("column `{}` of {}", column.column, table.name))
        .collect();
    if columns.is_empty() {
        return String::new();
    }
    format!(" (nobody has a value in {})", columns.join(" and "))
}

/// What the cycles of a known survey leave open. Of tables the reader of the column map speaks.
pub(super) fn remarks(study: &Study) -> Vec<Notice> {
    let surveys = study.sources.iter().filter(|source| matches!(source, Source::Survey { .. }));
    surveys.flat_map(|source| of_source(study, source)).collect()
}

fn of_source(study: &Study, source: &Source) -> Vec<Notice> {
    let Source::Survey { survey, cycle, .. } = source else { return Vec::new() };
    let label = known_survey(survey).map_or(survey.as_str(), |known| known.label.as_str());
    let mut notices = Vec::new();
    for index in &study.indices {
        if let Some((quantity, why)) = first_absent(source, &index.ingredients) {
            let message = format!(
                "nobody has {}, because {quantity} is missing for everybody here ({why})",
                index.row.name
            );
            notices.push(Notice::caution("index_not_known", format!("{label} {cycle}"), message));
        }
    }
    for outcome in study.every_outcome() {
        if let Some((quantity, why)) = first_absent(source, &outcome.ingredients) {
            let message = format!(
                "{quantity} is missing for everybody in {label} {cycle} ({why}): {}",
                left_open(study, source, outcome)
            );
            notices.push(Notice::caution("outcome_in_part", outcome.row.name.clone(), message));
        }
    }
    notices
}

fn first_absent<'s>(source: &'s Source, read: &'s [String]) -> Option<(&'s str, &'s str)> {
    read.iter().find_map(|quantity| Some((quantity.as_str(), why_absent(source, quantity)?)))
}

/// Of whom the answer to an outcome stays open.
fn left_open(study: &Study, source: &Source, outcome: &StudyOutcome) -> String {
    let lacks = |sql: &str| study.read_by(sql).iter().any(|name| why_absent(source, name).is_some());
    let counted: Vec<_> = outcome.items.iter().filter(|item| !item.required).collect();
    let open: Vec<&str> =
        counted.iter().filter(|item| lacks(&item.sql)).map(|item| item.name.as_str()).collect();
    match (open.as_slice(), outcome.row.at_least) {
        ([one], Some(least)) => format!(
            "whoever would need the item {one} to reach {least} is undecided by construction, that is, has exactly {} of \
             the other {}",
            least.saturating_sub(1),
            counted.len() - 1
        ),
        ([_, _, ..], Some(least)) => format!(
            "whoever would need the items {} to reach {least} is undecided by construction",
            open.join(", ")
        ),
        _ => "the answer stays open wherever it depends on that".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn study(indices: &str, outcomes: &str) -> Study {
        let text = format!(
            "title = \"t\"\n[[source]]\nsurvey = \"nhanes\"\ncycle = \"2021-2023\"\n[analysis]\nindices = {indices}\n\
             outcomes = {outcomes}\n"
        );
        crate::study::parse(&text, "t.toml", Path::new(".")).expect("a study")
    }

    #[test]
    fn what_cannot_be_told_without_a_file_is_said() {
        let study = study(
            "[\"homa_ir\", \"tyg\"]",
            "[\"metabolic_syndrome_harmonized_2009_without_glucose\", \"high_triglycerides\", \"raised_a1c\"]",
        );
        let said: Vec<String> = remarks(&study).iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(
            said[0].starts_with("NHANES 2021-2023: nobody has tyg, because triglycerides is missing"),
            "{said:?}"
        );
        assert!(said[1].contains("has exactly 2 of the other 3"), "{said:?}");
        assert!(said[2].ends_with("stays open wherever it depends on that"), "{said:?}");
        assert_eq!(known_of_nobody(&study, &study.outcomes[0].ingredients), ["triglycerides"]);
    }
}
