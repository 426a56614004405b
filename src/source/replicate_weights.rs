//! Replicate weights that come with a table: everybody with the same factors on their weight is one unit.
//!
//! The factor of a person in a replicate is the replicate weight over the weight. People of a sampling unit
//! mostly share all factors, and then the unit is found again; where weights were adjusted person by person, each
//! person is a unit. Either way a replicate is what it is elsewhere in the program: a factor for every unit.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use super::SourceError;
use super::join::Joined;
use crate::notice::Notice;
use crate::study::{ReplicateColumns, TableSource};
use crate::table::digest::hexadecimal;

/// Factors are whole numbers of 2⁻⁴⁰: people of a unit share theirs exactly, whatever the division rounded.
pub const FACTOR_BITS: i32 = 40;
/// Bytes of the hash by which a unit is called.
const NAME_BYTES: usize = 16;
/// Unit of people without a weight, who are in no frame.
const NO_WEIGHT: &str = "without weight";

/// The units of a source, by name, and each person's.
#[derive(Debug)]
pub(super) struct FactorUnits {
    pub unit_of_person: Vec<String>,
    /// Factors in whole numbers of 2⁻⁴⁰, one for each replicate.
    pub factors: BTreeMap<String, Vec<i64>>,
    pub notice: Notice,
}

/// Names that are to be read: those listed, or a beginning followed by a star.
pub(super) fn wanted(columns: &ReplicateColumns) -> Vec<String> {
    match columns {
        ReplicateColumns::Beginning(beginning) => vec![format!("{beginning}*")],
        ReplicateColumns::Named(names) => names.clone(),
    }
}

/// Reads the replicate weights of a source, if it has any.
pub(super) fn read(
    source: &TableSource,
    joined: &Joined,
    fewest_shown: Option<i64>,
) -> Result<Option<FactorUnits>, SourceError> {
    let (Some(columns), Some(weight)) = (&source.replicate_weights, &source.weight) else { return Ok(None) };
    let names = names(source, joined, columns)?;
    let weights: Vec<Option<f64>> = joined.numbers(weight, &source.missing)?.iter().collect();
    let mut replicates: Vec<Vec<Option<f64>>> = Vec::with_capacity(names.len());
    for name in &names {
        replicates.push(joined.numbers(name, &source.missing)?.iter().collect());
    }
    let mut factors = BTreeMap::new();
    let mut unit_of_person = Vec::with_capacity(weights.len());
    for (person, weight) in weights.iter().enumerate() {
        let own = names.iter().zip(replicates.iter().map(|cells| cells[person]));
        let Some(own) = factors_of(*weight, own, |name, found, expected| {
            joined.cell_error(person, name, found, expected)
        })?
        else {
            unit_of_person.push(NO_WEIGHT.to_owned());
            continue;
        };
        let unit = name(&own);
        factors.entry(unit.clone()).or_insert(own);
        unit_of_person.push(unit);
    }
    // Where each person has factors of their own, the number of sets is that of people with a weight.
    let sets = match fewest_shown {
        None => format!("; people have {} different sets of factors on their weight", factors.len()),
        Some(_) => String::new(),
    };
    let message = format!(
        "{} replicate weights ({} to {}) stand for the design{sets}",
        names.len(),
        names[0],
        names[names.len() - 1],
    );
    let notice = Notice::note("replicate_weights", source.name.as_str(), message);
    Ok(Some(FactorUnits { unit_of_person, factors, notice }))
}

/// The columns, in the order of the file or of the list.
fn names(
    source: &TableSource,
    joined: &Joined,
    columns: &ReplicateColumns,
) -> Result<Vec<String>, SourceError> {
    let beginning = match columns {
        ReplicateColumns::Named(names) => return Ok(names.clone()),
        ReplicateColumns::Beginning(beginning) => beginning,
    };
    let names = joined.names_beginning(beginning);
    let other = |name: &String| {
        source.weight.as_ref() == Some(name)
            || source.id == *name
            || source.columns.iter().any(|c| c.column == *name)
    };
    if let Some(name) = names.iter().find(|name| other(name)) {
        let message = format!(
            "replicate_weights = \"{beginning}*\" takes in column `{name}` too, which is no replicate weight; say more of \
             how the names begin, or list the columns"
        );
        return Err(SourceError::source(&source.name, message));
    }
    if names.len() < 2 {
        let message = format!(
            "{} columns begin with `{beginning}`, and replicate weights are at least two; correct replicate_weights",
            names.len()
        );
        return Err(SourceError::source(&source.name, message));
    }
    Ok(names)
}

/// A person's factors; `None` without a weight. `fault` words an error about a column.
fn factors_of<'a>(
    weight: Option<f64>,
    replicates: impl Iterator<Item = (&'a String, Option<f64>)>,
    fault: impl Fn(&str, &str, &str) -> SourceError,
) -> Result<Option<Vec<i64>>, SourceError> {
    let weight = weight.filter(|w| *w > 0.0);
    let mut factors = Vec::new();
    for (name, cell) in replicates {
        match (cell, weight) {
            (Some(x), _) if x < 0.0 => return Err(fault(name, &x.to_string(), "a weight of 0 or more")),
            (Some(x), None) if x > 0.0 => {
                return Err(fault(
                    name,
                    &x.to_string(),
                    "0 or nothing, because the person's weight is 0 or missing",
                ));
            }
            (Some(x), Some(weight)) => {
                factors.push((x / weight * f64::from(FACTOR_BITS).exp2()).round_ties_even() as i64);
            }
            (None, Some(_)) => {
                return Err(fault(name, "", "a replicate weight for everybody with a weight above 0"));
            }
            (_, None) => {}
        }
    }
    Ok(weight.map(|_| factors))
}

/// What a set of factors is called: the same in every file, piece and run.
fn name(factors: &[i64]) -> String {
    let mut hash = Sha256::new();
    for factor in factors {
        hash.update(factor.to_le_bytes());
    }
    hexadecimal(&hash.finalize()[..NAME_BYTES])
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: i64 = 1 << FACTOR_BITS;

    fn factors(weight: Option<f64>, replicates: &[Option<f64>]) -> Result<Option<Vec<i64>>, String> {
        let names: Vec<String> = (1..=replicates.len()).map(|r| format!("rw_{r}")).collect();
        let fault = |name: &str, found: &str, expected: &str| {
            SourceError::source(name, format!("found `{found}`, expected {expected}"))
        };
        factors_of(weight, names.iter().zip(replicates.iter().copied()), fault).map_err(|e| e.to_string())
    }

    #[test]
    fn people_of_a_unit_share_their_factors_whatever_their_weight() {
        // 1.5 × 0.1 is not 0.15 in binary, and neither is 1.5 × 0.7 the nearest number to 1.05.
        let ten = factors(Some(0.1), &[Some(0.15), Some(0.0)]).expect("usable");
        assert_eq!(ten, factors(Some(0.7), &[Some(1.05), Some(0.0)]).expect("usable"));
        assert_eq!(ten, Some(vec![ONE + ONE / 2, 0]));
        assert_ne!(name(&[ONE, 0]), name(&[0, ONE]));
    }

    #[test]
    fn weights_that_contradict_each_other_are_refused() {
        assert_eq!(factors(None, &[None, Some(0.0)]), Ok(None));
        assert_eq!(factors(Some(0.0), &[Some(0.0)]), Ok(None));
        for (weight, cell, words) in [
            (Some(1.0), Some(-0.5), "0 or more"),
            (Some(1.0), None, "everybody"),
            (Some(0.0), Some(2.0), "is 0 or missing"),
            (None, Some(2.0), "is 0 or missing"),
        ] {
            let error = factors(weight, &[cell]).expect_err("refused");
            assert!(error.contains("rw_1") && error.contains(words), "{error}");
        }
    }
}
