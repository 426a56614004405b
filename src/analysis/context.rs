//! What every estimator of a run shares: groups, designs and replicates.

use std::sync::Arc;

use super::AnalysisError;
use super::groups::{Group, Population, groups, populations};
use crate::cohort::{DesignTable, Frame, stable_hash};
use crate::stats::design::{Design, LonelyPsu as Lonely};
use crate::stats::replicate::Replicates;
use crate::stats::{Sample, StatError};
use crate::study::{LonelyPsu, ReplicateKind, Study, StudyIndex};
use crate::tally::{Tallies, Tally};

/// The study, its tallies and everything derived from them once.
#[derive(Debug)]
pub struct Context<'a> {
    pub study: &'a Study,
    pub tallies: &'a Tallies,
    pub populations: Vec<Population>,
    pub groups: Vec<Group>,
    pub frames: Vec<FrameContext>,
}

/// Design and replicates of one frame, and its rows in resistance order.
#[derive(Debug)]
pub struct FrameContext {
    pub design: Design,
    pub replicates: Arc<Replicates>,
    /// Per index of the study: its tally as arrays an estimator can read.
    pub indices: Vec<Ordered>,
    /// The people of the frame, without values.
    pub people: Ordered,
}

/// A tally in the order of resistance, least resistant first.
#[derive(Debug, Clone, Default)]
pub struct Ordered {
    pub sample: Sample,
    pub flags: Vec<u64>,
    pub outcomes: Vec<u64>,
    /// Level of each variable, row by row.
    pub levels: Vec<Vec<Option<u8>>>,
}

impl<'a> Context<'a> {
    pub fn new(study: &'a Study, tallies: &'a Tallies) -> Result<Self, AnalysisError> {
        let frame = |f: &crate::tally::FrameTally| {
            let (design, replicates) = design_and_replicates(study, tallies, (&f.frame, &f.design))?;
            let indices = study.indices.iter().zip(&f.indices);
            Ok::<_, AnalysisError>(FrameContext {
                indices: indices.map(|(i, t)| ordered(tallies, &f.frame, t, Some(i))).collect(),
                people: ordered(tallies, &f.frame, &f.people, None),
                design,
                replicates,
            })
        };
        Ok(Self {
            study,
            tallies,
            populations: populations(study),
            groups: groups(study, tallies),
            frames: tallies.frames.iter().map(frame).collect::<Result<_, _>>()?,
        })
    }

    /// Frame of an index by itself.
    #[must_use]
    pub fn frame_of_index(&self, index: usize) -> usize {
        self.tallies.frame_of[index][self.study.outcomes.len()]
    }

    /// Frame of an index against an outcome.
    #[must_use]
    pub fn frame_of_pair(&self, index: usize, outcome: usize) -> usize {
        self.tallies.frame_of[index][outcome]
    }

    #[must_use]
    pub fn frame_name(&self, frame: usize) -> &'static str {
        self.tallies.frames[frame].frame.name()
    }

    /// Whether the people of a frame were drawn singly and all count the same: no strata, sampling units or weights.
    #[must_use]
    pub fn drawn_singly(&self, frame: usize) -> bool {
        !self.tallies.has_design && self.tallies.frames[frame].frame.subsample.is_none()
    }

    /// The kind of interval of an area in a frame.
    #[must_use]
    pub fn area_interval(&self, frame: usize) -> &'static str {
        if self.drawn_singly(frame) { "delong_t_logit" } else { "replicates_t_logit" }
    }
}

fn design(
    study: &Study,
    tallies: &Tallies,
    frame: &Frame,
    table: &DesignTable,
) -> Result<Design, AnalysisError> {
    let lonely = match study.lonely_psu {
        LonelyPsu::Fail => Lonely::Fail,
        LonelyPsu::Adjust => Lonely::Adjust,
        LonelyPsu::Certainty => Lonely::Certainty,
    };
    let strata = table.strata();
    let of_unit = table.stratum_of_unit();
    let people = (!tallies.has_design).then(|| {
        let mut people = vec![0_u64; strata.len()];
        for (unit, &stratum) in table.units.iter().zip(&of_unit) {
            people[stratum as usize] += unit.people;
        }
        people
    });
    Design::new(of_unit, people, lonely).map_err(|cause| match cause {
        StatError::LonelyPsu(position) => {
            AnalysisError::LonelyPsu { survey: tallies.survey.clone(), stratum: name_of(table, position) }
        }
        cause => AnalysisError::Design { frame: frame.name(), cause },
    })
}

fn replicates(study: &Study, table: &DesignTable, design: &Design) -> Result<Replicates, StatError> {
    match study.resampling.kind {
        ReplicateKind::Bootstrap => {
            let keys: Vec<u64> = table.strata().iter().map(|s| stable_hash(s, 0)).collect();
            Replicates::bootstrap(design, &keys, study.resampling.replicates, study.resampling.seed)
        }
        ReplicateKind::Jackknife => Replicates::jackknife(design),
        ReplicateKind::Brr | ReplicateKind::Fay => Replicates::brr(design, study.resampling.fay),
        ReplicateKind::Supplied => Err(StatError::Undefined("the tallies hold no replicate weights")),
    }
}

/// Design and replicates of a frame. Replicate weights that came with the data stand for both.
fn design_and_replicates(
    study: &Study,
    tallies: &Tallies,
    (frame, table): (&Frame, &DesignTable),
) -> Result<(Design, Arc<Replicates>), AnalysisError> {
    let fault = |cause| AnalysisError::Design { frame: frame.name(), cause };
    let supplied = study.resampling.supplied.as_ref().zip(table.supplied_factors());
    if let Some((weights, (count, factors))) = supplied {
        let stated = weights.scaling.scales.len();
        if stated > 0 && stated != count {
            return Err(AnalysisError::Scales { stated, count });
        }
        let replicates = Arc::new(Replicates::supplied(count, factors, &weights.scaling).map_err(fault)?);
        let design = Design::supplied(Arc::clone(&replicates), weights.degrees_of_freedom).map_err(fault)?;
        return Ok((design, replicates));
    }
    let design = design(study, tallies, frame, table)?;
    let replicates = replicates(study, table, &design).map_err(|cause| match cause {
        StatError::NotPaired { stratum, units } => AnalysisError::NotPaired {
            survey: tallies.survey.clone(),
            stratum: name_of(table, stratum),
            units,
        },
        StatError::LonelyPsu(stratum) => {
            AnalysisError::LonelyPsu { survey: tallies.survey.clone(), stratum: name_of(table, stratum) }
        }
        cause => fault(cause),
    })?;
    Ok((design, Arc::new(replicates)))
}

/// The name of a stratum that an estimator knows by its position.
fn name_of(table: &DesignTable, position: String) -> String {
    let name = position.parse::<usize>().ok().and_then(|p| table.strata().get(p).map(|s| (*s).to_owned()));
    name.unwrap_or(position)
}

/// The value of a key, times the sign of the resistance order. Dividing by a whole number of steps
/// gives the decimal nearest to the key; multiplying by a resolution such as 1e-9, which has no exact
/// binary form, may not.
fn value(key: i64, index: &StudyIndex) -> f64 {
    index.sign() as f64 * (key as f64 / index.row.steps_per_unit())
}

/// A stated threshold, rounded to the index's resolution and put in the order of resistance.
#[must_use]
pub fn resistance(threshold: f64, index: &StudyIndex) -> f64 {
    value(index.row.step(threshold), index)
}

fn ordered(tallies: &Tallies, frame: &Frame, tally: &Tally, index: Option<&StudyIndex>) -> Ordered {
    let rows: Vec<usize> = match index {
        Some(index) if index.sign() < 0 => (0..tally.len()).rev().collect(),
        _ => (0..tally.len()).collect(),
    };
    let mut ordered = Ordered::default();
    for row in rows {
        let sample = &mut ordered.sample;
        sample.value.push(index.map_or(0.0, |i| value(tally.key[row], i)));
        sample.weight.push(frame.weight(tally.weight[row]));
        sample.weight_squared.push(frame.squared(tally.weight_squared[row]));
        sample.people.push(tally.people[row]);
        sample.unit.push(tally.unit[row]);
        ordered.flags.push(tally.flags[row]);
        ordered.outcomes.push(tally.outcomes[row]);
        ordered.levels.push(tallies.plan.levels_of(tally.cell[row]));
    }
    ordered
}
