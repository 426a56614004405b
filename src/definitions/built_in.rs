//! The rows that come with the program, and the collection in which a study adds its own.

use std::sync::LazyLock;

use serde::Deserialize;

use super::alternatives::with_alternatives;
use super::{Exclusion, GroupVariable, Index, Outcome, Quantity, WaistTable, quantity::quantities};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct IndexFile {
    index: Vec<Index>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OutcomeFile {
    outcome: Vec<Outcome>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ExclusionFile {
    exclusion: Vec<Exclusion>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct GroupFile {
    group: Vec<GroupVariable>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WaistFile {
    waist_table: Vec<WaistTable>,
}

/// Reads rows embedded in the binary. They cannot fail at run time: a test reads every file.
fn embedded<T: serde::de::DeserializeOwned>(text: &str) -> T {
    toml::from_str(text).expect("the embedded rows are read by a test")
}

static INDICES: LazyLock<Vec<Index>> =
    LazyLock::new(|| embedded::<IndexFile>(include_str!("indices.toml")).index);
static OUTCOMES: LazyLock<Vec<Outcome>> =
    LazyLock::new(|| with_alternatives(embedded::<OutcomeFile>(include_str!("outcomes.toml")).outcome));
static EXCLUSIONS: LazyLock<Vec<Exclusion>> =
    LazyLock::new(|| embedded::<ExclusionFile>(include_str!("exclusions.toml")).exclusion);
static GROUPS: LazyLock<Vec<GroupVariable>> =
    LazyLock::new(|| embedded::<GroupFile>(include_str!("groups.toml")).group);
static WAIST_TABLES: LazyLock<Vec<WaistTable>> =
    LazyLock::new(|| embedded::<WaistFile>(include_str!("waist_tables.toml")).waist_table);

/// Built-in indices, in the order of their file.
#[must_use]
pub fn indices() -> &'static [Index] {
    &INDICES
}

/// Built-in outcomes, items of outcomes, and the stated alternatives of those that count items.
#[must_use]
pub fn outcomes() -> &'static [Outcome] {
    &OUTCOMES
}

/// Built-in reasons to leave people out.
#[must_use]
pub fn exclusions() -> &'static [Exclusion] {
    &EXCLUSIONS
}

/// Built-in variables for groups.
#[must_use]
pub fn groups() -> &'static [GroupVariable] {
    &GROUPS
}

/// Waist limits by population.
#[must_use]
pub fn waist_tables() -> &'static [WaistTable] {
    &WAIST_TABLES
}

/// Every row in force: the built-in ones and a study's own, and the waist table it chose.
#[derive(Debug, Clone, PartialEq)]
pub struct Definitions {
    pub quantities: Vec<Quantity>,
    pub indices: Vec<Index>,
    pub outcomes: Vec<Outcome>,
    pub exclusions: Vec<Exclusion>,
    pub groups: Vec<GroupVariable>,
    pub waist: WaistTable,
}

impl Definitions {
    /// The built-in rows with the limits of one waist table.
    #[must_use]
    pub fn built_in(waist: &WaistTable) -> Self {
        Self {
            quantities: quantities().to_vec(),
            indices: indices().to_vec(),
            outcomes: outcomes().to_vec(),
            exclusions: exclusions().to_vec(),
            groups: groups().to_vec(),
            waist: waist.clone(),
        }
    }
}
