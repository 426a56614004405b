//! A person of two groups, for tests of what is said.

use super::place_words::{COHORT, EVERYBODY};
use crate::analysis::{Change, GroupingTest, OtherFactor, PassedThen, PlacedCutoff, PlacedIndex, Rank};

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

/// A value short of a cutoff that day-to-day variation could put past it.
pub(super) fn open(chance: f64) -> PlacedCutoff {
    PlacedCutoff {
        cutoff: Some(3.38),
        lower: Some(2.5),
        upper: Some(5.69),
        passed: Some(false),
        chance: Some(chance),
        chance_at_lower: Some(54.0),
        chance_at_upper: Some(0.01),
        likely: "cannot_tell",
        ..PlacedCutoff::default()
    }
}

/// A rank in a group of the cohort.
pub(super) fn rank(grouping: &str, group: &str, percentile: f64) -> Rank {
    Rank {
        population: COHORT.to_owned(),
        population_label: String::new(),
        grouping: grouping.to_owned(),
        group: group.to_owned(),
        n: 300,
        df: None,
        percentile: Some(percentile),
        lower: None,
        upper: None,
        at_least: None,
        withheld: String::new(),
        notices: String::new(),
    }
}

/// A cutoff of a group, with what it says.
fn placed_cutoff(grouping: &str, group: &str, likely: &'static str) -> PlacedCutoff {
    PlacedCutoff {
        grouping: grouping.to_owned(),
        group: group.to_owned(),
        cutoff: Some(3.0),
        own: grouping != EVERYBODY,
        likely,
        ..PlacedCutoff::default()
    }
}

/// Of a BMI of 30 and over at the first date and of 25 to 29.9 at the second.
pub(super) fn of_two_dates() -> PlacedIndex {
    let change = Change {
        second: Some(1.66),
        ranks: vec![rank(EVERYBODY, EVERYBODY, 28.0), rank("bmi", "25-29.9", 30.0)],
        own: vec![1],
        cutoffs: vec![placed_cutoff(EVERYBODY, EVERYBODY, "short"), placed_cutoff("bmi", "25-29.9", "short")],
        thresholds: vec![PassedThen {
            threshold: 2.0,
            strict: false,
            passed: false,
            passed_by_other: None,
            ranks: vec![rank(EVERYBODY, EVERYBODY, 46.0), rank("bmi", "25-29.9", 35.0)],
        }],
        ..Change::default()
    };
    PlacedIndex {
        label: "HOMA-IR".to_owned(),
        unit: "1".to_owned(),
        value: 2.44,
        ranks: vec![rank(EVERYBODY, EVERYBODY, 57.0), rank("bmi", "30 and over", 20.0)],
        own: vec![1],
        cutoffs: vec![
            placed_cutoff(EVERYBODY, EVERYBODY, "cannot_tell"),
            placed_cutoff("bmi", "30 and over", "short"),
        ],
        change: Some(change),
        ..PlacedIndex::default()
    }
}
