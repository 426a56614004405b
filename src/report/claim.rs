//! A threshold in words: the answer first, then tables by group, verdicts, cautions and how to cite it.

use serde::Serialize;

use super::claim_cite::{citation, method};
use super::claim_doubt::doubt;
use super::claim_findings::{crossed, no_verdict, warnings};
use super::claim_grids::{Grid, grids};
use super::claim_people::in_no_group;
use super::claim_sentences::about;
use super::claim_tests::{cutoffs_differ, outside_of_groups};
use super::claim_verdicts::verdicts;
use super::made_up::invented_data;
use crate::analysis::claim::{Doubt, LeftOut};
use crate::chart::{Labels, other_side};
use crate::study::Invented;
use crate::table::number::significant;
use crate::table::schema::ONE_SIDED;
use crate::table::{Row, Table};

/// What the words are made from.
#[derive(Debug, Clone, Copy)]
pub struct ClaimInput<'a> {
    /// The table `claim`.
    pub table: &'a Table,
    pub labels: &'a Labels,
    /// Lowest and highest value of the cohort, when they may be shown.
    pub range: Option<(f64, f64)>,
    /// The run's table `heterogeneity`, where there is a finished run that tested cutoffs.
    pub tests: Option<&'a Table>,
    /// The run's table `standardised_values`, where there is a finished run that adjusted shares.
    pub adjusted: Option<&'a Table>,
    /// Which of the people are made up.
    pub invented: &'a Invented,
    /// Whether no study was named, so that the demo answers.
    pub demo: bool,
    /// Label of the rule behind the best cutoff.
    pub rule: &'a str,
    pub confidence: f64,
    pub replicates: usize,
    pub seed: u64,
    /// What words of the question were taken to mean.
    pub understood: &'a [String],
    /// The ages of the study's people, where it names them: aged 20 and over.
    pub ages: Option<&'a str>,
    /// Who is left out of the cohort, in order.
    pub left_out: &'a [String],
    /// The main of them in a word or two, which belong into the first sentence: known diabetes.
    pub without: Option<&'a str>,
    /// How many people that is, when it may be shown.
    pub counted: Option<LeftOut>,
    /// Thresholds that get no verdict, because they may be meant in another form or unit.
    pub doubts: &'a [Doubt],
    /// Groupings of which single groups are asked alone.
    pub narrowed: &'a [String],
    /// Who collected the data, of which years.
    pub source: &'a str,
    /// Which files hold the data and where they are, when that is known.
    pub address: Option<&'a str>,
    /// Insulin assays by release, for an index that contains insulin.
    pub insulin: Option<&'a str>,
    /// Groups that join what a finer grouping parts.
    pub finer: Option<&'a str>,
    /// Groupings of the run that were left out because others cut the same variables.
    pub not_asked: Option<&'a str>,
    pub study_title: &'a str,
    pub study_sha256: &'a str,
    pub version: &'a str,
    /// Thresholds that the study does not state as they are asked.
    pub asked: &'a [String],
    /// Remarks on this index and outcome, such as a shared ingredient.
    pub remarks: &'a [String],
}

/// The answer, before it is written as text or Markdown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ClaimPage {
    pub title: String,
    pub warning: Option<String>,
    /// What words of the question were taken to mean.
    pub understood: Vec<String>,
    /// What to know before the answer is read: a claim about the side that the sentence does not state.
    pub first: Vec<String>,
    pub answer: Vec<String>,
    /// Of the answer, what is known of differences between the groups' best cutoffs.
    pub cutoff_tests: Vec<String>,
    pub grids: Vec<Grid>,
    /// How many people are in no group of a grouping.
    pub in_no_group: Option<String>,
    /// Groups that join what a finer grouping parts.
    pub finer: Option<String>,
    /// Groupings of the run that were left out because others cut the same variables.
    pub not_asked: Option<String>,
    pub method: Vec<String>,
    pub cautions: Vec<String>,
    /// One line to paste, then what belongs to it.
    pub citation: Vec<String>,
    /// Of an index that contains insulin.
    pub insulin_assay: Option<String>,
    /// The whole hash, of which the citation shows the beginning.
    pub study_sha256: String,
}

/// Where groups are by ancestry.
const ANCESTRY: &str = "Ancestry is what people answered in a survey: a survey category and not biology, and it explains nothing by itself.";

/// Of an index that contains insulin.
const ASSAYS: &str =
    "Insulin assays are not interchangeable: the same blood gives other numbers on another instrument.";

/// What a reader of one threshold must keep in mind.
const CAUTIONS: &[&str] = &[
    "Not a diagnosis: a value on either side of a threshold is a reason to talk to a licensed clinician, not a finding. Local guidance and that clinician's judgement come first.",
    ASSAYS,
    ANCESTRY,
    "One measurement varies from day to day; a value near a threshold can fall on either side of it tomorrow.",
];

/// The page of a claim.
#[must_use]
pub fn claim_page(input: &ClaimInput<'_>) -> ClaimPage {
    let stated = stated(input.table);
    let claimed = input.table.iter().any(|row| !row.text("claim").is_empty());
    let of_threshold =
        |s: &Stated<'_>| about(s, input).into_iter().chain(verdicts(s, input)).collect::<Vec<_>>();
    let dividing: Vec<Stated<'_>> = stated.iter().copied().filter(|s| s.divides(input.table)).collect();
    let mut answer: Vec<String> = crossed(&stated, input).into_iter().collect();
    answer.extend(stated.iter().flat_map(of_threshold));
    let cutoff_tests = cutoffs_differ(input);
    answer.extend(cutoff_tests.iter().cloned().chain(outside_of_groups(input)));
    answer.extend(Some(&dividing).filter(|_| !claimed).and_then(|dividing| no_verdict(dividing, input)));
    let shares = dividing.first().map(|first| first.rows(input.table, "share"));
    let in_no_group = shares.as_ref().and_then(|rows| in_no_group(rows, input.labels, input.narrowed));
    let finer = shares.as_ref().and(input.finer.map(str::to_owned));
    let not_asked = shares.and(input.not_asked.map(str::to_owned));
    ClaimPage {
        title: title(&stated, claimed, input.labels),
        warning: warning(input),
        understood: input.understood.to_vec(),
        first: dividing.iter().flat_map(|s| warnings(s, input)).collect(),
        answer,
        cutoff_tests,
        grids: grids(input, &dividing, in_no_group.iter().chain(&not_asked).chain(&finer)),
        in_no_group,
        finer,
        not_asked,
        method: method(input, !dividing.is_empty() || is_judged(input.table)),
        cautions: cautions(input),
        citation: if stated.iter().all(|s| doubt(s, input).is_some()) { Vec::new() } else { citation(input) },
        insulin_assay: input.insulin.map(str::to_owned),
        study_sha256: input.study_sha256.to_owned(),
    }
}

/// Whether some claim got a verdict.
fn is_judged(table: &Table) -> bool {
    table.iter().any(|row| !["", "cannot tell"].contains(&row.text("verdict")))
}

/// Asks for whom it holds only where the answer says so.
fn title(stated: &[Stated<'_>], claimed: bool, labels: &Labels) -> String {
    let Some(first) = stated.first() else { return String::new() };
    let sides: Vec<String> =
        stated.iter().map(|s| format!("{} {}", s.side, in_unit(labels, s.index, s.value))).collect();
    let asks = if claimed { "for whom does it hold?" } else { "who is there?" };
    format!("{} {}: {asks}", labels.index_label(first.index), sides.join(", "))
}

fn warning(input: &ClaimInput<'_>) -> Option<String> {
    let why = if input.demo { " No study was named, so the embedded demo answers." } else { "" };
    invented_data(input.invented).map(|data| format!("{data}; quote nothing from here.{why}"))
}

/// A threshold as the sentence states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stated<'a> {
    pub index: &'a str,
    pub value: f64,
    pub side: &'a str,
    pub strict: bool,
}

impl<'a> Stated<'a> {
    pub fn of(row: &Row<'a>) -> Option<Self> {
        Some(Self {
            index: row.text("index"),
            value: row.real("threshold")?,
            side: row.text("side"),
            strict: row.text("strict") == "yes",
        })
    }

    /// Whether the stated side is the more resistant one.
    pub fn is_beyond(&self, labels: &Labels) -> bool {
        self.side == labels.beyond(self.index, self.strict)
    }

    /// The side of everybody else.
    pub fn other_side(&self) -> &'static str {
        other_side(self.side)
    }

    /// The more resistant side, then the other.
    pub fn sides(&self, labels: &Labels) -> [&'a str; 2] {
        if self.is_beyond(labels) { [self.side, self.other_side()] } else { [self.other_side(), self.side] }
    }

    /// Whether people stand on both sides of it, so that there is something to say about groups.
    pub fn divides(&self, table: &Table) -> bool {
        self.rows(table, "share").iter().all(|row| row.text("withheld") != ONE_SIDED)
    }

    /// The claims about it, in order.
    pub fn claims(&self, table: &'a Table) -> Vec<&'a str> {
        let mut claims: Vec<&str> = Vec::new();
        for row in table.iter().filter(|row| Stated::of(row) == Some(*self)) {
            let claim = row.text("claim");
            if !claim.is_empty() && !claims.contains(&claim) {
                claims.push(claim);
            }
        }
        claims
    }

    /// The rows of one claim about it.
    pub fn of_claim(&self, table: &'a Table, claim: &str) -> Vec<Row<'a>> {
        table.iter().filter(|row| row.text("claim") == claim && Stated::of(row) == Some(*self)).collect()
    }

    /// The rows of one measure in the cohort that only estimate.
    pub fn rows<'t>(&self, table: &'t Table, measure: &str) -> Vec<Row<'t>> {
        table
            .iter()
            .filter(|row| row.text("claim").is_empty() && row.text("population") == "cohort")
            .filter(|row| row.text("measure") == measure && Stated::of(row) == Some(*self))
            .collect()
    }
}

/// A value with the unit of its index.
pub(super) fn in_unit(labels: &Labels, index: &str, value: f64) -> String {
    let number = significant(value, 6).replace('-', "\u{2212}");
    match labels.indices.get(index) {
        Some(label) if label.unit != "1" && !label.unit.is_empty() => format!("{number} {}", label.unit),
        _ => number,
    }
}

fn stated(table: &Table) -> Vec<Stated<'_>> {
    let mut found: Vec<Stated<'_>> = Vec::new();
    for stated in table.iter().filter_map(|row| Stated::of(&row)) {
        if !found.contains(&stated) {
            found.push(stated);
        }
    }
    found
}

/// Remarks of the run, then what always holds.
fn cautions(input: &ClaimInput<'_>) -> Vec<String> {
    let ancestry = input.labels.groupings.keys().any(|name| name.contains("ancestry"));
    let always = CAUTIONS
        .iter()
        .filter(|caution| ancestry || **caution != ANCESTRY)
        .filter(|caution| input.insulin.is_some() || **caution != ASSAYS);
    input.remarks.iter().cloned().chain(always.map(|caution| (*caution).to_owned())).collect()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// What words are made from in a test: a table with its labels, and nothing else.
    pub fn input<'a>(table: &'a Table, labels: &'a Labels) -> ClaimInput<'a> {
        ClaimInput {
            table,
            labels,
            range: None,
            tests: None,
            adjusted: None,
            invented: &Invented::Nobody,
            demo: false,
            rule: "",
            confidence: 0.95,
            replicates: 100,
            seed: 1,
            understood: &[],
            ages: None,
            left_out: &[],
            without: None,
            counted: None,
            doubts: &[],
            narrowed: &[],
            source: "",
            address: None,
            insulin: None,
            finer: None,
            not_asked: None,
            study_title: "",
            study_sha256: "",
            version: "",
            asked: &[],
            remarks: &[],
        }
    }
}
