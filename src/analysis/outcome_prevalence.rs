//! How common each outcome is, with an interval that respects the design.

use super::context::Context;
use super::groups::{Group, Population};
use super::select::{rows, take};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::cohort::{UNKNOWN, YES};
use crate::stats::interval::Interval;
use crate::stats::proportion::{self, Share};
use crate::study::Study;
use crate::table::{Table, small};

/// Outcome and the frame it is read in.
pub type Place = (usize, usize);

/// Every outcome of the study in every frame that serves it, frames in order.
pub fn places(context: &Context) -> Vec<Place> {
    let indices = 0..context.study.indices.len();
    let of = |outcome: usize| {
        let mut frames: Vec<usize> =
            indices.clone().map(|index| context.frame_of_pair(index, outcome)).collect();
        frames.sort_unstable();
        frames.dedup();
        frames.into_iter().map(move |frame| (outcome, frame))
    };
    (0..context.study.outcomes.len()).flat_map(of).collect()
}

pub fn table(context: &Context) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("outcome_prevalence");
    for place in places(context) {
        for population in &context.populations {
            for group in &context.groups {
                row(context, place, (population, group), &mut table)?;
            }
        }
    }
    Ok(table)
}

/// Who is few, where few people may not be shown.
fn few(study: &Study, with: u64, without: u64) -> Option<String> {
    let limit = study.fewest_shown()?;
    let few = small::reason(limit);
    let named = [
        (with + without, few.clone()),
        (with, format!("{few} with the outcome")),
        (without, format!("{few} without the outcome")),
    ];
    named.into_iter().find(|(count, _)| (*count as i64) < limit).map(|(_, why)| why)
}

fn judged(study: &Study, share: &Share, interval: Option<Interval>) -> Verdict {
    let mut verdict = interval.map(|i| withhold::share(study, share, i)).unwrap_or_default();
    if interval.is_none() {
        verdict.withheld.push("too few people or degrees of freedom for an interval".to_owned());
    }
    if let Some(why) = few(study, share.events, share.people - share.events) {
        verdict.bar(why);
    }
    verdict
}

fn row(
    context: &Context,
    (outcome, frame): Place,
    (population, group): (&Population, &Group),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let (study, parts) = (context.study, &context.frames[frame]);
    let inside = rows(&parts.people, population, group);
    let sample = take(&parts.people, &inside);
    let answer = |row: usize| (parts.people.outcomes[inside[row]] >> (2 * outcome)) & 0b11;
    let known = |row: usize| answer(row) != UNKNOWN;
    let unknown: u64 =
        (0..inside.len()).filter(|row| !known(*row)).map(|row| u64::from(sample.people[row])).sum();
    let line = table
        .row()
        .text("survey", &*context.tallies.survey)
        .text("frame", context.frame_name(frame))
        .text("outcome", &*study.outcomes[outcome].row.name);
    let line = tabulate::of_group(line, population, group)
        .text("interval", "korn_graubard")
        .text("stated", tabulate::TOOL);
    let Ok(share) = proportion::share(&parts.design, &sample, &known, &|row| answer(row) == YES) else {
        return Ok(line.text("withheld", "nobody whose outcome is known").done()?);
    };
    let interval = share.korn_graubard(study.confidence).ok();
    let without = share.people - share.events;
    let verdict = judged(study, &share, interval);
    let shown = verdict.shown(study);
    let people = |count: u64| Some(count as i64).filter(|_| shown);
    line.whole("n", people(share.people))
        .whole("n_with", people(share.events))
        .whole("n_without", people(without))
        .whole("n_unknown", people(unknown))
        .real("weighted_n", Some(share.weighted_people).filter(|_| shown))
        .real("effective_n", Some(share.n_effective).filter(|_| shown))
        .whole("df", Some(share.df as i64))
        .real("prevalence", Some(100.0 * share.p).filter(|_| shown))
        .real("lower", interval.filter(|_| shown).map(|i| 100.0 * i.lower))
        .real("upper", interval.filter(|_| shown).map(|i| 100.0 * i.upper))
        .text("withheld", verdict.reason(study))
        .text("notices", verdict.notices(study))
        .done()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study;

    #[test]
    fn the_reason_says_who_is_few() {
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
        let mut study = study::load(&file).expect("a study");
        assert_eq!(few(&study, 1, 1), None, "anybody may be shown");
        study.public = false;
        let said = |with, without| few(&study, with, without).unwrap_or_default();
        assert_eq!(said(50, 9), "fewer than 10 people without the outcome");
        assert_eq!([said(9, 50), said(0, 50)], ["fewer than 10 people with the outcome"; 2]);
        assert_eq!([said(0, 0), said(3, 2)], ["fewer than 10 people"; 2]);
        assert_eq!(said(10, 10), "");
    }
}
