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
    let ordered = &context.frames[context.frame_of_pair(pair.0, pair.1)].indices[pair.0];
    split(ordered, &rows(ordered, population, group), pair.1).0
}

/// Rows split by an outcome, and which of them have a known answer.
pub fn split(ordered: &Ordered, rows: &[usize], outcome: usize) -> (Classed, Vec<usize>) {
    let answer = |row: usize| (ordered.outcomes[row] >> (2 * outcome)) & 0b11;
    let mut split = Classed::default();
    let mut known = Vec::new();
    for &row in rows {
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
    (split, known)
}

impl Classed {
    /// Those with the outcome, or those without it.
    pub fn of_class(&self, class: bool) -> Sample {
        let keep: Vec<usize> = (0..self.class.len()).filter(|&row| self.class[row] == class).collect();
        self.sample.pick(&keep)
    }
}

/// Positions of the rows of a group, in resistance order.
pub fn rows(ordered: &Ordered, population: &Population, group: &Group) -> Vec<usize> {
    (0..ordered.flags.len())
        .filter(|&row| population.holds(ordered.flags[row]) && group.holds(&ordered.levels[row]))
        .collect()
}

pub fn take(ordered: &Ordered, rows: &[usize]) -> Sample {
    ordered.sample.pick(rows)
}

/// People summed over those who share a unit, a class and a side of a cutoff: a handful of rows that
/// give every share and ratio of the two-by-two table what the people themselves would give.
/// Answers with the folded people (value 0 short of the cutoff, 1 beyond) and the first row beyond.
pub fn fold(people: &Classed, first_row: usize, units: usize) -> (Classed, usize) {
    let mut sums = vec![[0.0; 2]; 4 * units];
    let mut counts = vec![0_u32; 4 * units];
    for row in 0..people.class.len() {
        let side = usize::from(row >= first_row) * 2 + usize::from(people.class[row]);
        let slot = side * units + people.sample.unit[row] as usize;
        sums[slot][0] += people.sample.weight[row];
        sums[slot][1] += people.sample.weight_squared[row];
        counts[slot] += people.sample.people[row];
    }
    let mut folded =
        Classed { with: people.with, without: people.without, unknown: people.unknown, ..Classed::default() };
    let mut first = 0;
    for (slot, (sum, &count)) in sums.iter().zip(&counts).enumerate().filter(|(_, (_, c))| **c > 0) {
        let side = slot / units;
        first += usize::from(side < 2);
        folded.sample.value.push((side / 2) as f64);
        folded.sample.weight.push(sum[0]);
        folded.sample.weight_squared.push(sum[1]);
        folded.sample.people.push(count);
        folded.sample.unit.push((slot % units) as u32);
        folded.class.push(side % 2 == 1);
    }
    (folded, first)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folded_people_keep_every_sum_of_the_two_by_two_table() {
        let people = Classed {
            sample: Sample {
                value: vec![1.0, 2.0, 3.0, 4.0, 5.0],
                weight: vec![10.0, 20.0, 30.0, 40.0, 50.0],
                weight_squared: vec![100.0, 400.0, 900.0, 1600.0, 2500.0],
                people: vec![1, 1, 1, 1, 1],
                unit: vec![0, 1, 0, 1, 1],
            },
            class: vec![false, true, false, true, true],
            with: 3,
            without: 2,
            unknown: 0,
        };
        let (folded, first) = fold(&people, 2, 2);
        assert_eq!(first, 2);
        assert_eq!(folded.sample.weight, [10.0, 20.0, 30.0, 90.0]);
        assert_eq!(folded.sample.weight_squared, [100.0, 400.0, 900.0, 4100.0]);
        assert_eq!(folded.sample.people, [1, 1, 1, 2]);
        assert_eq!(folded.class, [false, true, false, true]);
        assert_eq!(folded.sample.value, [0.0, 0.0, 1.0, 1.0]);
    }
}
