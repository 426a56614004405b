//! Kernel-smoothed Youden cutoffs of every index × outcome × group, and their replicates.

use rayon::prelude::*;

use super::context::Context;
use super::roc::{Curve, oriented};
use super::select::{classed, values};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::Interval;
use crate::stats::replicate_interval::Centre;
use crate::stats::scale::Scale;
use crate::stats::smooth::{smoothed_replicates, smoothed_youden};
use crate::table::Table;

/// Name of the method in the tables.
pub use crate::table::schema::SMOOTHED_YOUDEN as METHOD;

/// The smoothed cutoff of one curve, in resistance order like [`super::roc::Cutoff`].
#[derive(Debug, Clone)]
pub struct Smoothed {
    pub scale: Scale,
    pub value: Option<f64>,
    pub youden: Option<f64>,
    pub interval: Option<Interval>,
    /// The cutoff in each replicate, `NaN` where there is none.
    pub replicates: Vec<f64>,
    pub used: usize,
    pub verdict: Verdict,
}

/// One per curve, in the order of the curves.
pub fn all(context: &Context, curves: &[Curve]) -> Vec<Smoothed> {
    curves.par_iter().map(|curve| smoothed(context, curve)).collect()
}

/// The scale on which an index is smoothed in a frame, that of everybody's values: a group on another scale than the group that
/// it is compared with would differ by its kernel.
pub fn scale(context: &Context, (index, frame): (usize, usize)) -> Scale {
    let everybody =
        values(&context.frames[frame].indices[index], &context.populations[0], &context.groups[0]);
    Scale::of(&everybody.value)
}

/// The smoothed cutoff of one curve.
pub fn smoothed(context: &Context, curve: &Curve) -> Smoothed {
    let study = context.study;
    let pair = (curve.index, curve.outcome);
    let frame_of_pair = context.frame_of_pair(pair.0, pair.1);
    let frame = &context.frames[frame_of_pair];
    let people = classed(context, pair, &context.populations[0], &context.groups[curve.group]);
    let scale = scale(context, (curve.index, frame_of_pair));
    let auc = curve.auc.as_ref().and_then(|a| a.interval);
    let mut result = Smoothed {
        scale,
        value: None,
        youden: None,
        interval: None,
        replicates: vec![f64::NAN; frame.replicates.count],
        used: 0,
        verdict: withhold::cutoff(study, curve.with, curve.without, auc),
    };
    if !result.verdict.shown(study) {
        return result;
    }
    let sample = scale.apply(&people.sample);
    let full = smoothed_youden(&sample, &people.class);
    let replicates = smoothed_replicates(&sample, &people.class, &frame.replicates);
    match full.and_then(|full| Ok((full, replicates?))) {
        Ok((full, replicates)) => {
            result.value = Some(scale.back(full.cutoff));
            result.youden = Some(full.youden);
            result.replicates = replicates.into_iter().map(|c| scale.back(c)).collect();
            result.used = result.replicates.iter().filter(|c| c.is_finite()).count();
            let too_many = result.verdict.failed(result.used, result.replicates.len());
            result.verdict.few_df(curve.df);
            let centre = Centre { full: scale.back(full.cutoff), df: curve.df, confidence: study.confidence };
            let interval = frame.replicates.interval(&result.replicates, centre).ok();
            result.interval = interval.filter(|_| !too_many);
        }
        Err(why) => result.verdict.cannot(why.to_string()),
    }
    result
}

/// The smoothed cutoffs as a table.
pub fn table(context: &Context, curves: &[Curve], smoothed: &[Smoothed]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("smoothed_cutoffs");
    for (curve, cutoff) in curves.iter().zip(smoothed) {
        let sign = context.study.indices[curve.index].sign() as f64;
        let interval = cutoff.interval.map(|i| oriented(i, sign));
        let frame = context.frame_of_pair(curve.index, curve.outcome);
        let row = tabulate::lead(table.row(), context, (frame, curve.index))
            .text("outcome", &*context.study.outcomes[curve.outcome].row.name);
        tabulate::of_group(row, &context.populations[0], &context.groups[curve.group])
            .whole("n_with", Some(curve.with as i64))
            .whole("n_without", Some(curve.without as i64))
            .text("method", METHOD)
            .text("scale", if cutoff.scale == Scale::Raw { "raw" } else { "logarithm" })
            .real("cutoff", cutoff.value.map(|c| c * sign))
            .real("lower", interval.map(|i| i.lower))
            .real("upper", interval.map(|i| i.upper))
            .text("interval", context.frames[frame].replicates.interval_kind())
            .real("youden", cutoff.youden)
            .whole("replicates", Some(cutoff.used as i64))
            .text("stated", tabulate::TOOL)
            .text("withheld", cutoff.verdict.reason(context.study))
            .text("notices", cutoff.verdict.notices(context.study))
            .done()?;
    }
    Ok(table)
}
