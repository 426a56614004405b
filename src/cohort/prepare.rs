//! One row per person with everything an analysis may ask of it, as integers.

use std::collections::{BTreeMap, BTreeSet};

use polars::prelude::*;

use super::cells::{CellPlan, formula};
use super::weights::{self, Frame, frame_for};
use super::{CohortError, design};
use crate::definitions::{Exclusion, Index, Subsample};
use crate::source::Loaded;
use crate::study::Study;

/// Answers of an outcome, two bits each.
pub const NO: u64 = 0;
pub const YES: u64 = 1;
pub const UNKNOWN: u64 = 2;

/// People in the form that the tally adds up.
#[derive(Debug, Clone)]
pub struct Cohort {
    /// Columns: `stratum`, `psu` (String), `cell`, `flags`, `outcomes`, `key_<index position>`
    /// (Int64, null where the index is missing), `age` (years), `bmi_tenths`, `w_<frame>` and `w2_<frame>`.
    pub rows: DataFrame,
    pub plan: CellPlan,
    pub frames: Vec<Frame>,
    /// Frame of each (index, outcome) pair: `frame_of[index][outcome]`; the last entry is the index alone.
    pub frame_of: Vec<Vec<usize>>,
    /// False when variance is by people, for want of PSUs.
    pub has_design: bool,
    /// Factors of replicate weights that came with the data, by `psu`.
    pub replicate_factors: BTreeMap<String, Vec<i64>>,
    pub survey: String,
}

/// Prepares the people of a study for the tally.
pub fn build(study: &Study, loaded: &Loaded) -> Result<Cohort, CohortError> {
    let (frames, frame_of) = frames(study, loaded)?;
    let labelled = design::label_units(loaded.frame.clone(), loaded.has_design, study.resampling.seed)?;
    let plan = CellPlan::new(study, &labelled)?;
    let mut columns = vec![col("source"), col("stratum"), col("psu"), plan.expression()?];
    columns.push(flags(study)?);
    columns.push(outcomes(study)?);
    for (i, index) in study.indices.iter().enumerate() {
        columns.push(key(&index.row)?.alias(format!("key_{i}")));
    }
    columns.push(whole("age_years", 1.0).alias("age"));
    columns.push(whole("bmi_kg_m2", 10.0).alias("bmi_tenths"));
    for frame in &frames {
        let (weight, square) = weights::expressions(frame);
        columns.extend([weight, square]);
    }
    let rows = labelled.lazy().select(columns).collect()?;
    let survey = survey_label(loaded)?;
    let (has_design, replicate_factors) = (loaded.has_design, loaded.replicate_factors.clone());
    let cohort = Cohort { rows, plan, frames, frame_of, has_design, replicate_factors, survey };
    cohort.refuse_empty(study)?;
    Ok(cohort)
}

impl Cohort {
    /// Bits of `flags` that must be clear for somebody of the cohort.
    #[must_use]
    pub fn exclusion_mask(study: &Study) -> u64 {
        (1_u64 << study.exclusions.len()) - 1
    }

    /// The bit of `flags` that is set for people of a reference group.
    #[must_use]
    pub fn reference_bit(study: &Study, reference: usize) -> u64 {
        1_u64 << (study.exclusions.len() + reference)
    }

    fn refuse_empty(&self, study: &Study) -> Result<(), CohortError> {
        let mask = Self::exclusion_mask(study) as i64;
        let kept = self.rows.column("flags")?.i64()?.iter().flatten().any(|f| f & mask == 0);
        if kept { Ok(()) } else { Err(CohortError::Nobody { people: self.rows.height() }) }
    }
}

type FrameMap = (Vec<Frame>, Vec<Vec<usize>>);

/// The frames a study needs and which of them each (index, outcome) pair uses.
fn frames(study: &Study, loaded: &Loaded) -> Result<FrameMap, CohortError> {
    let mut needed: Vec<Option<Subsample>> = Vec::new();
    let mut position = |subsample: Subsample| {
        let weight = frame_for(&loaded.weights, subsample);
        needed.iter().position(|n| *n == weight).unwrap_or_else(|| {
            needed.push(weight);
            needed.len() - 1
        })
    };
    let of_index = |index: Subsample, position: &mut dyn FnMut(Subsample) -> usize| {
        let pairs = study.outcomes.iter().map(|o| o.subsample.max(index)).chain([index]);
        pairs.map(position).collect::<Vec<_>>()
    };
    let frame_of: Vec<Vec<usize>> =
        study.indices.iter().map(|i| of_index(i.subsample, &mut position)).collect();
    let frames = needed.into_iter().map(|s| weights::frame(loaded, s)).collect::<Result<_, _>>()?;
    Ok((frames, frame_of))
}

/// The value of an index as a whole number of its resolution; null where it is missing, not
/// finite or outside its limits.
pub(super) fn key(index: &Index) -> Result<Expr, CohortError> {
    let steps = formula(&index.name, &index.step_sql())?.cast(DataType::Float64);
    Ok(when(steps.clone().is_finite()).then(steps).otherwise(lit(NULL)).cast(DataType::Int64))
}

/// A numeric column as a whole number of `1 / steps`.
fn whole(column: &str, steps: f64) -> Expr {
    (col(column) * lit(steps)).round(0, RoundMode::HalfAwayFromZero).cast(DataType::Int64)
}

/// One bit per exclusion (set: leave out), then one per reference group (set: belongs to it).
fn flags(study: &Study) -> Result<Expr, CohortError> {
    let mut flags = lit(0_i64);
    for (bit, exclusion) in study.exclusions.iter().enumerate() {
        flags = flags + left_out(exclusion)?.cast(DataType::Int64) * lit(1_i64 << bit);
    }
    for (position, reference) in study.references.iter().enumerate() {
        let mut member = lit(true);
        for exclusion in &reference.without {
            // A reference group holds people known to be free of each reason, not those never asked.
            let free = formula(&exclusion.name, &exclusion.formula)?.not().fill_null(lit(false));
            member = member.and(free);
        }
        let bit = Cohort::reference_bit(study, position) as i64;
        flags = flags + member.cast(DataType::Int64) * lit(bit);
    }
    Ok(flags.cast(DataType::Int64).alias("flags"))
}

/// Whether an exclusion leaves a person out, never null.
pub(super) fn left_out(exclusion: &Exclusion) -> Result<Expr, CohortError> {
    let answer = formula(&exclusion.name, &exclusion.formula)?;
    Ok(answer.fill_null(lit(exclusion.unknown_excludes)))
}

/// All outcome answers, two bits each, first outcome lowest.
fn outcomes(study: &Study) -> Result<Expr, CohortError> {
    let mut packed = lit(0_i64);
    for (position, outcome) in study.outcomes.iter().enumerate() {
        let answer = formula(&outcome.row.name, &outcome.sql)?;
        let state = answer.cast(DataType::Int64).fill_null(lit(UNKNOWN as i64));
        packed = packed + state * lit(1_i64 << (2 * position));
    }
    Ok(packed.cast(DataType::Int64).alias("outcomes"))
}

/// What the sources together are called: every survey once, with its cycles from first to last.
fn survey_label(loaded: &Loaded) -> Result<String, CohortError> {
    let named = loaded
        .frame
        .clone()
        .lazy()
        .select([col("survey"), col("cycle").fill_null(lit(""))])
        .unique_stable(None, UniqueKeepStrategy::First)
        .collect()?;
    let (surveys, cycles) = (named.column("survey")?.str()?, named.column("cycle")?.str()?);
    let mut of_survey: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (survey, cycle) in surveys.iter().zip(cycles.iter()) {
        of_survey.entry(survey.unwrap_or_default()).or_default().insert(cycle.unwrap_or_default());
    }
    let label = |(survey, cycles): (&&str, &BTreeSet<&str>)| {
        let (first, last) = (cycles.first().unwrap_or(&""), cycles.last().unwrap_or(&""));
        let span = match cycles.len() {
            0 | 1 => (*first).to_owned(),
            n => format!("{first} to {last} ({n} releases)"),
        };
        format!("{survey} {span}").trim().to_owned()
    };
    Ok(of_survey.iter().map(label).collect::<Vec<_>>().join(" + "))
}
