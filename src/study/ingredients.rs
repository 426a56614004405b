//! What indices and outcomes have in common, and other remarks on a study that stop nothing.

use super::{Source, Study, StudyIndex, StudyOutcome};
use crate::notice::Notice;

/// Questions about treatment, and the measurements the treatment was given for. An outcome that
/// counts the treatment contains these measurements at one remove.
const TREATMENTS: [(&str, &[&str]); 6] = [
    ("glucose_drug", &["glucose"]),
    ("diabetes_pills", &["glucose"]),
    ("insulin_treated", &["glucose", "insulin"]),
    ("diagnosed_diabetes", &["glucose"]),
    ("blood_pressure_drug", &["systolic", "diastolic"]),
    ("lipid_drug", &["triglycerides", "hdl", "total_cholesterol", "ldl"]),
];

/// Quantities by which an outcome contains the index it is compared with: the same raw quantity
/// (whatever its unit), or a treatment given for it. Sex and age are no measurements and do not
/// count.
#[must_use]
pub fn shared_ingredients(index: &StudyIndex, outcome: &StudyOutcome) -> Vec<String> {
    let measured = |name: &String| name != "sex" && name != "age" && index.ingredients.contains(name);
    let treated = |name: &String| {
        TREATMENTS.iter().any(|(treatment, measurements)| {
            treatment == name && measurements.iter().any(|m| index.ingredients.iter().any(|i| i == m))
        })
    };
    outcome.ingredients.iter().filter(|name| measured(name) || treated(name)).cloned().collect()
}

/// Remarks that follow from the study alone.
#[must_use]
pub fn remarks(study: &Study) -> Vec<Notice> {
    let mut notices = super::unstated::remarks(study);
    notices.extend(super::unreleased::remarks(study));
    for (position, index) in study.indices.iter().enumerate() {
        for outcome in outcomes_of(study, position) {
            let shared = shared_ingredients(index, outcome);
            if !shared.is_empty() {
                notices.push(Notice::caution(
                    "shared_ingredient",
                    format!("{} against {}", index.row.name, outcome.row.name),
                    format!(
                        "the outcome counts what the index is made of, or treatment for it, so that part of their agreement is built in: {}",
                        shared.join(", ")
                    ),
                ));
            }
        }
    }
    families(study, &mut notices);
    unmapped(study, &mut notices);
    notices.extend(super::asked::unconverted(study));
    notices.extend(super::few_replicates::remarks(&study.resampling));
    notices
}

/// The outcomes an index is compared with: the study's, and those of other choices if it is put to them.
fn outcomes_of(study: &Study, index: usize) -> impl Iterator<Item = &StudyOutcome> {
    let put = study.sensitivity.as_ref().is_some_and(|section| section.indices.contains(&index));
    let own = study.outcomes.len();
    study
        .every_outcome()
        .enumerate()
        .filter(move |(place, _)| put || *place < own)
        .map(|(_, outcome)| outcome)
}

/// Indices of one family rank people alike.
fn families(study: &Study, notices: &mut Vec<Notice>) {
    for (position, index) in study.indices.iter().enumerate() {
        let Some(family) = &index.row.family else { continue };
        let earlier =
            study.indices[..position].iter().find(|other| other.row.family.as_ref() == Some(family));
        if let Some(earlier) = earlier {
            notices.push(Notice::note(
                "same_family",
                format!("{} and {}", earlier.row.name, index.row.name),
                "each is a monotone function of the other: ROC curves and cutoffs say the same twice",
            ));
        }
    }
}

/// Outcomes whose answer may stay unknown because a table has no column for a part of them.
fn unmapped(study: &Study, notices: &mut Vec<Notice>) {
    for source in &study.sources {
        let Source::Table(table) = source else { continue };
        for outcome in &study.outcomes {
            let absent: Vec<&str> = outcome
                .ingredients
                .iter()
                .filter(|name| table.columns.iter().all(|column| column.quantity != **name))
                .map(String::as_str)
                .collect();
            if !absent.is_empty() {
                notices.push(Notice::caution(
                    "unmapped_quantity",
                    outcome.row.name.clone(),
                    format!(
                        "{} has no {}: the outcome stays unknown wherever it depends on that",
                        table.name,
                        absent.join(", ")
                    ),
                ));
            }
        }
    }
}
