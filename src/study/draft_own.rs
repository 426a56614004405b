//! Rows of the study's own in a first study file: columns with few texts as groups and outcomes, and examples as comments.

use std::fmt::Write as _;

use super::draft::{DraftSource, line, list, quoted};
use super::guess::{FewTexts, Map};
use crate::definitions::quantity::quantities;
use crate::definitions::{exclusions, groups, indices, is_of_the_cohort, outcomes};

/// Columns of texts, and of yes and no, of which rows are made, at most; more where they are asked for.
const MOST: usize = 5;
/// The names of a study's own rows hold these letters only.
const JOINS: char = '_';

/// A column of a table of which rows of the study's own are made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct OwnColumn {
    /// Its name in the study.
    pub name: String,
    /// Its name in the table, and what it holds.
    pub few: FewTexts,
}

/// What may be asked for of a table beside built-in rows: each by its name in the study and in the table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OwnNames {
    pub groups: Vec<(String, String)>,
    /// Those that hold yes and no.
    pub outcomes: Vec<(String, String)>,
    /// All columns of which nothing is made but that.
    pub columns: Vec<String>,
}

/// Columns of a table with few texts that nothing else is made of: the first of each kind, and those that are `asked` for.
pub(super) fn own_columns(source: &DraftSource, asked: &[&str]) -> Vec<OwnColumn> {
    let mut found = [0, 0];
    let mut is_taken = |own: &OwnColumn| {
        let of_its_kind = &mut found[usize::from(own.few.answers.is_some())];
        *of_its_kind += 1;
        *of_its_kind <= MOST || asked.contains(&own.name.as_str())
    };
    all_columns(source).into_iter().filter(|own| is_taken(own)).collect()
}

/// The columns of a table; none of one beside a survey, whose people have no such column.
fn table_alone(source: &DraftSource) -> Option<&Map> {
    match source {
        DraftSource::Table { map, .. } => Some(map),
        DraftSource::Survey { .. } | DraftSource::Beside { .. } => None,
    }
}

fn all_columns(source: &DraftSource) -> Vec<OwnColumn> {
    let mut own: Vec<OwnColumn> = Vec::new();
    for few in table_alone(source).iter().flat_map(|map| &map.few) {
        if let Some(name) = name(&few.column).filter(|name| !own.iter().any(|other| other.name == *name)) {
            own.push(OwnColumn { name, few: few.clone() });
        }
    }
    own
}

impl OwnNames {
    pub(super) fn of(source: &DraftSource) -> Self {
        let all = all_columns(source);
        let named = |own: &OwnColumn| (own.name.clone(), own.few.column.trim().to_owned());
        Self {
            groups: all.iter().map(named).collect(),
            outcomes: all.iter().filter(|own| own.few.answers.is_some()).map(named).collect(),
            columns: table_alone(source).map_or_else(Vec::new, |map| map.unused.clone()),
        }
    }
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
pub(super) fn columns(text: &mut String, own: &[OwnColumn]) {
    for OwnColumn { name, few } in own {
        let mut code = format!("{name} = {{ column = {}", quoted(&few.column));
        let mut held = "the text as it stands";
        if let Some(answers) = &few.answers {
            held = "yes or no";
            let pairs =
                answers.codes.iter().map(|(raw, label)| format!("{} = {}", quoted(raw), quoted(label)));
            if !answers.codes.is_empty() {
                let _ = write!(code, ", codes = {{ {} }}", pairs.collect::<Vec<_>>().join(", "));
            }
            if !answers.missing.is_empty() {
                let _ = write!(code, ", missing = {}", list(&answers.missing));
            }
        }
        line(text, &(code + " }"), &format!("check this: {held}; defined at the end"));
    }
}

/// What stands below the list of groups.
pub(super) fn offered_groups(text: &mut String, own: &[OwnColumn], asked: &[String]) {
    let is_asked =
        |own: &OwnColumn| asked.iter().any(|name| super::crossed(name).contains(&own.name.as_str()));
    let more = more(own.iter().filter(|own| !is_asked(own)));
    if !more.is_empty() {
        let _ = writeln!(text, "# Columns of the table that can split people too: add {more} to groups.");
    }
}

/// What stands below the list of outcomes.
pub(super) fn offered_outcomes(text: &mut String, own: &[OwnColumn], asked: &[String]) {
    let answers = own.iter().filter(|own| own.few.answers.is_some());
    let more = more(answers.filter(|own| !asked.contains(&own.name)));
    if !more.is_empty() {
        let _ = writeln!(
            text,
            "# Columns of the table that hold yes and no: switch on [[define.outcome]] of {more} at the end, and add its name."
        );
    }
}

fn more<'o>(own: impl Iterator<Item = &'o OwnColumn>) -> String {
    own.map(|own| quoted(&own.name)).collect::<Vec<_>>().join(", ")
}

/// A quantity and a group for each column, and an outcome for one of yes and no: a comment where it is not `asked` for.
pub(super) fn rows(text: &mut String, own: &[OwnColumn], asked: &[String]) {
    if own.is_empty() {
        return;
    }
    text.push_str(
        "\n# ---- Columns of the table with few texts: what they hold, and what is made of them.\n",
    );
    for OwnColumn { name: own, few } in own {
        let (name, label) = (quoted(own), quoted(few.column.trim()));
        let kind = if few.answers.is_some() { "yes_no" } else { "category" };
        let _ = write!(
            text,
            "\n[[define.quantity]]\nname = {name}\nlabel = {label}\nkind = \"{kind}\"\nsubsample = \"interview\"\n\n\
             [[define.group]]\nname = {name}\nlabel = {label}\n"
        );
        let seen = few.values.join(", ").replace(['\n', '\r'], " ");
        line(text, &format!("column = {name}"), &format!("seen: {seen}"));
        text.push_str("source = \"this study\"\n");
        if few.answers.is_some() {
            let off = if asked.contains(own) { "" } else { "# " };
            let _ = write!(text, "\n{off}[[define.outcome]]\n{off}name = {name}\n{off}label = {label}\n");
            line(text, &format!("{off}formula = {name}"), "who says yes has it");
            let _ = writeln!(text, "{off}source = \"this study\"");
        }
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
    use crate::study::Answers;

    #[test]
    fn a_column_gets_a_plain_name_that_no_built_in_row_has() {
        let words = |names: &[&str]| {
            let few = names.iter().map(|name| FewTexts { column: (*name).to_owned(), ..FewTexts::default() });
            let map = Map { few: few.collect(), ..Map::default() };
            DraftSource::Table { name: "t".to_owned(), file: "t.csv".to_owned(), map }
        };
        let names = |columns: &[&str]| -> Vec<String> {
            own_columns(&words(columns), &["f"]).into_iter().map(|own| own.name).collect()
        };
        assert_eq!(
            names(&["Region (old)", "region_old", "Source", "stratum", "cycle", "sex", "2nd", "Arm"]),
            ["region__old", "region_old", "arm"]
        );
        assert_eq!(
            names(&["a", "b", "c", "d", "e", "f", "g"]),
            ["a", "b", "c", "d", "e", "f"],
            "f is asked for"
        );
    }

    #[test]
    fn columns_of_yes_and_no_can_be_outcomes_and_do_not_push_out_groups() {
        let few =
            |column: String, answers: Option<Answers>| FewTexts { column, answers, ..FewTexts::default() };
        let texts = (0..4).map(|at| few(format!("text {at}"), None));
        let answers = (0..9).map(|at| few(format!("asked {at}"), Some(Answers::default())));
        let map = Map { few: answers.chain(texts).collect(), ..Map::default() };
        let source = DraftSource::Table { name: "t".to_owned(), file: "t.csv".to_owned(), map };
        assert_eq!(own_columns(&source, &["asked_7"]).len(), MOST + 1 + 4);
        let names = OwnNames::of(&source);
        assert_eq!((names.groups.len(), names.outcomes.len()), (13, 9));
        assert_eq!(names.outcomes[0], ("asked_0".to_owned(), "asked 0".to_owned()));
    }
}
