//! Exclusions whose answer is unknown for part of a cohort: only a part of a frame was asked (a frame follows index and
//! outcome, not the exclusions), or a measurement is missing.

use polars::prelude::*;

use super::CohortError;
use super::cells::formula;
use super::limits::kept;
use super::prepare::Cohort;
use super::weights::Frame;
use crate::definitions::Exclusion;
use crate::source::Loaded;
use crate::study::Study;

/// What is not known of an exclusion in a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unanswered {
    pub frame: usize,
    /// Position among the study's exclusions.
    pub exclusion: usize,
    /// Whether the exclusion rests on a more restrictive subsample than the frame.
    pub narrower: bool,
    /// People of the cohort, and those among them whose answer is unknown.
    pub people: u64,
    pub unknown: u64,
    /// Sums of their integer weights.
    pub weight: i64,
    pub unknown_weight: i64,
}

impl Unanswered {
    /// Share of the cohort whose answer is unknown, weighted.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.unknown_weight as f64 / self.weight.max(1) as f64
    }
}

/// Every exclusion that a more restrictive subsample than a frame was asked, and every exclusion by a measurement that some of the
/// cohort lack and still stay in. A source with a single weight has no subsamples to tell apart.
pub fn unanswered(study: &Study, loaded: &Loaded, cohort: &Cohort) -> Result<Vec<Unanswered>, CohortError> {
    let frames = 0..cohort.frames.len();
    let kept = frames.map(|frame| kept(study, cohort, frame)).collect::<Result<Vec<_>, _>>()?;
    let mut all = Vec::new();
    for (exclusion, row) in study.exclusions.iter().enumerate() {
        let stays_in = !row.unknown_excludes && study.is_measured(row);
        let asked = study.subsample_of(row);
        let is_narrower = |frame: &Frame| !frame.sole && frame.subsample.is_some_and(|whole| asked > whole);
        let narrower: Vec<bool> = cohort.frames.iter().map(is_narrower).collect();
        if !stays_in && !narrower.contains(&true) {
            continue;
        }
        let known = known(row, loaded)?;
        for (frame, narrower) in
            narrower.into_iter().enumerate().filter(|(_, narrower)| *narrower || stays_in)
        {
            all.push(count((frame, exclusion, narrower), &kept[frame], &known));
        }
    }
    all.retain(|one| one.narrower || one.unknown > 0);
    all.sort_by_key(|one| (one.frame, one.exclusion));
    Ok(all)
}

/// Of whom it is known whether an exclusion holds.
pub(super) fn known(exclusion: &Exclusion, loaded: &Loaded) -> Result<BooleanChunked, CohortError> {
    let known = formula(&exclusion.name, &exclusion.formula)?.is_not_null().alias("known");
    let known = loaded.frame.clone().lazy().select([known]).collect()?;
    Ok(known.column("known")?.bool()?.clone())
}

fn count(
    (frame, exclusion, narrower): (usize, usize, bool),
    kept: &[Option<i64>],
    known: &BooleanChunked,
) -> Unanswered {
    let mut counts =
        Unanswered { frame, exclusion, narrower, people: 0, unknown: 0, weight: 0, unknown_weight: 0 };
    for (weight, known) in kept.iter().zip(known.iter()) {
        let Some(weight) = weight else { continue };
        counts.people += 1;
        counts.weight += weight;
        if known == Some(false) {
            counts.unknown += 1;
            counts.unknown_weight += weight;
        }
    }
    counts
}
