//! Youden cutoffs of groups compared on equal terms: as they are, and after adjusting.

use rayon::prelude::*;

use super::context::{Context, FrameContext};
use super::roc::{logit_interval, oriented};
use super::standard_cells::{Adjustment, Comparison, Member, Task, compare};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::Interval;
use crate::stats::replicate_interval::Centre;
use crate::stats::roc;
use crate::stats::rule::{self, Rule};
use crate::stats::scan::{self, Scan};
use crate::stats::standardize::{Standardised, standardised};
use crate::stats::{Sample, StatError};
use crate::study::Stated;
use crate::table::{RowBuilder, Table};

/// What a reader must know of a comparison adjusted for body size.
const MEDIATOR: &str = "BMI may be part of how a group comes by its values (a possible mediator): what adjusting \
                        for it takes away is not thereby explained away";

/// A comparison with the cutoffs of its groups.
#[derive(Debug, Clone)]
pub struct Compared {
    pub task: Task,
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

/// Every comparison that the study asks for.
#[must_use]
pub fn all(context: &Context) -> Vec<Compared> {
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
        let of_member = |member: &Member| {
            let cutoff = |adjustment| cutoff(context, (task, &comparison), member, adjustment);
            comparison.adjustments.iter().map(cutoff).collect()
        };
        let cutoffs = comparison.members.par_iter().map(of_member).collect();
        Compared { task, comparison, cutoffs }
    };
    tasks.par_iter().map(one).collect()
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

fn cutoff(
    context: &Context,
    (task, comparison): (Task, &Comparison),
    member: &Member,
    adjustment: &Adjustment,
) -> Estimate {
    let frame = &context.frames[task.frame(context)];
    let people = &member.people;
    let df_of =
        |class: bool| frame.design.degrees_of_freedom(&people.sample, &|row| people.class[row] == class);
    let mut estimate = Estimate {
        value: None,
        interval: None,
        replicates: vec![f64::NAN; frame.replicates.count],
        auc: None,
        df: df_of(true).min(df_of(false)),
        used: 0,
        verdict: Verdict::default(),
    };
    if withhold::enough_for_cutoff(people.with, people.without) {
        match adjusted(frame, member, adjustment) {
            Ok(None) => {
                let scan = scan::scan(&people.sample, &people.class, &[Rule::Youden], &frame.replicates);
                fill(&mut estimate, context, (frame, member), (&people.sample, &scan));
            }
            Ok(Some(standard)) => {
                let scan = standard.scan(&people.class, &[Rule::Youden]);
                fill(&mut estimate, context, (frame, member), (&standard.sample, &scan));
            }
            Err(why) => estimate.verdict.withheld.push(why.to_string()),
        }
    } else {
        estimate.verdict = withhold::cutoff(context.study, people.with, people.without, None);
    }
    estimate.verdict.withheld.extend(comparison.refused.clone());
    estimate
}

/// Cutoff, area and intervals of one weighted sample.
fn fill(
    estimate: &mut Estimate,
    context: &Context,
    (frame, member): (&FrameContext, &Member),
    (sample, scan): (&Sample, &Scan),
) {
    let (study, people) = (context.study, &member.people);
    estimate.auc = roc::auc(sample, &people.class).ok();
    let inside = estimate.auc.filter(|a| *a > 0.0 && *a < 1.0 && estimate.df >= 1.0);
    let auc_interval = inside.and_then(|auc| logit_interval(context, frame, &scan.auc, (auc, estimate.df)));
    let mut verdict = withhold::cutoff(study, people.with, people.without, auc_interval);
    if let Ok(points) = roc::curve(sample, &people.class) {
        let prevalence = roc::prevalence(sample, &people.class);
        let chosen = rule::choose(&points, Rule::Youden, prevalence);
        estimate.value = chosen.map(|chosen| points[chosen].cutoff);
    }
    let value_of = |&row: &u32| sample.value.get(row as usize).copied().unwrap_or(f64::NAN);
    estimate.replicates = scan.rules[0].row.iter().map(value_of).collect();
    estimate.used = estimate.replicates.iter().filter(|v| v.is_finite()).count();
    verdict.jumps(&frame.replicates);
    if !verdict.failed(estimate.used, estimate.replicates.len()) {
        let full = estimate.value.unwrap_or(f64::NAN);
        let centre = Centre { full, df: estimate.df, confidence: study.confidence };
        estimate.interval = frame.replicates.interval_of_jumps(&estimate.replicates, centre).ok();
    }
    verdict.few_df(estimate.df);
    estimate.verdict = verdict;
}

/// A row for every group and adjustment.
pub fn table(context: &Context, all: &[Compared]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("standardised_cutoffs");
    for compared in all {
        let members = compared.comparison.members.iter().zip(&compared.cutoffs);
        for (member, estimates) in members {
            for (adjustment, estimate) in compared.comparison.adjustments.iter().zip(estimates) {
                let row =
                    of_comparison(table.row(), context, (compared.task, &compared.comparison), adjustment);
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
        .text("rule", "youden")
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
