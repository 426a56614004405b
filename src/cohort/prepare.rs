//! One row per person with everything an analysis may ask of it, as integers.

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
    /// (Int64, null where the index is missing), `w_<frame>` and `w2_<frame>` (Int64).
    pub rows: DataFrame,
    pub plan: CellPlan,
    pub frames: Vec<Frame>,
    /// Frame of each (index, outcome) pair: `frame_of[index][outcome]`; the last entry is the index alone.
    pub frame_of: Vec<Vec<usize>>,
    /// False when variance is by people, for want of PSUs.
    pub has_design: bool,
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
    for frame in &frames {
        let (weight, square) = weights::expressions(frame);
        columns.extend([weight, square]);
    }
    let rows = labelled.lazy().select(columns).collect()?;
    let survey = survey_label(loaded)?;
    let cohort = Cohort { rows, plan, frames, frame_of, has_design: loaded.has_design, survey };
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
fn key(index: &Index) -> Result<Expr, CohortError> {
    let value = formula(&index.name, &index_sql(index))?.cast(DataType::Float64);
    let steps = (value / lit(index.resolution)).round(0, RoundMode::HalfAwayFromZero);
    Ok(when(steps.clone().is_finite()).then(steps).otherwise(lit(NULL)).cast(DataType::Int64))
}

/// The SQL of an index with its limits of validity.
#[must_use]
pub fn index_sql(index: &Index) -> String {
    match &index.valid_if {
        Some(valid) => format!("CASE WHEN {valid} THEN {} END", index.formula),
        None => index.formula.clone(),
    }
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

fn survey_label(loaded: &Loaded) -> Result<String, CohortError> {
    let labels = loaded
        .frame
        .clone()
        .lazy()
        .select([concat_str([col("survey"), col("cycle")], " ", true).alias("label")])
        .collect()?;
    let mut labels: Vec<String> =
        labels.column("label")?.str()?.iter().flatten().map(|l| l.trim().to_owned()).collect();
    labels.sort();
    labels.dedup();
    Ok(labels.join(" + "))
}
