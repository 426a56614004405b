//! Several samples on one page: which there are, and the answer of each.

use crate::chart::Labels;
use crate::table::Table;

use super::answer::{Answer, answer_of_one};
use super::finding::Finding;
use super::left_out;

/// Surveys that the tables speak of, in the order in which they first appear.
pub(super) fn surveys(tables: &[Table]) -> Vec<&str> {
    let mut found: Vec<&str> = Vec::new();
    for table in tables.iter().filter(|table| table.position("survey").is_some()) {
        for row in table.iter() {
            let survey = row.text("survey");
            if !survey.is_empty() && !found.contains(&survey) {
                found.push(survey);
            }
        }
    }
    found
}

/// The answers of all samples, one after the other.
pub(super) fn answers(surveys: &[&str], tables: &[Table], labels: &Labels) -> Answer {
    let mut all = Answer::default();
    for survey in surveys {
        let own = Labels { survey: (*survey).to_owned(), ..labels.clone() };
        let one = answer_of_one(&of_survey(tables, survey), &own);
        let named = |sentences: Vec<String>| {
            sentences.into_iter().map(|sentence| named(survey, sentence)).collect::<Vec<_>>()
        };
        all.lead.extend(left_out::finding(tables, labels, survey).filter(|_| !one.lead.is_empty()));
        all.lead.extend(one.lead.into_iter().map(|finding| of_sample(survey, finding)));
        all.more.extend(named(one.more));
        all.moves.extend(named(one.moves));
        all.assays.extend(named(one.assays));
        all.print.extend(named(one.print));
        all.which.extend(named(one.which));
        all.further.extend(named(one.further));
        all.comparisons.extend(named(one.comparisons));
    }
    let transfers = super::transfer::sentences(tables, labels).into_iter();
    all.lead.extend(transfers.map(|text| Finding::told("What a cutoff does in the other sample", text)));
    all
}

/// A finding that says whose it is. A verdict is asked of a folder, which has several samples.
fn of_sample(survey: &str, finding: Finding) -> Finding {
    Finding { text: named(survey, finding.text), command: None, ..finding }
}

/// A sentence that says whose it is.
fn named(survey: &str, sentence: String) -> String {
    if sentence.contains(survey) { sentence } else { format!("{survey}: {sentence}") }
}

/// The rows of one survey.
fn of_survey(tables: &[Table], survey: &str) -> Vec<Table> {
    let own = |table: &Table| {
        let rows = table.iter().zip(&table.rows).filter(|(row, _)| row.text("survey") == survey);
        Table { rows: rows.map(|(_, cells)| cells.clone()).collect(), ..table.clone() }
    };
    tables.iter().filter(|table| table.position("survey").is_some()).map(own).collect()
}
