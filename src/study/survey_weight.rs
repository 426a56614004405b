//! Which column holds the weights of a survey, and which the weight of a body.

use super::column_names::{lower, squeezed};
use super::guess::Seen;

/// Names that say a survey's weight, in letters and digits alone, the best first.
const WEIGHTS: [&str; 15] = [
    "fastingweight",
    "surveyweight",
    "samplingweight",
    "sampleweight",
    "examweight",
    "finalweight",
    "wtsaf2yr",
    "designweight",
    "statisticalweight",
    "weighting",
    "pweight",
    "gewichtung",
    "gewichtungsfaktor",
    "hochrechnungsfaktor",
    "designgewicht",
];
/// Words for a weight of either kind.
const EITHER: [&str; 7] = ["weight", "weights", "gewicht", "wgt", "wt", "w", "peso"];
/// Words that stand beside them in the names of a survey's weights.
const BESIDE: [&str; 14] = [
    "final",
    "stat",
    "survey",
    "sampling",
    "sample",
    "design",
    "norm",
    "normed",
    "normalised",
    "normalized",
    "analysis",
    "total",
    "pop",
    "population",
];
/// Between these the middle weight of grown people lies, in kilograms or in pounds.
const OF_BODIES: std::ops::RangeInclusive<f64> = 25.0..=400.0;

/// The column of a survey's weights.
pub(super) fn survey_weight(seen: &[Seen]) -> Option<&Seen> {
    let filled = || seen.iter().filter(|column| !column.empty);
    let named = |name: &&str| filled().find(|column| squeezed(&column.name) == *name);
    WEIGHTS.iter().find_map(named).or_else(|| filled().find(|column| is_told_by_values(column)))
}

/// Whether a column cannot hold weights of bodies: by its name, or because its middle value is nobody's.
pub(super) fn is_no_body(column: &Seen) -> bool {
    WEIGHTS.contains(&&*squeezed(&column.name))
        || column.middle.is_some_and(|middle| !OF_BODIES.contains(&middle))
}

/// A name that says no more than weight, and values that are of no body.
fn is_told_by_values(column: &Seen) -> bool {
    let words = column.name.split(|c: char| !c.is_alphanumeric()).map(lower).filter(|word| !word.is_empty());
    let words: Vec<String> = words.collect();
    let among = |known: &[&str], word: &String| known.contains(&word.as_str());
    words.iter().any(|word| among(&EITHER, word))
        && words.iter().all(|word| among(&EITHER, word) || among(&BESIDE, word))
        && column.middle.is_some_and(|middle| !OF_BODIES.contains(&middle))
}
