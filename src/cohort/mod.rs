//! From cohort columns to the few integers per person that an analysis needs: value keys, cell,
//! flags, outcome states, weights and sampling unit. All by SQL formulas and polars expressions.

mod answers;
mod cells;
mod design;
mod flow;
mod limits;
mod prepare;
mod remarks;
mod subject;
mod unanswered;
mod weights;

pub use answers::{AnswerCount, AnswerCounts, answers};
pub use cells::{Axis, CellPlan, LevelMap};
pub use design::{DesignTable, Unit, stable_hash};
pub use flow::{FlowStep, flow};
pub use limits::{EndCounts, LimitCount, limits};
pub use prepare::{Cohort, NO, UNKNOWN, YES, build};
pub use remarks::remarks;
pub use subject::{Subject, answer, evaluate};
pub use unanswered::{Unanswered, unanswered};
pub use weights::{Frame, frame_for, square_column, subsample_name, weight_column};

use thiserror::Error;

use crate::source::Loaded;
use crate::study::Study;

/// What is counted of the cohort beside its flow, while its measurements are still at hand.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Counts {
    pub answers: Vec<AnswerCounts>,
    pub limits: Vec<LimitCount>,
    pub unanswered: Vec<Unanswered>,
}

/// Everything that is counted.
pub fn counts(study: &Study, loaded: &Loaded, cohort: &Cohort) -> Result<Counts, CohortError> {
    Ok(Counts {
        answers: answers(study, loaded, cohort)?,
        limits: limits(study, loaded, cohort)?,
        unanswered: unanswered(study, loaded, cohort)?,
    })
}

/// Why a cohort could not be built.
#[derive(Debug, Error)]
pub enum CohortError {
    #[error("the formula of {what} could not be run: {formula}")]
    Formula {
        what: String,
        formula: String,
        #[source]
        cause: polars::prelude::PolarsError,
    },
    #[error("the cohort table could not be prepared")]
    Table(#[from] polars::prelude::PolarsError),
    #[error(
        "nobody has a positive {0} weight; look into the files that hold it, and at the shares of the sources"
    )]
    NoWeight(&'static str),
    #[error(
        "person {person} has the {frame} weight {weight}; a weight must be a finite number of zero or more. Correct the file, or leave the person out"
    )]
    Weight { person: String, frame: &'static str, weight: f64 },
    #[error(
        "nobody is left after the exclusions of [cohort]: {people} people were read and every one is left out. \
         Relax an exclusion; `cutspan check` explains what each one does"
    )]
    Nobody { people: usize },
    #[error("{what} has {found} levels, more than the 254 that one variable may have")]
    Levels { what: String, found: usize },
    #[error(
        "the groups of the study split people into {0} cells, more than fit; state fewer variables or cuts"
    )]
    Cells(f64),
}
