//! Rows of the study's own in a first study file: columns with few texts as groups, and examples as comments.

use std::fmt::Write as _;

use super::draft::{DraftSource, line, quoted};
use crate::definitions::quantity::quantities;
use crate::definitions::{exclusions, groups, indices, is_of_the_cohort, outcomes};

/// Columns that are taken for groups, at most.
const MOST: usize = 5;
/// The names of a study's own rows hold these letters only.
const JOINS: char = '_';

/// A column of a table that may split people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct OwnGroup {
    /// Its name in the study.
    pub name: String,
    /// Its name in the table.
    pub column: String,
    /// The texts that were seen.
    pub values: Vec<String>,
}

/// Columns of a table with few texts that nothing else is made of; beside a survey, which has no such column, none.
pub(super) fn own_groups(source: &DraftSource) -> Vec<OwnGroup> {
    let DraftSource::Table { map, .. } = source else { return Vec::new() };
    let mut own: Vec<OwnGroup> = Vec::new();
    for (column, values) in &map.words {
        let Some(name) = name(column).filter(|name| !own.iter().any(|other| other.name == *name)) else {
            continue;
        };
        own.push(OwnGroup { name, column: column.clone(), values: values.clone() });
    }
    own.truncate(MOST);
    own
}

/// A column's name in lower-case letters, digits and underscores, unless a built-in row has it.
fn name(column: &str) -> Option<String> {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { JOINS };
    let joined: String = column.chars().map(plain).collect();
    let name = joined.trim_matches(JOINS).to_owned();
    let taken = is_of_the_cohort(&name)
        || quantities().iter().any(|row| row.name == name || row.columns().contains(&name))
        || groups().iter().any(|row| row.name == name)
        || indices().iter().any(|row| row.name == name)
        || outcomes().iter().any(|row| row.name == name)
        || exclusions().iter().any(|row| row.name == name);
    (name.starts_with(|first: char| first.is_ascii_lowercase()) && !taken).then_some(name)
}

/// The lines of the column map.
pub(super) fn columns(text: &mut String, own: &[OwnGroup]) {
    for group in own {
        let code = format!("{} = {{ column = {} }}", group.name, quoted(&group.column));
        line(text, &code, "check this: the text as it stands; defined at the end");
    }
}

/// What stands below the list of groups.
pub(super) fn offered(text: &mut String, own: &[OwnGroup], asked: &[String]) {
    let more: Vec<String> = own
        .iter()
        .filter(|group| !asked.iter().any(|name| super::crossed(name).contains(&group.name.as_str())))
        .map(|group| quoted(&group.name))
        .collect();
    if !more.is_empty() {
        let _ = writeln!(
            text,
            "# Columns of the table that can split people too: add {} to groups.",
            more.join(", ")
        );
    }
}

/// A quantity and a group for each column.
pub(super) fn rows(text: &mut String, own: &[OwnGroup]) {
    if own.is_empty() {
        return;
    }
    text.push_str(
        "\n# ---- Columns of the table with few texts: what they hold, and how they split people.\n",
    );
    for group in own {
        let (name, label) = (quoted(&group.name), quoted(group.column.trim()));
        let _ = write!(
            text,
            "\n[[define.quantity]]\nname = {name}\nlabel = {label}\nkind = \"category\"\nsubsample = \"interview\"\n\n\
             [[define.group]]\nname = {name}\nlabel = {label}\n"
        );
        let seen = group.values.join(", ").replace(['\n', '\r'], " ");
        line(text, &format!("column = {name}"), &format!("seen: {seen}"));
        text.push_str("source = \"this study\"\n");
    }
}

/// One row of each kind, as comments.
pub(super) fn examples(text: &mut String) {
    text.push_str(
        "\n# ---- Rows of your own: switch on what you need, and name it above under indices, outcomes or groups.\n\n",
    );
    text.push_str("# [[define.index]]\n# name = \"insulin_by_waist\"\n# label = \"insulin × waist\"\n");
    line(
        text,
        "# formula = \"insulin_uu_ml * waist_cm / 100\"",
        "columns: cutspan list quantities --format csv",
    );
    line(text, "# unit = \"1\"", "1 for a pure number");
    line(text, "# direction = \"higher\"", "which side is more resistant: higher or lower");
    line(text, "# source = \"this study\"", "who defines it so");
    text.push_str("\n# [[define.outcome]]\n# name = \"insulin_from_15\"\n# label = \"fasting insulin 15 µU/mL or more\"\n");
    line(text, "# formula = \"insulin_uu_ml >= 15\"", "or items with at_least, or index with value");
    text.push_str("# source = \"this study\"\n");
    text.push_str("\n# [[define.group]]\n# name = \"age_at_50\"\n# label = \"age, parted at 50\"\n# column = \"age_years\"\n");
    line(text, "# cuts = [50]", "the lower end of each band but the first");
    line(text, "# labels = [\"under 50\", \"50 and over\"]", "one more than the cuts");
    text.push_str("# source = \"this study\"\n");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Map;

    #[test]
    fn a_column_gets_a_plain_name_that_no_built_in_row_has() {
        let words = |names: &[&str]| {
            let columns = names.iter().map(|name| ((*name).to_owned(), vec!["a".to_owned(), "b".to_owned()]));
            let map = Map { words: columns.collect(), ..Map::default() };
            DraftSource::Table { name: "t".to_owned(), file: "t.csv".to_owned(), map }
        };
        let names = |columns: &[&str]| -> Vec<String> {
            own_groups(&words(columns)).into_iter().map(|group| group.name).collect()
        };
        assert_eq!(
            names(&["Region (old)", "region_old", "Source", "stratum", "cycle", "sex", "2nd", "Arm"]),
            ["region__old", "region_old", "arm"]
        );
        assert_eq!(names(&["a", "b", "c", "d", "e", "f"]).len(), MOST);
    }
}
