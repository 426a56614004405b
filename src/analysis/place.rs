//! Where one person's values stand among a study's people, and which thresholds they pass.
//!
//! A person is put to the study's own formulas; every number about the people is what a run with the
//! person's value as a threshold gives. Nothing of a person is kept.

use serde::Serialize;
use thiserror::Error;

use super::AnalysisError;
use super::context::Context;
use super::place_alone::{self, Alone};
use super::place_assay::INSULIN;
use super::place_below;
use super::place_change::{Change, changed};
use super::place_cutoffs::{self, Cutoff};
use super::place_doubt::{self, Doubt};
use super::place_factor::{self, OtherFactor};
use super::place_groups::of_groups;
use super::place_implied::with_implied;
use super::place_marks::{self, Equivalent, PublishedMark, ThresholdMark};
use super::place_outcomes::{self, OutcomeMet, rests_on_a_fast};
use super::place_people::{self, Date, Standing};
use super::place_rank::{self, Rank};
use super::place_second::{Again, Later, Second};
use super::place_shared;
use super::place_spread::{self, Spread};
use super::place_tests::{GroupingTest, Tested};
use super::place_usual::{self, Chances, Usual, VariationUsed};
use super::place_withheld::{self, Reason};
use crate::cohort::{CohortError, Subject};
use crate::definitions::answer::Answer;
use crate::definitions::{Direction, quantity::quantity};
use crate::source::{self, SourceError};
use crate::study::{Invented, Study, StudyIndex, Threshold};
use crate::table::Table;
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
    #[error("{0}: both cannot be true; correct one of them")]
    Contradiction(String),
}

/// What is known about a person, and what is asked beside the values.
#[derive(Debug, Clone, Default)]
pub struct Person {
    pub answers: Vec<Answer>,
    /// The same person measured again.
    pub second: Option<Again>,
    /// Whether the factor of insulin in pmol/L was taken because nobody knows it.
    pub factor_unknown: bool,
    /// The insulin assay, as the laboratory calls it.
    pub assay: Option<String>,
    /// Position of the study's grouping whose group is the person's own; without one, every smallest group is.
    pub grouping: Option<usize>,
    /// Positions of the study's indices that are asked for; all without one.
    pub indices: Vec<usize>,
    /// Coefficients of variation that replace the built-in ones, as shares.
    pub within_person: Option<f64>,
    pub analytical: Option<f64>,
}

/// Where a person stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Placed {
    /// What the study's sources together are called.
    pub survey: String,
    /// Which of the study's people are invented.
    pub invented: Invented,
    pub title: String,
    pub standing: Standing,
    /// The insulin assay that was stated.
    pub assay: Option<String>,
    /// What single measurements say, whatever the indices say.
    pub alone: Vec<Alone>,
    /// The study's outcomes, as far as the person's own values answer them.
    pub outcomes: Vec<OutcomeMet>,
    /// How a second measurement stands to the study's people.
    pub second: Option<Second>,
    pub indices: Vec<PlacedIndex>,
    /// The cutoffs of the person's groups by one index, where no index has a value.
    pub groups: Option<PlacedIndex>,
    /// Indices of the study that the values do not give, and why.
    pub missing: Vec<Missing>,
}

impl Placed {
    /// Why there is nothing to say of any index, where the values give none.
    #[must_use]
    pub fn nothing(&self) -> Option<PlaceError> {
        if !self.indices.is_empty() || self.groups.is_some() {
            return None;
        }
        let why = self.missing.iter().map(|m| format!("{} ({})", m.label, m.why)).collect::<Vec<_>>();
        Some(PlaceError::Nothing(why.join("; ")))
    }
}

/// An index that cannot be computed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Missing {
    pub index: String,
    pub label: String,
    pub why: String,
}

/// One index of a person. Without percentiles and cutoffs when the person is outside the study's people.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PlacedIndex {
    pub index: String,
    pub label: String,
    pub unit: String,
    pub formula: String,
    pub lower_is_resistant: bool,
    pub value: f64,
    /// Why the value means nothing of this person; empty where it does.
    pub withheld: String,
    /// A measurement in it that few people have; everything said of it holds only if that is right.
    pub doubt: Option<Doubt>,
    /// What it has in common with the study's first outcome, so that part of their agreement is built in.
    pub shared: Vec<String>,
    /// Whether insulin is one of its ingredients.
    pub from_insulin: bool,
    /// Whether it is made from what is measured after a fast, and whether the person fasted is not said.
    pub if_fasting: bool,
    /// The value by the other factor in print, where insulin was given in pmol/L.
    pub other_factor: Option<OtherFactor>,
    pub ranks: Vec<Rank>,
    /// Positions in `ranks` of the person's smallest groups of the cohort: of the grouping asked for, else of every
    /// grouping that no other splits further.
    pub own: Vec<usize>,
    /// The middle half of everybody and of each of these groups.
    pub spreads: Vec<Spread>,
    /// An earlier index of which this one is a monotone function: it says the same.
    pub twin_of: Option<String>,
    pub thresholds: Vec<ThresholdMark>,
    pub equivalents: Vec<Equivalent>,
    pub cutoffs: Vec<Cutoff>,
    /// Whether cutoffs for the first outcome differ between the groups of each variable.
    pub tests: Vec<GroupingTest>,
    /// The index whose cutoffs were tested, where it is an earlier one that says the same.
    pub tests_of: Option<String>,
    pub published: Vec<PublishedMark>,
    /// What of the person cutoffs in print are held against: those of sex, age and BMI that are given.
    pub matched_by: Vec<String>,
    pub variation: Option<VariationUsed>,
    pub usual: Vec<Usual>,
    pub change: Option<Change>,
}

/// Puts a person beside the people of a study, whose tests between groups are made anew.
pub fn place(study: &Study, tallies: &Tallies, person: &Person) -> Result<Placed, PlaceError> {
    place_by((study, tallies), None, person)
}

/// Puts a person beside the people of a study, by the table of the tests between groups that its run wrote where there is
/// one.
pub fn place_by(
    (study, tallies): (&Study, &Tallies),
    tests: Option<&Table>,
    person: &Person,
) -> Result<Placed, PlaceError> {
    let person: &Person = &with_implied(person);
    if let Some(why) = place_alone::contradiction(&person.answers) {
        return Err(PlaceError::Contradiction(why));
    }
    let row = source::person(&study.quantities, &person.answers)?;
    let subject = Subject::new(study, &tallies.plan, &row)?;
    let date = Date { row: &row, second: false };
    let mut standing = place_people::standing(study, person, &subject, date)?;
    let alone = place_alone::alone(study, &person.answers, &row)?;
    let withheld = place_withheld::reasons(&person.answers, &row)?;
    place_withheld::leave_out(&mut standing, &withheld);
    place_people::compare(&mut standing, study, (&person.answers, &subject));
    let missing = missing(study, person, &subject);
    let asked = |index: &usize| person.indices.is_empty() || person.indices.contains(index);
    let given: Vec<usize> =
        (0..study.indices.len()).filter(asked).filter(|&i| subject.keys[i].is_some()).collect();
    let mut indices = unplaced((study, person), &subject, &given, &withheld)?;
    let later = Later::new((study, tallies), person, &standing)?;
    let mut tested = Tested::new(tests);
    let context = if standing.inside() { Some(Context::new(study, tallies)?) } else { None };
    for (placed, &index) in indices.iter_mut().zip(&given) {
        if let Some(context) = &context {
            among(context, &subject, (index, person), placed)?;
            let (first, tests) = tested.of(context, (&subject, &person.answers), index)?;
            placed.tests = tests;
            placed.tests_of = (first != index).then(|| study.indices[first].row.label.clone());
        }
        placed.other_factor =
            place_factor::other((context.as_ref(), study), (&subject, person), (index, placed))?;
        if let Some(context) = &context {
            place_factor::mark_first((context, &subject), &person.answers, (index, placed));
        }
        if let Some(later) = &later {
            placed.change = Some(changed(context.as_ref(), (later, &subject), person, (index, placed))?);
        }
    }
    let mut groups = match &context {
        Some(context) if indices.is_empty() => of_groups(context, &subject, (person, &mut tested))?,
        _ => None,
    };
    let outcomes = place_outcomes::outcomes(study, &person.answers, &row)?;
    let second = later.map(|later| later.second);
    for placed in indices.iter_mut().chain(&mut groups) {
        place_outcomes::mark_met(&outcomes, &mut placed.cutoffs);
        if let (Some(second), Some(change)) = (&second, &mut placed.change) {
            place_outcomes::mark_met(&second.outcomes, &mut change.cutoffs);
        }
    }
    Ok(Placed {
        survey: tallies.survey.clone(),
        invented: study.invented(),
        title: study.title.clone(),
        assay: person.assay.clone(),
        alone,
        outcomes,
        second,
        standing,
        indices,
        groups,
        missing,
    })
}

/// The indices that the values give, before anybody is compared.
fn unplaced(
    (study, person): (&Study, &Person),
    subject: &Subject,
    given: &[usize],
    withheld: &[Reason],
) -> Result<Vec<PlacedIndex>, PlaceError> {
    let unsaid = person.answers.iter().all(|answer| answer.quantity != place_alone::FASTED);
    let one = |(position, &index): (usize, &usize)| -> Result<PlacedIndex, PlaceError> {
        let family = &study.indices[index].row.family;
        let says_the_same = |&&i: &&usize| family.is_some() && study.indices[i].row.family == *family;
        let twin = given[..position].iter().find(says_the_same);
        let mut placed = bare(&study.indices[index], value(study, subject, index));
        placed.twin_of = twin.map(|&i| study.indices[i].row.label.clone());
        if let Some(reason) = withheld.iter().find(|reason| reason.is_of(&study.indices[index])) {
            reason.why.clone_into(&mut placed.withheld);
        }
        placed.doubt = place_doubt::doubt(study, &study.indices[index], &person.answers)?;
        placed.shared = place_shared::shared(study, &study.indices[index]);
        placed.if_fasting = unsaid && rests_on_a_fast(study, &study.indices[index].ingredients);
        Ok(placed)
    };
    given.iter().enumerate().map(one).collect()
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
    placed.own = place_rank::own((context, subject), &placed.ranks, person.grouping);
    placed.spreads = place_spread::spreads(context, index, (&placed.ranks, &placed.own));
    placed.thresholds = place_marks::thresholds(context, subject, (index, value))?;
    placed.equivalents = place_marks::equivalents(context, subject, (index, value))?;
    let row = &context.study.indices[index];
    placed.variation = place_usual::used(context.study, row, person)?;
    let chances = Chances::new(context, subject, (index, value), placed.variation.as_ref());
    let asked = (chances.as_ref(), person.grouping);
    placed.cutoffs = place_cutoffs::cutoffs(context, subject, (index, value), asked)?;
    let known = (placed.doubt.as_ref(), placed.variation.as_ref());
    place_below::mark((context, subject), (index, value), known, &mut placed.cutoffs);
    placed.published = place_marks::published(context.study, row, value, &person.answers);
    placed.matched_by = place_marks::matched_by(&person.answers);
    placed.usual = chances.map(|chances| chances.of_thresholds(placed)).unwrap_or_default();
    Ok(())
}

/// A person's value of an index that is not missing.
fn value(study: &Study, subject: &Subject, index: usize) -> f64 {
    let key = subject.keys[index].unwrap_or_default();
    key as f64 / study.indices[index].row.steps_per_unit()
}

/// An index with a value, and nothing beside it.
pub(super) fn bare(index: &StudyIndex, value: f64) -> PlacedIndex {
    PlacedIndex {
        index: index.row.name.clone(),
        label: index.row.label.clone(),
        unit: index.row.unit.clone(),
        formula: index.row.sql(),
        lower_is_resistant: index.row.direction == Direction::Lower,
        value,
        from_insulin: index.ingredients.iter().any(|name| name == INSULIN),
        ..PlacedIndex::default()
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
