//! Choices of who is left out, of people who may not be shown in small counts: two of them that differ by few people would tell
//! how few those are, and by their estimates whose values they have.

use std::collections::BTreeMap;

use super::choices::{Choice, Made};
use crate::table::schema::EACH_INDEX;
use crate::table::{Table, small};

/// The group of everybody, and the population that is the cohort.
const EVERYBODY: usize = 0;
const COHORT: usize = 0;

/// The steps of the participant flow whose people are told; who has an index is counted by the choices themselves.
pub(super) fn told_steps(tables: &[Table], limit: i64) -> Vec<i64> {
    let mut flow: Vec<Table> =
        tables.iter().filter(|table| table.name == "participant_flow").cloned().collect();
    small::hide(&mut flow, limit);
    let steps = flow.iter().flat_map(Table::iter).filter(|row| row.text("source") != EACH_INDEX);
    steps.filter_map(|row| row.whole("people")).collect()
}

/// Of choices that differ only by who is left out, in order, keeps those that differ by as many people as may be shown from
/// every one kept before, from the study's own and, of everybody, from the steps of the flow. Nobody is as few as a few.
pub(super) fn leave_out(choices: &mut [Choice], steps: &[i64], limit: i64) {
    let mut kept: BTreeMap<_, Vec<Vec<i64>>> = BTreeMap::new();
    for choice in choices {
        let people = people(choice);
        let about = (choice.index, choice.group, choice.made.kind(), choice.made.positions(), choice.route);
        let before = kept.entry(about).or_default();
        let near = |one: &i64, other: &i64| (one - other).abs() < limit;
        let alike = |known: &Vec<i64>| known.iter().zip(&people).any(|(one, other)| near(one, other));
        let of_step = choice.exclusions > 0
            && of_whole_cohort(choice)
            && people.first().is_some_and(|people| steps.iter().any(|step| near(step, people)));
        if of_step || before.iter().any(alike) {
            choice.told = false;
            choice.cutoff = None;
            choice.interval = None;
            choice.verdict.bar(why(limit));
        } else {
            before.push(people);
        }
    }
}

/// Why a choice is not printed.
fn why(limit: i64) -> String {
    format!("{} more or fewer than under another choice of who is left out", small::reason(limit))
}

/// All people of a choice, and those with and without the outcome where it has one.
fn people(choice: &Choice) -> Vec<i64> {
    let classes = choice.classes.into_iter().flat_map(|(with, without)| [with, without]);
    [choice.people].into_iter().chain(classes).map(|people| people as i64).collect()
}

fn of_whole_cohort(choice: &Choice) -> bool {
    let of_cohort = match choice.made {
        Made::ByRule { .. } => true,
        Made::ByPercentile { population, .. } => population == COHORT,
    };
    of_cohort && choice.group == EVERYBODY
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::withhold::Verdict;
    use crate::table::schema;

    const LIMIT: i64 = 10;

    fn choice(exclusions: usize, group: usize, people: u64, classes: Option<(u64, u64)>) -> Choice {
        Choice {
            index: 0,
            group,
            made: Made::ByPercentile { percentile: 0, population: COHORT },
            variant: exclusions,
            exclusions,
            route: 0,
            frame: 0,
            people,
            told: true,
            classes,
            df: 100.0,
            cutoff: Some(2.0),
            interval: None,
            verdict: Verdict::default(),
        }
    }

    fn told(choices: &mut [Choice], steps: &[i64]) -> Vec<bool> {
        leave_out(choices, steps, LIMIT);
        assert!(choices.iter().all(|one| one.told == one.cutoff.is_some() && one.told != one.verdict.barred));
        choices.iter().map(|one| one.told).collect()
    }

    /// 227 women less 8 who are pregnant are 219: of those two choices one is told.
    #[test]
    fn of_choices_that_differ_by_few_people_one_is_told() {
        let women = |people: [u64; 4]| -> Vec<Choice> {
            (0..).zip(people).map(|(exclusions, people)| choice(exclusions, 1, people, None)).collect()
        };
        assert_eq!(told(&mut women([205, 227, 219, 240]), &[227]), [true, true, false, true]);
        assert_eq!(told(&mut women([205, 205, 215, 206]), &[]), [true, false, true, false], "nobody differs");
        // Another group is another question.
        let mut groups = [choice(0, 1, 205, None), choice(0, 2, 206, None)];
        assert_eq!(told(&mut groups, &[]), [true, true]);
    }

    #[test]
    fn people_with_the_outcome_are_held_apart_too() {
        let mut choices = [choice(0, 1, 205, Some((50, 155))), choice(1, 1, 227, Some((53, 174)))];
        assert_eq!(told(&mut choices, &[]), [true, false], "3 of the 22 have it");
    }

    #[test]
    fn everybody_is_held_against_the_steps_of_the_flow() {
        let everybody = || [choice(0, EVERYBODY, 405, None), choice(1, EVERYBODY, 420, None)];
        assert_eq!(told(&mut everybody(), &[405, 423]), [true, false], "3 lie between");
        assert_eq!(told(&mut everybody(), &[405, 450]), [true, true]);
        let mut flow = Table::new(schema::shape("participant_flow").expect("a table"));
        for (order, (people, left)) in [(460, 0), (450, 10), (442, 8), (405, 37)].into_iter().enumerate() {
            let row = flow.row().text("source", "all").whole("order", Some(order as i64));
            row.whole("people", Some(people)).whole("left_out", Some(left)).done().expect("a row");
        }
        let steps = told_steps(&[flow], LIMIT);
        assert!(steps.contains(&405) && !(steps.contains(&442) && steps.contains(&450)), "{steps:?}");
    }
}
