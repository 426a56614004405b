//! The columns of every table of results.
//!
//! Tables share their leading columns, so that a row says for whom, by what and from where its
//! number comes: survey, frame (which weight), index, unit, population, grouping and group.

mod checks;
mod claim;
mod compare;
mod curves;
mod grid;
mod indices;
mod pairs;
mod plan;
mod precision;
mod published;
mod run;
mod samples;
mod sensitivity;
mod shares;
mod standard;
mod trend;
mod unknowns;

pub use claim::{ALL_GROUPS, ONE_SIDED};
pub use compare::{ALONE, DIFFER, NONE_SEPARATES, NOT_DISTINGUISHABLE, SMOOTHED_YOUDEN};
pub use precision::{DEGREES, DIGITS, Precision, everybody, precision};
pub use sensitivity::UNIT_FACTOR;
pub use shares::{SHARE_MEASURES, SHARES, ShareColumn, shares_of};

use super::{Column, Kind, Shape};

const fn text(name: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Text, unit: "", meaning }
}

const fn whole(name: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Integer, unit: "people", meaning }
}

const fn count(name: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Integer, unit: "1", meaning }
}

const fn real(name: &'static str, unit: &'static str, meaning: &'static str) -> Column {
    Column { name, kind: Kind::Real, unit, meaning }
}

const SURVEY: Column = text("survey", "sources of the study, joined by +");
const FRAME: Column = text(
    "frame",
    "subsample whose weight is used: interview, examination, fasting, glucose_tolerance or sample",
);
const INDEX: Column = text("index", "name of the index");
const UNIT: Column = text("unit", "unit of the index; 1 for a pure number");
const POPULATION: Column = text("population", "cohort, or the name of a reference group");
const GROUPING: Column =
    text("grouping", "variables that split the population, joined by ×; everybody for none");
const GROUP: Column =
    text("group", "levels of the grouping, joined by ×; everybody for the whole population");
const OUTCOME: Column = text("outcome", "name of the outcome");
const N: Column = whole("n", "people counted in the denominator");
const WITH: Column = whole("n_with", "people with the outcome");
const WITHOUT: Column = whole("n_without", "people without the outcome");
const UNKNOWN: Column = whole("n_unknown", "people whose outcome is unknown, left out");
const WEIGHTED: Column = real(
    "weighted_n",
    "people",
    "sum of the weights of the counted people: of the national survey the people of its target population that they stand for, of \
     a table of one's own in whatever its weights count; empty for a survey cycle of a pooled study, whose weights add up to its \
     part of the average over the cycles",
);
const DF: Column = count("df", "design degrees of freedom: PSUs with a counted person less their strata");
/// Degrees of freedom of what rests on people with and without an outcome.
const FEWER_DF: Column = count(
    "df",
    "design degrees of freedom, the fewer of those among people with and among people without the outcome: PSUs with such a \
     person less their strata",
);
const INTERVAL: Column = text("interval", "kind of interval");
const LOWER: Column = real("lower", "as the estimate", "lower end of the interval");
const UPPER: Column = real("upper", "as the estimate", "upper end of the interval");
const RULE: Column = text("rule", "cutoff rule");
const CUTOFF: Column = real("cutoff", "index unit", "an observed value; at or beyond it counts as resistant");
const THRESHOLD: Column = real("threshold", "index unit", "the threshold that is judged");
const STRICT: Column = text("strict", "yes when a value exactly at the threshold does not count as beyond");
const STATED: Column =
    text("stated", "study when asked for in the study file, tool when added by the program");
const WITHHELD: Column = text("withheld", "why the estimate is not printed; empty when it is");
const NOTICES: Column = text("notices", "remarks on this row, joined by semicolons");

const fn shape_of(name: &'static str, title: &'static str, columns: &'static [Column]) -> Shape {
    Shape { name, title, columns }
}

/// In the participant flow, the `source` of steps over the joined cohort.
pub const JOINED: &str = "all";
/// In the participant flow, the `source` of the last steps, each of which starts from the same people.
pub const EACH_INDEX: &str = "each index";

/// Every table of a run, in the order in which they are written and described, by topic.
const TOPICS: &[&[Shape]] = &[
    run::TABLES,
    compare::TABLES,
    curves::TABLES,
    standard::TABLES,
    indices::TABLES,
    checks::TABLES,
    claim::TABLES,
    sensitivity::TABLES,
    pairs::TABLES,
    grid::TABLES,
    samples::TABLES,
    published::TABLES,
    trend::TABLES,
    plan::TABLES,
    unknowns::TABLES,
];

/// Every table of a run.
pub fn tables() -> impl Iterator<Item = Shape> {
    TOPICS.iter().flat_map(|topic| topic.iter().copied())
}

/// The shape of the table with this name.
#[must_use]
pub fn shape(name: &str) -> Option<Shape> {
    tables().find(|shape| shape.name == name)
}
