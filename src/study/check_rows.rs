//! Whether the rows that `[[check]]` names can exist, as far as the study alone tells.

use super::checks::{PicksFile, Wanted};
use super::error::{StudyError, Text};
use super::file::{At, StudyFile};
use super::{Split, Study, crossed};

/// Tables whose rows are of the study's own indices, outcomes, populations and groups.
const OF_THE_STUDY: [&str; 11] = [
    "percentiles",
    "geometric_means",
    "auc",
    "cutoffs",
    "cutoff_accuracy",
    "cutoff_differences",
    "smoothed_cutoffs",
    "threshold_shares",
    "threshold_accuracy",
    "outcome_prevalence",
    "reference_limits",
];
const EVERYBODY: &str = "everybody";

pub(super) fn check(study: &Study, file: &StudyFile, text: Text<'_>) -> Result<(), StudyError> {
    let checks = study.checks.iter().zip(&file.check);
    for (_, written) in checks.filter(|(check, _)| OF_THE_STUDY.contains(&check.table.name)) {
        let written = written.get_ref();
        exist(study, &written.picks, text)?;
        if let Some(other) = &written.greater_than {
            exist(study, &other.picks, text)?;
        }
    }
    Ok(())
}

fn exist(study: &Study, picks: &PicksFile, text: Text<'_>) -> Result<(), StudyError> {
    for (column, wanted) in picks {
        let Wanted::Text(value) = wanted.get_ref() else { continue };
        let Some((what, known)) = known(study, column.get_ref()) else { continue };
        if !known.iter().any(|one| is_called(one, value)) {
            let found = At::new(wanted.span(), value.clone());
            return Err(text.unknown(what, &found, known.iter().map(String::as_str)));
        }
    }
    Ok(())
}

/// Whether a name in a table is the one that is written; a crossing may be written with `x` or `*`.
#[must_use]
pub fn is_called(name: &str, written: &str) -> bool {
    name == written || name == joined(&crossed(written))
}

/// A crossing as it stands in tables.
fn joined(parts: &[&str]) -> String {
    parts.join(" × ")
}

/// What a column may hold, where the study says so before anything is read.
fn known(study: &Study, column: &str) -> Option<(&'static str, Vec<String>)> {
    let everybody = || vec![EVERYBODY.to_owned()];
    Some(match column {
        "index" => {
            ("index of this study", study.indices.iter().map(|index| index.row.name.clone()).collect())
        }
        "outcome" => {
            ("outcome of this study", study.outcomes.iter().map(|one| one.row.name.clone()).collect())
        }
        "rule" => ("rule of this study", study.rules.iter().map(|rule| rule.name.clone()).collect()),
        "population" => {
            let references = study.references.iter().map(|reference| reference.name.clone());
            ("population of this study", std::iter::once("cohort".to_owned()).chain(references).collect())
        }
        "grouping" => {
            let of = |grouping: &Vec<usize>| {
                let names: Vec<&str> = grouping.iter().map(|&at| study.variables[at].name.as_str()).collect();
                joined(&names)
            };
            let all = everybody().into_iter().chain(study.groupings.iter().map(of));
            ("grouping of this study", all.collect())
        }
        "group" => {
            let of = study.groupings.iter().map(|grouping| groups(study, grouping));
            let of = of.collect::<Option<Vec<_>>>()?.concat();
            ("group of this study", everybody().into_iter().chain(of).collect())
        }
        _ => return None,
    })
}

/// The groups of a grouping; `None` where the data decide which there are.
fn groups(study: &Study, grouping: &[usize]) -> Option<Vec<String>> {
    let mut groups: Vec<Vec<&str>> = vec![Vec::new()];
    for &at in grouping {
        let levels = match &study.variables[at].split {
            Split::Bands { labels, .. } => labels,
            Split::Levels { levels, .. } => levels,
        };
        if levels.is_empty() {
            return None;
        }
        let longer = groups.iter().flat_map(|group| {
            levels.iter().map(move |level| group.iter().copied().chain([level.as_str()]).collect())
        });
        groups = longer.collect();
    }
    Some(groups.iter().map(|group| joined(group)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn parsed(picks: &str) -> Result<Study, StudyError> {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
        let demo = std::fs::read_to_string(&file).expect("the demo");
        let check = format!(
            "\n[[check]]\ntable = \"percentiles\"\ncolumn = \"value\"\nwhere = {{ {picks} }}\nbetween = [0, 9]\nsource = \"-\"\n"
        );
        crate::study::parse(&(demo + &check), "demo.toml", file.parent().expect("a folder"))
    }

    #[test]
    fn a_row_that_cannot_exist_is_told_before_the_run() {
        for (picks, said) in [
            ("index = \"tg_hdl\"", "unknown index of this study \"tg_hdl\""),
            ("population = \"helthy\"", "Did you mean \"healthy\"?"),
            ("grouping = \"age\"", "unknown grouping of this study \"age\""),
        ] {
            let error = parsed(picks).expect_err(picks).to_string();
            assert!(error.contains(said), "{error}");
        }
        parsed("group = \"anything\"").expect("ancestry groups are those of the data");
        parsed("index = \"homa_ir\", grouping = \"sex x bmi_class\"").expect("a crossing with x");
    }

    #[test]
    fn a_crossing_may_be_written_with_any_of_three_signs() {
        for written in ["female × 60 and over", "female x 60 and over", "female * 60 and over"] {
            assert!(is_called("female × 60 and over", written), "{written}");
        }
        assert!(is_called("a x b", "a x b") && !is_called("a x b", "a × b"));
    }
}
