//! `--group` of one person: a grouping of the study by its name, or a group as it is printed.

use anyhow::{Result, anyhow};

use crate::definitions::nearest::hint;
use crate::finished::Opened;

/// A grouping by its name, its variables in whatever order, or by the name of one of its groups.
pub(super) fn grouping(written: &str, opened: &Opened) -> Result<usize> {
    let study = &opened.study;
    let names = |of: &Vec<usize>| of.iter().map(|&v| study.variables[v].name.as_str()).collect::<Vec<_>>();
    let mut wanted: Vec<&str> = written.split(['×', '*']).map(str::trim).collect();
    wanted.sort_unstable();
    let same = |of: &Vec<usize>| {
        let mut own = names(of);
        own.sort_unstable();
        own == wanted
    };
    let by_name = study.groupings.iter().position(same);
    by_name.or_else(|| of_group(&wanted, opened)).ok_or_else(|| {
        let known: Vec<String> = study.groupings.iter().map(|of| names(of).join(" × ")).collect();
        anyhow!(
            "--group {written}: neither a grouping nor a group of the study. {}",
            hint(written, known.iter().map(String::as_str))
        )
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
    use super::bare;

    #[test]
    fn a_level_is_known_however_it_is_printed() {
        for printed in ["30 and over", "BMI 30 and over", "30 and over (body mass index, WHO classes)"] {
            assert_eq!(bare(printed), "30 and over");
        }
        assert_eq!(bare("age 40-59"), "40-59");
    }
}
