//! What a measurement says by itself: ranges in which a clinician looks at it before any index.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;

/// What a measurement in a range makes of the indices of the person.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OfIndex {
    #[default]
    Nothing,
    /// They no longer say of the person what they say of others.
    Doubtful,
    /// None is placed among other people.
    Withheld,
}

/// Of whom a range is one.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    #[default]
    Always,
    /// Of adults who fasted, or may have, and are not pregnant.
    Fasted,
    /// Of people who are known not to have fasted.
    NotFasted,
}

/// A range of one measurement.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alarm {
    pub quantity: String,
    /// What the measurement is, after its value: `in the raised range (…)`.
    pub words: String,
    /// SQL condition on the reported columns.
    pub formula: String,
    /// Whether it comes before any index.
    #[serde(default)]
    pub urgent: bool,
    /// Of whom it is a range.
    #[serde(default)]
    pub when: When,
    /// Whether it is said beside another date alone: nothing to act on.
    #[serde(default)]
    pub quiet: bool,
    /// What it makes of an index.
    #[serde(default)]
    pub index: OfIndex,
    pub source: String,
    pub standing: Standing,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AlarmFile {
    alarm: Vec<Alarm>,
}

static ALARMS: LazyLock<Vec<Alarm>> = LazyLock::new(|| {
    toml::from_str::<AlarmFile>(include_str!("alarms.toml"))
        .expect("the embedded rows are read by a test")
        .alarm
});

/// Every range, low to high by quantity.
#[must_use]
pub fn alarms() -> &'static [Alarm] {
    &ALARMS
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::columns_read;
    use crate::definitions::quantity::quantity;

    #[test]
    fn every_range_reads_the_reported_columns_of_its_quantity() {
        assert!(alarms().len() >= 7);
        for alarm in alarms() {
            let quantity = quantity(&alarm.quantity).expect("a built-in quantity");
            let reported: Vec<String> = quantity.units.iter().map(|u| quantity.reported_column(u)).collect();
            let mut read = columns_read(&alarm.words, &alarm.formula).expect("SQL");
            read.sort_unstable();
            assert!(read.iter().all(|column| reported.contains(column)), "{}", alarm.words);
            assert_eq!(read.len(), reported.len(), "a limit in every unit: {}", alarm.words);
            assert!(!alarm.source.is_empty());
        }
    }
}
