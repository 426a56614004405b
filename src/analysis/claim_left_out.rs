//! How many people a study's exclusions leave out, from the tallies of its run.

use super::claim::Question;
use super::context::Context;
use super::groups::Group;
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
    /// Those who are left in, rounded by themselves where counts are: not the difference of the two before.
    pub left_in: i64,
    /// Of those, how many have no value of the index.
    pub without_index: i64,
}

/// The same of one group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOutOf {
    pub examined: i64,
    pub left_out: i64,
}

/// How many people of the index's frame are left out, `None` where the participant flow of the run may not show it; and of
/// each exclusion whether it leaves people out.
pub(super) fn left_out(
    study: &Study,
    tallies: &Tallies,
    index: usize,
) -> Result<(Option<LeftOut>, Vec<bool>), AnalysisError> {
    let Some(frame) = tallies.frame_of[index].last().map(|&frame| &tallies.frames[frame]) else {
        return Ok((None, vec![true; study.exclusions.len()]));
    };
    let ages = names_ages(study);
    let mut tables = [tabulate::flow(&steps(study.exclusions.len(), &frame.people, &frame.indices[index]))?];
    if let Some(limit) = study.fewest_shown() {
        small::hide(&mut tables, limit);
    }
    let counts = between(&tables[0], [usize::from(ages), study.exclusions.len()]);
    let counts = counts.map(|counts| told(counts, study.fewest_shown(), ages));
    Ok((counts, leaves(&tables[0], study.exclusions.len())))
}

/// Of each exclusion whether its step of the participant flow leaves people out; a count that is withheld may be of many.
fn leaves(flow: &Table, exclusions: usize) -> Vec<bool> {
    flow.iter().skip(1).take(exclusions).map(|row| row.whole("left_out") != Some(0)).collect()
}

/// Who is left out of so many, rounded where few may not be shown: the difference, and not that of rounded numbers.
fn told([of, kept, with_index]: [i64; 3], fewest: Option<i64>, ages: bool) -> LeftOut {
    let told = |people: i64| fewest.map_or(people, |limit| small::rounded(people, limit));
    LeftOut {
        people: told(of - kept),
        of: told(of),
        ages,
        left_in: told(kept),
        without_index: told(kept - with_index),
    }
}

/// How many people of each group were examined and are left out; empty where people may not be shown in small counts.
pub(super) fn of_groups(context: &Context, question: &Question) -> Vec<LeftOutOf> {
    let study = context.study;
    if study.fewest_shown().is_some() {
        return Vec::new();
    }
    let people = &context.frames[context.frame_of_index(question.index)].people;
    let ages = u64::from(names_ages(study));
    let all = (1_u64 << study.exclusions.len()) - 1;
    let of_group = |group: &Group| {
        let count = |counts: &dyn Fn(u64) -> bool| {
            let rows = (0..people.flags.len()).filter(|&row| people.flags[row] & ages == 0);
            let rows = rows.filter(|&row| counts(people.flags[row]) && group.holds(&people.levels[row]));
            rows.map(|row| i64::from(people.sample.people[row])).sum()
        };
        LeftOutOf { examined: count(&|_| true), left_out: count(&|flags| flags & all != 0) }
    };
    context.groups.iter().map(of_group).collect()
}

/// Whether the study names ages, and so its first reason to leave people out is their age.
fn names_ages(study: &Study) -> bool {
    study.exclusions.first().is_some_and(|first| first.name == OUTSIDE_AGE)
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

/// The people at two steps and those with the index, unless one of these counts is withheld.
fn between(flow: &Table, [from, to]: [usize; 2]) -> Option<[i64; 3]> {
    let people: Vec<Option<i64>> = flow.iter().map(|row| row.whole("people")).collect();
    Some([people[from]?, people[to]?, (*people.last()?)?])
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
        assert_eq!(between(&tables[0], [1, 2]), Some([112, 100, 98]));
        assert_eq!(leaves(&tables[0], 2), [true, true]);
        // Two people without the index could be counted.
        small::leave_out(&mut tables, 10);
        assert_eq!(between(&tables[0], [1, 2]), None);
    }

    /// Whom another step has left out already, a later one does not leave out: all 5 pregnant people are too young.
    #[test]
    fn a_step_that_leaves_nobody_out_is_told_from_one_that_does_where_counts_may_be_shown() {
        let people = tally(&[(1, 15), (3, 5), (0, 100)]);
        let mut tables = [tabulate::flow(&steps(2, &people, &tally(&[(0, 100)]))).expect("a flow")];
        assert_eq!(leaves(&tables[0], 2), [true, false]);
        small::leave_out(&mut tables, 10);
        assert_eq!(leaves(&tables[0], 2), [true, true]);
    }

    /// 1470 − 1405 are 65, but 1472 − 1403 are 69; and those left in are 1405, as in every table of the run, not 1470 − 70.
    #[test]
    fn the_difference_is_rounded_and_not_made_of_rounded_numbers() {
        let seen =
            |people, of, left_in, without_index| LeftOut { people, of, ages: true, left_in, without_index };
        assert_eq!(told([1472, 1403, 1382], Some(10), true), seen(70, 1470, 1405, 20));
        assert_eq!(told([1472, 1403, 1382], None, true), seen(69, 1472, 1403, 21));
    }
}
