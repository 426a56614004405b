//! The shape of each kind of row, as written in the TOML files of this folder and in a study file.

use serde::{Deserialize, Serialize};

/// How far a row can be trusted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Read in the named source.
    Published,
    /// What the trade usually does.
    CommonPractice,
    /// Written from memory of the named source, not read again.
    FromMemory,
    /// Written by the author of a study file, whose rows may leave the standing out.
    #[default]
    Study,
}

/// The part of a survey in which a quantity was measured, least restrictive first. The weight of
/// an analysis is the one of the most restrictive subsample among the raw columns it reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Subsample {
    Interview,
    Examination,
    Fasting,
    GlucoseTolerance,
}

/// What a cohort column holds: `Float64`, `Boolean` or `String` in the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ColumnKind {
    Number,
    YesNo,
    Category,
}

/// A unit in which a quantity can be reported.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnitRow {
    /// As people write it: `mg/dL`.
    pub unit: String,
    /// As it stands in a column name: `mg_dl`.
    pub suffix: String,
    /// How many of the quantity's first unit make one of this unit (18.0156 for mmol/L of glucose
    /// when the first unit is mg/dL). Absent when a study must choose among `choices`.
    #[serde(default)]
    pub factor: Option<f64>,
    /// Factors in print that disagree, as printed: how many of this unit make one of the first (6.00 or
    /// 6.945 pmol/L of insulin in 1 uU/mL). A study that maps such a unit must name one of them.
    #[serde(default)]
    pub choices: Vec<f64>,
    /// Added after the factor (`first = factor × value + offset`); 0 for nearly every unit.
    #[serde(default)]
    pub offset: f64,
    pub source: String,
}

/// A measured or asked quantity and the columns it fills.
///
/// A number with units `mg/dL` and `mmol/L` has four columns: `glucose_reported_mg_dl` and
/// `glucose_reported_mmol_l` (only the reported one is filled; limits are compared there) and
/// `glucose_mg_dl` and `glucose_mmol_l` (both filled, by conversion; formulas of indices read these).
/// A number with one unit has one column, `bmi_kg_m2`. A yes/no quantity or a category has one
/// column of its own name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    pub name: String,
    pub label: String,
    pub kind: ColumnKind,
    pub subsample: Subsample,
    /// First unit first; empty for a yes/no quantity or a category.
    #[serde(default, rename = "unit")]
    pub units: Vec<UnitRow>,
    /// The labels a category may hold, when formulas depend on them; any label when empty.
    #[serde(default)]
    pub levels: Vec<String>,
    /// A plausible value in the first unit (numbers), for the registry test and for doubts about units.
    #[serde(default)]
    pub plausible: Option<f64>,
    #[serde(default)]
    pub note: String,
}

/// Which side of an index means more insulin resistance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    Higher,
    Lower,
}

/// A worked example, checked by the registry test on the worked person of the literature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Worked {
    pub value: f64,
    pub tolerance: f64,
    pub source: String,
    /// Which worked person, when not the usual one (`man`, `woman`).
    #[serde(default)]
    pub person: Option<String>,
}

/// An index of insulin resistance, or a measured quantity used as one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Index {
    pub name: String,
    pub label: String,
    /// SQL expression over converted columns.
    pub formula: String,
    /// Unit of the result, `1` for a pure number.
    pub unit: String,
    pub direction: Direction,
    /// SQL condition under which the formula holds; elsewhere the index is missing.
    #[serde(default)]
    pub valid_if: Option<String>,
    /// Step to which values and thresholds are rounded before they are compared.
    #[serde(default = "default_resolution")]
    pub resolution: f64,
    /// Indices with the same family are monotone functions of each other.
    #[serde(default)]
    pub family: Option<String>,
    #[serde(default)]
    pub worked: Vec<Worked>,
    pub source: String,
    #[serde(default)]
    pub standing: Standing,
    #[serde(default)]
    pub note: String,
}

fn default_resolution() -> f64 {
    1e-9
}

/// An outcome with the answers yes, no and unknown, either a formula or a count of items.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Outcome {
    pub name: String,
    pub label: String,
    /// SQL condition with three-valued logic. Exactly one of `formula` and `items` is given.
    #[serde(default)]
    pub formula: Option<String>,
    /// Names of outcomes counted: yes when at least `at_least` are known yeses, no when even the
    /// unknown ones could not make it, else unknown.
    #[serde(default)]
    pub items: Vec<String>,
    #[serde(default)]
    pub at_least: Option<u32>,
    /// Items that must be yes as well and are not counted (the waist of IDF 2005).
    #[serde(default)]
    pub required: Vec<String>,
    /// The outcome that asks for the measurement alone, when this one also counts its treatment.
    #[serde(default)]
    pub measured_alone: Option<String>,
    /// Whether the answer is unknown as soon as one item is.
    #[serde(default)]
    pub complete_case: bool,
    pub source: String,
    #[serde(default)]
    pub standing: Standing,
    #[serde(default)]
    pub note: String,
}

/// A reason to leave somebody out of the cohort or out of a reference group.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exclusion {
    pub name: String,
    pub label: String,
    /// SQL condition: true leaves the person out.
    pub formula: String,
    /// Whether an unknown answer leaves the person out too.
    #[serde(default)]
    pub unknown_excludes: bool,
    pub source: String,
    #[serde(default)]
    pub standing: Standing,
    #[serde(default)]
    pub note: String,
}

/// A variable that splits people into groups: bands of a number, or levels of a category.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GroupVariable {
    pub name: String,
    pub label: String,
    /// Cohort column that is cut or whose levels are the groups; absent when `formula` is given.
    #[serde(default)]
    pub column: Option<String>,
    /// SQL expression whose text value is the level (`CASE … END`).
    #[serde(default)]
    pub formula: Option<String>,
    /// Lower limits of all bands but the first; a value at a cut belongs to the upper band.
    #[serde(default)]
    pub cuts: Vec<f64>,
    /// Labels of the bands (one more than the cuts) or the levels of a category in their order.
    #[serde(default)]
    pub labels: Vec<String>,
    pub source: String,
    #[serde(default)]
    pub standing: Standing,
    #[serde(default)]
    pub note: String,
}

/// Waist limits of one population, for outcomes that name `{waist_men}` and `{waist_women}`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WaistTable {
    pub name: String,
    pub label: String,
    pub men_cm: f64,
    pub women_cm: f64,
    pub source: String,
    pub standing: Standing,
}
