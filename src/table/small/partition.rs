//! Rows that split the people of another row between them: the groups of a variable, everybody for a total.

use std::collections::BTreeMap;

use super::crossed;
use crate::table::{Row, Table};

/// Texts that say what a row is about, besides its group.
const KEYS: [&str; 22] = [
    "survey",
    "frame",
    "index",
    "other_index",
    "outcome",
    "population",
    "rule",
    "measure",
    "method",
    "kind",
    "exclusions",
    "route",
    "adjustment",
    "over",
    "cycle",
    "compared_with",
    "judged_in",
    "derived_from",
    "item",
    "strategy",
    "limit",
    "published",
];
/// Texts that say which of its people.
const WHO: [&str; 4] = ["grouping", "group", "variable", "level"];
const POPULATION: &str = "population";
/// The population of which every other is a part.
pub(super) const COHORT: &str = "cohort";
const EVERYBODY: &str = "everybody";
/// Between the variables of a crossing, and between their levels.
const TIMES: &str = " × ";

/// Rows of groups that nobody is in two of, and the row of the people they split.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Line {
    pub whole: Option<usize>,
    pub groups: Vec<usize>,
    /// Whether that nobody of the people is in none is told of few people alone.
    pub nobody_is_few: bool,
}

/// Rows about the same, by grouping and group: how often one repeats (for each threshold, say) tells them apart.
type Same<'a> = BTreeMap<(&'a str, &'a str), Vec<usize>>;

/// Every such line of a table, and the lines of populations.
pub(super) fn lines(table: &Table) -> Vec<Line> {
    [of_groups(table), of_populations(table)].concat()
}

/// A population and the cohort whose part it is: they may differ by few people.
fn of_populations(table: &Table) -> Vec<Line> {
    if table.position(POPULATION).is_none() {
        return Vec::new();
    }
    let mut about: BTreeMap<Vec<&str>, BTreeMap<&str, Vec<usize>>> = BTreeMap::new();
    for (at, row) in table.iter().enumerate() {
        let names = KEYS.iter().filter(|key| **key != POPULATION).chain(&WHO).filter(|key| row.has(key));
        let same = about.entry(names.map(|key| row.text(key)).collect()).or_default();
        same.entry(row.text(POPULATION)).or_default().push(at);
    }
    let of_parts = |same: &BTreeMap<&str, Vec<usize>>| -> Vec<Line> {
        let cohort = same.get(COHORT).map_or(&[][..], Vec::as_slice);
        let parts = same.iter().filter(|(population, _)| **population != COHORT);
        let line = |(whole, part): (&usize, &usize)| Line {
            whole: Some(*whole),
            groups: vec![*part],
            nobody_is_few: true,
        };
        parts.flat_map(|(_, rows)| cohort.iter().zip(rows).map(line)).collect()
    };
    about.values().flat_map(of_parts).collect()
}

fn of_groups(table: &Table) -> Vec<Line> {
    if table.name == "sample" {
        return levels(table);
    }
    if table.position("grouping").is_none() || table.position("group").is_none() {
        return Vec::new();
    }
    let mut about: BTreeMap<Vec<&str>, Same<'_>> = BTreeMap::new();
    for (at, row) in table.iter().enumerate() {
        let keys = KEYS.iter().filter(|key| row.has(key)).map(|key| row.text(key)).collect();
        let same = about.entry(keys).or_default();
        same.entry((row.text("grouping"), row.text("group"))).or_default().push(at);
    }
    let mut lines: Vec<Line> = about.values().flat_map(lines_of).collect();
    lines.extend(crossed::lines(table));
    lines
}

/// The levels of each variable in the table of who is in the sample.
fn levels(table: &Table) -> Vec<Line> {
    let mut found: BTreeMap<Vec<&str>, Vec<usize>> = BTreeMap::new();
    let level = |row: &Row<'_>| row.text("level") != "median";
    for (at, row) in table.iter().enumerate().filter(|(_, row)| level(row)) {
        let key = ["survey", "frame", "population", "variable"].map(|name| row.text(name)).to_vec();
        found.entry(key).or_default().push(at);
    }
    found.into_values().map(|groups| Line { whole: None, groups, nobody_is_few: false }).collect()
}

fn lines_of(same: &Same<'_>) -> Vec<Line> {
    // The parent of a group by name, and the groups that split it.
    let mut split: BTreeMap<(&str, &str, &str), Vec<&Vec<usize>>> = BTreeMap::new();
    for ((grouping, group), rows) in same.iter().filter(|((grouping, _), _)| *grouping != EVERYBODY) {
        split.entry((EVERYBODY, EVERYBODY, grouping)).or_default().push(rows);
        let sides = grouping.split_once(TIMES).zip(group.split_once(TIMES));
        if let Some(((a, b), (level_a, level_b))) = sides {
            split.entry((a, level_a, grouping)).or_default().push(rows);
            split.entry((b, level_b, grouping)).or_default().push(rows);
        }
    }
    let mut lines = Vec::new();
    for ((grouping, group, _), groups) in split {
        let whole = same.get(&(grouping, group));
        let repeats = groups.iter().map(|rows| rows.len()).max().unwrap_or(0);
        for repeat in 0..repeats {
            let at = |rows: &&Vec<usize>| rows.get(repeat).copied();
            lines.push(Line {
                whole: whole.as_ref().and_then(at),
                groups: groups.iter().filter_map(at).collect(),
                nobody_is_few: false,
            });
        }
    }
    lines
}
