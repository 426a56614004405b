//! People whose label changes when a group's cutoff replaces everybody's.

use rayon::prelude::*;

use super::context::Context;
use super::differences::{both, pairs};
use super::roc::{Curve, Cutoff};
use super::select::values;
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::stats::Sample;
use crate::table::Table;

pub fn table(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let pairs: Vec<(&Curve, &Curve)> = pairs(curves).collect();
    let moves: Vec<Vec<Moved>> = pairs.par_iter().map(|pair| moved(context, *pair)).collect();
    let mut table = tabulate::empty("reclassified");
    for ((curve, _), moves) in pairs.into_iter().zip(&moves) {
        let sign = context.study.indices[curve.index].sign() as f64;
        for (rule, moved) in context.study.rules.iter().zip(moves) {
            let frame = context.frame_of_index(curve.index);
            let row = tabulate::lead(table.row(), context, (frame, curve.index))
                .text("outcome", &*context.study.outcomes[curve.outcome].row.name)
                .text("rule", &*rule.name);
            tabulate::of_group(row, &context.populations[0], &context.groups[curve.group])
                .real("cutoff", moved.cutoffs.map(|(own, _)| own * sign))
                .real("overall", moved.cutoffs.map(|(_, all)| all * sign))
                .whole("n", Some(moved.people as i64))
                .real("weighted_n", Some(moved.weighted))
                .real("newly_beyond", moved.shares.map(|(newly, _)| newly))
                .real("no_longer_beyond", moved.shares.map(|(_, no_longer)| no_longer))
                .text("stated", tabulate::TOOL)
                .text("withheld", moved.verdict.reason(context.study))
                .done()?;
        }
    }
    Ok(table)
}

/// Who changes sides in one group under one rule.
struct Moved {
    people: u64,
    weighted: f64,
    /// The group's cutoff and everybody's, in resistance order.
    cutoffs: Option<(f64, f64)>,
    /// Percent newly beyond and no longer beyond.
    shares: Option<(f64, f64)>,
    verdict: Verdict,
}

fn moved(context: &Context, (curve, overall): (&Curve, &Curve)) -> Vec<Moved> {
    let frame = context.frame_of_index(curve.index);
    let (cohort, group) = (&context.populations[0], &context.groups[curve.group]);
    let sample = values(&context.frames[frame].indices[curve.index], cohort, group);
    let cutoffs = curve.cutoffs.iter().zip(&overall.cutoffs);
    cutoffs.map(|pair| moved_by(context, &sample, pair)).collect()
}

fn moved_by(context: &Context, sample: &Sample, (own, all): (&Cutoff, &Cutoff)) -> Moved {
    let people = sample.people_counted();
    let mut verdict = both(&own.verdict, &all.verdict);
    verdict.small_cell(context.study, people);
    let shown = verdict.shown(context.study) && own.value.is_finite() && all.value.is_finite();
    let weighted: f64 = sample.weight.iter().sum();
    let percent_between = |from: f64, to: f64| {
        let inside = sample.value.iter().zip(&sample.weight).filter(|(v, _)| (from..to).contains(v));
        100.0 * inside.map(|(_, w)| w).sum::<f64>() / weighted
    };
    let shares = || (percent_between(own.value, all.value), percent_between(all.value, own.value));
    Moved {
        people,
        weighted,
        cutoffs: shown.then_some((own.value, all.value)),
        shares: (shown && weighted > 0.0).then(shares),
        verdict,
    }
}
