//! Answers to the outcomes of a study and to the items they count, added up like the participant flow:
//! a tally carries outcomes alone, so what is missing inside an outcome is counted here.

use std::collections::BTreeMap;

use polars::prelude::*;

use super::CohortError;
use super::cells::formula;
use super::prepare::{Cohort, UNKNOWN};
use super::weights::weight_column;
use crate::source::Loaded;
use crate::study::{Study, StudyOutcome};

/// How people of the cohort answer one outcome and its items, in one frame. Counts of pieces add up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AnswerCounts {
    /// Positions of the frame and of the outcome.
    pub frame: usize,
    pub outcome: usize,
    pub rows: Vec<AnswerCount>,
}

/// People who share a cell and every answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AnswerCount {
    pub cell: i64,
    /// Answer to the outcome: see [`super::YES`].
    pub answer: u64,
    /// Answers to the items, two bits each, the first lowest.
    items: u64,
    pub people: u64,
    /// Sum of integer weights.
    pub weight: i64,
}

impl AnswerCount {
    /// Answer to the item at a position.
    #[must_use]
    pub fn item(&self, position: usize) -> u64 {
        (self.items >> (2 * position)) & 0b11
    }
}

/// The counts of every outcome in every frame that serves it.
pub fn answers(study: &Study, loaded: &Loaded, cohort: &Cohort) -> Result<Vec<AnswerCounts>, CohortError> {
    let columns = study.outcomes.iter().enumerate().map(|(position, outcome)| {
        Ok(packed_items(outcome)?.cast(DataType::Int64).alias(format!("items_{position}")))
    });
    let columns = columns.collect::<Result<Vec<_>, CohortError>>()?;
    // The rows of the cohort are those of the sources, in their order.
    let items = loaded.frame.clone().lazy().select(columns).collect()?;
    let mut all = Vec::new();
    for outcome in 0..study.outcomes.len() {
        let mut frames: Vec<usize> = cohort.frame_of.iter().map(|of_index| of_index[outcome]).collect();
        frames.sort_unstable();
        frames.dedup();
        for frame in frames {
            let rows = count(study, cohort, (frame, outcome), &items)?;
            all.push(AnswerCounts { frame, outcome, rows });
        }
    }
    Ok(all)
}

/// Answers to the items of an outcome, two bits each.
fn packed_items(outcome: &StudyOutcome) -> Result<Expr, CohortError> {
    let mut packed = lit(0_i64);
    for (position, item) in outcome.items.iter().enumerate() {
        let state = formula(&item.name, &item.sql)?.cast(DataType::Int64).fill_null(lit(UNKNOWN as i64));
        packed = packed + state * lit(1_i64 << (2 * position));
    }
    Ok(packed)
}

fn count(
    study: &Study,
    cohort: &Cohort,
    (frame, outcome): (usize, usize),
    items: &DataFrame,
) -> Result<Vec<AnswerCount>, CohortError> {
    let column = |name: &str| cohort.rows.column(name)?.i64();
    let (cells, flags, outcomes) = (column("cell")?, column("flags")?, column("outcomes")?);
    let weights = column(&weight_column(&cohort.frames[frame]))?;
    let items = items.column(&format!("items_{outcome}"))?.cast(&DataType::Int64)?;
    // An outcome without items has one value for everybody.
    let items =
        if items.len() == cohort.rows.height() { items } else { items.new_from_index(0, cells.len()) };
    let items = items.i64()?;
    let mask = Cohort::exclusion_mask(study) as i64;
    let mut sums: BTreeMap<(i64, u64, u64), (u64, i64)> = BTreeMap::new();
    let people = cells.iter().zip(flags.iter()).zip(outcomes.iter()).zip(items.iter()).zip(weights.iter());
    for ((((cell, flags), outcomes), items), weight) in people {
        let (Some(cell), Some(flags), Some(outcomes), Some(items), Some(weight)) =
            (cell, flags, outcomes, items, weight)
        else {
            continue;
        };
        if weight > 0 && flags & mask == 0 {
            let answer = (outcomes as u64 >> (2 * outcome)) & 0b11;
            let sum = sums.entry((cell, answer, items as u64)).or_default();
            sum.0 += 1;
            sum.1 += weight;
        }
    }
    let row = |((cell, answer, items), (people, weight))| AnswerCount { cell, answer, items, people, weight };
    Ok(sums.into_iter().map(row).collect())
}
