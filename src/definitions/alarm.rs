//! What a measurement says by itself: ranges in which a clinician looks at it before any index.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;

/// Of whom a range is one.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    #[default]
    Always,
    /// Of adults who fasted, or may have, and are not pregnant.
    Fasted,
    /// Of pregnant people who fasted, or may have.
    FastedPregnant,
    /// Of people who are known not to have fasted.
    NotFasted,
}

/// A range of one measurement.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(clippy::struct_excessive_bools, reason = "independent answers, read by name")]
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
    /// What to do about it, as is common practice; empty where nothing is said.
    #[serde(default)]
    pub then: String,
    /// Whether it classifies people whose diabetes is neither known nor treated, and is not said of others.
    #[serde(default)]
    pub diagnostic: bool,
    /// Whether it is said beside another date alone: nothing to act on.
    #[serde(default)]
    pub quiet: bool,
    /// Whether an index no longer says of the person what it says of others.
    #[serde(default)]
    pub doubtful: bool,
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
