//! Where two normal distributions of an index's logarithms part, without any outcome.

use rayon::prelude::*;

use super::context::Context;
use super::select::values;
use super::withhold::Verdict;
use super::{AnalysisError, tabulate};
use crate::stats::mixture::{Mixture, mixture};
use crate::stats::mixture_interval::{MixtureInterval, mixture_interval};
use crate::stats::scale::Scale;
use crate::study::Study;
use crate::table::Table;

const NAME: &str = "mixture_crossing";
/// Fewer people than a percentile asks for show no second distribution that could be relied on.
const FEWEST_PEOPLE: u64 = 100;
const NO_SUPPORT: &str = "two distributions fit no better than one: the crossing means nothing";
const UNSTEADY: &str = "in too many resamples the two distributions do not part: the crossing means nothing";
const REMARK: &str = "unweighted and without the design: every person counts once; asks for no outcome";

struct Parted {
    index: usize,
    group: usize,
    people: u64,
    found: Option<(Mixture, Option<MixtureInterval>)>,
    verdict: Verdict,
}

/// Adds the mixtures that the study asks for: indices of which higher is more resistant, in everybody and in the
/// groups of single variables.
pub fn add(table: &mut Table, context: &Context) -> Result<(), AnalysisError> {
    let study = context.study;
    let Some(resamples) = study.mixture else { return Ok(()) };
    let higher = (0..study.indices.len()).filter(|&i| study.indices[i].sign() > 0);
    let single = |group: &usize| context.groups[*group].is_single();
    let groups: Vec<usize> = (0..context.groups.len()).filter(single).collect();
    let tasks: Vec<(usize, usize)> = higher.flat_map(|i| groups.iter().map(move |&g| (i, g))).collect();
    let all: Vec<Parted> = tasks.into_par_iter().map(|task| part(context, task, resamples)).collect();
    for parted in &all {
        write(table, context, parted, resamples)?;
    }
    Ok(())
}

fn part(context: &Context, (index, group): (usize, usize), resamples: usize) -> Parted {
    let study = context.study;
    let ordered = &context.frames[context.frame_of_index(index)].indices[index];
    let sample = values(ordered, &context.populations[0], &context.groups[group]);
    let people = sample.people_counted();
    let mut parted = Parted { index, group, people, found: None, verdict: Verdict::default() };
    parted.verdict = judged(study, people);
    if parted.verdict.barred {
        return parted;
    }
    if Scale::of(&sample.value) != Scale::Log {
        parted.verdict.cannot("a value is not positive");
        return parted;
    }
    let logs = Scale::Log.apply(&sample);
    match mixture(&logs) {
        // Without support there is no cutoff, and an interval would only dress it up.
        Ok(found) if found.bic_gain < 0.0 => {
            parted.verdict.withheld.push(NO_SUPPORT.to_owned());
            parted.found = Some((found, None));
        }
        Ok(found) => {
            let interval = mixture_interval(&logs, resamples, study.resampling.seed, study.confidence).ok();
            let used = interval.map_or(0, |i| i.used);
            // A gain in BIC shows that one normal distribution does not fit, not that there are two kinds of people.
            if parted.verdict.failed(used, resamples) {
                parted.verdict.withheld.push(UNSTEADY.to_owned());
            }
            parted.found = Some((found, interval));
        }
        Err(why) => parted.verdict.cannot(why.to_string()),
    }
    parted
}

/// Whether there are people enough for two distributions, and as many as may be shown.
fn judged(study: &Study, people: u64) -> Verdict {
    if people < FEWEST_PEOPLE {
        return Verdict::none(format!("fewer than {FEWEST_PEOPLE} people"));
    }
    let mut verdict = Verdict::default();
    verdict.small_cell(study, people);
    verdict
}

fn write(
    table: &mut Table,
    context: &Context,
    parted: &Parted,
    resamples: usize,
) -> Result<(), AnalysisError> {
    let study = context.study;
    let shown = parted.found.filter(|_| parted.verdict.shown(study));
    let interval = shown.and_then(|(_, interval)| interval);
    let mut verdict = parted.verdict.clone();
    verdict.remarks.push(REMARK.into());
    let row = tabulate::lead(table.row(), context, (context.frame_of_index(parted.index), parted.index));
    tabulate::of_group(row, &context.populations[0], &context.groups[parted.group])
        .whole("n", Some(parted.people as i64))
        .text("method", NAME)
        .text("weighted", "no")
        .real("cutoff", shown.map(|(found, _)| found.cutoff.exp()))
        .real("lower", interval.map(|i| i.interval.lower.exp()))
        .real("upper", interval.map(|i| i.interval.upper.exp()))
        .text("interval", if interval.is_some() { "resampled_people_percentile" } else { "" })
        .real("bic_gain", parted.found.map(|(found, _)| found.bic_gain))
        .whole("replicates_asked", interval.map(|_| resamples as i64))
        .whole("replicates_failed", interval.map(|i| i.failed as i64))
        .text("stated", tabulate::STUDY)
        .text("withheld", verdict.reason(study))
        .text("notices", verdict.notices(study))
        .done()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::study::{self, Withhold};

    #[test]
    fn no_mixture_is_of_fewer_people_than_may_be_shown() {
        let demo = include_str!("../../pipelines/demo.toml");
        let mut study = study::parse(demo, "demo.toml", Path::new("pipelines")).expect("the demo");
        (study.public, study.minimum_cell, study.withhold) = (false, 200, Withhold::Flag);
        let reason = |people| judged(&study, people).reason(&study);
        assert_eq!(reason(99), "fewer than 100 people");
        assert_eq!(reason(150), "fewer than 200 people");
        assert_eq!(reason(200), "");
    }
}
