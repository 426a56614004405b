//! Youden cutoffs of groups, smoothed and empirical, compared on equal terms: as they are, and after adjusting.

use rayon::prelude::*;

use super::context::{Context, FrameContext};
use super::roc::{oriented, with_logit};
use super::select::Classed;
use super::standard_cells::{Adjustment, Comparison, Member, Task, compare};
use super::withhold::{self, Verdict};
use super::{AnalysisError, heterogeneity, smoothed, tabulate};
use crate::stats::replicate_interval::Centre;
use crate::stats::roc;
use crate::stats::rule::{self, Rule};
use crate::stats::scale::Scale;
use crate::stats::scan;
use crate::stats::smooth::{smoothed_replicates, smoothed_youden};
use crate::stats::standardize::{Standardised, standardised};
use crate::stats::{Interval, Replicates, Sample, StatError};
use crate::study::Stated;
use crate::table::{RowBuilder, Table};

/// What a reader must know of a comparison adjusted for body size.
const MEDIATOR: &str = "BMI may be part of how a group comes by its values (a possible mediator): what adjusting \
                        for it takes away is not thereby explained away";

/// A comparison with the cutoffs of its groups by one method.
#[derive(Debug, Clone)]
pub struct GroupsCompared {
    pub task: Task,
    pub method: &'static str,
    pub comparison: Comparison,
    /// `cutoffs[member][adjustment]`.
    pub cutoffs: Vec<Vec<Estimate>>,
}

/// A cutoff in resistance order with its replicates.
#[derive(Debug, Clone)]
pub struct Estimate {
    pub value: Option<f64>,
    pub interval: Option<Interval>,
    /// `NaN` where a replicate failed.
    pub replicates: Vec<f64>,
    pub auc: Option<f64>,
    pub df: f64,
    pub used: usize,
    pub verdict: Verdict,
}

/// The methods, the one that leads first: the empirical maximum is an observed value and stays where it is until
/// another value beats it, so that a change of weights may not show.
const METHODS: [&str; 2] = [smoothed::METHOD, heterogeneity::EMPIRICAL];

/// Every comparison that the study asks for, by each method.
#[must_use]
pub fn all(context: &Context) -> Vec<GroupsCompared> {
    let Some(standardisation) = &context.study.standardisation else { return Vec::new() };
    let outcomes = context.study.outcomes.len();
    let tasks: Vec<Task> = (0..context.study.indices.len())
        .flat_map(|index| (0..outcomes).map(move |outcome| (index, Some(outcome))))
        .flat_map(|(index, outcome)| {
            standardisation.of.iter().map(move |&grouping| Task { index, outcome, grouping })
        })
        .collect();
    let one = |&task: &Task| {
        let comparison = compare(context, standardisation, task);
        let of_member = |member: &Member| -> Vec<[Estimate; 2]> {
            let cutoffs = |adjustment| cutoffs(context, (task, &comparison), member, adjustment);
            comparison.adjustments.iter().map(cutoffs).collect()
        };
        let cutoffs: Vec<Vec<[Estimate; 2]>> = comparison.members.par_iter().map(of_member).collect();
        [0, 1].map(|method| {
            let of_method = |member: &Vec<[Estimate; 2]>| member.iter().map(|e| e[method].clone()).collect();
            let cutoffs = cutoffs.iter().map(of_method).collect();
            GroupsCompared { task, method: METHODS[method], comparison: comparison.clone(), cutoffs }
        })
    };
    tasks.par_iter().flat_map_iter(one).collect()
}

/// The sample of a member on the weights of an adjustment, with replicates that are adjusted anew.
pub fn adjusted(
    frame: &FrameContext,
    member: &Member,
    adjustment: &Adjustment,
) -> Result<Option<Standardised>, StatError> {
    let Some((coarse, shares)) = &adjustment.cells else { return Ok(None) };
    let cell: Vec<usize> = member.cell.iter().map(|&c| coarse[c]).collect();
    standardised(&member.people.sample, &cell, shares, &frame.replicates).map(Some)
}

/// The smoothed and the empirical cutoff of a member under one adjustment.
fn cutoffs(
    context: &Context,
    (task, comparison): (Task, &Comparison),
    member: &Member,
    adjustment: &Adjustment,
) -> [Estimate; 2] {
    let frame = &context.frames[task.frame(context)];
    let people = &member.people;
    let scale = smoothed::scale(context, (task.index, task.frame(context)));
    let df_of =
        |class: bool| frame.design.degrees_of_freedom(&people.sample, &|row| people.class[row] == class);
    let nothing = Estimate {
        value: None,
        interval: None,
        replicates: vec![f64::NAN; frame.replicates.count],
        auc: None,
        df: df_of(true).min(df_of(false)),
        used: 0,
        verdict: Verdict::default(),
    };
    let mut estimates = if withhold::enough_for_cutoff(people.with, people.without) {
        match adjusted(frame, member, adjustment) {
            Ok(None) => both(context, people, scale, (&people.sample, &frame.replicates, nothing)),
            Ok(Some(s)) => both(context, people, scale, (&s.sample, &s.replicates, nothing)),
            Err(why) => {
                [0, 1].map(|_| Estimate { verdict: Verdict::none(why.to_string()), ..nothing.clone() })
            }
        }
    } else {
        let verdict = withhold::cutoff(context.study, people.with, people.without, None);
        [0, 1].map(|_| Estimate { verdict: verdict.clone(), ..nothing.clone() })
    };
    for estimate in &mut estimates {
        estimate.verdict.withheld.extend(comparison.refused.clone());
    }
    estimates
}

/// Cutoffs, area and intervals of one weighted sample.
fn both(
    context: &Context,
    people: &Classed,
    scale: Scale,
    (sample, replicates, nothing): (&Sample, &Replicates, Estimate),
) -> [Estimate; 2] {
    let study = context.study;
    let scan = scan::scan(sample, &people.class, &[Rule::Youden], replicates);
    let auc = roc::auc(sample, &people.class).ok();
    // Whether the index separates is judged by the replicates in which no cell of the standard is empty, however few: that
    // too many are lost withholds the cutoff's interval, and is said there.
    let around = |full: f64| Centre { full, df: nothing.df, confidence: study.confidence };
    let inside = auc.filter(|_| with_logit(&scan.auc) > 1 && nothing.df >= 1.0);
    let auc_interval = inside.and_then(|auc| replicates.interval_on_logit(&scan.auc, around(auc)).ok());
    let verdict = withhold::cutoff(study, people.with, people.without, auc_interval);
    let start = Estimate { auc, verdict, ..nothing };
    let value_of = |&row: &u32| sample.value.get(row as usize).copied().unwrap_or(f64::NAN);
    let observed = (best_observed(sample, &people.class), scan.rules[0].row.iter().map(value_of).collect());
    let empirical = fill(context, METHODS[1], (start.clone(), replicates), observed);
    let smoothed = match smooth_cutoffs(sample, &people.class, (scale, replicates)) {
        Ok(found) => fill(context, METHODS[0], (start, replicates), found),
        Err(why) => {
            let mut estimate = start;
            estimate.verdict.cannot(why.to_string());
            estimate
        }
    };
    [smoothed, empirical]
}

fn best_observed(sample: &Sample, class: &[bool]) -> Option<f64> {
    let points = roc::curve(sample, class).ok()?;
    let chosen = rule::choose(&points, Rule::Youden, roc::prevalence(sample, class))?;
    Some(points[chosen].cutoff)
}

/// The smoothed cutoff in the sample and in each replicate, smoothed on a scale.
fn smooth_cutoffs(
    sample: &Sample,
    class: &[bool],
    (scale, replicates): (Scale, &Replicates),
) -> Result<(Option<f64>, Vec<f64>), StatError> {
    let scaled = scale.apply(sample);
    let full = smoothed_youden(&scaled, class)?.cutoff;
    let each = smoothed_replicates(&scaled, class, replicates)?;
    Ok((Some(scale.back(full)), each.into_iter().map(|c| scale.back(c)).collect()))
}

/// A cutoff with its interval from the replicates.
fn fill(
    context: &Context,
    method: &str,
    (start, design): (Estimate, &Replicates),
    (value, replicates): (Option<f64>, Vec<f64>),
) -> Estimate {
    let used = replicates.iter().filter(|v| v.is_finite()).count();
    let mut estimate = Estimate { value, used, ..start };
    let full = value.unwrap_or(f64::NAN);
    let centre = Centre { full, df: estimate.df, confidence: context.study.confidence };
    let jumps = method == heterogeneity::EMPIRICAL;
    if jumps {
        estimate.verdict.jumps(design);
    }
    if !estimate.verdict.failed(used, replicates.len()) {
        let interval = if jumps {
            design.interval_of_jumps(&replicates, centre)
        } else {
            design.interval(&replicates, centre)
        };
        estimate.interval = interval.ok();
    }
    estimate.verdict.few_df(estimate.df);
    Estimate { replicates, ..estimate }
}

/// A row for every group and adjustment.
pub fn table(context: &Context, all: &[GroupsCompared]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("standardised_cutoffs");
    for compared in all {
        let members = compared.comparison.members.iter().zip(&compared.cutoffs);
        for (member, estimates) in members {
            for (adjustment, estimate) in compared.comparison.adjustments.iter().zip(estimates) {
                let row =
                    of_comparison(table.row(), context, (compared.task, &compared.comparison), adjustment);
                let row = row.text("method", compared.method);
                cutoff_row(row, context, (compared.task, member), (adjustment, estimate))?;
            }
        }
    }
    Ok(table)
}

fn cutoff_row(
    row: RowBuilder,
    context: &Context,
    (task, member): (Task, &Member),
    (adjustment, estimate): (&Adjustment, &Estimate),
) -> Result<(), AnalysisError> {
    let study = context.study;
    let sign = study.indices[task.index].sign() as f64;
    let shown = estimate.verdict.shown(study);
    let interval = estimate.interval.filter(|_| shown).map(|i| oriented(i, sign));
    let people = &member.people;
    tabulate::of_group(row, &context.populations[0], &context.groups[member.group])
        .whole("n", Some((people.with + people.without) as i64))
        .whole("n_with", Some(people.with as i64))
        .whole("n_without", Some(people.without as i64))
        .whole("df", Some(estimate.df as i64))
        .real("cutoff", estimate.value.filter(|_| shown).map(|c| c * sign))
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .text("interval", context.frames[task.frame(context)].replicates.interval_kind())
        .real("auc", estimate.auc.filter(|_| shown))
        .whole("replicates", Some(estimate.used as i64))
        .text("withheld", estimate.verdict.reason(study))
        .text("notices", notices(adjustment, &estimate.verdict.notices(study)))
        .done()?;
    Ok(())
}

/// The columns that say what is compared, on which terms, and who asked.
pub fn of_comparison<'t>(
    row: RowBuilder<'t>,
    context: &Context,
    (task, comparison): (Task, &Comparison),
    adjustment: &Adjustment,
) -> RowBuilder<'t> {
    let stated = context.study.standardisation.as_ref().map_or(Stated::Tool, |s| s.stated);
    let row = tabulate::lead(row, context, (task.frame(context), task.index))
        .text("adjustment", &*adjustment.name)
        .text("adjusted_for", &*adjustment.words)
        .text("standard", &*adjustment.standard)
        .real("lost_share", Some(100.0 * comparison.lost))
        .text("stated", if stated == Stated::Study { tabulate::STUDY } else { tabulate::TOOL });
    match task.outcome {
        Some(outcome) => row.text("outcome", &*context.study.outcomes[outcome].row.name),
        None => row,
    }
}

/// Remarks of a row, with the one on body size where it belongs.
pub fn notices(adjustment: &Adjustment, own: &str) -> String {
    let mediator = if adjustment.body_size { MEDIATOR } else { "" };
    [own, mediator].into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>().join("; ")
}
