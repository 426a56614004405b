//! Estimates and verdicts of a claim as rows of its tables.

use super::claim::Question;
use super::claim_estimate::{Behind, Estimate, Unit, people};
use super::claim_form::Form;
use super::claim_judge::{judge, told_ends};
use super::claim_left_out::LeftOutOf;
use super::claim_verdict::{Finding, Judged, Region, for_all};
use super::claim_words::words;
use super::context::{Context, resistance};
use super::{AnalysisError, tabulate, thresholds};
use crate::stats::StatError;
use crate::table::schema::ALL_GROUPS;
use crate::table::{RowBuilder, Table};

pub fn estimate(
    context: &Context,
    question: &Question,
    (estimate, stated, left_out): (&Estimate, &'static str, Option<LeftOutOf>),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let row = about(table.row(), context, question, (estimate.threshold, estimate.of_outcome));
    let left_out = left_out.filter(|_| estimate.measure == "share" && estimate.population == 0);
    of_estimate(row, context, question, estimate)
        .whole("examined", left_out.map(|of| of.examined))
        .whole("left_out", left_out.map(|of| of.left_out))
        .text("stated", stated)
        .done()?;
    Ok(())
}

/// The columns that say which threshold of which index is judged, and against what.
fn about<'t>(
    row: RowBuilder<'t>,
    context: &Context,
    question: &Question,
    (position, of_outcome): (usize, bool),
) -> RowBuilder<'t> {
    let (index, threshold) =
        (&context.study.indices[question.index].row, &context.study.thresholds[position]);
    let outcome = question.outcome.filter(|_| of_outcome);
    let frame = outcome
        .map_or_else(|| context.frame_of_index(question.index), |o| context.frame_of_pair(question.index, o));
    row.text("survey", &*context.tallies.survey)
        .text("frame", context.frame_name(frame))
        .text("index", &*index.name)
        .text("unit", &*index.unit)
        .real("threshold", Some(threshold.value))
        .text("strict", thresholds::strict(threshold))
        .text("side", question.stated[position].side.words())
        .text("outcome", outcome.map_or("", |o| &*context.study.outcomes[o].row.name))
}

/// The columns of the number itself.
fn of_estimate<'t>(
    row: RowBuilder<'t>,
    context: &Context,
    question: &Question,
    estimate: &Estimate,
) -> RowBuilder<'t> {
    let shown = estimate.verdict.shown(context.study);
    let interval = estimate.interval.filter(|_| shown && estimate.value.is_some());
    let population = &context.populations[estimate.population];
    // A study that flags rather than withholds still has no number where there is none.
    let withheld = match estimate.value {
        Some(_) => estimate.verdict.reason(context.study),
        None => estimate.verdict.withheld.join("; "),
    };
    let people = people_behind(context, estimate);
    let stand_for = |percent: Option<f64>| Some(percent? / 100.0 * people?);
    tabulate::of_group(row, population, &context.groups[estimate.group])
        .text("measure", estimate.measure)
        .whole("df", estimate.df.map(|df| df as i64))
        .text("interval", estimate.interval_kind)
        .whole("n", Some(estimate.n as i64))
        .real("value", estimate.value.filter(|_| shown))
        .text("value_unit", unit(context, question, estimate.unit))
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .real("population_number", stand_for(estimate.value.filter(|_| shown)))
        .real("population_lower", stand_for(interval.map(|i| i.lower)))
        .real("population_upper", stand_for(interval.map(|i| i.upper)))
        .text("withheld", withheld)
        .text("notices", estimate.verdict.notices(context.study))
}

/// What the weights of the counted people add up to, where they stand for people.
fn people_behind(context: &Context, estimate: &Estimate) -> Option<f64> {
    let grouping = context.groups[estimate.group].grouping;
    let is_part = grouping.is_some_and(|at| context.study.parts_sources(&context.study.groupings[at]));
    match &estimate.behind {
        Behind::Share(share, _)
            if context.study.weights_are_people()
                && !is_part
                && ["share", "share_beyond"].contains(&estimate.measure) =>
        {
            Some(share.weighted_people)
        }
        _ => None,
    }
}

fn unit<'a>(context: &'a Context, question: &Question, unit: Unit) -> &'a str {
    match unit {
        Unit::Percent => "%",
        Unit::One => "1",
        Unit::Index => &context.study.indices[question.index].row.unit,
    }
}

/// One row for each group, and one for all groups together.
pub fn verdicts(
    context: &Context,
    question: &Question,
    (threshold, form, estimates): (usize, &Form, &[Estimate]),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    if form.needs_outcome() && question.outcome.is_none() {
        return Ok(());
    }
    let region = form.region().unwrap_or_else(|| near(context, question, (threshold, form)));
    let of_claim =
        |e: &&Estimate| e.threshold == threshold && e.population == 0 && e.measure == form.measure();
    let estimates: Vec<&Estimate> = estimates.iter().filter(of_claim).collect();
    let judged: Vec<Judged> = estimates.iter().map(|e| judge(context.study, e, region)).collect();
    let is_group = |e: &Estimate| context.groups[e.group].grouping.is_some();
    let family: Vec<Judged> =
        estimates.iter().zip(&judged).filter(|(e, _)| is_group(e)).map(|(_, j)| *j).collect();
    let (adjusted, all) = for_all(&family, context.study.confidence).map_err(broken(context))?;
    let mut adjusted = adjusted.into_iter();
    let words = words(context, question, (threshold, form, region));
    // Groups of which nothing can be told make no test, and so raise no p value.
    let tested = family.iter().filter(|judged| judged.p.is_some()).count();
    let claim = Claim { context, question, threshold, form, region, words, tested };
    for (estimate, judged) in estimates.iter().zip(&judged) {
        let p_holm = if is_group(estimate) { adjusted.next().flatten() } else { None };
        let row = claim.row(table.row(), judged.finding);
        let mut row = of_estimate(row, context, question, estimate).real("p", judged.p);
        if let Some([lower, upper]) = told_ends(context.study, estimate, (region, judged.finding)) {
            row = row.real("lower", lower).real("upper", upper);
        }
        row.real("p_holm", p_holm).done()?;
    }
    if !family.is_empty() {
        let row = claim
            .row(table.row(), all)
            .text("population", &*context.populations[0].name)
            .text("grouping", ALL_GROUPS)
            .text("group", ALL_GROUPS);
        row.text("measure", form.measure())
            .text("value_unit", estimates.first().map_or("", |e| unit(context, question, e.unit)))
            .text(
                "notices",
                if all == Finding::Undecided {
                    out_of_reach(context, &estimates, tested)
                } else {
                    String::new()
                },
            )
            .done()?;
    }
    Ok(())
}

/// Values so near the threshold that few of everybody lie between.
fn near(context: &Context, question: &Question, (position, form): (usize, &Form)) -> Region {
    let Form::BestCutoff { within } = form else {
        return Region { from: f64::NEG_INFINITY, to: f64::INFINITY };
    };
    let threshold = &context.study.thresholds[position];
    let index = &context.study.indices[question.index];
    let everybody = people(context, question, (0, 0));
    let (from, to) = thresholds::near(&everybody, resistance(threshold.value, index), within / 100.0);
    let sign = index.sign() as f64;
    Region { from: (sign * from).min(sign * to), to: (sign * from).max(sign * to) }
}

fn broken(context: &Context) -> impl Fn(StatError) -> AnalysisError {
    let frame = context.frame_name(0);
    move |cause| AnalysisError::Design { frame, cause }
}

/// Says when so few replicates cannot decide for so many groups.
fn out_of_reach(context: &Context, estimates: &[&Estimate], family: usize) -> String {
    let smallest = estimates.iter().map(|e| e.behind.smallest_p()).fold(0.0, f64::max);
    let alpha = 1.0 - context.study.confidence;
    if smallest * family as f64 <= alpha {
        return String::new();
    }
    format!(
        "too few replicates to decide for {family} groups at once: a run with more than {} could",
        (2.0 * family as f64 / alpha).ceil()
    )
}

/// A claim under test.
struct Claim<'a> {
    context: &'a Context<'a>,
    question: &'a Question,
    threshold: usize,
    form: &'a Form,
    region: Region,
    words: String,
    tested: usize,
}

impl Claim<'_> {
    fn row<'t>(&self, row: RowBuilder<'t>, finding: Finding) -> RowBuilder<'t> {
        let finite = |end: f64| Some(end).filter(|end| end.is_finite());
        about(row, self.context, self.question, (self.threshold, self.form.needs_outcome()))
            .text("claim", &*self.words)
            .real("claimed_from", finite(self.region.from))
            .real("claimed_to", finite(self.region.to))
            .text("relation", self.form.relation())
            .text("verdict", finding.words())
            .whole("family", Some(self.tested as i64))
    }
}
