//! What a reader must hold against the numbers, as far as a run can know, and what only authors can say.

use crate::chart::Labels;
use crate::study::Source;
use crate::study::provenance::{NOT_STATED, insulin_assays};
use crate::table::Table;
use crate::table::number::whole;

use super::built_in;
use super::methods::{MethodsInput, filled, listed};
use super::methods_notices::{self, FASTING};

/// Limits in sentences.
pub(super) fn limits(input: &MethodsInput<'_>, labels: &Labels) -> Vec<String> {
    let tables = input.tables;
    let mut sentences = vec![
        "Everybody was measured once, and a single value varies from day to day.".to_owned(),
        "Values and cutoffs hold for the assays of these data and cannot be carried over to others as they are.".to_owned(),
    ];
    sentences.extend(came(tables));
    sentences.extend(built_in::limit(input.study, labels));
    sentences.extend(unknown(tables, labels));
    if filled(tables, "cutoffs").is_some() {
        sentences.push(
            "An empirical best cutoff moves much from sample to sample; the smoothed one is steadier."
                .to_owned(),
        );
    }
    if filled(tables, "cutoffs").is_some() && filled(tables, "transfer").is_none() {
        sentences.push("No cutoff was tried in other people than those it comes from.".to_owned());
    }
    if input.study.variables.iter().any(|variable| variable.name.starts_with("ancestry")) {
        sentences.push(
            "Ancestry is a category of the survey; it is not biology and explains no difference.".to_owned(),
        );
    }
    sentences.push("Groups that are not distinguishable with these data may still differ.".to_owned());
    sentences.extend(withheld(tables));
    sentences
}

/// People who are no sample of others.
fn came(tables: &[Table]) -> Option<String> {
    let notices = filled(tables, "notices")?;
    notices.iter().any(|row| row.text("kind") == "not_a_sample").then(|| {
        "These people are not a random sample of a population: intervals cover chance, not selection."
            .to_owned()
    })
}

/// Of how many people an outcome is unknown.
fn unknown(tables: &[Table], labels: &Labels) -> Option<String> {
    let rows = filled(tables, "outcome_prevalence").into_iter().flat_map(Table::iter);
    let everybody =
        rows.filter(|row| row.text("grouping") == "everybody" && row.text("population") == "cohort");
    let each: Vec<String> = everybody
        .filter_map(|row| {
            let people = row.whole("n_unknown").filter(|people| *people > 0)?;
            Some(format!("{} (“{}”)", whole(people), labels.outcome(row.text("outcome"))))
        })
        .collect();
    (!each.is_empty()).then(|| {
        format!("The outcome is unknown for {}, and they may differ from the others.", listed(&each))
    })
}

/// How many estimates are withheld.
fn withheld(tables: &[Table]) -> Vec<String> {
    let reasons = tables.iter().filter(|table| table.position("withheld").is_some()).flat_map(Table::iter);
    match reasons.filter(|row| !row.text("withheld").is_empty()).count() {
        0 => Vec::new(),
        1 => vec!["One estimate is withheld; its row of the tables says why.".to_owned()],
        count => {
            vec![format!("{} estimates are withheld; each row of the tables says why.", whole(count as i64))]
        }
    }
}

/// What no run can know, each with a blank to be filled in.
const BLANKS: &[(&str, &str)] = &[
    ("Question", "why it is asked, and what was known before"),
    ("Setting", "places and dates of the survey; how people were found and invited; response"),
    ("Ethics", "approval and consent"),
    (
        "Measurement",
        "assays and instruments of glucose, insulin and lipids; hours of fasting; who measured and what they knew",
    ),
    (
        "Beforehand",
        "which outcomes, groups, thresholds and rules were chosen before the data were seen; registration",
    ),
    ("Number of people", "why so many"),
    ("Meaning", "what follows for practice, for whom, and what may explain the differences"),
    ("Funding and interests", "who paid, and who gains"),
];

/// The blanks as a list; where the insulin assay or the hours of fasting are known, they are no blank.
pub(super) fn blanks(input: &MethodsInput<'_>) -> String {
    let study = input.study;
    let known = insulin_assays(study).is_some_and(|assay| !assay.contains(NOT_STATED));
    let tables_of_ones_own = study.sources.iter().any(|source| matches!(source, Source::Table(_)));
    let fasting_said = !tables_of_ones_own && !methods_notices::said(input.tables, FASTING).is_empty();
    let lines: Vec<String> = BLANKS
        .iter()
        .map(|(what, about)| {
            let mut about = (*about).to_owned();
            if known {
                about = about.replace("glucose, insulin and lipids", "glucose and lipids");
            }
            if fasting_said {
                about = about.replace("hours of fasting; ", "");
            }
            format!("- {what}: **[to be written by the authors: {about}]**\n")
        })
        .collect();
    format!(
        "## What only the authors can say\n\nSquare brackets mark blanks, here and above.\n\n{}",
        lines.concat()
    )
}
