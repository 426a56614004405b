//! Result structs as table rows.

use super::AnalysisError;
use super::accuracy::Measure;
use super::context::Context;
use super::groups::{Group, Population};
use super::roc::{Curve, Cutoff, oriented};
use crate::cohort::FlowStep;
use crate::table::{RowBuilder, Table, schema};

/// Asked for in the study file.
pub const STUDY: &str = "study";
/// Added by the program.
pub const TOOL: &str = "tool";

/// A table of the schema, without rows.
pub fn empty(name: &str) -> Table {
    Table::new(schema::shape(name).expect("analysis names tables of the schema only"))
}

/// The leading columns: survey, frame, index and unit.
pub fn lead<'t>(row: RowBuilder<'t>, context: &Context, (frame, index): (usize, usize)) -> RowBuilder<'t> {
    let index = &context.study.indices[index].row;
    row.text("survey", &*context.tallies.survey)
        .text("frame", context.frame_name(frame))
        .text("index", &*index.name)
        .text("unit", &*index.unit)
}

/// The columns that say for whom.
pub fn of_group<'t>(row: RowBuilder<'t>, population: &Population, group: &Group) -> RowBuilder<'t> {
    row.text("population", &*population.name)
        .text("grouping", &*group.grouping_name)
        .text("group", &*group.name)
}

pub fn flow(steps: &[FlowStep]) -> Result<Table, AnalysisError> {
    let mut table = empty("participant_flow");
    for (order, step) in steps.iter().enumerate() {
        table
            .row()
            .text("source", &*step.source)
            .whole("order", Some(order as i64 + 1))
            .text("step", &*step.step)
            .whole("people", Some(step.people as i64))
            .whole("left_out", Some(step.left_out as i64))
            .done()?;
    }
    Ok(table)
}

/// Leading columns of a row about one curve.
fn of_curve<'t>(row: RowBuilder<'t>, context: &Context, curve: &Curve) -> RowBuilder<'t> {
    let frame = context.frame_of_pair(curve.index, curve.outcome);
    let row = lead(row, context, (frame, curve.index))
        .text("outcome", &*context.study.outcomes[curve.outcome].row.name);
    of_group(row, &context.populations[0], &context.groups[curve.group])
}

fn counts<'t>(row: RowBuilder<'t>, curve: &Curve) -> RowBuilder<'t> {
    row.whole("n", Some((curve.with + curve.without) as i64))
        .whole("n_with", Some(curve.with as i64))
        .whole("n_without", Some(curve.without as i64))
        .real("weighted_n", Some(curve.weighted))
        .whole("df", Some(curve.df as i64))
}

pub fn auc(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let mut table = empty("auc");
    for curve in curves {
        let verdict = &curve.auc_verdict;
        let shown = curve.auc.as_ref().filter(|_| verdict.shown(context.study));
        counts(of_curve(table.row(), context, curve), curve)
            .whole("n_unknown", Some(curve.unknown as i64))
            .real("auc", shown.map(|a| a.value))
            .real("lower", shown.and_then(|a| a.interval).map(|i| i.lower))
            .real("upper", shown.and_then(|a| a.interval).map(|i| i.upper))
            .real("standard_error", shown.and_then(|a| a.standard_error))
            .text("method", "weighted_mann_whitney")
            .text("interval", context.area_interval(context.frame_of_pair(curve.index, curve.outcome)))
            .whole("replicates", curve.auc.as_ref().and_then(|a| a.used).map(|used| used as i64))
            .text("stated", STUDY)
            .text("withheld", verdict.reason(context.study))
            .text("notices", verdict.notices(context.study))
            .done()?;
    }
    Ok(table)
}

pub fn cutoffs(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let mut table = empty("cutoffs");
    for curve in curves {
        for (rule, cutoff) in context.study.rules.iter().zip(&curve.cutoffs) {
            let row = counts(of_curve(table.row(), context, curve), curve).text("rule", &*rule.name);
            cutoff_row(row, context, curve, cutoff)?;
        }
    }
    Ok(table)
}

fn cutoff_row(
    row: RowBuilder,
    context: &Context,
    curve: &Curve,
    cutoff: &Cutoff,
) -> Result<(), AnalysisError> {
    let sign = context.study.indices[curve.index].sign() as f64;
    let frame = context.frame_of_pair(curve.index, curve.outcome);
    let shown = Some(cutoff).filter(|c| c.verdict.shown(context.study) && c.value.is_finite());
    let interval = shown.and_then(|c| c.interval).map(|i| oriented(i, sign));
    let interval_t = shown.and_then(|c| c.interval_t).map(|i| oriented(i, sign));
    row.real("cutoff", shown.map(|c| c.value * sign))
        .real("midpoint", shown.map(|c| c.midpoint * sign))
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .text("interval", context.frames[frame].replicates.interval_kind())
        .real("lower_t", interval_t.map(|i| i.lower))
        .real("upper_t", interval_t.map(|i| i.upper))
        .real("youden", shown.map(|c| c.youden))
        .real("optimism", shown.and_then(|c| c.optimism))
        .real("flat_from", shown.and_then(|c| c.flat).map(|f| f.0 * sign))
        .real("flat_to", shown.and_then(|c| c.flat).map(|f| f.1 * sign))
        .whole("replicates", Some(cutoff.used as i64))
        .text("stated", STUDY)
        .text("withheld", cutoff.verdict.reason(context.study))
        .text("notices", cutoff.verdict.notices(context.study))
        .done()?;
    Ok(())
}

pub fn cutoff_accuracy(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let mut table = empty("cutoff_accuracy");
    for curve in curves {
        let sign = context.study.indices[curve.index].sign() as f64;
        for (rule, cutoff) in context.study.rules.iter().zip(&curve.cutoffs) {
            if !cutoff.verdict.shown(context.study) {
                continue;
            }
            for measure in &cutoff.measures {
                let row = of_curve(table.row(), context, curve)
                    .text("rule", &*rule.name)
                    .real("cutoff", Some(cutoff.value * sign))
                    .text("cutoff_uncertainty", measure.cutoff_uncertainty);
                of_measure(row, context, measure)
                    .text("stated", STUDY)
                    .text("notices", measure.verdict.notices(context.study))
                    .done()?;
            }
        }
    }
    Ok(table)
}

/// The columns of a measure of accuracy.
pub fn of_measure<'t>(row: RowBuilder<'t>, context: &Context, measure: &Measure) -> RowBuilder<'t> {
    let shown = measure.verdict.shown(context.study);
    row.text("measure", measure.name)
        .whole("n", Some(measure.people as i64))
        .whole("df", Some(measure.df as i64))
        .real("value", measure.value.filter(|_| shown))
        .real("lower", measure.interval.filter(|_| shown).map(|i| i.lower))
        .real("upper", measure.interval.filter(|_| shown).map(|i| i.upper))
        .text("interval", measure.interval_kind)
        .text("withheld", measure.verdict.reason(context.study))
}
