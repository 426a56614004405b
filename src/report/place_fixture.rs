//! A person of two groups, for tests of what is said.

use crate::analysis::{GroupingTest, OtherFactor, PlacedCutoff, PlacedIndex, Rank};

/// Two groups of a person: by age, and by sex and BMI.
pub(super) fn index(by_age: &'static str, by_bmi: &'static str) -> PlacedIndex {
    let cutoff = |grouping: &str, group: &str, likely| PlacedCutoff {
        outcome_label: "an outcome".to_owned(),
        grouping: grouping.to_owned(),
        group: group.to_owned(),
        n: 300,
        cutoff: Some(3.0),
        lower: Some(2.8),
        upper: Some(3.3),
        passed: Some(likely == "beyond"),
        own: true,
        likely,
        ..PlacedCutoff::default()
    };
    let cutoffs = vec![cutoff("age", "40-59", by_age), cutoff("sex × bmi", "female × 30 and over", by_bmi)];
    PlacedIndex {
        label: "HOMA-IR".to_owned(),
        unit: "1".to_owned(),
        value: 2.5,
        cutoffs,
        ..Default::default()
    }
}

/// A rank in a group of nobody.
pub(super) fn nobody() -> Rank {
    Rank {
        population: String::new(),
        population_label: String::new(),
        grouping: String::new(),
        group: String::new(),
        n: 0,
        df: None,
        percentile: None,
        lower: None,
        upper: None,
        at_least: None,
        withheld: String::new(),
        notices: String::new(),
    }
}

/// The same where cutoffs differ by some variables.
pub(super) fn with_tests(mut index: PlacedIndex, differing: &[&str]) -> PlacedIndex {
    let test = |name: &&str| GroupingTest {
        grouping: (*name).to_owned(),
        differ: Some(true),
        ..GroupingTest::default()
    };
    index.tests = differing.iter().map(test).collect();
    index
}

/// What the value is by the older factor, where neither is known.
pub(super) fn by_the_older_factor(value: f64) -> OtherFactor {
    OtherFactor { factor: 6.945, taken: 6.0, unknown: true, value, percentile: None, cutoffs: Vec::new() }
}
