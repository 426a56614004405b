//! Whether the rows that `[[check]]` names can exist, as far as the study alone tells.

use super::checks::{Expectation, Pick, PicksFile, Wanted};
use super::error::{StudyError, Text};
use super::file::{At, StudyFile};
use super::{Split, Study, crossed};

/// Tables whose rows are of the study's own indices, outcomes, populations and groups.
const OF_THE_STUDY: [&str; 16] = [
    "percentiles",
    "geometric_means",
    "auc",
    "cutoffs",
    "cutoff_accuracy",
    "cutoff_differences",
    "cutoff_methods",
    "cutoff_pairs",
    "smoothed_cutoffs",
    "roc_points",
    "equivalent_thresholds",
    "reclassified",
    "threshold_shares",
    "threshold_accuracy",
    "outcome_prevalence",
    "reference_limits",
];
const EVERYBODY: &str = "everybody";
/// Between the parts of a crossing in tables.
const CROSSED: &str = " × ";

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
    let grouping = picks.iter().find(|(column, _)| column.get_ref() == "grouping");
    // One that the study does not know is told itself, and narrows no groups.
    let is_known = |wanted: &&str| {
        *wanted == EVERYBODY || study.groupings.iter().any(|of| is_called(&called(study, of), wanted))
    };
    let grouping = grouping.and_then(|(_, wanted)| as_text(wanted.get_ref())).filter(is_known);
    for (column, wanted) in picks {
        let Some(value) = as_text(wanted.get_ref()).filter(|value| !value.is_empty()) else { continue };
        let Some((what, known)) = known(study, column.get_ref(), grouping) else { continue };
        if !known.iter().any(|one| is_called(one, value)) {
            let found = At::new(wanted.span(), value.to_owned());
            return Err(text.unknown(what, &found, known.iter().map(String::as_str)));
        }
    }
    Ok(())
}

fn as_text(wanted: &Wanted) -> Option<&str> {
    match wanted {
        Wanted::Text(text) => Some(text),
        Wanted::Number(_) => None,
    }
}

/// Whether a name in a table is the one that is written; a crossing may be written with `x` or `*`.
#[must_use]
pub fn is_called(name: &str, written: &str) -> bool {
    name == written || name == joined(&crossed(written))
}

/// A crossing as it stands in tables.
fn joined(parts: &[&str]) -> String {
    parts.join(CROSSED)
}

/// What a column may hold in the rows of a grouping, or of any, where the study says so before anything is read.
fn known(study: &Study, column: &str, grouping: Option<&str>) -> Option<(&'static str, Vec<String>)> {
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
            let all = everybody().into_iter().chain(study.groupings.iter().map(|of| called(study, of)));
            ("grouping of this study", all.collect())
        }
        "group" => ("group of this study", groups(study, grouping, &|at| stated(study, at))?),
        _ => return None,
    })
}

fn called(study: &Study, grouping: &[usize]) -> String {
    let names: Vec<&str> = grouping.iter().map(|&at| study.variables[at].name.as_str()).collect();
    joined(&names)
}

/// The levels of a variable; `None` where the data decide which there are.
fn stated(study: &Study, variable: usize) -> Option<Vec<String>> {
    let levels = match &study.variables[variable].split {
        Split::Bands { labels, .. } => labels,
        Split::Levels { levels, .. } => levels,
    };
    (!levels.is_empty()).then(|| levels.clone())
}

/// The groups of one grouping or of all, from the levels of each variable; everybody is one.
fn groups(
    study: &Study,
    wanted: Option<&str>,
    levels: &dyn Fn(usize) -> Option<Vec<String>>,
) -> Option<Vec<String>> {
    let mut all = Vec::new();
    if wanted.is_none_or(|wanted| wanted == EVERYBODY) {
        all.push(EVERYBODY.to_owned());
    }
    let meant =
        |grouping: &&Vec<usize>| wanted.is_none_or(|wanted| is_called(&called(study, grouping), wanted));
    for grouping in study.groupings.iter().filter(meant) {
        let mut groups = vec![Vec::new()];
        for &variable in grouping {
            let levels = levels(variable)?;
            let longer = |group: &Vec<String>| -> Vec<Vec<String>> {
                levels.iter().map(|level| [&group[..], std::slice::from_ref(level)].concat()).collect()
            };
            groups = groups.iter().flat_map(longer).collect();
        }
        all.extend(groups.iter().map(|group: &Vec<String>| group.join(CROSSED)));
    }
    Some(all)
}

/// A row that a check names whose group is none of the study's, now that the levels of its variables are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSuchGroup {
    /// Its place among the checks, from 1 on.
    pub check: usize,
    pub group: String,
    pub known: Vec<String>,
}

/// The groups that checks name and that do not exist; `read` gives the levels that the data decide.
#[must_use]
pub fn no_such_groups(study: &Study, read: &dyn Fn(usize) -> Option<Vec<String>>) -> Vec<NoSuchGroup> {
    let levels = |variable: usize| stated(study, variable).or_else(|| read(variable));
    let mut missing = Vec::new();
    for (position, check) in study.checks.iter().enumerate() {
        if !OF_THE_STUDY.contains(&check.table.name) {
            continue;
        }
        let other = match &check.expectation {
            Expectation::Above(picks) => &picks[..],
            Expectation::Between { .. } => &[],
        };
        for picks in [&check.picks[..], other] {
            let Some(group) = picked(picks, "group") else { continue };
            let Some(known) = groups(study, picked(picks, "grouping"), &levels) else { continue };
            if !known.iter().any(|one| is_called(one, group)) {
                missing.push(NoSuchGroup { check: position + 1, group: group.to_owned(), known });
            }
        }
    }
    missing
}

fn picked<'p>(picks: &'p [Pick], column: &str) -> Option<&'p str> {
    picks.iter().find(|pick| pick.column == column).and_then(|pick| as_text(&pick.wanted))
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
            ("grouping = \"sex\", group = \"men\"", "unknown group of this study \"men\""),
        ] {
            let error = parsed(picks).expect_err(picks).to_string();
            assert!(error.contains(said), "{error}");
        }
        parsed("group = \"anything\"").expect("ancestry groups are those of the data");
        parsed("index = \"homa_ir\", grouping = \"sex x bmi_class\"").expect("a crossing with x");
    }

    #[test]
    fn a_group_of_none_of_the_levels_read_is_told() {
        let told = |picks: &str| -> Vec<String> {
            let study = parsed(picks).expect("a study");
            let read = |_| Some(vec!["north".to_owned()]);
            no_such_groups(&study, &read).into_iter().map(|none| none.group).collect()
        };
        assert_eq!(told("group = \"Everyone\""), ["Everyone"]);
        assert_eq!(told("grouping = \"ancestry\", group = \"everybody\""), ["everybody"]);
        for group in ["everybody", "north", "female x 30 and over"] {
            assert_eq!(told(&format!("group = \"{group}\"")), [""; 0]);
        }
    }

    #[test]
    fn a_crossing_may_be_written_with_any_of_three_signs() {
        for written in ["female × 60 and over", "female x 60 and over", "female * 60 and over"] {
            assert!(is_called("female × 60 and over", written), "{written}");
        }
        assert!(is_called("a x b", "a x b") && !is_called("a x b", "a × b"));
    }
}
