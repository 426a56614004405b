//! A study file as written. Names are kept with their place in the text, so that a message can
//! point to the line. Constant defaults are filled in here; those that depend on the rest of the
//! study stay `None` until `complete` works them out.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::{
    LonelyPsu, Withhold, checks::CheckFile, curves::CurvesFile, mixture::MixtureFile, output::OutputFile,
    published::PublishedFile, resampling::ResamplingFile, rule_file::RuleFile, sensitivity::SensitivityFile,
    standardize::StandardizeFile,
};
use crate::definitions::{Exclusion, GroupVariable, Index, Quantity, Standing};

/// A text or number and where it stands in the file.
pub type At<T> = Spanned<T>;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StudyFile {
    pub title: String,
    #[serde(default)]
    pub question: String,
    #[serde(default)]
    pub data: Vec<String>,
    pub public: Option<bool>,
    #[serde(default = "ten")]
    pub minimum_cell: At<u32>,
    #[serde(default = "confidence")]
    pub confidence: At<f64>,
    #[serde(default = "fail")]
    pub lonely_psu: LonelyPsu,
    #[serde(default = "withhold")]
    pub unreliable: Withhold,
    #[serde(default)]
    pub source: Vec<At<SourceFile>>,
    #[serde(default)]
    pub cohort: CohortFile,
    pub analysis: AnalysisFile,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sensitivity: Option<SensitivityFile>,
    #[serde(default)]
    pub resampling: ResamplingFile,
    #[serde(default)]
    pub output: OutputFile,
    #[serde(default, skip_serializing_if = "DefineFile::is_empty")]
    pub define: DefineFile,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub check: Vec<At<CheckFile>>,
}

/// A survey by name and cycle, or (`survey = "table"`) a table with a column map.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourceFile {
    pub survey: At<String>,
    /// Sources of one sample are pooled; samples are compared, never pooled.
    pub sample: Option<At<String>>,
    pub label: Option<At<String>>,
    pub cycle: Option<At<String>>,
    pub share: Option<At<f64>>,
    pub name: Option<At<String>>,
    pub invented: Option<bool>,
    pub files: Option<At<Vec<String>>>,
    pub id: Option<String>,
    pub weight: Option<String>,
    pub stratum: Option<String>,
    pub psu: Option<String>,
    pub replicate_weights: Option<At<ReplicateWeightsFile>>,
    pub separator: Option<At<String>>,
    pub decimal: Option<At<String>>,
    pub encoding: Option<At<String>>,
    pub missing: Option<Vec<String>>,
    pub allow_unmatched: Option<bool>,
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub columns: BTreeMap<At<String>, At<ColumnFile>>,
}

/// Columns of replicate weights: how their names begin, or all of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "expected the beginning of names, such as \"rw_*\", or a list of columns")]
pub enum ReplicateWeightsFile {
    Pattern(String),
    List(Vec<String>),
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ColumnFile {
    pub column: String,
    pub unit: Option<At<String>>,
    pub factor: Option<At<f64>>,
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub codes: BTreeMap<String, At<String>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub missing: Vec<String>,
    pub below_detection: Option<At<String>>,
    pub unit_checked: Option<bool>,
    pub assay: Option<String>,
}

#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CohortFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub age: Option<At<AgeFile>>,
    #[serde(default)]
    pub require: Vec<At<String>>,
    #[serde(default)]
    pub exclude: Vec<At<String>>,
}

/// Ages in years: from the first, and below the second.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AgeFile {
    pub from: Option<f64>,
    pub below: Option<f64>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnalysisFile {
    pub indices: At<Vec<At<String>>>,
    #[serde(default)]
    pub outcomes: Vec<At<String>>,
    #[serde(default = "united_states")]
    pub waist_table: At<String>,
    #[serde(default)]
    pub groups: Vec<At<String>>,
    #[serde(default = "percentiles")]
    pub percentiles: At<Vec<f64>>,
    #[serde(default = "rules")]
    pub rules: Vec<At<RuleFile>>,
    #[serde(default = "published")]
    pub published: At<PublishedFile>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reference: Vec<At<ReferenceFile>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub threshold: Vec<At<ThresholdFile>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub curves: Option<CurvesFile>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mixture: Option<MixtureFile>,
    pub standardize: Option<StandardizeFile>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReferenceFile {
    pub name: At<String>,
    pub label: Option<String>,
    pub without: Vec<At<String>>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ThresholdFile {
    pub index: At<String>,
    pub value: f64,
    #[serde(default)]
    pub strict: bool,
    #[serde(default)]
    pub source: String,
}

/// Rows of the study's own.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefineFile {
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub quantity: Vec<At<Quantity>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub index: Vec<At<Index>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outcome: Vec<At<OutcomeFile>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub exclusion: Vec<At<Exclusion>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub group: Vec<At<GroupVariable>>,
}

/// An outcome as the built-in ones, or an index at or beyond a value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutcomeFile {
    pub name: String,
    pub label: String,
    pub formula: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub items: Vec<String>,
    pub at_least: Option<u32>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub required: Vec<String>,
    pub index: Option<At<String>>,
    pub value: Option<f64>,
    pub strict: Option<bool>,
    pub source: String,
    #[serde(default)]
    pub standing: Standing,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl DefineFile {
    fn is_empty(&self) -> bool {
        self.quantity.is_empty()
            && self.index.is_empty()
            && self.outcome.is_empty()
            && self.exclusion.is_empty()
            && self.group.is_empty()
    }
}

/// A default has no place in the text.
fn nowhere<T>(value: T) -> At<T> {
    At::new(0..0, value)
}

/// A cell below this many people is withheld where people may not be shown in small counts.
pub(super) const USUAL_CELL: u32 = 10;
/// With fewer, half of them rounds no count.
pub(super) const FEWEST_CELL: u32 = 5;

fn ten() -> At<u32> {
    nowhere(USUAL_CELL)
}

fn confidence() -> At<f64> {
    nowhere(0.95)
}

fn fail() -> LonelyPsu {
    LonelyPsu::Fail
}

fn withhold() -> Withhold {
    Withhold::Withhold
}

fn united_states() -> At<String> {
    nowhere("united_states".to_owned())
}

fn percentiles() -> At<Vec<f64>> {
    nowhere(vec![50.0, 75.0, 80.0, 90.0, 95.0])
}

fn published() -> At<PublishedFile> {
    nowhere(PublishedFile::All(true))
}

fn rules() -> Vec<At<RuleFile>> {
    let eighty = |rule| RuleFile { value: Some(0.8), ..RuleFile::named(rule) };
    let plain = ["youden", "closest_to_corner", "largest_product", "smallest_difference"];
    let bounded = ["sensitivity_at_least", "specificity_at_least"];
    plain.into_iter().map(RuleFile::named).chain(bounded.into_iter().map(eighty)).map(nowhere).collect()
}
