//! What a finished run knows that a plan must assume: area, distribution, design effects.

use super::AnalysisError;
use super::context::{Context, FrameContext};
use super::plan::Distribution;
use super::roc;
use super::select::{Classed, classed, values};
use super::singly::area_variance as area_variance_singly;
use crate::stats::Sample;
use crate::stats::plan_area::area_variance;
use crate::stats::proportion;
use crate::stats::quantile::weighted_quantile;
use crate::study::Study;
use crate::tally::Tallies;

/// Weights that differ by less than this share count as equal: rounding in sums of weights.
const EQUAL: f64 = 1e-9;

/// What is taken from a run, about everybody of its cohort.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    pub auc: Option<f64>,
    /// None where values of single people may not be shown and their logarithms have no spread.
    pub distribution: Option<Distribution>,
    /// Of the share beyond the median; `None` when it has no variance, 1 without a design.
    pub design_effect: Option<f64>,
    /// Of the area: its replicate variance over that of people drawn singly; 1 without a design.
    pub design_effect_auc: Option<f64>,
    /// Variance of the area of people drawn singly over that of two normal classes of equal spread.
    pub area_shape: Option<f64>,
    /// Degrees of freedom of its design, the fewer of people with and without the outcome where one is named; none without a design.
    pub df: Option<f64>,
    /// Whether the run has strata, sampling units or unequal weights.
    pub has_design: bool,
}

/// Takes area, distribution and design effects from the tallies of a run.
pub fn known(
    study: &Study,
    tallies: &Tallies,
    (index, outcome): (usize, Option<usize>),
) -> Result<Known, AnalysisError> {
    let asked = Study { rules: study.rules.iter().take(1).cloned().collect(), ..study.clone() };
    let context = Context::new(&asked, tallies)?;
    let (everyone, everybody) = (&context.populations[0], &context.groups[0]);
    let frame = &context.frames[context.frame_of_index(index)];
    let sample = values(&frame.indices[index], everyone, everybody);
    let curve = outcome.map(|outcome| roc::curve(&context, (index, outcome), 0));
    let area = curve.as_ref().and_then(|curve| {
        let auc = curve.auc.as_ref()?;
        Some((auc.value, auc.standard_error?, area_variance(auc.value, curve.with, curve.without).ok()?))
    });
    let classes = outcome.map(|outcome| classed(&context, (index, outcome), everyone, everybody));
    let has_design = has_design(frame, &sample);
    let singly = classes.as_ref().and_then(area_variance_singly);
    let effect = |variance: f64, simple: f64| if has_design { variance / simple } else { 1.0 };
    let design_effect = if has_design { median_design_effect(frame, &sample) } else { Some(1.0) };
    let log_sd_of_all = log_sd(&sample);
    let within = classes.as_ref().map_or(log_sd_of_all, within);
    let df = df(frame, &sample, curve.as_ref());
    let row = &study.indices[index];
    let sign = row.sign() as f64;
    // Ends of an interval of few people would show single people of a source that is not public.
    let distribution = if study.public {
        Some(Distribution::Measured { sample, sign, unit: row.row.unit.clone(), within })
    } else {
        log_sd_of_all.map(|log_sd| Distribution::LogNormal { log_sd, within, sign })
    };
    Ok(Known {
        auc: area.map(|(auc, ..)| auc),
        distribution,
        design_effect,
        design_effect_auc: area.zip(singly).map(|((_, se, _), singly)| effect(se * se, singly)),
        area_shape: area.zip(singly).map(|((_, _, normal), singly)| singly / normal),
        df: has_design.then_some(df).filter(|df| *df >= 1.0),
        has_design,
    })
}

/// Degrees of freedom of everybody, the fewer of people with and without the outcome where there is a curve.
fn df(frame: &FrameContext, sample: &Sample, curve: Option<&roc::Curve>) -> f64 {
    curve.map_or_else(|| frame.design.degrees_of_freedom(sample, &|_| true), |curve| curve.df)
}

/// Without strata, sampling units, replicates of its own or unequal weights, people were drawn singly.
fn has_design(frame: &FrameContext, sample: &Sample) -> bool {
    let design = &frame.design;
    let mut each = (0..sample.len()).map(|row| sample.weight[row] / f64::from(sample.people[row]));
    let first = each.next().unwrap_or(1.0);
    let equal = each.all(|weight| (weight - first).abs() <= EQUAL * first);
    !(design.by_people() && design.strata() == 1 && equal)
}

/// Variance of the share beyond the median over that of as many people drawn singly.
fn median_design_effect(frame: &FrameContext, sample: &Sample) -> Option<f64> {
    let median = weighted_quantile(&sample.value, &sample.weight, 0.5).ok()?;
    let share =
        proportion::share(&frame.design, sample, &|_| true, &|row| sample.value[row] > median).ok()?;
    let simple = share.p * (1.0 - share.p) / share.people as f64;
    (simple > 0.0 && share.variance > 0.0).then(|| share.variance / simple)
}

/// Weighted standard deviation of the logarithms, the two classes each about its own mean.
fn within(people: &Classed) -> Option<f64> {
    let of = |class: bool| {
        let sample = people.of_class(class);
        let weight: f64 = sample.weight.iter().sum();
        Some((weight, log_sd(&sample)?))
    };
    let ((w1, s1), (w0, s0)) = (of(true)?, of(false)?);
    Some(((w1 * s1 * s1 + w0 * s0 * s0) / (w1 + w0)).sqrt())
}

/// Weighted standard deviation of the logarithms; none where a value is 0.
fn log_sd(sample: &Sample) -> Option<f64> {
    let total: f64 = sample.weight.iter().sum();
    let logs: Vec<f64> = sample.value.iter().map(|value| value.abs().ln()).collect();
    let mean = logs.iter().zip(&sample.weight).map(|(log, w)| log * w).sum::<f64>() / total;
    let variance =
        logs.iter().zip(&sample.weight).map(|(log, w)| w * (log - mean).powi(2)).sum::<f64>() / total;
    (variance.is_finite() && variance > 0.0).then(|| variance.sqrt())
}
