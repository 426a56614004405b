//! Cutoffs in print laid over a run: where each sits among its people, and what it does there.

use rayon::prelude::*;

use super::context::Context;
use super::few_between::{self, Tails};
use super::groups::EVERYBODY;
use super::percentiles::percent;
use super::published_derived::{Derived, derived};
use super::published_marks::{Mark, marks};
use super::published_people::people_of;
use super::roc::Curve;
use super::select::{classed, values};
use super::threshold_grid::{self, Judged, SENSITIVITY, SPECIFICITY, of_share};
use super::thresholds::{first_beyond, percentile_of, strict};
use super::{AnalysisError, tabulate};
use crate::definitions::overlay::{Form, Laid};
use crate::stats::moving_share::shares_between;
use crate::stats::{Design, Sample};
use crate::study::Source;
use crate::table::{RowBuilder, Table, small};

/// What `matches` says.
const MATCHES: &str = "matches";
const OTHER_GROUP: &str = "other group";
const FORM_DIFFERS: &str = "form differs";

/// What a cutoff does in one group.
struct Numbers {
    beyond: Judged,
    percentile: Option<f64>,
    sensitivity: Judged,
    specificity: Judged,
}

/// One row for each cutoff in print and group; a cutoff of another form gets one row that says so.
pub fn table(context: &Context, curves: &[Curve]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("published_cutoffs");
    for index in 0..context.study.indices.len() {
        let (marks, warnings) = marks(context, index);
        let asked = |&group: &usize| marks.iter().any(|mark| wanted(context, group, mark));
        let groups: Vec<usize> = (0..context.groups.len()).filter(asked).collect();
        let numbers: Vec<Vec<(Numbers, Derived)>> =
            groups.par_iter().map(|&group| of_group(context, &marks, (index, group), curves)).collect();
        for (at, mark) in marks.iter().enumerate() {
            for (&group, of_group) in groups.iter().zip(&numbers) {
                if wanted(context, group, mark) {
                    row(context, mark, (group, &of_group[at]), &mut table)?;
                }
            }
        }
        for warning in warnings {
            warning_row(context, index, &warning, &mut table)?;
        }
    }
    Ok(table)
}

/// Everybody and the groups of single variables get a row each; of crossings only those the cutoff is for.
fn wanted(context: &Context, group: usize, mark: &Mark) -> bool {
    context.groups[group].is_single() || matches(context, group, &mark.laid) == MATCHES
}

fn matches(context: &Context, group: usize, laid: &Laid) -> &'static str {
    let people = people_of(context, &context.groups[group]);
    // A stage of life is known of no group.
    let fits = laid.row.stage.is_none() && people.is_some_and(|people| laid.row.matches(&people));
    if fits { MATCHES } else { OTHER_GROUP }
}

/// The numbers of all cutoffs in one group; marks ascend in the order of resistance.
fn of_group(
    context: &Context,
    marks: &[Mark],
    (index, group): (usize, usize),
    curves: &[Curve],
) -> Vec<(Numbers, Derived)> {
    let frame = &context.frames[context.frame_of_index(index)];
    let sample = values(&frame.indices[index], &context.populations[0], &context.groups[group]);
    let mut beyond = shares(context, &frame.design, (&sample, sample.len()), marks.iter());
    space(context, (index, &[&sample]), marks.iter().map(Some), &mut [&mut beyond]);
    let mut numbers: Vec<(Numbers, Derived)> = marks
        .iter()
        .zip(beyond)
        .map(|(mark, beyond)| {
            let sits = percentile_of(context, &mark.threshold, &sample).map(percent);
            let percentile = sits.filter(|_| beyond.value.is_some());
            let own =
                derived(context, (mark.laid.row, mark.threshold.value), (index, mark.outcome, group), curves);
            (Numbers { beyond, percentile, sensitivity: unknown(), specificity: unknown() }, own)
        })
        .collect();
    for outcome in 0..context.study.outcomes.len() {
        accuracy(context, marks, (index, outcome, group), &mut numbers);
    }
    numbers
}

/// Sensitivity and specificity of the cutoffs that are judged by an outcome.
fn accuracy(
    context: &Context,
    marks: &[Mark],
    (index, outcome, group): (usize, usize, usize),
    numbers: &mut [(Numbers, Derived)],
) {
    let own: Vec<usize> = (0..marks.len()).filter(|&at| marks[at].outcome == Some(outcome)).collect();
    if own.is_empty() {
        return;
    }
    let people = classed(context, (index, outcome), &context.populations[0], &context.groups[group]);
    let design = &context.frames[context.frame_of_pair(index, outcome)].design;
    let (with, without) = (people.of_class(true), people.of_class(false));
    let judged = || own.iter().map(|&at| &marks[at]);
    let mut sensitivity = shares(context, design, (&with, with.len()), judged());
    let mut specificity = shares(context, design, (&without, 0), judged());
    let near = |at: usize| {
        let limit = context.study.fewest_shown();
        limit.is_some_and(|limit| numbers[at].0.beyond.withheld == small::too_near(limit))
    };
    let open = own.iter().map(|&at| Some(&marks[at]).filter(|_| !near(at)));
    space(context, (index, &[&with, &without]), open, &mut [&mut sensitivity, &mut specificity]);
    for ((&at, sensitivity), specificity) in own.iter().zip(sensitivity).zip(specificity) {
        numbers[at].0.sensitivity = sensitivity;
        numbers[at].0.specificity = specificity;
    }
}

/// Shares of the people between row `from` and the first beyond each cutoff.
fn shares<'m>(
    context: &Context,
    design: &Design,
    (sample, from): (&Sample, usize),
    marks: impl Iterator<Item = &'m Mark>,
) -> Vec<Judged> {
    let ends: Vec<usize> = marks.map(|mark| first_beyond(context, &mark.threshold, sample)).collect();
    let shares = shares_between(design, sample, from, &ends);
    shares.into_iter().map(|share| threshold_grid::judged(context, share)).collect()
}

/// Leaves out shares of cutoffs with few people between them and another one, or a threshold of the study.
fn space<'m>(
    context: &Context,
    (index, samples): (usize, &[&Sample]),
    marks: impl Iterator<Item = Option<&'m Mark>>,
    shares: &mut [&mut Vec<Judged>],
) {
    let Some(limit) = context.study.fewest_shown() else { return };
    let tails = Tails::of(samples);
    let point = |mark: &'m Mark| {
        let beyond = tails.beyond(|sample| first_beyond(context, &mark.threshold, sample));
        (few_between::place(mark.threshold.value, mark.threshold.strict), beyond)
    };
    let stated = few_between::stated(context, index, &tails);
    let stands = few_between::standing(limit, &tails, (stated, marks.map(|mark| mark.map(point))));
    for list in shares {
        list.iter_mut().zip(&stands).for_each(|(share, stands)| share.stand(*stands, limit));
    }
}

fn unknown() -> Judged {
    Judged { withheld: "the study has no outcome".to_owned(), ..Judged::default() }
}

/// The columns that say what is printed where.
fn in_print<'t>(row: RowBuilder<'t>, context: &Context, index: usize, laid: &Laid) -> RowBuilder<'t> {
    let print = laid.row;
    let own_unit =
        || context.study.indices.iter().find(|i| i.row.name == print.index).map_or("", |i| &*i.row.unit);
    let unit = if print.unit.is_empty() { own_unit() } else { &print.unit };
    let unit = if unit == "1" || unit.is_empty() { String::new() } else { format!(" ({unit})") };
    tabulate::lead(row, context, (context.frame_of_index(index), index))
        .text("published", &*print.name)
        .real("printed", Some(print.value))
        .text("printed_as", format!("{}{unit}", print.index))
        .real("threshold", laid.value())
        .text("conversion", laid.conversion())
        .text("comparison", print.comparison())
        .text("country", &*print.country)
        .text("published_population", &*print.population)
        .text("published_sex", &*print.sex)
        .whole("published_n", Some(i64::from(print.n)))
        .text("published_rule", &*print.rule)
        .text("published_outcome", &*print.outcome)
        .text("assay", &*print.assay)
        .text("source", &*print.source)
        .text("stated", tabulate::TOOL)
}

fn row(
    context: &Context,
    mark: &Mark,
    (group, (numbers, own)): (usize, &(Numbers, Derived)),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let index = mark.threshold.index;
    let Numbers { beyond, percentile, sensitivity, specificity } = numbers;
    let row = in_print(table.row(), context, index, &mark.laid).text("strict", strict(&mark.threshold));
    let row = tabulate::of_group(row, &context.populations[0], &context.groups[group])
        .text("matches", matches(context, group, &mark.laid))
        .whole("n", Some(beyond.people as i64))
        .whole("df", Some(beyond.df as i64))
        .text("interval", "korn_graubard")
        .real("percentile", *percentile)
        .text("outcome", mark.outcome.map_or("", |o| &*context.study.outcomes[o].row.name))
        .text("outcome_is", mark.outcome.map_or("", |_| mark.outcome_is))
        .whole("n_with", mark.outcome.map(|_| sensitivity.people as i64))
        .whole("n_without", mark.outcome.map(|_| specificity.people as i64))
        .text("notices", notices(context, mark, beyond));
    let row = of_share(row, ["share_beyond", "lower", "upper", "withheld"], (beyond, 100.0));
    let row = of_share(row, SENSITIVITY, (sensitivity, 1.0));
    let row = of_share(row, SPECIFICITY, (specificity, 1.0));
    own.columns(row, mark.threshold.value).done()?;
    Ok(())
}

/// A cutoff without a place on the index: said, not computed.
fn warning_row(context: &Context, index: usize, laid: &Laid, table: &mut Table) -> Result<(), AnalysisError> {
    let Form::Differs(why) = laid.form else { return Ok(()) };
    in_print(table.row(), context, index, laid)
        .text("population", &*context.populations[0].name)
        .text("grouping", EVERYBODY)
        .text("group", EVERYBODY)
        .text("matches", FORM_DIFFERS)
        .text("withheld", format!("{FORM_DIFFERS}: {why}"))
        .text("notices", &*laid.row.note)
        .done()?;
    Ok(())
}

/// What is to be known of the number, of its source and of the run's insulin.
fn notices(context: &Context, mark: &Mark, beyond: &Judged) -> String {
    let insulin =
        context.study.indices[mark.threshold.index].ingredients.iter().any(|name| name == "insulin");
    let factors = if insulin { insulin_factors(context) } else { Vec::new() };
    let all = [beyond.notices.clone(), mark.laid.row.note.clone()].into_iter().chain(factors);
    all.filter(|notice| !notice.is_empty()).collect::<Vec<_>>().join("; ")
}

/// Factors by which the run's sources turn pmol/L into µU/mL: what a source in print used is seldom said.
fn insulin_factors(context: &Context) -> Vec<String> {
    let tables = context.study.sources.iter().filter_map(|source| match source {
        Source::Table(table) => Some(table),
        Source::Survey { .. } => None,
    });
    let factor = |table: &crate::study::TableSource| {
        let column = table.columns.iter().find(|column| column.quantity == "insulin")?;
        let factor = column.factor?;
        Some(format!(
            "insulin of {} is divided by {factor}, the cutoff's own factor is not stated",
            table.name
        ))
    };
    tables.filter_map(factor).collect()
}
