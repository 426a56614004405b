//! What the people of a study's tables show of its conditions before anything is counted: reasons to leave people out that
//! nobody can answer, levels of groups that no label names, and groups of stated checks that nobody is in.

use std::collections::BTreeMap;

use polars::prelude::*;

use super::CohortError;
use super::cells::{formula, levels_in};
use super::limits::rows_of;
use super::unanswered::known;
use crate::definitions::Exclusion;
use crate::definitions::nearest::{hint_of_labels, nearest};
use crate::notice::Notice;
use crate::source::Loaded;
use crate::study::{NoSuchGroup, Source, Split, Study, TableSource, Variable, no_such_groups};
use crate::table::small;

/// Of levels without a label, as many are named.
const NAMED: usize = 5;

/// Cautions of all three kinds.
pub fn remarks(study: &Study, loaded: &Loaded) -> Result<Vec<Notice>, CohortError> {
    let mut notices = Vec::new();
    for source in &study.sources {
        if let Source::Table(table) = source {
            let (_, here) = rows_of(source, loaded)?;
            notices.extend(nobody_left_out(study, loaded, table, &here)?);
        }
    }
    for variable in &study.variables {
        notices.extend(unlisted_levels(study, loaded, variable)?);
    }
    notices.extend(groups_of_checks(study, loaded));
    Ok(notices)
}

/// A caution on every check whose group is none of those that the people are in. Names of levels that cannot be read are
/// told where they are counted.
fn groups_of_checks(study: &Study, loaded: &Loaded) -> Vec<Notice> {
    let levels = |variable: usize| {
        let Variable { name, split, .. } = &study.variables[variable];
        match split {
            Split::Levels { sql, .. } => levels_in(&loaded.frame, name, sql).ok(),
            Split::Bands { .. } => None,
        }
    };
    let caution = |none: NoSuchGroup| {
        let hint = hint_of_labels(&none.group, none.known.iter().map(String::as_str));
        let message = format!("its `where` names the group “{}”, and there is none. {hint}", none.group);
        Notice::caution("check_without_row", format!("[[check]] {}", none.check), message)
    };
    no_such_groups(study, &levels).into_iter().map(caution).collect()
}

/// A caution on every exclusion whose answer is unknown for all people of a table, although it has the columns.
fn nobody_left_out(
    study: &Study,
    loaded: &Loaded,
    table: &TableSource,
    here: &[usize],
) -> Result<Vec<Notice>, CohortError> {
    let mut notices = Vec::new();
    // Where a table has no column at all, that is said of the study itself.
    let asked =
        |row: &&Exclusion| !row.unknown_excludes && !study.never_known(table, row) && !here.is_empty();
    for exclusion in study.exclusions.iter().filter(asked) {
        let known = known(exclusion, loaded)?;
        if here.iter().any(|&row| known.get(row) == Some(true)) {
            continue;
        }
        let message = format!(
            "nobody here is left out as “{}”: the answer is unknown for everybody, so everybody stays in. Look whether the \
             columns it reads are filled and their codes stated",
            exclusion.label
        );
        notices.push(Notice::caution("exclusion_unknown", table.name.as_str(), message));
    }
    Ok(notices)
}

/// A caution on people whose level is none of the labels that the group lists: they are in no group.
fn unlisted_levels(
    study: &Study,
    loaded: &Loaded,
    variable: &Variable,
) -> Result<Option<Notice>, CohortError> {
    let Split::Levels { sql, levels } = &variable.split else { return Ok(None) };
    if levels.is_empty() {
        return Ok(None);
    }
    let level = formula(&variable.name, sql)?.cast(DataType::String).alias("level");
    let found = loaded.frame.clone().lazy().select([level]).collect()?;
    let mut people: BTreeMap<&str, i64> = BTreeMap::new();
    for level in found.column("level")?.str()?.iter().flatten() {
        if !levels.iter().any(|label| label == level) {
            *people.entry(level).or_default() += 1;
        }
    }
    let words = people.iter().take(NAMED).map(|(level, count)| {
        let count = small::told(*count, study.fewest_shown());
        let meant = nearest(level, levels.iter().map(String::as_str));
        let meant = meant.map_or_else(String::new, |label| format!("; did you mean “{label}”?"));
        format!("“{level}” ({count}{meant})")
    });
    let words: Vec<String> = words.collect();
    let more = if people.len() > NAMED { " and others" } else { "" };
    Ok((!words.is_empty()).then(|| {
        let message = format!(
            "gives levels that its `labels` do not list, and these people are in none of its groups: {}{more}. Labels: {}",
            words.join(", "),
            levels.join(", ")
        );
        Notice::caution("level_unlisted", variable.name.as_str(), message)
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::read_all;
    use crate::study::parse;

    const STUDY: &str = "title = \"t\"\n[[source]]\nsurvey = \"table\"\nname = \"clinic\"\nfiles = [\"c.csv\"]\nid = \"id\"\n\
        [source.columns]\nglucose = { column = \"g\", unit = \"mg/dL\" }\ninsulin = { column = \"i\", unit = \"uU/mL\" }\n\
        systolic = { column = \"s\", unit = \"mm Hg\" }\ndiagnosed_diabetes = { column = \"d\" }\n\
        [cohort]\nexclude = [\"diagnosed_diabetes\"]\n[analysis]\nindices = [\"homa_ir\"]\ngroups = [\"pressure\"]\n\
        [[define.group]]\nname = \"pressure\"\nlabel = \"pressure\"\nsource = \"own\"\nlabels = [\"usual\", \"high usual\", \"high\"]\n\
        formula = \"CASE WHEN systolic_mm_hg < 120.0 THEN 'usual' WHEN systolic_mm_hg < 140.0 THEN 'high-usual' ELSE 'high' END\"\n";
    const TABLE: &str = "id,g,i,s,d\n1,90,5,110,ja\n2,95,8,130,nein\n3,99,12,135,nein\n4,101,15,150,\n";

    fn said(study: &str, table: &str) -> Vec<(&'static str, String)> {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("c.csv"), table).expect("a table");
        let study = parse(study, "s.toml", folder.path()).expect("a study");
        let loaded = read_all(&study, &[]).expect("people");
        let remarks = remarks(&study, &loaded).expect("remarks");
        remarks.into_iter().map(|notice| (notice.kind, notice.message)).collect()
    }

    #[test]
    fn an_exclusion_that_nobody_can_be_left_out_by_is_told() {
        let coded = STUDY.replace("'high-usual'", "'high usual'");
        assert_eq!(said(&coded, TABLE), [], "ja and nein are words for yes and no");
        let lost = coded.replace("column = \"d\"", "column = \"d\", missing = [\"ja\", \"nein\"]");
        let told = said(&lost, TABLE);
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!(told[0].0, "exclusion_unknown");
        assert!(
            told[0].1.contains("nobody here is left out as") && told[0].1.contains("stays in"),
            "{told:?}"
        );
    }

    #[test]
    fn a_level_without_a_label_is_told_with_its_people_and_the_label_that_is_meant() {
        let told = said(STUDY, TABLE);
        assert_eq!(told.len(), 1, "{told:?}");
        let (kind, message) = &told[0];
        assert_eq!(*kind, "level_unlisted");
        assert!(message.contains("“high-usual” (2 people; did you mean “high usual”?)"), "{message}");
        let told = said(&format!("public = false\n{STUDY}"), TABLE);
        assert!(told[0].1.contains("“high-usual” (some people;"), "{told:?}");
        let header = TABLE.lines().next().expect("a header");
        let many: Vec<String> = (0..23).map(|id| format!("{id},95,8,130,nein\n")).collect();
        let told = said(&format!("public = false\n{STUDY}"), &format!("{header}\n{}", many.concat()));
        assert!(told[0].1.contains("“high-usual” (about 25 people;"), "{told:?}");
    }
}
