//! A threshold that a sentence states, in every group: what is known about it, and whether claims about it hold.

use super::claim_estimate::{self, Estimate, people};
use super::context::Context;
use super::groups::Group;
use super::select::values;
use super::thresholds::first_beyond;
use super::{AnalysisError, claim_doubt, claim_left_out, claim_private, claim_rows, tabulate};
use crate::study::{Study, StudyIndex};
use crate::table::Table;
use crate::table::schema::ONE_SIDED;
use crate::tally::Tallies;

pub use super::claim_doubt::Doubt;
pub use super::claim_form::{Bound, Form, Side, Stated};
pub use super::claim_left_out::LeftOut;
pub use super::claim_parse::FormError;
pub use super::claim_verdict::{Finding, Judged, Region, for_all, p_value};

/// One index, its stated thresholds, and what is claimed of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Position in the study's indices.
    pub index: usize,
    pub stated: Vec<Stated>,
    /// Of each threshold whether it is said to be in the index's own form and unit; of those beyond the end it is not.
    pub meant: Vec<bool>,
    /// Position in the study's outcomes, when the sentence means one.
    pub outcome: Option<usize>,
    /// Positions in the study's groupings.
    pub groupings: Vec<usize>,
    /// Single groups of some of these groupings, which are then asked alone: the grouping's position and the group's name.
    pub only: Vec<(usize, String)>,
    pub forms: Vec<Form>,
}

impl Question {
    /// Whether a threshold is said to be in the index's own form and unit.
    pub(super) fn is_meant(&self, threshold: usize) -> bool {
        self.meant.get(threshold).is_some_and(|meant| *meant)
    }

    /// Whether a claim is put to a threshold: one about a side of its own only to those on that side, where there are such.
    fn puts(&self, form: &Form, threshold: usize, index: &StudyIndex) -> bool {
        let is_about = |stated: &Stated| form.side(stated, index) == stated.side;
        is_about(&self.stated[threshold]) || !self.stated.iter().any(is_about)
    }

    /// Whether everybody or a group is asked.
    fn asks(&self, group: &Group) -> bool {
        let of = |grouping: usize| {
            let mut only = self.only.iter().filter(|(of, _)| *of == grouping).peekable();
            only.peek().is_none() || only.any(|(_, name)| *name == group.name)
        };
        group.grouping.is_none_or(of)
    }
}

/// What can be said about the thresholds.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Estimates by group, then verdicts by group and for all groups: see the table `claim`.
    pub table: Table,
    /// Lowest and highest value of the cohort, unless its people may not be shown.
    pub range: Option<(f64, f64)>,
    /// Whether every value of the cohort is above 0, as a ratio or a concentration is.
    pub all_positive: bool,
    /// How many people the study's exclusions leave out, when it may be shown.
    pub left_out: Option<LeftOut>,
    /// Of each exclusion of the study whether it leaves people out, in order; of those whose count may not be shown it is
    /// taken to.
    pub leaves: Vec<bool>,
    /// Thresholds that get no verdict, because they may be meant in another form or unit.
    pub doubts: Vec<Doubt>,
}

/// Estimates and verdicts of a question, as a run with these thresholds in its study would give them, but that a share is
/// withheld as soon as the share on the other side is: a sentence and the same sentence turned round get one answer. Beyond all
/// values nothing is estimated; a claim about a share of people is judged only where the threshold is said to be meant as it
/// stands: it is 0 or 100 %, with an exact interval.
pub fn answer(study: &Study, tallies: &Tallies, question: &Question) -> Result<Answer, AnalysisError> {
    let index = &study.indices[question.index];
    let asked = Study {
        thresholds: question.stated.iter().map(|s| s.threshold(question.index, index)).collect(),
        rules: study.rules.iter().take(1).cloned().collect(),
        ..study.clone()
    };
    let mut context = Context::new(&asked, tallies)?;
    context.groups.retain(|g| g.grouping.is_none_or(|grouping| question.groupings.contains(&grouping)));
    let mut estimates = claim_estimate::all(&context, question);
    let one_sided: Vec<bool> = (0..question.stated.len()).map(|t| !divides(&context, question, t)).collect();
    let mut nobody_or_all = claim_estimate::shares_of(&estimates, &one_sided);
    nobody_or_all.retain(|estimate| question.asks(&context.groups[estimate.group]));
    // Where people may not be shown in small counts, nobody on one side is withheld as a few are.
    let tells = |estimate: &&mut Estimate| study.public && one_sided[estimate.threshold];
    for estimate in estimates.iter_mut().filter(tells) {
        estimate.withhold(ONE_SIDED);
    }
    let mut table = tabulate::empty("claim");
    add_estimates(study, (&context, question), &estimates, &mut table)?;
    claim_private::leave_out(&context, &mut table, &mut estimates)?;
    keep_asked(&context, question, (&mut table, &mut estimates));
    let estimated = table.rows.len();
    let (low, high) = ends(&context, question.index).unwrap_or((0.0, 0.0));
    let range = (context.study.public && high > low).then_some((low, high));
    let doubts = claim_doubt::doubts((study, &context), question, range);
    let estimates = claim_doubt::without_doubted(&estimates, &doubts);
    for (threshold, one_sided) in one_sided.iter().enumerate() {
        for form in question.forms.iter().filter(|form| question.puts(form, threshold, index)) {
            let by_share = *one_sided && form.is_share() && study.fewest_shown().is_none();
            let judged = if by_share && doubts[threshold].is_none() { &nobody_or_all } else { &estimates };
            claim_rows::verdicts(&context, question, (threshold, form, judged), &mut table)?;
        }
    }
    claim_private::count_as_estimated(study, &mut table, estimated);
    let (left_out, leaves) = claim_left_out::left_out(study, tallies, question.index)?;
    let doubts = doubts.into_iter().flatten().collect();
    Ok(Answer { table, range, all_positive: low > 0.0, left_out, leaves, doubts })
}

/// One row for each estimate.
fn add_estimates(
    study: &Study,
    (context, question): (&Context, &Question),
    estimates: &[Estimate],
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let left_out_of = claim_left_out::of_groups(context, question);
    for estimate in estimates {
        let stated = stated_by(study, context.study, estimate);
        let left_out = left_out_of.get(estimate.group).copied();
        claim_rows::estimate(context, question, (estimate, stated, left_out), table)?;
    }
    Ok(())
}

/// A grouping of which single groups are asked is estimated as a whole, so that small counts are left out of it as ever; then
/// those groups are kept alone.
fn keep_asked(context: &Context, question: &Question, (table, estimates): (&mut Table, &mut Vec<Estimate>)) {
    let keep: Vec<bool> = estimates.iter().map(|e| question.asks(&context.groups[e.group])).collect();
    let mut of_rows = keep.iter();
    table.rows.retain(|_| of_rows.next() == Some(&true));
    let mut of_estimates = keep.iter();
    estimates.retain(|_| of_estimates.next() == Some(&true));
}

/// Whether the cohort has people on both sides of a threshold; beyond all values there is nothing to estimate.
fn divides(context: &Context, question: &Question, threshold: usize) -> bool {
    let everybody = people(context, question, (0, 0));
    let first = first_beyond(context, &context.study.thresholds[threshold], &everybody);
    everybody.is_empty() || (1..everybody.len()).contains(&first)
}

/// Whether the run's own study judged this threshold, or it was asked afterwards.
fn stated_by(study: &Study, asked: &Study, estimate: &Estimate) -> &'static str {
    let threshold = &asked.thresholds[estimate.threshold];
    let same = |t: &crate::study::Threshold| {
        (t.index, t.value, t.strict) == (threshold.index, threshold.value, threshold.strict)
    };
    if study.thresholds.iter().any(same) { tabulate::STUDY } else { tabulate::TOOL }
}

/// Lowest and highest value of the cohort.
fn ends(context: &Context, index: usize) -> Option<(f64, f64)> {
    let ordered = &context.frames[context.frame_of_index(index)].indices[index];
    let sample = values(ordered, &context.populations[0], &context.groups[0]);
    let sign = context.study.indices[index].sign() as f64;
    let (first, last) = (sample.value.first()? * sign, sample.value.last()? * sign);
    Some((first.min(last), first.max(last)))
}
