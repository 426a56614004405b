//! Who is in the sample: weighted shares of every variable's levels and medians of every index.

use super::beside::fewer_beside_value;
use super::context::Context;
use super::groups::Population;
use super::roc::oriented;
use super::select::{rows, take, values};
use super::thresholds::judged_share;
use super::{AnalysisError, tabulate, withhold};
use crate::stats::proportion;
use crate::stats::quantile::{QuantileRule, WoodruffScale, woodruff};
use crate::table::Table;

pub fn sample(context: &Context) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("sample");
    for frame in 0..context.frames.len() {
        for population in &context.populations {
            shares(context, frame, population, &mut table)?;
            medians(context, frame, population, &mut table)?;
        }
    }
    Ok(table)
}

fn shares(
    context: &Context,
    frame: usize,
    population: &Population,
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let FrameParts { design, people } = parts(context, frame);
    let inside = rows(people, population, &context.groups[0]);
    let sample = take(people, &inside);
    let cohort = rows(people, &context.populations[0], &context.groups[0]);
    // Where few may not be shown, a level of the cohort that nobody here has reads as one that a few have.
    let reads_as_few = |variable: usize, level: Option<u8>| {
        context.study.fewest_shown().is_some()
            && cohort.iter().any(|row| people.levels[*row][variable] == level)
    };
    for (variable, map) in context.tallies.plan.variables.iter().enumerate() {
        let level_of = |row: usize| people.levels[inside[row]][variable];
        let levels = map.labels.iter().enumerate().map(|(l, label)| (Some(l as u8), label.as_str()));
        for (level, label) in levels.chain([(None, "unknown")]) {
            let Ok(share) = proportion::share(design, &sample, &|_| true, &|row| level_of(row) == level)
            else {
                continue;
            };
            if share.events == 0 && !reads_as_few(variable, level) {
                continue;
            }
            let (interval, verdict) = judged_share(context, &share);
            let shown = verdict.shown(context.study);
            table
                .row()
                .text("survey", &*context.tallies.survey)
                .text("frame", context.frame_name(frame))
                .text("population", &*population.name)
                .text("variable", &*context.study.variables[variable].name)
                .text("level", label)
                .whole("n", Some(share.events as i64).filter(|_| shown))
                .real("weighted_n", Some(share.p * share.weighted_people).filter(|_| shown))
                .real("value", Some(100.0 * share.p).filter(|_| shown))
                .text("unit", "%")
                .real("lower", interval.filter(|_| shown).map(|i| 100.0 * i.lower))
                .real("upper", interval.filter(|_| shown).map(|i| 100.0 * i.upper))
                .text("interval", "korn_graubard")
                .text("withheld", verdict.reason(context.study))
                .done()?;
        }
    }
    Ok(())
}

struct FrameParts<'a> {
    design: &'a crate::stats::design::Design,
    people: &'a super::context::Ordered,
}

fn parts<'a>(context: &'a Context, frame: usize) -> FrameParts<'a> {
    FrameParts { design: &context.frames[frame].design, people: &context.frames[frame].people }
}

fn medians(
    context: &Context,
    frame: usize,
    population: &Population,
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let design = &context.frames[frame].design;
    let own = (0..context.study.indices.len()).filter(|&i| context.frame_of_index(i) == frame);
    for index in own {
        let row = &context.study.indices[index];
        let sign = row.sign() as f64;
        let sample = values(&context.frames[frame].indices[index], population, &context.groups[0]);
        let (rule, scale) = (QuantileRule::Step, WoodruffScale::Logit);
        let Ok(median) = woodruff(design, &sample, 0.5, rule, scale, context.study.confidence) else {
            continue;
        };
        let people = sample.people_counted();
        let has_interval = median.interval.map(|_| ()).ok_or(median.reason.unwrap_or("no interval"));
        let beyond = fewer_beside_value(&sample, median.value);
        let verdict = withhold::percentile(context.study, people, beyond, has_interval);
        let shown = verdict.shown(context.study);
        let interval = median.interval.filter(|_| shown).map(|i| oriented(i, sign));
        table
            .row()
            .text("survey", &*context.tallies.survey)
            .text("frame", context.frame_name(frame))
            .text("population", &*population.name)
            .text("variable", &*row.row.name)
            .text("level", "median")
            .whole("n", Some(people as i64))
            .real("weighted_n", Some(sample.weight.iter().sum()))
            .real("value", shown.then_some(median.value * sign))
            .text("unit", &*row.row.unit)
            .real("lower", interval.map(|i| i.lower))
            .real("upper", interval.map(|i| i.upper))
            .text("interval", "woodruff_logit")
            .text("withheld", verdict.reason(context.study))
            .done()?;
    }
    Ok(())
}
