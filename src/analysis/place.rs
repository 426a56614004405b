//! Where one person's values stand among a study's people, and which thresholds they pass.
//!
//! A person is put to the study's own formulas; every number about the people is what a run with the
//! person's value as a threshold gives. Nothing of a person is kept.

use serde::Serialize;
use thiserror::Error;

use super::AnalysisError;
use super::context::Context;
use super::place_marks::{self, Cutoff, Equivalent, PublishedMark, ThresholdMark};
use super::place_people::{self, Standing};
use super::place_rank::{self, Rank};
use super::place_usual::{self, Change, Usual, VariationUsed};
use crate::cohort::{CohortError, Subject};
use crate::definitions::answer::Answer;
use crate::definitions::{Direction, quantity::quantity};
use crate::source::{self, SourceError};
use crate::study::{Study, StudyIndex, Threshold};
use crate::tally::Tallies;

/// Why a person could not be placed.
#[derive(Debug, Error)]
pub enum PlaceError {
    #[error("the study's people could not be estimated")]
    Analysis(#[from] AnalysisError),
    #[error("the study's formulas could not be put to the person")]
    Cohort(#[from] CohortError),
    #[error("the person's values could not be laid out")]
    Source(#[from] SourceError),
    #[error("none of the study's indices can be computed: {0}")]
    Nothing(String),
    #[error("{0}")]
    Variation(String),
}

/// What is known about a person, and what is asked beside the values.
#[derive(Debug, Clone, Default)]
pub struct Person {
    pub answers: Vec<Answer>,
    /// The same person measured again, and how many months later.
    pub second: Option<(Vec<Answer>, f64)>,
    /// The insulin assay, as the laboratory calls it.
    pub assay: Option<String>,
    /// Position of the study's grouping whose group is the person's own; the smallest group without one.
    pub grouping: Option<usize>,
    /// Coefficients of variation that replace the built-in ones, as shares.
    pub within_person: Option<f64>,
    pub analytical: Option<f64>,
}

/// Where a person stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Placed {
    /// What the study's sources together are called.
    pub survey: String,
    pub title: String,
    pub standing: Standing,
    pub indices: Vec<PlacedIndex>,
    /// Indices of the study that the values do not give, and why.
    pub missing: Vec<Missing>,
}

/// An index that cannot be computed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Missing {
    pub index: String,
    pub label: String,
    pub why: String,
}

/// One index of a person. Without percentiles and cutoffs when the person is outside the study's people.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacedIndex {
    pub index: String,
    pub label: String,
    pub unit: String,
    pub formula: String,
    pub lower_is_resistant: bool,
    pub value: f64,
    pub ranks: Vec<Rank>,
    /// Position in `ranks` of the person's own group: the one asked for if its percentile is printed, else the
    /// smallest group of the cohort with one.
    pub own: Option<usize>,
    pub thresholds: Vec<ThresholdMark>,
    pub equivalents: Vec<Equivalent>,
    pub cutoffs: Vec<Cutoff>,
    pub published: Vec<PublishedMark>,
    pub variation: Option<VariationUsed>,
    pub usual: Vec<Usual>,
    pub change: Option<Change>,
}

/// Puts a person beside the people of a study.
pub fn place(study: &Study, tallies: &Tallies, person: &Person) -> Result<Placed, PlaceError> {
    let row = source::person(&study.quantities, &person.answers)?;
    let subject = Subject::new(study, &tallies.plan, &row)?;
    // A survey of invented people says so in its name.
    let invented = tallies.survey.contains("invented");
    let standing = place_people::standing(study, person, &subject, (&row, invented))?;
    let missing = missing(study, person, &subject);
    let given: Vec<usize> = (0..study.indices.len()).filter(|&i| subject.keys[i].is_some()).collect();
    if given.is_empty() {
        let why = missing.iter().map(|m| format!("{} ({})", m.label, m.why)).collect::<Vec<_>>();
        return Err(PlaceError::Nothing(why.join("; ")));
    }
    let bare = |&index: &usize| bare(&study.indices[index], value(study, &subject, index));
    let mut indices: Vec<PlacedIndex> = given.iter().map(bare).collect();
    if standing.inside() {
        let context = Context::new(study, tallies)?;
        for (placed, &index) in indices.iter_mut().zip(&given) {
            among(&context, &subject, (index, person), placed)?;
        }
    }
    Ok(Placed { survey: tallies.survey.clone(), title: study.title.clone(), standing, indices, missing })
}

/// Everything that compares one index of a person with the study's people.
fn among(
    context: &Context,
    subject: &Subject,
    (index, person): (usize, &Person),
    placed: &mut PlacedIndex,
) -> Result<(), PlaceError> {
    let value = placed.value;
    let own = Threshold { index, value, strict: false, source: "the person".to_owned() };
    placed.ranks = place_rank::ranks(context, subject, &own)?;
    placed.own = place_rank::own(context, &placed.ranks, person.grouping);
    placed.thresholds = place_marks::thresholds(context, subject, (index, value))?;
    placed.equivalents = place_marks::equivalents(context, subject, (index, value))?;
    placed.cutoffs = place_marks::cutoffs(context, subject, (index, value))?;
    place_marks::choose(&mut placed.cutoffs, placed.own.map(|at| &placed.ranks[at]));
    placed.published =
        place_marks::published(context.study, &context.study.indices[index], value, &person.answers);
    place_usual::add(context, subject, (index, person), placed)
}

/// A person's value of an index that is not missing.
fn value(study: &Study, subject: &Subject, index: usize) -> f64 {
    let key = subject.keys[index].unwrap_or_default();
    key as f64 / study.indices[index].row.steps_per_unit()
}

fn bare(index: &StudyIndex, value: f64) -> PlacedIndex {
    PlacedIndex {
        index: index.row.name.clone(),
        label: index.row.label.clone(),
        unit: index.row.unit.clone(),
        formula: index.row.sql(),
        lower_is_resistant: index.row.direction == Direction::Lower,
        value,
        ranks: Vec::new(),
        own: None,
        thresholds: Vec::new(),
        equivalents: Vec::new(),
        cutoffs: Vec::new(),
        published: Vec::new(),
        variation: None,
        usual: Vec::new(),
        change: None,
    }
}

/// The indices that the values do not give, each with the values it lacks.
fn missing(study: &Study, person: &Person, subject: &Subject) -> Vec<Missing> {
    let lacking = study.indices.iter().zip(&subject.keys).filter(|(_, key)| key.is_none());
    lacking
        .map(|(index, _)| {
            let unanswered = place_people::unanswered(&index.ingredients, &person.answers);
            let why = if unanswered.is_empty() {
                "its formula does not hold for these values".to_owned()
            } else {
                format!("not given: {}", unanswered.join(", "))
            };
            Missing { index: index.row.name.clone(), label: index.row.label.clone(), why }
        })
        .collect()
}

/// The label of a quantity, or its name when it is a study's own.
pub(super) fn label_of(study: &Study, name: &str) -> String {
    let own = study.quantities.iter().find(|q| q.name == name);
    own.or_else(|| quantity(name)).map_or_else(|| name.to_owned(), |q| q.label.clone())
}
