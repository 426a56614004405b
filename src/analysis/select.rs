//! The rows of a population and group, and their outcome answers.

use super::context::{Context, Ordered};
use super::groups::{Group, Population};
use crate::cohort::{UNKNOWN, YES};
use crate::stats::Sample;

/// People of a group with a value, in resistance order.
pub fn values(ordered: &Ordered, population: &Population, group: &Group) -> Sample {
    take(ordered, &rows(ordered, population, group))
}

/// People of a group with a value and a known outcome, with the outcome as classes.
#[derive(Debug, Clone, Default)]
pub struct Classed {
    pub sample: Sample,
    pub class: Vec<bool>,
    /// People with the outcome, without it, and with an unknown outcome (left out).
    pub with: u64,
    pub without: u64,
    pub unknown: u64,
}

/// The rows of a group split by an outcome.
pub fn classed(context: &Context, pair: (usize, usize), population: &Population, group: &Group) -> Classed {
    let (index, outcome) = pair;
    let ordered = &context.frames[context.frame_of_pair(index, outcome)].indices[index];
    let answer = |row: usize| (ordered.outcomes[row] >> (2 * outcome)) & 0b11;
    let mut split = Classed::default();
    let mut known = Vec::new();
    for row in rows(ordered, population, group) {
        let people = u64::from(ordered.sample.people[row]);
        match answer(row) {
            UNKNOWN => split.unknown += people,
            YES => {
                split.with += people;
                known.push(row);
                split.class.push(true);
            }
            _ => {
                split.without += people;
                known.push(row);
                split.class.push(false);
            }
        }
    }
    split.sample = take(ordered, &known);
    split
}

/// Positions of the rows of a group, in resistance order.
pub fn rows(ordered: &Ordered, population: &Population, group: &Group) -> Vec<usize> {
    (0..ordered.flags.len())
        .filter(|&row| population.holds(ordered.flags[row]) && group.holds(&ordered.levels[row]))
        .collect()
}

pub fn take(ordered: &Ordered, rows: &[usize]) -> Sample {
    let all = &ordered.sample;
    Sample {
        value: rows.iter().map(|&r| all.value[r]).collect(),
        weight: rows.iter().map(|&r| all.weight[r]).collect(),
        weight_squared: rows.iter().map(|&r| all.weight_squared[r]).collect(),
        people: rows.iter().map(|&r| all.people[r]).collect(),
        unit: rows.iter().map(|&r| all.unit[r]).collect(),
    }
}
