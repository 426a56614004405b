//! Where the measurements of a study end: detection limits, top codes and missing values.

use super::context::Context;
use super::withhold::Verdict;
use super::{AnalysisError, Results, tabulate};
use crate::cohort::LimitCount;
use crate::definitions::ColumnKind;
use crate::notice::Notice;
use crate::table::{RowBuilder, Table};

/// The table of limits, and a remark for every source with values at one.
pub fn results(context: &Context, counts: &[LimitCount]) -> Result<Results, AnalysisError> {
    let mut table = tabulate::empty("measurement_limits");
    for count in counts {
        row(context, count, &mut table)?;
    }
    let notices = counts.iter().filter_map(|count| at_the_limit(context, count)).collect();
    Ok(Results { tables: vec![table], notices })
}

fn row(context: &Context, count: &LimitCount, table: &mut Table) -> Result<(), AnalysisError> {
    let (study, quantity) = (context.study, &context.study.quantities[count.quantity]);
    let verdict = verdict(context, count);
    let limit = count.detection.as_ref().or(count.top_code.as_ref());
    let mut line = table
        .row()
        .text("survey", &*context.tallies.survey)
        .text("frame", context.frame_name(count.frame))
        .text("source", &*count.source)
        .text("quantity", &*quantity.name)
        .text("used_by", used_by(context, &quantity.name))
        .text("unit", limit.map_or("", |limit| limit.unit.as_str()))
        .real("detection_limit", count.detection.as_ref().map(|limit| limit.limit))
        .real("fill", count.detection.as_ref().and_then(|limit| limit.fill))
        .real("top_code", count.top_code.as_ref().map(|limit| limit.limit))
        .text("found_by", found_by(count))
        .text("source_of_limit", limit.map_or("", |limit| limit.source.as_str()))
        .text("stated", tabulate::TOOL)
        .text("withheld", verdict.reason(study));
    if verdict.shown(study) {
        line = counted(line, count, quantity.kind);
    }
    line.done()?;
    Ok(())
}

/// The columns of counts; empty where the source cannot tell.
fn counted<'t>(line: RowBuilder<'t>, count: &LimitCount, kind: ColumnKind) -> RowBuilder<'t> {
    let (cohort, read) = (&count.cohort, &count.read);
    let tells = count.marked || count.detection.as_ref().is_some_and(|limit| limit.fill.is_some());
    let if_known = |applies: bool, count: u64| applies.then_some(count as i64);
    let percent = |part: i64| (cohort.weight > 0).then(|| 100.0 * (part as f64 / cohort.weight as f64));
    line.whole("n", Some(cohort.people as i64))
        .whole("missing", Some(cohort.missing as i64))
        .real("missing_percent", percent(cohort.missing_weight))
        .whole("at_fill", if_known(tells, cohort.at_fill))
        .real("at_fill_percent", percent(cohort.at_fill_weight).filter(|_| tells))
        .whole("below_limit", if_known(count.detection.is_some(), cohort.below))
        .whole("top_coded", if_known(count.top_code.is_some(), cohort.top_coded))
        .whole("n_yes", if_known(kind == ColumnKind::YesNo, cohort.yes))
        .whole("read", Some(read.people as i64))
        .whole("read_at_fill", if_known(tells, read.at_fill))
}

fn verdict(context: &Context, count: &LimitCount) -> Verdict {
    let mut verdict = Verdict::default();
    verdict.small_cell(context.study, count.cohort.people.min(count.read.people));
    verdict
}

fn found_by(count: &LimitCount) -> &str {
    match count.detection.as_ref().or(count.top_code.as_ref()) {
        Some(limit) => &limit.found_by,
        None if count.marked => "the mark of the table",
        None => "",
    }
}

/// What reads a quantity: index, outcome, or else groups and exclusions.
fn used_by(context: &Context, quantity: &str) -> String {
    let reads = |ingredients: &Vec<String>| ingredients.iter().any(|name| name == quantity);
    let mut users = Vec::new();
    if context.study.indices.iter().any(|index| reads(&index.ingredients)) {
        users.push("index");
    }
    if context.study.outcomes.iter().any(|outcome| reads(&outcome.ingredients)) {
        users.push("outcome");
    }
    if users.is_empty() { "group".to_owned() } else { users.join(", ") }
}

/// A note on an index's quantity with people of the cohort at the fill value or below the limit.
fn at_the_limit(context: &Context, count: &LimitCount) -> Option<Notice> {
    let (quantity, cohort) = (&context.study.quantities[count.quantity], &count.cohort);
    let in_index = context.study.indices.iter().any(|index| index.ingredients.contains(&quantity.name));
    let limited = cohort.at_fill + cohort.below;
    if limited == 0 || !in_index || !context.study.public {
        return None;
    }
    let message = format!(
        "{limited} of {} people of the cohort lie below detection ({} at the fill value, {} as measured): low values of \
         the index are unsure there; an exclusion such as insulin_at_detection_limit in [sensitivity] shows what they change",
        cohort.people - cohort.missing,
        cohort.at_fill,
        cohort.below,
    );
    let about = format!("{}, {}, frame {}", quantity.name, count.source, context.frame_name(count.frame));
    Some(Notice::note("at_detection_limit", about, message))
}
