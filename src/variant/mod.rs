//! The study with some choices replaced, over the same people and replicates: one tally for each
//! exclusion set and assay route. Frames share strata, PSUs and the seed, so that replicate r is the same
//! in every variant and differences are paired.

mod convert;

use thiserror::Error;

use crate::cohort::{self, Cohort, CohortError};
use crate::source::Loaded;
use crate::study::{Route, Study};
use crate::tally::{self, Tallies};

pub use convert::{Converted, convert};

/// Why a variant could not be made.
#[derive(Debug, Error)]
pub enum VariantError {
    #[error("exclusions \"{exclusions}\", measured {route}")]
    Cohort {
        exclusions: String,
        route: String,
        #[source]
        cause: Box<CohortError>,
    },
    #[error("the equations of route \"{route}\" could not be applied")]
    Convert {
        route: String,
        #[source]
        cause: Box<polars::prelude::PolarsError>,
    },
}

/// One combination of an exclusion set and an assay route.
#[derive(Debug)]
pub struct Variant {
    /// Positions in the section's lists; the first of each is the study as it is.
    pub exclusions: usize,
    pub route: usize,
    pub study: Study,
    pub tallies: Tallies,
}

/// All variants of a study, those of the first exclusion set first.
#[derive(Debug, Default)]
pub struct Variants {
    pub all: Vec<Variant>,
    /// What every route did to every cycle.
    pub converted: Vec<Converted>,
}

/// Tallies every variant that the study asks for. `survey` is what the people are called in the tables.
pub fn all(study: &Study, loaded: &Loaded, survey: &str) -> Result<Variants, VariantError> {
    let mut variants = Variants::default();
    let Some(section) = &study.sensitivity else { return Ok(variants) };
    for (position, route) in section.routes.iter().enumerate() {
        let (loaded, converted) = convert(study, loaded, route)
            .map_err(|cause| VariantError::Convert { route: route.name.clone(), cause: Box::new(cause) })?;
        variants.converted.extend(converted);
        for (exclusions, set) in section.exclusions.iter().enumerate() {
            let study = study.variant(section, set, &marks(route));
            let tallies = tallies(&study, &loaded).map_err(|cause| VariantError::Cohort {
                exclusions: set.name.clone(),
                route: route.label.clone(),
                cause: Box::new(cause),
            })?;
            let tallies = Tallies { survey: survey.to_owned(), ..tallies };
            variants.all.push(Variant { exclusions, route: position, study, tallies });
        }
    }
    variants.all.sort_by_key(|variant| (variant.exclusions, variant.route));
    Ok(variants)
}

fn tallies(study: &Study, loaded: &Loaded) -> Result<Tallies, CohortError> {
    tally::collect(&cohort::build(study, loaded)?)
}

/// Yes/no columns that a route adds for each quantity it converts: whether the person's value was
/// converted, and whether it was put at the floor.
fn marks(route: &Route) -> Vec<String> {
    route.changes().into_iter().flat_map(|q| [converted_mark(q), floored_mark(q)]).collect()
}

fn converted_mark(quantity: &str) -> String {
    format!("route_converted_{quantity}")
}

fn floored_mark(quantity: &str) -> String {
    format!("route_floored_{quantity}")
}

impl Variant {
    /// The bits of a person's flags that say that one of these quantities was converted, and that one was put
    /// at the floor.
    #[must_use]
    pub fn mark_bits(&self, quantities: &[String]) -> (u64, u64) {
        let bits = |mark: fn(&str) -> String| {
            let marks: Vec<String> = quantities.iter().map(|quantity| mark(quantity)).collect();
            let references = self.study.references.iter().enumerate();
            let places = references.filter(|(_, reference)| marks.contains(&reference.name));
            places.map(|(place, _)| Cohort::reference_bit(&self.study, place)).fold(0, |all, bit| all | bit)
        };
        (bits(converted_mark), bits(floored_mark))
    }
}
