//! People whose label changes when a group's cutoff replaces everybody's.

use super::context::Context;
use super::differences::pairs;
use super::roc::{Curve, Cutoff};
use super::select::values;
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::table::Table;

pub fn table(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("reclassified");
    for (curve, overall) in pairs(curves) {
        for (position, rule) in context.study.rules.iter().enumerate() {
            let cutoffs = (curve.cutoffs.get(position), overall.cutoffs.get(position));
            if let (Some(own), Some(all)) = cutoffs {
                row(context, curve, (&rule.name, own, all), &mut table)?;
            }
        }
    }
    Ok(table)
}

fn row(
    context: &Context,
    curve: &Curve,
    (rule, own, all): (&str, &Cutoff, &Cutoff),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let study = context.study;
    let sign = study.indices[curve.index].sign() as f64;
    let frame = context.frame_of_index(curve.index);
    let (cohort, group) = (&context.populations[0], &context.groups[curve.group]);
    let sample = values(&context.frames[frame].indices[curve.index], cohort, group);
    let people: u64 = sample.people.iter().map(|&n| u64::from(n)).sum();
    let mut verdict = Verdict::default();
    verdict.withheld.extend(own.verdict.withheld.iter().chain(&all.verdict.withheld).cloned());
    verdict.withheld.dedup();
    verdict.small_cell(study, people);
    let shown = verdict.shown(study) && own.value.is_finite() && all.value.is_finite();
    let total: f64 = sample.weight.iter().sum();
    let between = |from: f64, to: f64| {
        let weights = sample.value.iter().zip(&sample.weight).filter(|(v, _)| (from..to).contains(v));
        let share = 100.0 * weights.map(|(_, w)| w).sum::<f64>() / total;
        (shown && total > 0.0).then_some(share)
    };
    let row = tabulate::lead(table.row(), context, (frame, curve.index))
        .text("outcome", &*study.outcomes[curve.outcome].row.name)
        .text("rule", rule);
    tabulate::of_group(row, cohort, group)
        .real("cutoff", shown.then_some(own.value * sign))
        .real("overall", shown.then_some(all.value * sign))
        .whole("n", Some(people as i64))
        .real("weighted_n", Some(total))
        .real("newly_beyond", between(own.value, all.value))
        .real("no_longer_beyond", between(all.value, own.value))
        .text("stated", tabulate::TOOL)
        .text("withheld", verdict.reason(study))
        .done()?;
    Ok(())
}
