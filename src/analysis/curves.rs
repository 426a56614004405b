//! Percentiles and cutoffs as smooth functions of age and BMI, group by group.

use rayon::prelude::*;

use super::context::Context;
use super::groups::Group;
use crate::cohort::{UNKNOWN, YES};
use crate::stats::covariate_roc::{CovariateModel, CovariateRocBands, RocSettings};
use crate::stats::lms::Lms;
use crate::stats::lms_curve::LmsModel;
use crate::stats::lms_data::Power;
use crate::stats::percentile_curve::{
    CurveData, CurveRows, CurveSettings, PercentileCurves, PercentileModel,
};
use crate::stats::quantile::weighted_quantile;
use crate::stats::quantile_regression::replicate_weights;
use crate::stats::{Band, Design, NaturalSpline, Replicates, Sample, StatError};
use crate::study::{LmsPower, Over, StudyCurves};
use crate::tally::{JointColumn, JointTally};

/// The boundary knots lie at this share of the people and as far from the other end.
const BOUNDARY: f64 = 0.05;
/// Curves run from this share of the people to as far from the other end: beyond it they rest on few.
const END: f64 = 0.025;

/// One curve's task and its people.
#[derive(Debug)]
pub struct Task<'a> {
    pub index: usize,
    /// `None` for percentiles, an outcome for cutoffs.
    pub outcome: Option<usize>,
    pub over: Over,
    pub group: &'a Group,
    pub frame: usize,
    pub people: People,
}

/// People of a group who have the index and the covariate (and, for a cutoff, a known outcome), in the
/// order of resistance.
#[derive(Debug, Default)]
pub struct People {
    pub x: Vec<f64>,
    /// The index times the sign of the order of resistance.
    pub sample: Sample,
    /// Whether the row's people have the outcome.
    pub class: Vec<bool>,
}

/// A finished curve.
#[derive(Debug)]
pub struct Smooth<'a> {
    pub task: Task<'a>,
    pub knots: Vec<f64>,
    pub df: f64,
    pub fitted: Result<Fitted, StatError>,
    /// Percentiles by the LMS method, where the study asks for them.
    pub lms: Option<Result<ByLms, StatError>>,
}

/// Percentiles by the LMS method, and what they follow from.
#[derive(Debug)]
pub struct ByLms {
    pub curves: PercentileCurves,
    /// At each place of the grid.
    pub parameters: Vec<Lms>,
    /// Weighted share of the people who are less resistant than each percentile.
    pub shares_below: Vec<f64>,
}

/// Either kind of curve.
#[derive(Debug)]
pub enum Fitted {
    Percentiles(PercentileCurves),
    Cutoffs(CovariateRocBands),
}

/// Every curve that the study asks for.
pub fn all<'a>(context: &'a Context) -> Vec<Smooth<'a>> {
    let Some(curves) = &context.study.curves else { return Vec::new() };
    tasks(context, curves).into_par_iter().map(|task| smooth(context, curves, task)).collect()
}

fn tasks<'a>(context: &'a Context, curves: &StudyCurves) -> Vec<Task<'a>> {
    let grouping =
        curves.by.and_then(|by| context.study.groupings.iter().position(|variables| *variables == [by]));
    let groups: Vec<&Group> = context.groups.iter().filter(|group| group.grouping == grouping).collect();
    let mut tasks = Vec::new();
    for &index in &curves.indices {
        for outcome in std::iter::once(None).chain(curves.outcomes.iter().copied().map(Some)) {
            let frame =
                outcome.map_or_else(|| context.frame_of_index(index), |o| context.frame_of_pair(index, o));
            for &over in &curves.over {
                let columns = [JointColumn::Index(index), JointColumn::over(over)];
                let joint = context.tallies.joints.iter().find(|j| j.frame == frame && j.columns == columns);
                let Some(joint) = joint else { continue };
                tasks.extend(groups.iter().map(|&group| {
                    let people = people(context, joint, (index, outcome), (over, group));
                    Task { index, outcome, over, group, frame, people }
                }));
            }
        }
    }
    tasks
}

fn people(
    context: &Context,
    joint: &JointTally,
    (index, outcome): (usize, Option<usize>),
    (over, group): (Over, &Group),
) -> People {
    let study_index = &context.study.indices[index];
    let frame = &context.tallies.frames[joint.frame].frame;
    let steps = match over {
        Over::Age => 1.0,
        Over::Bmi => 10.0,
    };
    let mut people = People::default();
    let mut rows: Vec<usize> = (0..joint.cell.len()).collect();
    if study_index.sign() < 0 {
        rows.reverse();
    }
    for row in rows {
        let answer = outcome.map(|o| (joint.outcomes[row] >> (2 * o)) & 0b11);
        let levels = context.tallies.plan.levels_of(joint.cell[row]);
        let belongs = context.populations[0].holds(joint.flags[row]) && group.holds(&levels);
        if !belongs || answer == Some(UNKNOWN) {
            continue;
        }
        let value = joint.keys[0][row] as f64 / study_index.row.steps_per_unit();
        people.x.push(joint.keys[1][row] as f64 / steps);
        people.sample.value.push(value * study_index.sign() as f64);
        people.sample.weight.push(frame.weight(joint.weight[row]));
        people.sample.weight_squared.push(frame.squared(joint.weight_squared[row]));
        people.sample.people.push(joint.people[row]);
        people.sample.unit.push(joint.unit[row]);
        people.class.push(answer == Some(YES));
    }
    people
}

impl People {
    pub fn count(&self) -> u64 {
        self.sample.people_counted()
    }

    /// Degrees of freedom of everybody or, of what rests on both classes, the fewer of theirs.
    pub fn degrees_of_freedom(&self, design: &Design, of_classes: bool) -> f64 {
        let of = |counted: &dyn Fn(usize) -> bool| design.degrees_of_freedom(&self.sample, counted);
        if of_classes { of(&|row| self.class[row]).min(of(&|row| !self.class[row])) } else { of(&|_| true) }
    }

    pub fn with(&self) -> u64 {
        self.sample
            .people
            .iter()
            .zip(&self.class)
            .filter(|(_, class)| **class)
            .map(|(&n, _)| u64::from(n))
            .sum()
    }
}

fn smooth<'a>(context: &Context, curves: &StudyCurves, task: Task<'a>) -> Smooth<'a> {
    let frame = &context.frames[task.frame];
    let df = task.people.degrees_of_freedom(&frame.design, task.outcome.is_some());
    let band = Band { df, confidence: context.study.confidence };
    let spline = spline(&task.people, curves.knots);
    let knots = spline.as_ref().map_or_else(|_| Vec::new(), |spline| spline.knots().to_vec());
    let replicates = frame.replicates.first(curves.replicates);
    let fit = spline.and_then(|spline| {
        let grid = grid(&task.people)?;
        let sign = context.study.indices[task.index].sign();
        let value: Vec<f64> = task.people.sample.value.iter().map(|v| v * sign as f64).collect();
        Ok(Fit { task: &task, value, reversed: sign < 0, spline, grid, replicates, band })
    });
    let fitted = fit.as_ref().map_err(StatError::clone).and_then(|fit| match task.outcome {
        None => fit.percentiles(&curves.percentiles).map(Fitted::Percentiles),
        Some(_) => fit.cutoffs().map(Fitted::Cutoffs),
    });
    let lms = curves.lms.filter(|_| task.outcome.is_none()).map(|power| {
        fit.as_ref().map_err(StatError::clone).and_then(|fit| fit.lms(&curves.percentiles, power))
    });
    Smooth { task, knots, df, fitted, lms }
}

/// Boundary knots near the ends, interior ones at evenly spaced quantiles.
fn spline(people: &People, interior: usize) -> Result<NaturalSpline, StatError> {
    let step = 1.0 / (interior + 1) as f64;
    let inside = (1..=interior).map(|k| k as f64 * step);
    let probabilities: Vec<f64> = std::iter::once(BOUNDARY).chain(inside).chain([1.0 - BOUNDARY]).collect();
    NaturalSpline::at_quantiles(&people.x, &people.sample.weight, &probabilities)
}

/// Whole years or kg/m² between the ends.
fn grid(people: &People) -> Result<Vec<f64>, StatError> {
    let at = |p| weighted_quantile(&people.x, &people.sample.weight, p);
    let (from, to) = (at(END)?.ceil() as i64, at(1.0 - END)?.floor() as i64);
    Ok((from..=to).map(|x| x as f64).collect())
}

/// What both kinds of curves are fitted with.
struct Fit<'a> {
    task: &'a Task<'a>,
    value: Vec<f64>,
    reversed: bool,
    spline: NaturalSpline,
    grid: Vec<f64>,
    replicates: Replicates,
    band: Band,
}

impl Fit<'_> {
    fn rows(&self) -> CurveRows<'_> {
        let People { x, sample, .. } = &self.task.people;
        CurveRows { x, value: &self.value, weight: &sample.weight, unit: &sample.unit }
    }

    fn data(&self, probabilities: &[f64]) -> Result<CurveData, StatError> {
        let settings = CurveSettings {
            spline: self.spline.clone(),
            grid: self.grid.clone(),
            probabilities: probabilities.to_vec(),
            reversed: self.reversed,
        };
        CurveData::new(&self.rows(), settings)
    }

    fn percentiles(&self, probabilities: &[f64]) -> Result<PercentileCurves, StatError> {
        let data = self.data(probabilities)?;
        let model = PercentileModel::fit(&data)?;
        let curves: Vec<_> = self.each(&|weight| model.replicate(weight).ok());
        model.bands(&curves, &self.replicates, self.band)
    }

    fn lms(&self, probabilities: &[f64], power: LmsPower) -> Result<ByLms, StatError> {
        let power = match power {
            LmsPower::Constant => Power::Constant,
            LmsPower::Spline => Power::Spline,
        };
        let data = self.data(probabilities)?;
        let model = LmsModel::fit(&self.rows(), &data, power)?;
        let curves: Vec<_> = self.each(&|weight| model.replicate(weight).ok());
        Ok(ByLms {
            curves: model.bands(&curves, &self.replicates, self.band)?,
            parameters: model.parameters()?,
            shares_below: model.shares_below()?,
        })
    }

    fn cutoffs(&self) -> Result<CovariateRocBands, StatError> {
        let settings =
            RocSettings { spline: self.spline.clone(), grid: self.grid.clone(), reversed: self.reversed };
        let model = CovariateModel::new(&self.rows(), &self.task.people.class, settings)?;
        let full = model.fit(&self.task.people.sample.weight)?;
        let curves: Vec<_> = self.each(&|weight| model.fit(weight).ok());
        model.bands(&full, &curves, &self.replicates, self.band)
    }

    fn each<T: Send>(&self, fit: &(dyn Fn(&[f64]) -> T + Sync)) -> Vec<T> {
        let rows = self.rows();
        (0..self.replicates.count)
            .into_par_iter()
            .map(|r| fit(&replicate_weights(rows.weight, rows.unit, &self.replicates, r)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::LonelyPsu;

    #[test]
    fn a_cutoff_rests_on_the_smaller_class() {
        // Three strata of two PSUs each, one person in each PSU; those with the outcome are in the first stratum alone.
        let design = Design::new(vec![0, 0, 1, 1, 2, 2], None, LonelyPsu::Fail).expect("pairs");
        let units: Vec<u32> = (0..6).chain(0..2).collect();
        let values: Vec<f64> = (0..8).map(f64::from).collect();
        let sample = Sample::from_people(&values, &[1.0; 8], &units).expect("people");
        let class = (0..8).map(|row| row >= 6).collect();
        let people = People { x: values, sample, class };
        assert_eq!(people.degrees_of_freedom(&design, false), 3.0, "six PSUs less three strata");
        assert_eq!(people.degrees_of_freedom(&design, true), 1.0, "two PSUs less one stratum");
    }
}
