//! The sampling units of a study: every stratum and PSU of the frame, excluded people included.

use polars::prelude::*;

use super::weights::{Frame, weight_column};
use super::{Cohort, CohortError};
use crate::source::FACTOR_BITS;

/// Without PSUs, people are hashed into this many pseudo-PSUs for resampling.
const PSEUDO_UNITS: u64 = 400;
/// Below this many people each person is a pseudo-PSU.
const PEOPLE_AS_UNITS: usize = 4000;

/// One sampling unit of a frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit {
    pub stratum: String,
    pub psu: String,
    /// People of the frame in the unit.
    pub people: u64,
    /// Sum of their integer weights.
    pub weight: i64,
    /// Factors of replicate weights that came with the data, in whole numbers of 2^−[`FACTOR_BITS`]; else empty.
    pub factors: Vec<i64>,
}

/// The units of one frame, sorted by stratum and PSU.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DesignTable {
    pub units: Vec<Unit>,
}

/// Adds `stratum` and `psu` labels that are unique over the study's sources. Sources without PSUs
/// are a stratum each and get pseudo-PSUs, made from the person's id and the seed.
pub(super) fn label_units(rows: DataFrame, has_design: bool, seed: u64) -> Result<DataFrame, CohortError> {
    if has_design {
        let prefix = |name: &str| concat_str([col("source"), col(name)], "/", false);
        return Ok(rows
            .lazy()
            .with_columns([prefix("stratum").alias("stratum"), prefix("psu").alias("psu")])
            .collect()?);
    }
    let mut rows = rows.lazy().with_columns([col("source").alias("stratum")]).collect()?;
    let each = rows.height() < PEOPLE_AS_UNITS;
    let psu: StringChunked = rows
        .column("person")?
        .str()?
        .iter()
        .map(|id| id.map(|id| if each { id.to_owned() } else { pseudo_unit(id, seed) }))
        .collect();
    rows.with_column(psu.into_series().with_name("psu".into()).into_column())?;
    Ok(rows)
}

fn pseudo_unit(id: &str, seed: u64) -> String {
    format!("{:03}", stable_hash(id, seed) % PSEUDO_UNITS)
}

/// FNV-1a of a text, started from a seed: the same on every platform and in every version.
#[must_use]
pub fn stable_hash(text: &str, seed: u64) -> u64 {
    let step = |hash: u64, byte: &u8| (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
    let hash = text.as_bytes().iter().fold(0xcbf2_9ce4_8422_2325 ^ seed, step);
    // FNV leaves the last bytes in the low bits only; one multiply-shift spreads them.
    (hash ^ (hash >> 32)).wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 16
}

impl DesignTable {
    /// The units of everybody of the cohort's frame.
    pub fn new(cohort: &Cohort, frame: &Frame) -> Result<Self, CohortError> {
        let weight = &*weight_column(frame);
        let units = cohort
            .rows
            .clone()
            .lazy()
            .filter(col(weight).gt(lit(0_i64)))
            .group_by([col("stratum"), col("psu")])
            .agg([len().cast(DataType::UInt64).alias("people"), col(weight).sum()])
            .sort(["stratum", "psu"], SortMultipleOptions::default())
            .collect()?;
        let (strata, psus) = (units.column("stratum")?.str()?, units.column("psu")?.str()?);
        let (people, weights) = (units.column("people")?.u64()?, units.column(weight)?.i64()?);
        let unit = |i: usize| Unit {
            stratum: strata.get(i).unwrap_or_default().to_owned(),
            psu: psus.get(i).unwrap_or_default().to_owned(),
            people: people.get(i).unwrap_or_default(),
            weight: weights.get(i).unwrap_or_default(),
            factors: psus
                .get(i)
                .and_then(|psu| cohort.replicate_factors.get(psu))
                .cloned()
                .unwrap_or_default(),
        };
        Ok(Self { units: (0..units.height()).map(unit).collect() })
    }

    /// Factors of every unit in every replicate, unit by unit, and the number of replicates; `None` unless
    /// replicate weights came with the data.
    #[must_use]
    pub fn supplied_factors(&self) -> Option<(usize, Vec<f64>)> {
        let count = self.units.first().map(|unit| unit.factors.len()).filter(|count| *count > 0)?;
        let one = (-f64::from(FACTOR_BITS)).exp2();
        Some((
            count,
            self.units.iter().flat_map(|unit| unit.factors.iter().map(|f| *f as f64 * one)).collect(),
        ))
    }

    /// Names of the strata, in order.
    #[must_use]
    pub fn strata(&self) -> Vec<&str> {
        let mut strata: Vec<&str> = self.units.iter().map(|u| u.stratum.as_str()).collect();
        strata.dedup();
        strata
    }

    /// Position of each unit's stratum among [`Self::strata`].
    #[must_use]
    pub fn stratum_of_unit(&self) -> Vec<u32> {
        let mut position = 0_u32;
        let mut of_unit = Vec::with_capacity(self.units.len());
        for (i, unit) in self.units.iter().enumerate() {
            if i > 0 && unit.stratum != self.units[i - 1].stratum {
                position += 1;
            }
            of_unit.push(position);
        }
        of_unit
    }

    /// Adds up two tables of the same frame: units of either, people and weights summed.
    #[must_use]
    pub fn merge(tables: &[&Self]) -> Self {
        let mut units: Vec<Unit> = tables.iter().flat_map(|t| t.units.iter().cloned()).collect();
        units.sort_by(|a, b| (&a.stratum, &a.psu).cmp(&(&b.stratum, &b.psu)));
        units.dedup_by(|later, kept| {
            let same = later.stratum == kept.stratum && later.psu == kept.psu;
            if same {
                kept.people += later.people;
                kept.weight += later.weight;
            }
            same
        });
        Self { units }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(rows: DataFrame, has_design: bool) -> [Vec<String>; 2] {
        let rows = label_units(rows, has_design, 1).expect("labels");
        let texts = |name: &str| rows.column(name).expect("a column").str().expect("texts").clone();
        ["stratum", "psu"].map(|name| texts(name).iter().flatten().map(str::to_owned).collect())
    }

    #[test]
    fn strata_and_units_are_told_apart_by_their_source_once() {
        let rows = df!("source" => ["a", "b"], "person" => ["a/1", "b/1"]).expect("rows");
        assert_eq!(labels(rows.clone(), false), [["a", "b"], ["a/1", "b/1"]]);
        let mut designed = rows;
        for name in ["stratum", "psu"] {
            designed.with_column(Column::from(Series::new(name.into(), ["1", "1"]))).expect("a column");
        }
        assert_eq!(labels(designed, true), [["a/1", "b/1"], ["a/1", "b/1"]]);
    }
}
