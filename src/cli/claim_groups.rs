//! Which groups a claim is asked of, and which of them join what a finer grouping parts.

use crate::analysis::claim::Question;
use crate::definitions::finer::{finer, told_apart};
use crate::definitions::survey::survey;
use crate::definitions::{GroupVariable, groups};
use crate::study::{Source, Split, Study};

/// One sentence for all groupings asked for, as far as the study's sources could be grouped more finely.
pub fn joined(study: &Study, question: &Question) -> Option<String> {
    let asked: Vec<usize> = question.groupings.iter().flat_map(|&g| study.groupings[g].clone()).collect();
    let name = |variable: usize| study.variables[variable].name.as_str();
    let names: Vec<&str> = asked.iter().map(|&variable| name(variable)).collect();
    let mut parts: Vec<String> = Vec::new();
    for &variable in &asked {
        let Some(row) = finer(name(variable)).and_then(|finer| groups().iter().find(|g| g.name == finer))
        else {
            continue;
        };
        if names.contains(&&*row.name) {
            continue;
        }
        let label = &study.variables[variable].label;
        let part = by_bands(label, row).or_else(|| by_answer(study, (name(variable), label), row));
        parts.extend(part.filter(|part| !parts.contains(part)));
    }
    (!parts.is_empty()).then(|| format!("Finer groups that a study can name: {}.", parts.join(", ")))
}

/// Bands of the same number are there wherever the wider ones are.
fn by_bands(label: &str, finer: &GroupVariable) -> Option<String> {
    (!finer.cuts.is_empty()).then(|| format!("{} (for {label})", finer.name))
}

/// An answer must be in the data: which people it tells apart, and since when where some releases lack it.
fn by_answer(study: &Study, (name, label): (&str, &str), finer: &GroupVariable) -> Option<String> {
    let quantity = finer.column.as_deref()?;
    let holds = |source: &Source| match source {
        Source::Survey { survey: name, cycle, .. } => {
            survey(name).is_some_and(|s| s.variables_of(cycle).any(|v| v.quantity == quantity))
        }
        Source::Table(table) => table.columns.iter().any(|column| column.quantity == quantity),
    };
    let known = study.sources.iter().find_map(|source| match source {
        Source::Survey { survey: name, .. } => survey(name),
        Source::Table(_) => None,
    });
    let apart = known.and_then(|survey| told_apart(survey, name, &finer.name));
    let everywhere = study.sources.iter().all(holds);
    match apart {
        Some((labels, first)) => {
            let since =
                if everywhere { String::new() } else { format!(" since {}", first.replace('-', "–")) };
            Some(format!("{} (for {label}; it tells {} apart{since})", finer.name, labels.join(", ")))
        }
        None => everywhere.then(|| format!("{} (for {label})", finer.name)),
    }
}

/// Positions of one grouping for each variable, the finest of the run (the first where two are equally fine), and of
/// crossings only one whose variable is in no grouping by itself; then of the others, which would count the same people
/// again.
pub fn one_per_variable(study: &Study) -> (Vec<usize>, Vec<usize>) {
    let cut = |grouping: usize| {
        let mut cut: Vec<&str> = study.groupings[grouping].iter().map(|&v| what_is_cut(study, v)).collect();
        cut.sort_unstable();
        cut
    };
    let is_better = |other: usize, grouping: usize| {
        let (others, own) = (fineness(study, other), fineness(study, grouping));
        others > own || (others == own && other < grouping)
    };
    let all = 0..study.groupings.len();
    let alone: Vec<&str> = all.clone().map(&cut).filter(|cut| cut.len() == 1).flatten().collect();
    let is_needed = |grouping: usize| {
        let cut = cut(grouping);
        cut.len() == 1 || cut.iter().any(|variable| !alone.contains(variable))
    };
    all.clone().partition(|&grouping| {
        is_needed(grouping)
            && !all.clone().any(|other| cut(other) == cut(grouping) && is_better(other, grouping))
    })
}

/// The column behind bands; of answers, the grouping that parts them most.
fn what_is_cut(study: &Study, variable: usize) -> &str {
    let variable = &study.variables[variable];
    match &variable.split {
        Split::Bands { column, .. } => column,
        Split::Levels { .. } => finer(&variable.name).unwrap_or(&variable.name),
    }
}

/// The more, the finer: bands are counted; answers are finer where no other grouping parts them.
fn fineness(study: &Study, grouping: usize) -> usize {
    let of = |&variable: &usize| match &study.variables[variable].split {
        Split::Bands { labels, .. } => labels.len(),
        Split::Levels { .. } => 1 + usize::from(finer(&study.variables[variable].name).is_none()),
    };
    study.groupings[grouping].iter().map(of).product()
}

/// Names of the groupings of which single groups are asked.
pub fn narrowed(study: &Study, question: &Question) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (grouping, _) in &question.only {
        let name = name_of(study, *grouping);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

pub(super) fn name_of(study: &Study, grouping: usize) -> String {
    let names: Vec<&str> =
        study.groupings[grouping].iter().map(|&v| study.variables[v].name.as_str()).collect();
    names.join(" × ")
}

/// Which groupings of the run were left out of an answer by default, and how to ask for them.
pub fn not_asked(study: &Study, by_default: bool) -> Option<String> {
    let left: Vec<String> =
        one_per_variable(study).1.iter().map(|grouping| name_of(study, *grouping)).collect();
    (by_default && !left.is_empty()).then(|| {
        format!(
            "Left out, because other groupings cut the same variables: {}; ask with --group \"{}\".",
            left.join(", "),
            left.join(",")
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study;

    fn said(file: &str, groupings: &[&str]) -> Option<String> {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let study = study::load(&root.join(file)).expect("a study");
        let of = |name: &&str| {
            let same = |g: &Vec<usize>| g.len() == 1 && study.variables[g[0]].name == *name;
            study.groupings.iter().position(same).expect("a grouping")
        };
        let groupings = groupings.iter().map(of).collect();
        let question = Question {
            index: 0,
            stated: Vec::new(),
            meant: Vec::new(),
            outcome: None,
            groupings,
            only: Vec::new(),
            forms: Vec::new(),
        };
        joined(&study, &question)
    }

    #[test]
    fn a_joined_group_is_named_where_the_data_could_part_it() {
        let one = said("nhanes-2017-2020-adults.toml", &["sex", "ancestry"]).expect("a finer grouping");
        assert!(
            one.ends_with(
                "ancestry_detailed (for ancestry, as the survey asks; it tells Non-Hispanic Asian apart)."
            ),
            "{one}"
        );
        let pooled = said("nhanes-1999-2020-adults.toml", &["ancestry"]).expect("a finer grouping");
        assert!(pooled.contains("it tells Non-Hispanic Asian apart since 2011–2012)"), "{pooled}");
        // The invented survey has one question about ancestry, and bands of BMI can always be cut more finely.
        assert_eq!(said("demo.toml", &["sex", "ancestry"]), None);
        assert!(
            said("demo.toml", &["bmi_class"])
                .expect("bands")
                .contains("obesity_class (for body mass index, WHO classes).")
        );
        let both = said("nhanes-2017-2020-adults.toml", &["obesity", "bmi_class"]).expect("bands");
        assert!(both.contains(" obesity_class (") && !both.contains(" bmi_class ("), "{both}");
    }

    #[test]
    fn one_grouping_is_asked_of_each_variable() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let mut study = study::load(&root.join("nhanes-2017-2020-adults.toml")).expect("a study");
        let of = |name: &str| {
            study.variables.iter().position(|variable| variable.name == name).expect("a variable")
        };
        let (sex, three, classes, ancestry) = (of("sex"), of("obesity"), of("bmi_class"), of("ancestry"));
        study.groupings =
            vec![vec![sex], vec![three], vec![classes], vec![ancestry], vec![sex, three], vec![three, sex]];
        assert_eq!(one_per_variable(&study), (vec![0, 2, 3], vec![1, 4, 5]));
        let said = "Left out, because other groupings cut the same variables: obesity, sex × obesity, obesity × sex; ask with \
                    --group \"obesity,sex × obesity,obesity × sex\".";
        assert_eq!(not_asked(&study, true).as_deref(), Some(said));
        assert_eq!(not_asked(&study, false), None);
        // Without sex by itself, the finer of its crossings is needed to tell women from men.
        study.groupings = vec![vec![three], vec![classes], vec![sex, three], vec![sex, classes]];
        assert_eq!(one_per_variable(&study), (vec![1, 3], vec![0, 2]));
        study.groupings = vec![vec![sex], vec![three]];
        assert_eq!(not_asked(&study, true), None);
        let demo = study::load(&root.join("demo.toml")).expect("a study");
        let said = not_asked(&demo, true).expect("a crossing");
        assert!(said.ends_with("ask with --group \"sex × bmi_class\"."), "{said}");
    }
}
