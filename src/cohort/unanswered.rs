//! Exclusions that only a part of a frame was asked: a frame follows index and outcome, not the exclusions.

use polars::prelude::*;

use super::CohortError;
use super::cells::formula;
use super::limits::kept;
use super::prepare::Cohort;
use crate::source::Loaded;
use crate::study::Study;

/// An exclusion that rests on a more restrictive subsample than a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unasked {
    pub frame: usize,
    /// Position among the study's exclusions.
    pub exclusion: usize,
    /// People of the cohort, and those among them whose answer is unknown.
    pub people: u64,
    pub unknown: u64,
    /// Sums of their integer weights.
    pub weight: i64,
    pub unknown_weight: i64,
}

/// Every such exclusion of every frame. A source with a single weight has no subsamples to tell apart.
pub fn unasked(study: &Study, loaded: &Loaded, cohort: &Cohort) -> Result<Vec<Unasked>, CohortError> {
    let mut all = Vec::new();
    for (frame, of_frame) in cohort.frames.iter().enumerate() {
        let Some(subsample) = of_frame.subsample.filter(|_| !of_frame.sole) else { continue };
        let narrower = study.exclusions.iter().enumerate();
        let narrower = narrower.filter(|(_, exclusion)| study.subsample_of(exclusion) > subsample);
        for (exclusion, row) in narrower {
            let known = formula(&row.name, &row.formula)?.is_not_null().alias("known");
            let known = loaded.frame.clone().lazy().select([known]).collect()?;
            let known = known.column("known")?.bool()?;
            let mut counts =
                Unasked { frame, exclusion, people: 0, unknown: 0, weight: 0, unknown_weight: 0 };
            for (weight, known) in kept(study, cohort, frame)?.iter().zip(known.iter()) {
                let Some(weight) = weight else { continue };
                counts.people += 1;
                counts.weight += weight;
                if known == Some(false) {
                    counts.unknown += 1;
                    counts.unknown_weight += weight;
                }
            }
            all.push(counts);
        }
    }
    Ok(all)
}
