//! A group's own best cutoffs: counted by the study's first rule, and smoothed, on which tests between groups rest.

use std::sync::Arc;

use super::claim::Question;
use super::claim_estimate::{Behind, Estimate, Unit};
use super::context::{Context, FrameContext};
use super::roc::{self, Curve, oriented};
use super::smoothed::smoothed;
use super::withhold::{self, Verdict};
use crate::stats::replicate_interval::Centre;

/// Both cutoffs of a group; none where no outcome is meant.
pub fn own_cutoffs(context: &Context, question: &Question, group: usize) -> Vec<Estimate> {
    let Some(outcome) = question.outcome else { return Vec::new() };
    let curve = roc::curve(context, (question.index, outcome), group);
    vec![counted_cutoff(context, &curve), smoothed_cutoff(context, &curve)]
}

/// The group's own cutoff by the study's first rule.
fn counted_cutoff(context: &Context, curve: &Curve) -> Estimate {
    let sign = context.study.indices[curve.index].sign() as f64;
    let cutoff = curve.cutoffs.first();
    let verdict = cutoff.map_or_else(
        || withhold::cutoff(context.study, curve.with, curve.without, None),
        |cutoff| cutoff.verdict.clone(),
    );
    let interval = cutoff.and_then(|c| c.interval).map(|i| oriented(i, sign));
    let behind = cutoff.filter(|_| interval.is_some()).map(|cutoff| Behind::Cutoff {
        replicates: Arc::clone(&frame(context, curve).replicates),
        values: cutoff.replicates.iter().map(|v| v * sign).collect(),
        centre: Centre { full: cutoff.value * sign, df: curve.df, confidence: context.study.confidence },
    });
    Estimate {
        interval,
        behind: behind.unwrap_or(Behind::Nothing),
        ..bare(context, curve, ("best_cutoff", cutoff.map(|c| c.value * sign), verdict))
    }
}

/// The cutoff of the largest Youden index between smoothed distributions, as a run has it.
fn smoothed_cutoff(context: &Context, curve: &Curve) -> Estimate {
    let sign = context.study.indices[curve.index].sign() as f64;
    let found = smoothed(context, curve);
    let interval = found.interval.map(|i| oriented(i, sign));
    let value = found.value.map(|value| value * sign);
    Estimate { interval, ..bare(context, curve, ("smoothed_cutoff", value, found.verdict)) }
}

fn frame<'c>(context: &'c Context, curve: &Curve) -> &'c FrameContext {
    &context.frames[context.frame_of_pair(curve.index, curve.outcome)]
}

/// A cutoff without its interval, of the first threshold.
fn bare(
    context: &Context,
    curve: &Curve,
    (measure, value, mut verdict): (&'static str, Option<f64>, Verdict),
) -> Estimate {
    let value = value.filter(|v| v.is_finite());
    if value.is_none() && verdict.withheld.is_empty() {
        verdict.cannot("no cutoff");
    }
    Estimate {
        threshold: 0,
        population: 0,
        group: curve.group,
        measure,
        of_outcome: true,
        n: curve.with + curve.without,
        df: Some(curve.df),
        value,
        unit: Unit::Index,
        interval: None,
        interval_kind: frame(context, curve).replicates.interval_kind(),
        verdict,
        behind: Behind::Nothing,
    }
}
