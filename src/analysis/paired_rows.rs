//! People who have two indices, in the order of either.

use super::context::Context;
use super::groups::{Group, Population};
use crate::cohort::{UNKNOWN, YES};
use crate::stats::Sample;
use crate::tally::{JointColumn, JointTally, narrower};

/// The rows of one joint tally of two indices.
#[derive(Debug)]
pub struct PairedRows<'a> {
    pub indices: (usize, usize),
    joint: &'a JointTally,
    levels: Vec<Vec<Option<u8>>>,
    /// Rows in the resistance order of the first and of the second index.
    orders: [Vec<usize>; 2],
}

/// The same people in the order of either index, with a known outcome.
#[derive(Debug, Default)]
pub struct Both {
    pub samples: [Sample; 2],
    pub classes: [Vec<bool>; 2],
    pub with: u64,
    pub without: u64,
}

/// The joint tally of two indices in the frame that serves both against an outcome.
pub fn find<'a>(context: &'a Context, (a, b): (usize, usize), outcome: usize) -> Option<&'a JointTally> {
    let frames = (context.frame_of_pair(a, outcome), context.frame_of_pair(b, outcome));
    let frame = narrower(frames, |f| context.tallies.frames[f].frame.subsample);
    let columns = [JointColumn::Index(a), JointColumn::Index(b)];
    context.tallies.joints.iter().find(|j| j.frame == frame && j.columns == columns)
}

impl<'a> PairedRows<'a> {
    pub fn new(context: &Context, joint: &'a JointTally, indices: (usize, usize)) -> Self {
        let order = |position: usize, index: usize| {
            let sign = context.study.indices[index].sign();
            let mut rows: Vec<usize> = (0..joint.cell.len()).collect();
            // Ties stand in an order that no index decides: twins then give the same sums to the last bit.
            let among_ties =
                |r: usize| (joint.unit[r], joint.outcomes[r], joint.flags[r], joint.cell[r], joint.weight[r]);
            rows.sort_by_key(|&r| (joint.keys[position][r] * sign, among_ties(r)));
            rows
        };
        Self {
            indices,
            joint,
            levels: joint.cell.iter().map(|&cell| context.tallies.plan.levels_of(cell)).collect(),
            orders: [order(0, indices.0), order(1, indices.1)],
        }
    }

    pub fn frame(&self) -> usize {
        self.joint.frame
    }

    /// People of the frame who have both, excluded ones included.
    pub fn people(&self) -> u64 {
        self.joint.people.iter().map(|&n| u64::from(n)).sum()
    }

    /// People of a group with both values and a known outcome.
    pub fn both(
        &self,
        context: &Context,
        outcome: usize,
        (population, group): (&Population, &Group),
    ) -> Both {
        let mut both = Both::default();
        for (position, index) in [self.indices.0, self.indices.1].into_iter().enumerate() {
            let order = self.orders[position].iter().copied();
            let rows: Vec<usize> = order.filter(|&r| self.belongs(r, outcome, (population, group))).collect();
            both.samples[position] = self.sample(context, (position, index), &rows);
            both.classes[position] = rows.iter().map(|&r| self.answer(r, outcome) == YES).collect();
        }
        let people = both.samples[0].people.iter().zip(&both.classes[0]);
        for (&n, &with) in people {
            *(if with { &mut both.with } else { &mut both.without }) += u64::from(n);
        }
        both
    }

    /// Both values and the outcome of each person of a group, one entry a person.
    pub fn each(
        &self,
        context: &Context,
        outcome: usize,
        who: (&Population, &Group),
    ) -> ([Vec<f64>; 2], Vec<bool>) {
        let rows = (0..self.joint.cell.len()).filter(|&r| self.belongs(r, outcome, who));
        let people = |r: usize| std::iter::repeat_n(r, self.joint.people[r] as usize);
        let people: Vec<usize> = rows.flat_map(people).collect();
        let values = |position: usize, index: usize| self.sample(context, (position, index), &people).value;
        let class = people.iter().map(|&r| self.answer(r, outcome) == YES).collect();
        ([values(0, self.indices.0), values(1, self.indices.1)], class)
    }

    /// Whether both indices order the people of a group, ties included, in one way.
    pub fn same_order(&self, context: &Context, outcome: usize, who: (&Population, &Group)) -> bool {
        let sign = |index: usize| context.study.indices[index].sign();
        let signs = [sign(self.indices.0), sign(self.indices.1)];
        let at = |row: usize| [0, 1].map(|position| self.joint.keys[position][row] * signs[position]);
        let own = self.orders[0].iter().copied().filter(|&row| self.belongs(row, outcome, who));
        let rows: Vec<[i64; 2]> = own.map(at).collect();
        rows.windows(2).all(|pair| pair[0][0].cmp(&pair[1][0]) == pair[0][1].cmp(&pair[1][1]))
    }

    fn answer(&self, row: usize, outcome: usize) -> u64 {
        (self.joint.outcomes[row] >> (2 * outcome)) & 0b11
    }

    fn belongs(&self, row: usize, outcome: usize, (population, group): (&Population, &Group)) -> bool {
        population.holds(self.joint.flags[row])
            && group.holds(&self.levels[row])
            && self.answer(row, outcome) != UNKNOWN
    }

    fn sample(&self, context: &Context, (position, index): (usize, usize), rows: &[usize]) -> Sample {
        let study_index = &context.study.indices[index];
        let (steps, sign) = (study_index.row.steps_per_unit(), study_index.sign() as f64);
        let frame = &context.tallies.frames[self.joint.frame].frame;
        let joint = self.joint;
        Sample {
            value: rows.iter().map(|&r| joint.keys[position][r] as f64 / steps * sign).collect(),
            weight: rows.iter().map(|&r| frame.weight(joint.weight[r])).collect(),
            weight_squared: rows.iter().map(|&r| frame.squared(joint.weight_squared[r])).collect(),
            people: rows.iter().map(|&r| joint.people[r]).collect(),
            unit: rows.iter().map(|&r| joint.unit[r]).collect(),
        }
    }
}
