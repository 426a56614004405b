//! A checked study: after this point nothing can fail for a spelling mistake.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::definitions::{Direction, Exclusion, Index, Outcome, Quantity, Standing, Subsample};

/// Everything a run needs to know. The text form of it is saved as `study.toml` with the results.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    pub title: String,
    pub question: String,
    /// Folder of the study file: relative paths start here.
    pub folder: PathBuf,
    /// Folders that may hold a named survey's files, tried in order (`--data` and `CUTSPAN_DATA` come first).
    pub data_folders: Vec<PathBuf>,
    /// All quantities known: built-in rows and the study's own.
    pub quantities: Vec<Quantity>,
    pub sources: Vec<Source>,
    /// Sources by sample; empty when the study is one sample.
    pub samples: Vec<super::samples::StudySample>,
    /// Reasons to leave people out, in the stated order.
    pub exclusions: Vec<Exclusion>,
    pub indices: Vec<StudyIndex>,
    pub outcomes: Vec<StudyOutcome>,
    pub references: Vec<Reference>,
    pub variables: Vec<Variable>,
    /// Each grouping is a crossing of `variables` (positions); everybody is always reported too.
    pub groupings: Vec<Vec<usize>>,
    /// Proportions, increasing: 0.5, 0.75 …
    pub percentiles: Vec<f64>,
    pub rules: Vec<StudyRule>,
    pub thresholds: Vec<Threshold>,
    /// Groups compared as if they had the same ages (and body sizes).
    pub standardisation: Option<Standardisation>,
    pub resampling: Resampling,
    /// Curves over age and BMI, when asked for.
    pub curves: Option<super::curves::StudyCurves>,
    /// Numbers printed elsewhere that the run must meet.
    pub checks: Vec<super::checks::Check>,
    /// One cutoff under other choices, when asked for.
    pub sensitivity: Option<super::sensitivity::Sensitivity>,
    /// Resamples of people behind the interval of a mixture's cutoff, when mixtures are asked for.
    pub mixture: Option<usize>,
    /// Cutoffs in print laid over the run.
    pub published: super::published::StudyPublished,
    /// Size and files of the charts.
    pub output: super::output::StudyOutput,
    /// Share of intervals that should cover the truth: 0.95.
    pub confidence: f64,
    pub lonely_psu: LonelyPsu,
    pub withhold: Withhold,
    /// False for a source whose rows may not be shown in small counts.
    pub public: bool,
    /// What the study file leaves to the program.
    pub unsaid: Unsaid,
    /// A cell below this many people is withheld when the source is not public.
    pub minimum_cell: u32,
    /// What this study was written as, for messages and for the saved copy.
    pub resolved_toml: String,
}

/// Defaults that a reader is told of. A study with its defaults written out asks the same, so these are no part of
/// whether two studies are equal.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unsaid {
    /// Whether its people may be shown in small counts.
    pub public: bool,
}

impl PartialEq for Unsaid {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

#[derive(Debug, Clone, PartialEq)]
pub enum Source {
    /// A survey whose files, names and codes the program knows.
    Survey { survey: String, cycle: String, weight_share: f64 },
    /// Any table with a column map.
    Table(TableSource),
}

/// A table of one's own: where it is and what its columns mean.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::struct_excessive_bools, reason = "independent statements of the study, read by name")]
pub struct TableSource {
    pub name: String,
    /// Whether its people are made up, which everything made of them says.
    pub invented: bool,
    /// Files with one row per person, joined by `id` when there are several.
    pub files: Vec<PathBuf>,
    pub id: String,
    pub columns: Vec<MappedColumn>,
    pub weight: Option<String>,
    pub stratum: Option<String>,
    pub psu: Option<String>,
    /// Replicate weights in place of a stratum and PSU.
    pub replicate_weights: Option<ReplicateColumns>,
    /// What parts the columns of a text file; recognised when `None`.
    pub separator: Option<char>,
    /// Whether decimals follow a comma in a text file.
    pub decimal_comma: bool,
    /// Whether a text file is Windows-1252; else UTF-8.
    pub windows_1252: bool,
    /// Values that mean missing in every column (besides an empty cell).
    pub missing: Vec<String>,
    /// People without a row in every file: counted and dropped when true, an error when false.
    pub allow_unmatched: bool,
    pub weight_share: f64,
}

/// Columns of replicate weights.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReplicateColumns {
    /// All whose names begin like this, in the order of the file.
    Beginning(String),
    Named(Vec<String>),
}

/// One column of a table and the quantity it fills.
#[derive(Debug, Clone, PartialEq)]
pub struct MappedColumn {
    pub quantity: String,
    pub column: String,
    /// Unit of a number, one of the quantity's.
    pub unit: Option<String>,
    /// Factor chosen for a unit with several factors in print (insulin in pmol/L).
    pub factor: Option<f64>,
    /// Codes of a category or of a yes/no column: raw text → label (`yes`, `no`, or a level).
    pub codes: Vec<(String, String)>,
    /// Texts that mean missing in this column, besides those of the whole table.
    pub missing: Vec<String>,
    /// What cells begin with that give a limit of detection in place of a value.
    pub below_detection: Option<String>,
    /// The laboratory's method, as the study names it.
    pub assay: Option<String>,
    /// Whether the unit was looked up, so that an unlikely median is no error.
    pub unit_checked: bool,
    /// Whether nobody has a value in it; known once the files are read.
    pub empty: bool,
}

/// An index with its place in the analysis.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyIndex {
    pub row: Index,
    /// Raw quantities the formula rests on, fully expanded, sorted.
    pub ingredients: Vec<String>,
    pub subsample: Subsample,
}

/// An outcome with one SQL condition, all items expanded.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyOutcome {
    pub row: Outcome,
    /// The SQL as run.
    pub sql: String,
    pub ingredients: Vec<String>,
    pub subsample: Subsample,
    /// The conditions it asks for, then those it counts; empty for a plain formula.
    pub items: Vec<OutcomeItem>,
}

/// A condition that an outcome asks for or counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutcomeItem {
    pub name: String,
    pub label: String,
    /// The SQL as run inside the outcome.
    pub sql: String,
    pub source: String,
    pub standing: Standing,
    /// Whether it must hold, and is not counted.
    pub required: bool,
}

/// A named reference group: people of the cohort who have none of these.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    pub name: String,
    pub label: String,
    pub without: Vec<Exclusion>,
}

/// A variable that groups are made of, with its levels in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Variable {
    pub name: String,
    pub label: String,
    pub split: Split,
    pub source: String,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Split {
    /// Bands of a numeric column: cuts are lower limits of all bands but the first.
    Bands { column: String, cuts: Vec<f64>, labels: Vec<String> },
    /// Levels of a text expression; with no levels given, all that occur, in alphabetical order.
    Levels { sql: String, levels: Vec<String> },
}

/// A cutoff rule as used in the study, with its parameters.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyRule {
    pub rule: crate::stats::rule::Rule,
    /// Name with parameters, `sensitivity_at_least_0.80`: the `rule` column of the tables.
    pub name: String,
    pub label: String,
}

/// One threshold to be judged in every group.
#[derive(Debug, Clone, PartialEq)]
pub struct Threshold {
    /// Position in `indices`.
    pub index: usize,
    pub value: f64,
    /// Whether a value exactly at the threshold does not count as beyond.
    pub strict: bool,
    pub source: String,
}

/// Which groups are compared on equal terms, and which terms.
#[derive(Debug, Clone, PartialEq)]
pub struct Standardisation {
    /// Positions in `groupings` of what is compared.
    pub of: Vec<usize>,
    /// Each an adjustment: positions in `variables` whose joint distribution is made equal.
    pub to: Vec<Vec<usize>>,
    pub standard: Standard,
    pub stated: Stated,
}

/// Whose distribution every group is given.
#[derive(Debug, Clone, PartialEq)]
pub enum Standard {
    /// Everybody of the cohort.
    Cohort,
    /// A reference group, by position.
    Reference(usize),
    /// Shares of a named population in the levels of a variable; within a level, the cohort's.
    Population { name: String, label: String, variable: usize, shares: Vec<f64> },
}

/// Who asked for an estimate.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stated {
    #[default]
    Study,
    /// Added by the program.
    Tool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReplicateKind {
    /// Rescaled bootstrap of Rao, Wu and Yue (1992).
    Bootstrap,
    /// Delete-one-PSU jackknife within strata.
    Jackknife,
    /// Balanced half-samples.
    Brr,
    /// Balanced half-samples with Fay's factor.
    Fay,
    /// Replicate weights that come with the data.
    Supplied,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Resampling {
    pub kind: ReplicateKind,
    /// Of a bootstrap; 0 for kinds that have their number from the design or the data.
    pub replicates: usize,
    pub seed: u64,
    /// Fay's factor of balanced half-samples.
    pub fay: f64,
    /// What is known of how people were drawn.
    pub design: super::Design,
    pub supplied: Option<SuppliedWeights>,
}

/// What is known of replicate weights that come with the data.
#[derive(Debug, Clone, PartialEq)]
pub struct SuppliedWeights {
    pub scaling: crate::stats::Scaling,
    /// As stated by the maker of the weights; `None`: from their rank.
    pub degrees_of_freedom: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LonelyPsu {
    Fail,
    Adjust,
    Certainty,
}

/// Whether unreliable estimates are withheld (the default) or only flagged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Withhold {
    Withhold,
    Flag,
}

impl Study {
    /// The outcomes, then those that only the section on other choices names.
    pub fn every_outcome(&self) -> impl Iterator<Item = &StudyOutcome> {
        let own = |other: &StudyOutcome| self.outcomes.iter().any(|one| one.row.name == other.row.name);
        let others = self.sensitivity.iter().flat_map(|section| &section.outcomes);
        self.outcomes.iter().chain(others.filter(move |other| !own(other)))
    }
}

impl StudyIndex {
    /// +1 when higher values are more resistant, −1 when lower ones are.
    #[must_use]
    pub fn sign(&self) -> i64 {
        match self.row.direction {
            Direction::Higher => 1,
            Direction::Lower => -1,
        }
    }
}
