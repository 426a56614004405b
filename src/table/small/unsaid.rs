//! Groups of whom nothing is said: where how many people they are is left out, so is every estimate about them. Means and
//! percentiles of a group and of the same people with a few more would tell those few.

use std::collections::BTreeSet;

use super::hidden::Hidden;
use super::partition::COHORT;
use super::{BESIDE, Few, reason};
use crate::table::{Cell, Row, Table};

pub(super) const SAMPLE: &str = "sample";
/// Tables that count the people of every group: with a value of an index, with an outcome known, and with both.
const COUNTING: [&str; 3] = ["geometric_means", "outcome_prevalence", "auc"];
/// Tables of cutoffs that other tables compare between the groups of a variable.
const COMPARED: [&str; 3] = ["cutoffs", "smoothed_cutoffs", "standardised_cutoffs"];
/// Texts that say what a level is, in the table of who is in the sample.
const LEVEL: [&str; 3] = ["survey", "variable", "level"];
/// The table whose index is what it finds.
pub(super) const FINDS_INDEX: &str = "which_index";

/// Survey, population, grouping, group, index and outcome; one of the last two that is empty stands for all.
type Key = [String; 6];

/// Groups that are left out because they, or others, are few; not those whose share is too uncertain to print.
#[derive(Debug, Clone, Default)]
pub(super) struct Unsaid {
    groups: BTreeSet<Key>,
    /// The same without the group: groupings of which such a group has a cutoff.
    groupings: BTreeSet<Key>,
}

impl Unsaid {
    /// Of tables of which that of the sample is done, and the others are not.
    pub(super) fn find(tables: &[Table], few: &Few, limit: i64) -> Self {
        let mut found = Self::default();
        for table in tables.iter().filter(|table| table.name == SAMPLE) {
            found.levels(table, limit);
        }
        let sampled = found.clone();
        for table in tables.iter().filter(|table| COUNTING.contains(&table.name)) {
            found.counted(table, (few, &sampled), limit);
        }
        for table in tables.iter().filter(|table| COMPARED.contains(&table.name)) {
            found.compared(table);
        }
        found
    }

    pub(super) fn add(&mut self, more: Self) {
        self.groups.extend(more.groups);
        self.groupings.extend(more.groupings);
    }

    /// Which rows of a table are about such a group, or compare it with others.
    pub(super) fn rows(&self, table: &Table) -> Vec<bool> {
        let is_unsaid = |row: Row<'_>| {
            let known = if row.has("group") { &self.groups } else { &self.groupings };
            row.has("grouping") && keys(&row).iter().any(|key| known.contains(key))
        };
        table.iter().map(is_unsaid).collect()
    }

    /// Which rows name such a group of another population, from which something in them comes.
    pub(super) fn derived(&self, table: &Table, column: &'static str) -> Vec<bool> {
        let is_unsaid = |row: Row<'_>| {
            let from = |mut key: Key| {
                row.text(column).clone_into(&mut key[1]);
                key
            };
            keys(&row).into_iter().any(|key| self.groups.contains(&from(key)))
        };
        table.iter().map(is_unsaid).collect()
    }

    fn levels(&mut self, table: &Table, limit: i64) {
        let few = reason(limit);
        let left_out = |row: &Row<'_>| {
            let why = row.text("withheld");
            row.cell("n") == &Cell::Missing && (why == BESIDE || why.ends_with(&few))
        };
        for row in table.iter().filter(left_out) {
            let [survey, variable, level] = LEVEL.map(|name| row.text(name).to_owned());
            let population = text_or(&row, "population", COHORT);
            self.groups.insert([survey, population, variable, level, String::new(), String::new()]);
        }
    }

    fn counted(&mut self, table: &Table, (few, sampled): (&Few, &Self), limit: i64) {
        let hidden = Hidden::find(table, (&few.rows(table), &sampled.rows(table)), limit);
        let left_out = table.iter().enumerate().filter(|(at, _)| hidden.is(*at, "n"));
        self.groups.extend(left_out.map(|(_, row)| {
            [
                row.text("survey").to_owned(),
                text_or(&row, "population", COHORT),
                row.text("grouping").to_owned(),
                row.text("group").to_owned(),
                text_or(&row, "index", ""),
                text_or(&row, "outcome", ""),
            ]
        }));
    }

    fn compared(&mut self, table: &Table) {
        for (row, unsaid) in table.iter().zip(self.rows(table)) {
            if unsaid && row.real("cutoff").is_some() {
                let [survey, grouping, index, outcome] =
                    ["survey", "grouping", "index", "outcome"].map(|name| row.text(name).to_owned());
                let population = text_or(&row, "population", COHORT);
                self.groupings.insert([survey, population, grouping, String::new(), index, outcome]);
            }
        }
    }
}

fn text_or(row: &Row<'_>, name: &str, otherwise: &str) -> String {
    let said = if row.has(name) { row.text(name) } else { "" };
    if said.is_empty() { otherwise.to_owned() } else { said.to_owned() }
}

/// Every key under which the people of a row may be left out; a table that names no population is about the cohort.
fn keys(row: &Row<'_>) -> Vec<Key> {
    let each = |names: &[&str]| -> Vec<String> {
        let named = names.iter().filter(|name| row.has(name)).map(|name| row.text(name).to_owned());
        named.filter(|said| !said.is_empty()).collect()
    };
    let all = |names: &[&str]| [each(names), vec![String::new()]].concat();
    let surveys = all(&["survey", "compared_with", "judged_in"]);
    let groups = if row.has("group") { each(&["group", "other_group"]) } else { vec![String::new()] };
    let indices =
        if row.table_name() == FINDS_INDEX { vec![String::new()] } else { all(&["index", "other_index"]) };
    let (population, grouping) = (text_or(row, "population", COHORT), row.text("grouping"));
    let mut found = Vec::new();
    for survey in &surveys {
        for group in &groups {
            for index in &indices {
                for outcome in all(&["outcome"]) {
                    let [population, grouping] = [&*population, grouping].map(str::to_owned);
                    found.push([survey.clone(), population, grouping, group.clone(), index.clone(), outcome]);
                }
            }
        }
    }
    found
}
