//! Curves over age and BMI as table rows.

use super::beside::expected_beyond;
use super::context::Context;
use super::curves::{Fitted, Smooth, Task};
use super::percentiles::percent;
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::StatError;
use crate::stats::covariate_roc::CovariateRocBands;
use crate::stats::percentile_curve::PercentileCurves;
use crate::table::{RowBuilder, Table};

/// Leading columns of a row about one curve or bin.
pub fn lead<'t>(row: RowBuilder<'t>, context: &Context, task: &Task) -> RowBuilder<'t> {
    let row = tabulate::lead(row, context, (task.frame, task.index));
    tabulate::of_group(row, &context.populations[0], task.group)
        .text("over", task.over.name())
        .text("stated", tabulate::STUDY)
}

impl Smooth<'_> {
    fn row<'t>(&self, row: RowBuilder<'t>, context: &Context, verdict: &Verdict) -> RowBuilder<'t> {
        lead(row, context, &self.task)
            .text("knots", self.knots_text())
            .text("interval", "replicates_t")
            .whole("n", Some(self.task.people.count() as i64))
            .whole("df", Some(self.df as i64))
            .text("withheld", verdict.reason(context.study))
            .text("notices", verdict.notices(context.study))
    }

    /// Knots with spaces between.
    pub fn knots_text(&self) -> String {
        self.knots.iter().map(|knot| format!("{knot}")).collect::<Vec<_>>().join(" ")
    }

    /// Percentile curves by each method, or why there are none.
    pub fn percentiles(&self) -> Vec<(&'static str, Result<&PercentileCurves, &StatError>)> {
        let regression = match &self.fitted {
            Ok(Fitted::Percentiles(curves)) => Some((QUANTILE_REGRESSION, Ok(curves))),
            Ok(Fitted::Cutoffs(_)) => None,
            Err(why) => Some((QUANTILE_REGRESSION, Err(why))),
        };
        let lms = self.lms.as_ref().map(|lms| (LMS, lms.as_ref().map(|lms| &lms.curves)));
        regression.into_iter().chain(lms).collect()
    }

    /// Remarks few degrees of freedom and failed replicates; true when too many failed for a band.
    fn remark(&self, verdict: &mut Verdict, used: usize, failed: usize) -> bool {
        verdict.few_df(self.df);
        verdict.failed(used, used + failed)
    }
}

pub fn percentiles(context: &Context, all: &[Smooth]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("percentile_curves");
    for smooth in all.iter().filter(|smooth| smooth.task.outcome.is_none()) {
        for (method, fitted) in smooth.percentiles() {
            match fitted {
                Ok(curves) => percentile_rows(context, smooth, (method, curves), &mut table)?,
                Err(why) => {
                    let verdict = Verdict::none(why.to_string());
                    smooth.row(table.row(), context, &verdict).text("method", method).done()?;
                }
            }
        }
    }
    Ok(table)
}

pub const QUANTILE_REGRESSION: &str = "quantile_regression_on_natural_spline";
pub const LMS: &str = "lms_on_natural_spline";
const CUTOFF_METHOD: &str = "location_scale_on_natural_spline_youden";

fn percentile_rows(
    context: &Context,
    smooth: &Smooth,
    (method, curves): (&str, &PercentileCurves),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    for (k, &p) in curves.probabilities.iter().enumerate() {
        let people = smooth.task.people.count();
        let mut verdict = withhold::percentile(context.study, people, expected_beyond(people, p), Ok(()));
        let too_many = smooth.remark(&mut verdict, curves.used, curves.failed);
        let shown = verdict.shown(context.study);
        for (g, &x) in curves.grid.iter().enumerate() {
            let interval = curves.interval[k][g].filter(|_| shown && !too_many);
            smooth
                .row(table.row(), context, &verdict)
                .real("x", Some(x))
                .real("percentile", Some(percent(p)))
                .real("value", shown.then_some(curves.value[k][g]))
                .real("lower", interval.map(|i| i.lower))
                .real("upper", interval.map(|i| i.upper))
                .whole("replicates", Some(curves.used as i64))
                .text("method", method)
                .done()?;
        }
    }
    Ok(())
}

pub fn cutoffs(context: &Context, all: &[Smooth]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("cutoff_curves");
    for smooth in all {
        let Some(outcome) = smooth.task.outcome else { continue };
        let outcome = &*context.study.outcomes[outcome].row.name;
        match &smooth.fitted {
            Ok(Fitted::Cutoffs(curves)) => cutoff_rows(context, smooth, curves, &mut table)?,
            Ok(Fitted::Percentiles(_)) => {}
            Err(why) => {
                let verdict = Verdict::none(why.to_string());
                let row = smooth.row(table.row(), context, &verdict).text("outcome", outcome);
                row.text("method", CUTOFF_METHOD).done()?;
            }
        }
    }
    Ok(table)
}

fn cutoff_rows(
    context: &Context,
    smooth: &Smooth,
    curves: &CovariateRocBands,
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let people = &smooth.task.people;
    let with = people.with();
    let outcome = smooth.task.outcome.map_or("", |o| &*context.study.outcomes[o].row.name);
    for (g, &x) in curves.grid.iter().enumerate() {
        let mut verdict =
            withhold::cutoff(context.study, with, people.count() - with, curves.auc[g].interval);
        let too_many = smooth.remark(&mut verdict, curves.used, curves.failed);
        let shown = verdict.shown(context.study);
        let (cutoff, auc) = (curves.cutoff[g], curves.auc[g]);
        let band = cutoff.interval.filter(|_| shown && !too_many);
        let auc_band = auc.interval.filter(|_| shown && !too_many);
        smooth
            .row(table.row(), context, &verdict)
            .text("outcome", outcome)
            .whole("n_with", Some(with as i64))
            .real("x", Some(x))
            .real("cutoff", shown.then_some(cutoff.value))
            .real("lower", band.map(|i| i.lower))
            .real("upper", band.map(|i| i.upper))
            .real("auc", shown.then_some(auc.value))
            .real("auc_lower", auc_band.map(|i| i.lower))
            .real("auc_upper", auc_band.map(|i| i.upper))
            .real("sensitivity", shown.then_some(curves.sensitivity[g].value))
            .real("specificity", shown.then_some(curves.specificity[g].value))
            .whole("replicates", Some(curves.used as i64))
            .text("method", CUTOFF_METHOD)
            .done()?;
    }
    Ok(())
}
