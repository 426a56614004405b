//! Where a measurement ends: limits of detection and top codes, as rows of `limits.toml`.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Standing;
use super::survey::survey;

/// Which end of a measurement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitKind {
    /// The lowest value that the method tells from nothing.
    Detection,
    /// The value that stands for itself and everything above.
    TopCode,
}

/// One limit of one quantity in a range of releases.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasurementLimit {
    pub quantity: String,
    pub survey: String,
    /// First and last cycle, both included; the survey's own when absent.
    #[serde(default)]
    pub from: Option<String>,
    #[serde(default)]
    pub until: Option<String>,
    pub kind: LimitKind,
    /// One of the quantity's units, the one reported.
    pub unit: String,
    pub limit: f64,
    /// The value in the file of what lies below detection; absent where it is released as measured.
    #[serde(default)]
    pub fill: Option<f64>,
    /// How people at the limit are told.
    pub found_by: String,
    pub source: String,
    pub standing: Standing,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LimitFile {
    limit: Vec<MeasurementLimit>,
}

static LIMITS: LazyLock<Vec<MeasurementLimit>> = LazyLock::new(|| {
    toml::from_str::<LimitFile>(include_str!("limits.toml"))
        .expect("the embedded rows are read by a test")
        .limit
});

/// All limits known.
#[must_use]
pub fn limits() -> &'static [MeasurementLimit] {
    &LIMITS
}

/// The limit of a kind that a quantity has in a cycle of a survey, if one is known.
#[must_use]
pub fn limit_of(
    quantity: &str,
    (survey_name, cycle): (&str, &str),
    kind: LimitKind,
) -> Option<&'static MeasurementLimit> {
    let survey = survey(survey_name)?;
    let rank = |name: &str| survey.cycles.iter().position(|c| c.name == name);
    let at = rank(cycle)?;
    let holds = |row: &&MeasurementLimit| {
        row.from.as_deref().is_none_or(|from| rank(from).is_some_and(|from| from <= at))
            && row.until.as_deref().is_none_or(|until| rank(until).is_some_and(|until| until >= at))
    };
    let mut rows = limits().iter().filter(|row| row.quantity == quantity && row.survey == survey_name);
    rows.find(|row| row.kind == kind && holds(row))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantity;

    /// The agency prints the fill value with two decimals.
    const PRINTED: f64 = 0.005;

    #[test]
    fn every_limit_is_of_a_known_quantity_unit_and_cycle_and_fills_with_limit_over_root_two() {
        for row in limits() {
            let known = quantity(&row.quantity).expect("a known quantity");
            assert!(known.units.iter().any(|unit| unit.unit == row.unit), "{}", row.quantity);
            let survey = survey(&row.survey).expect("a known survey");
            assert!([&row.from, &row.until].into_iter().flatten().all(|cycle| survey.cycle(cycle).is_ok()));
            assert!(!row.source.is_empty() && !row.found_by.is_empty() && row.limit > 0.0);
            if let Some(fill) = row.fill {
                assert!((fill - row.limit / std::f64::consts::SQRT_2).abs() <= PRINTED, "{fill}");
            }
        }
        assert!(limits().len() >= 10);
    }

    #[test]
    fn a_cycle_has_the_limit_of_its_release() {
        let of = |cycle, kind| limit_of("insulin", ("nhanes", cycle), kind).map(|row| (row.limit, row.fill));
        assert_eq!(of("2017-2020", LimitKind::Detection), Some((1.0, Some(0.71))));
        assert_eq!(of("2013-2014", LimitKind::Detection), Some((1.0, None)));
        assert_eq!(of("2007-2008", LimitKind::Detection), None);
        assert_eq!(of("2017-2020", LimitKind::TopCode), None);
        let age = |cycle| limit_of("age", ("nhanes", cycle), LimitKind::TopCode).map(|row| row.limit);
        assert_eq!(
            [age("1999-2000"), age("2005-2006"), age("2007-2008")],
            [Some(85.0), Some(85.0), Some(80.0)]
        );
    }
}
