//! `--group` of one person: a grouping of the study by its name, or a group as it is printed or in everyday words.

use anyhow::{Result, anyhow, bail};

use super::claim_crossed::crossed_group;
use crate::cohort::Subject;
use crate::definitions::answer::Answer;
use crate::definitions::nearest::hint;
use crate::finished::Opened;
use crate::source;
use crate::study::crossed;

/// A grouping by its name, its variables in whatever order, or by the name of one of its groups, which must be the
/// person's.
pub(super) fn grouping(written: &str, opened: &Opened, answers: &[Answer]) -> Result<usize> {
    let study = &opened.study;
    let names = |of: &Vec<usize>| of.iter().map(|&v| study.variables[v].name.as_str()).collect::<Vec<_>>();
    let mut wanted = crossed(written);
    wanted.sort_unstable();
    let same = |of: &Vec<usize>| {
        let mut own = names(of);
        own.sort_unstable();
        own == wanted
    };
    if let Some(found) = study.groupings.iter().position(same) {
        return Ok(found);
    }
    let by_words = if of_group(&wanted, opened).is_none() { crossed_group(opened, written)? } else { None };
    if let Some(found) = &by_words {
        wanted = found.groups.iter().flat_map(|group| crossed(group)).collect();
    }
    let found = by_words.as_ref().map(|found| found.grouping).or_else(|| of_group(&wanted, opened));
    let found = found.ok_or_else(|| {
        let known: Vec<String> = study.groupings.iter().map(|of| names(of).join(" × ")).collect();
        anyhow!(
            "--group {written}: neither a grouping nor a group of the study. {}",
            hint(written, known.iter().map(String::as_str))
        )
    })?;
    let row = source::person(&study.quantities, answers)?;
    let subject = Subject::new(study, &opened.tallies.plan, &row)?;
    let levels = study.groupings[found].iter().map(|&variable| {
        let labels = &opened.tallies.plan.variables[variable].labels;
        let own = subject.levels[variable].and_then(|level| labels.get(usize::from(level)));
        (study.variables[variable].label.as_str(), own.map(String::as_str))
    });
    if let Some(why) = not_theirs(&wanted, &levels.collect::<Vec<_>>()) {
        let by = names(&study.groupings[found]).join(" × ");
        bail!("--group {written}: {why}; --group \"{by}\" compares within the person's own group");
    }
    Ok(found)
}

/// Why a group is not the person's: the levels of its variables, of which each is among those wanted or is not.
fn not_theirs(wanted: &[&str], levels: &[(&str, Option<&str>)]) -> Option<String> {
    let wanted: Vec<String> = wanted.iter().map(|level| bare(level)).collect();
    levels.iter().find_map(|(variable, own)| match own {
        Some(own) if wanted.contains(&bare(own)) => None,
        Some(own) => Some(format!("the person is not in it: {variable} is \"{own}\"")),
        None => Some(format!("whether the person is in it is not known: {variable} is not given")),
    })
}

/// The grouping that has a group of these levels, however they are printed.
fn of_group(levels: &[&str], opened: &Opened) -> Option<usize> {
    let wanted: Vec<String> = levels.iter().map(|level| bare(level)).collect();
    let holds = |of: &Vec<usize>| {
        let known = |&variable: &usize| {
            let labels = &opened.tallies.plan.variables[variable].labels;
            labels.iter().filter(|label| wanted.contains(&bare(label))).count()
        };
        of.len() == wanted.len() && of.iter().all(|variable| known(variable) == 1)
    };
    opened.study.groupings.iter().position(holds)
}

/// A level without what is printed around it: `30 and over` for `BMI 30 and over` and `30 and over (body mass index)`.
fn bare(level: &str) -> String {
    let lower = level.to_lowercase();
    let before = lower.split(" (").next().unwrap_or_default().trim();
    ["bmi ", "age "].iter().find_map(|word| before.strip_prefix(word)).unwrap_or(before).to_owned()
}

#[cfg(test)]
mod tests {
    use super::{bare, not_theirs};

    #[test]
    fn a_level_is_known_however_it_is_printed() {
        for printed in ["30 and over", "BMI 30 and over", "30 and over (body mass index, WHO classes)"] {
            assert_eq!(bare(printed), "30 and over");
        }
        assert_eq!(bare("age 40-59"), "40-59");
    }

    #[test]
    fn a_level_of_other_people_is_refused_and_the_own_one_named() {
        let levels = [("sex", Some("female")), ("body mass index, three classes", Some("BMI 30 and over"))];
        assert_eq!(not_theirs(&["BMI 30 and over", "female"], &levels), None);
        let said = not_theirs(&["BMI under 25", "female"], &levels).unwrap_or_default();
        assert!(said.contains("not in it: body mass index, three classes is \"BMI 30 and over\""), "{said}");
        let unknown = not_theirs(&["male"], &[("sex", None)]).unwrap_or_default();
        assert!(unknown.contains("not given"), "{unknown}");
    }
}
