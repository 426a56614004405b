//! How many people a study's exclusions leave out, from the tallies of its run.

use super::{AnalysisError, tabulate};
use crate::cohort::FlowStep;
use crate::study::{OUTSIDE_AGE, Study};
use crate::table::schema::{EACH_INDEX, JOINED};
use crate::table::{Table, small};
use crate::tally::{Tallies, Tally};

/// People whom an answer does not speak of, though they were examined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOut {
    pub people: i64,
    /// Of so many: those of the study's ages, where it names ages, else everybody.
    pub of: i64,
    /// Whether the study names ages, which is then its first reason.
    pub ages: bool,
}

/// How many people of the index's frame are left out; `None` where the participant flow of the run may not show it.
pub(super) fn left_out(
    study: &Study,
    tallies: &Tallies,
    index: usize,
) -> Result<Option<LeftOut>, AnalysisError> {
    let Some(frame) = tallies.frame_of[index].last().map(|&frame| &tallies.frames[frame]) else {
        return Ok(None);
    };
    let ages = study.exclusions.first().is_some_and(|first| first.name == OUTSIDE_AGE);
    let mut tables = [tabulate::flow(&steps(study.exclusions.len(), &frame.people, &frame.indices[index]))?];
    if let Some(limit) = study.fewest_shown() {
        small::hide(&mut tables, limit);
    }
    let counts = between(&tables[0], (usize::from(ages), study.exclusions.len()));
    Ok(counts.map(|counts| told(counts, study.fewest_shown(), ages)))
}

/// Who is left out of so many, rounded where few may not be shown: the difference, and not that of rounded numbers.
fn told((of, kept): (i64, i64), fewest: Option<i64>, ages: bool) -> LeftOut {
    let told = |people: i64| fewest.map_or(people, |limit| small::rounded(people, limit));
    LeftOut { people: told(of - kept), of: told(of), ages }
}

/// The steps of the participant flow: everybody, who is left after each exclusion, and those of them with the index.
fn steps(exclusions: usize, people: &Tally, with_index: &Tally) -> Vec<FlowStep> {
    let after = |tally: &Tally, bits: usize| {
        let mask = (1_u64 << bits) - 1;
        let left = tally.flags.iter().zip(&tally.people).filter(|(flags, _)| **flags & mask == 0);
        left.map(|(_, people)| *people as usize).sum::<usize>()
    };
    let mut left: Vec<(&str, usize)> = (0..=exclusions).map(|bits| (JOINED, after(people, bits))).collect();
    left.push((EACH_INDEX, after(with_index, exclusions)));
    let before = |position: usize| left[position.saturating_sub(1)].1;
    let step = |(position, (source, people)): (usize, &(&str, usize))| FlowStep {
        source: (*source).to_owned(),
        step: String::new(),
        people: *people,
        left_out: before(position) - people,
    };
    left.iter().enumerate().map(step).collect()
}

/// The people at two steps, unless one of them is withheld, or those with the index are: too few have no value of it, and
/// the answer counts the others.
fn between(flow: &Table, (from, to): (usize, usize)) -> Option<(i64, i64)> {
    let people: Vec<Option<i64>> = flow.iter().map(|row| row.whole("people")).collect();
    people.last()?.and(people[from].zip(people[to]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tally(rows: &[(u64, u32)]) -> Tally {
        Tally {
            flags: rows.iter().map(|(flags, _)| *flags).collect(),
            people: rows.iter().map(|(_, people)| *people).collect(),
            ..Tally::default()
        }
    }

    #[test]
    fn people_are_counted_after_each_exclusion_as_the_flow_counts_them() {
        // 20 too young (bit 0), 5 of them pregnant (bit 1) too; 12 pregnant; 100 neither, 98 of whom have the index.
        let people = tally(&[(1, 15), (3, 5), (2, 12), (0, 100)]);
        let steps = steps(2, &people, &tally(&[(2, 12), (0, 98)]));
        let counts: Vec<(usize, usize)> = steps.iter().map(|step| (step.people, step.left_out)).collect();
        assert_eq!(counts, [(132, 0), (112, 20), (100, 12), (98, 2)]);
        let mut tables = [tabulate::flow(&steps).expect("a flow")];
        assert_eq!(between(&tables[0], (1, 2)), Some((112, 100)));
        // Two people without the index could be counted.
        small::leave_out(&mut tables, 10);
        assert_eq!(between(&tables[0], (1, 2)), None);
    }

    /// 1470 − 1405 are 65, but 1472 − 1403 are 69.
    #[test]
    fn the_difference_is_rounded_and_not_made_of_rounded_numbers() {
        assert_eq!(told((1472, 1403), Some(10), true), LeftOut { people: 70, of: 1470, ages: true });
        assert_eq!(told((1472, 1403), None, false), LeftOut { people: 69, of: 1472, ages: false });
    }
}
