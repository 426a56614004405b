//! The joint tally: for tasks that need two values of a person at once.

use polars::prelude::*;
use serde::{Deserialize, Serialize};

use super::Tally;
use super::local::{add_up, with_units};
use crate::cohort::{Cohort, CohortError, DesignTable};
use crate::definitions::Subsample;
use crate::study::{Over, Study};

/// A value of a person that a joint tally keeps beside others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum JointColumn {
    /// An index of the study, by position, as its value key.
    Index(usize),
    /// Age in whole years.
    Age,
    /// Body mass index in tenths of kg/m².
    Bmi,
}

impl JointColumn {
    /// The column of what a curve runs over.
    #[must_use]
    pub const fn over(over: Over) -> Self {
        match over {
            Over::Age => Self::Age,
            Over::Bmi => Self::Bmi,
        }
    }

    pub(super) fn name(self) -> String {
        match self {
            Self::Index(i) => format!("key_{i}"),
            Self::Age => "age".to_owned(),
            Self::Bmi => "bmi_tenths".to_owned(),
        }
    }
}

/// Sums over people who share all the listed values, a cell, flags, outcomes and a unit. People who
/// lack one of the values are not in it. Sorted by all of these, in this order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct JointTally {
    /// Position of the frame among the study's frames.
    pub frame: usize,
    pub columns: Vec<JointColumn>,
    /// One vector per column.
    pub keys: Vec<Vec<i64>>,
    pub cell: Vec<i64>,
    pub flags: Vec<u64>,
    pub outcomes: Vec<u64>,
    pub unit: Vec<u32>,
    pub people: Vec<u32>,
    pub weight: Vec<i64>,
    pub weight_squared: Vec<i64>,
}

impl JointTally {
    /// From the values and the sums beside them, whose own key is not used.
    pub(super) fn new(frame: usize, columns: Vec<JointColumn>, keys: Vec<Vec<i64>>, sums: Tally) -> Self {
        let Tally { cell, flags, outcomes, unit, people, weight, weight_squared, .. } = sums;
        Self { frame, columns, keys, cell, flags, outcomes, unit, people, weight, weight_squared }
    }

    /// Everything but the values, as a tally whose key is the position of the row.
    pub(super) fn sums(&self) -> Tally {
        Tally {
            key: (0..self.cell.len() as i64).collect(),
            cell: self.cell.clone(),
            flags: self.flags.clone(),
            outcomes: self.outcomes.clone(),
            unit: self.unit.clone(),
            people: self.people.clone(),
            weight: self.weight.clone(),
            weight_squared: self.weight_squared.clone(),
        }
    }
}

/// The joint tallies that a study needs, each once.
pub fn joints(study: &Study, cohort: &Cohort) -> Result<Vec<JointTally>, CohortError> {
    let mut wanted = for_curves(study, cohort);
    wanted.extend(for_pairs(study, cohort));
    wanted.sort_unstable();
    wanted.dedup();
    let mut joints = Vec::with_capacity(wanted.len());
    for of_frame in wanted.chunk_by(|a, b| a.0 == b.0) {
        let position = of_frame[0].0;
        let frame = &cohort.frames[position];
        let design = DesignTable::new(cohort, frame)?;
        let rows = with_units(&cohort.rows, &design, frame)?;
        for (_, columns) in of_frame {
            let names: Vec<String> = columns.iter().map(|c| c.name()).collect();
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let keys = names.iter().map(|name| col(*name)).collect();
            let (keys, sums) = add_up(&rows, keys, &names, frame)?;
            joints.push(JointTally::new(position, columns.clone(), keys, sums));
        }
    }
    Ok(joints)
}

/// Frame and columns of a joint tally.
type Wanted = (usize, Vec<JointColumn>);

/// Each index of a curve beside age or BMI, in the frames of the index by itself and of the index
/// against each outcome.
fn for_curves(study: &Study, cohort: &Cohort) -> Vec<Wanted> {
    let Some(curves) = &study.curves else { return Vec::new() };
    let mut wanted = Vec::new();
    for &index in &curves.indices {
        let frames = &cohort.frame_of[index];
        let alone = std::iter::once(frames[study.outcomes.len()]);
        for frame in alone.chain(curves.outcomes.iter().map(|&outcome| frames[outcome])) {
            let columns = |over: &Over| vec![JointColumn::Index(index), JointColumn::over(*over)];
            wanted.extend(curves.over.iter().map(|over| (frame, columns(over))));
        }
    }
    wanted
}

/// Every pair of indices worth comparing, in the frame that serves both against each outcome.
fn for_pairs(study: &Study, cohort: &Cohort) -> Vec<Wanted> {
    let subsample = |frame: usize| cohort.frames[frame].subsample;
    let pair = |(a, b): (usize, usize)| {
        let columns = vec![JointColumn::Index(a), JointColumn::Index(b)];
        (0..study.outcomes.len()).map(move |outcome| {
            let frames = (cohort.frame_of[a][outcome], cohort.frame_of[b][outcome]);
            (narrower(frames, subsample), columns.clone())
        })
    };
    study.index_pairs().into_iter().flat_map(pair).collect()
}

/// Of two frames the one with the more restrictive subsample: only there has everybody been asked for both.
pub fn narrower((a, b): (usize, usize), subsample: impl Fn(usize) -> Option<Subsample>) -> usize {
    if subsample(b) > subsample(a) { b } else { a }
}
