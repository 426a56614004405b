//! The tally: people summed over those who share a value, a cell, flags, outcome answers and a
//! sampling unit. Estimates come from tallies alone, so pieces of a survey that share frames and a plan of cells can be
//! tallied apart and added up, in any order, to the same bytes.

mod joint;
mod local;
mod merge;
mod saved;

pub use joint::{JointColumn, JointTally, joints, narrower};
pub use local::{collect, tally};
pub use merge::merge;
pub use saved::{FORMAT, SavedError, load, save, saved_files};

use crate::cohort::{CellPlan, DesignTable, Frame};

/// All tallies of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Tallies {
    pub survey: String,
    pub plan: CellPlan,
    pub frames: Vec<FrameTally>,
    /// Frame of each (index, outcome) pair: `frame_of[index][outcome]`; the last entry is the index alone.
    pub frame_of: Vec<Vec<usize>>,
    /// Tallies of several values at once, as far as the study needs any.
    pub joints: Vec<JointTally>,
    /// False when variance is by people, for want of PSUs.
    pub has_design: bool,
}

/// The tallies of one frame.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameTally {
    pub frame: Frame,
    pub design: DesignTable,
    /// Everybody of the frame, without values.
    pub people: Tally,
    /// One tally per index of the study; empty where the frame does not serve the index.
    pub indices: Vec<Tally>,
}

/// Sums over people, sorted by key, cell, flags, outcomes and unit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally {
    /// Value as a whole number of the index's resolution.
    pub key: Vec<i64>,
    pub cell: Vec<i64>,
    pub flags: Vec<u64>,
    pub outcomes: Vec<u64>,
    /// Position in the design table.
    pub unit: Vec<u32>,
    pub people: Vec<u32>,
    pub weight: Vec<i64>,
    pub weight_squared: Vec<i64>,
}

impl Tally {
    #[must_use]
    pub fn len(&self) -> usize {
        self.key.len()
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.key.is_empty()
    }

    /// Answer of an outcome on a row: see [`crate::cohort::YES`].
    #[must_use]
    pub fn answer(&self, row: usize, outcome: usize) -> u64 {
        (self.outcomes[row] >> (2 * outcome)) & 0b11
    }
}
