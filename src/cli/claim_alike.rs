//! Groups of a run that hold exactly the same people under several names: BMI 30 and over by two groupings.

use anyhow::Result;

use super::claim_one_group::{Found, any_of, full};
use crate::finished::Opened;
use crate::study::{Split, Variable};

/// What one level of a group says of its people: a band of a number, or an answer.
#[derive(Debug, Clone, PartialEq)]
struct Level<'o> {
    /// What is cut: a column, or what tells the answers apart.
    of: &'o str,
    from: f64,
    below: f64,
    /// Empty for a band.
    answer: &'o str,
}

/// The one that is taken of candidates for a name: with the fewest groups, where all hold the same people; an error where they do
/// not.
pub(super) fn alike(opened: &Opened, name: &str, candidates: &[Found]) -> Result<Found> {
    let people: Vec<Vec<Vec<Level<'_>>>> = candidates.iter().map(|found| people(opened, found)).collect();
    let are_alike = people.iter().all(|of| *of == people[0]);
    let fewest = (0..candidates.len()).min_by_key(|&at| candidates[at].groups.len());
    let Some(one) = fewest.filter(|_| are_alike) else { return Err(any_of(opened, name, candidates)) };
    let others = candidates.iter().enumerate().filter(|(at, _)| *at != one);
    let same = others.flat_map(|(_, found)| full(opened, found)).collect();
    Ok(Found { same, ..candidates[one].clone() })
}

/// Whom the groups hold, neighbouring bands of one number as one.
fn people<'o>(opened: &'o Opened, found: &'o Found) -> Vec<Vec<Level<'o>>> {
    let variables = &opened.study.groupings[found.grouping];
    let of_group = |group: &'o String| -> Vec<Level<'o>> {
        let labels = group.split(" × ").zip(variables);
        let mut levels: Vec<Level<'o>> =
            labels.filter_map(|(label, &variable)| level(&opened.study.variables[variable], label)).collect();
        levels.sort_by(|a, b| a.of.cmp(b.of));
        levels
    };
    let mut joined: Vec<Vec<Level<'o>>> = Vec::new();
    for group in found.groups.iter().map(of_group) {
        match joined.last_mut() {
            Some(last) if follows(last, &group) => last[0].below = group[0].below,
            _ => joined.push(group),
        }
    }
    joined
}

fn level<'o>(variable: &'o Variable, label: &'o str) -> Option<Level<'o>> {
    match &variable.split {
        Split::Bands { column, cuts, labels } => {
            let at = labels.iter().position(|own| own == label)?;
            let from = at.checked_sub(1).map_or(Some(f64::NEG_INFINITY), |cut| cuts.get(cut).copied())?;
            let below = cuts.get(at).copied().unwrap_or(f64::INFINITY);
            Some(Level { of: column, from, below, answer: "" })
        }
        Split::Levels { sql, .. } => Some(Level { of: sql, from: 0.0, below: 0.0, answer: label }),
    }
}

/// Whether a band begins where the one before it ends.
fn follows(before: &[Level<'_>], next: &[Level<'_>]) -> bool {
    match (before, next) {
        ([one], [other]) => {
            one.of == other.of && one.answer.is_empty() && other.answer.is_empty() && one.below == other.from
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::claim_groups::name_of;
    use crate::finished;

    #[test]
    fn the_same_people_by_two_groupings_are_taken_once_and_others_are_asked_back() {
        // It has bmi_class, whose last two bands are those of people from 25 on.
        let mut opened = finished::open(None, &[]).expect("the demo");
        let at = |name: &str| {
            (0..opened.study.groupings.len()).find(|&at| name_of(&opened.study, at) == name).expect(name)
        };
        let (classes, sex) = (at("bmi_class"), at("sex"));
        let mut two = opened.study.variables[opened.study.groupings[classes][0]].clone();
        two.name = "overweight".to_owned();
        if let Split::Bands { cuts, labels, .. } = &mut two.split {
            *cuts = vec![25.0];
            *labels = ["BMI under 25", "BMI 25 and over"].map(str::to_owned).to_vec();
        }
        opened.study.variables.push(two);
        opened.study.groupings.push(vec![opened.study.variables.len() - 1]);
        let joined = Found::of(opened.study.groupings.len() - 1, vec!["BMI 25 and over".to_owned()]);
        let both = Found::of(classes, ["25-29.9", "30 and over"].map(str::to_owned).to_vec());
        let taken = alike(&opened, "stout", &[both.clone(), joined.clone()]).expect("the same people");
        assert_eq!((taken.grouping, &taken.groups), (joined.grouping, &joined.groups));
        assert_eq!(taken.same, ["bmi_class=25-29.9", "bmi_class=30 and over"]);
        let women = Found::of(sex, vec!["female".to_owned()]);
        let said = alike(&opened, "stout", &[joined, women]).expect_err("other people").to_string();
        assert!(said.contains("could be any of \"overweight=BMI 25 and over\", \"sex=female\""), "{said}");
        assert!(alike(&opened, "stout", &[both]).is_ok_and(|one| one.same.is_empty()));
    }
}
