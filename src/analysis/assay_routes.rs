//! The same people by every assay route, each estimate beside that as released.

use rayon::prelude::*;

use super::percentiles::{self, percent};
use super::roc::{Cutoff, oriented};
use super::select::{rows, values};
use super::sensitivity::Estimated;
use super::smoothed;
use super::standard_values::share_from;
use super::thresholds::{beyond, strict};
use super::withhold::Verdict;
use super::{AnalysisError, Group, tabulate};
use crate::cohort::UNKNOWN;
use crate::stats::interval::Interval;
use crate::stats::quantile_replicates::quantile_replicates;
use crate::stats::replicate_interval::{Centre, NO_JUMPS};
use crate::stats::{Replicates, StatError};
use crate::table::{RowBuilder, Table};

/// What is estimated; indices of the reduced study.
#[derive(Debug, Clone, Copy, PartialEq)]
enum What {
    Beyond(usize),
    Percentile(f64),
    /// The first rule, and the smoothed Youden cutoff, against an outcome.
    Rule(usize),
    Smoothed(usize),
}

impl What {
    /// Whether it moves in jumps, which not all replicates can judge.
    fn jumps(self) -> bool {
        matches!(self, Self::Percentile(_) | Self::Rule(_))
    }
}

/// One estimate in one group, on the index's own scale (shares in percent), with its replicates.
struct Estimate {
    what: What,
    people: u64,
    df: f64,
    value: Option<f64>,
    interval: Option<Interval>,
    kind: &'static str,
    replicates: Vec<f64>,
    verdict: Verdict,
    /// People counted whose value was converted, and put at a floor.
    converted: u64,
    floored: u64,
}

/// A row for every index that a route changes, its groups, routes and estimates, by the study's own exclusions.
pub fn table(all: &[Estimated]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("assay_routes");
    let routes: Vec<&Estimated> = all.iter().filter(|one| one.variant.exclusions == 0).collect();
    let Some((released, others)) = routes.split_first() else { return Ok(table) };
    if others.is_empty() {
        return Ok(table);
    }
    for index in changed(released, others) {
        for (position, group) in released.context.groups.iter().enumerate() {
            let base = estimates(released, index, position);
            for route in &routes {
                let other = route.group(group).filter(|_| route.variant.route > 0);
                let own = other.map(|position| estimates(route, index, position));
                let as_released = if route.variant.route == 0 { &base[..] } else { &[] };
                for estimate in own.as_deref().unwrap_or(as_released) {
                    let beside = base.iter().find(|other| other.what == estimate.what);
                    write(&mut table, (route, index, group), estimate, beside)?;
                }
            }
        }
    }
    Ok(table)
}

/// The indices of which some route changes an ingredient: of all others every row would repeat the first.
fn changed(released: &Estimated, others: &[&Estimated]) -> Vec<usize> {
    let indices = &released.context.study.indices;
    let made_of = |index: usize, quantity: &str| indices[index].ingredients.iter().any(|i| i == quantity);
    let changes = |index: usize| {
        others.iter().any(|one| one.route.changes().into_iter().any(|quantity| made_of(index, quantity)))
    };
    (0..indices.len()).filter(|&index| changes(index)).collect()
}

/// Every estimate of an index in a group.
fn estimates(of: &Estimated, index: usize, group: usize) -> Vec<Estimate> {
    let study = of.context.study;
    let thresholds = study.thresholds.iter().enumerate().filter(|(_, t)| t.index == index);
    let mut wanted: Vec<What> = thresholds.map(|(position, _)| What::Beyond(position)).collect();
    wanted.extend(study.percentiles.iter().map(|&p| What::Percentile(p)));
    let outcomes = 0..study.outcomes.len();
    wanted.extend(outcomes.flat_map(|outcome| [What::Rule(outcome), What::Smoothed(outcome)]));
    let one = |&what: &What| match what {
        What::Beyond(position) => share(of, position, group),
        What::Percentile(p) => percentile(of, (index, p), group),
        What::Rule(outcome) => first_rule(of, (index, outcome), group),
        What::Smoothed(outcome) => smoothed_cutoff(of, (index, outcome), group),
    };
    wanted.par_iter().filter_map(one).collect()
}

fn share(of: &Estimated, position: usize, group: usize) -> Option<Estimate> {
    let context = &of.context;
    let threshold = &context.study.thresholds[position];
    let found = beyond(context, threshold, (0, group));
    let share = found.share?;
    let frame = &context.frames[context.frame_of_index(threshold.index)];
    let (_, replicates) = share_from(&found.sample, &frame.replicates, found.first);
    let percent = |p: f64| 100.0 * p;
    let interval = found.interval.map(|i| Interval { lower: percent(i.lower), upper: percent(i.upper) });
    let estimate = Estimate {
        what: What::Beyond(position),
        people: share.people,
        df: share.df,
        value: found.verdict.shown(context.study).then_some(percent(share.p)),
        interval,
        kind: "korn_graubard",
        replicates: replicates.into_iter().map(percent).collect(),
        verdict: found.verdict,
        converted: 0,
        floored: 0,
    };
    Some(estimate.counted(of, (threshold.index, None), group))
}

fn percentile(of: &Estimated, (index, p): (usize, f64), group: usize) -> Option<Estimate> {
    let context = &of.context;
    let position = context.study.percentiles.iter().position(|&other| other == p)?;
    let all = percentiles::estimate(context, (index, 0, group));
    let printed = percentiles::printed(context, &all, &all.estimates[position]);
    let frame = &context.frames[context.frame_of_index(index)];
    let sample = values(&frame.indices[index], &context.populations[0], &context.groups[group]);
    let sign = context.study.indices[index].sign() as f64;
    // Nobody, or a jackknife: no ratio can be made, and its row says so.
    let replicates = quantile_replicates(&sample, &frame.replicates, &[p])
        .map_or_else(|_| vec![f64::NAN; frame.replicates.count], |mut all| all.swap_remove(0));
    let estimate = Estimate {
        what: What::Percentile(p),
        people: all.people,
        df: all.df,
        value: printed.value,
        interval: printed.interval,
        kind: "woodruff_logit",
        replicates: replicates.into_iter().map(|value| value * sign).collect(),
        verdict: printed.verdict,
        converted: 0,
        floored: 0,
    };
    Some(estimate.counted(of, (index, None), group))
}

fn first_rule(of: &Estimated, pair: (usize, usize), group: usize) -> Option<Estimate> {
    let curve = &of.curves[of.curve(pair, group)?];
    let cutoff: &Cutoff = curve.cutoffs.first()?;
    let study = of.context.study;
    let sign = study.indices[pair.0].sign() as f64;
    let shown = cutoff.verdict.shown(study) && cutoff.value.is_finite();
    let estimate = Estimate {
        what: What::Rule(pair.1),
        people: curve.with + curve.without,
        df: curve.df,
        value: shown.then_some(cutoff.value * sign),
        interval: cutoff.interval.filter(|_| shown).map(|i| oriented(i, sign)),
        kind: kind_of(of, pair),
        replicates: cutoff.replicates.iter().map(|value| value * sign).collect(),
        verdict: cutoff.verdict.clone(),
        converted: 0,
        floored: 0,
    };
    Some(estimate.counted(of, (pair.0, Some(pair.1)), group))
}

fn smoothed_cutoff(of: &Estimated, pair: (usize, usize), group: usize) -> Option<Estimate> {
    let position = of.curve(pair, group)?;
    let (curve, cutoff) = (&of.curves[position], of.smoothed.get(position)?);
    let sign = of.context.study.indices[pair.0].sign() as f64;
    let estimate = Estimate {
        what: What::Smoothed(pair.1),
        people: curve.with + curve.without,
        df: curve.df,
        value: cutoff.value.map(|value| value * sign),
        interval: cutoff.interval.map(|i| oriented(i, sign)),
        kind: kind_of(of, pair),
        replicates: cutoff.replicates.iter().map(|value| value * sign).collect(),
        verdict: cutoff.verdict.clone(),
        converted: 0,
        floored: 0,
    };
    Some(estimate.counted(of, (pair.0, Some(pair.1)), group))
}

/// The kind of interval that the replicates of a cutoff give.
fn kind_of(of: &Estimated, (index, outcome): (usize, usize)) -> &'static str {
    of.context.frames[of.context.frame_of_pair(index, outcome)].replicates.interval_kind()
}

impl Estimate {
    /// Counts the people whose value the route changed, among those with a known outcome if there is one.
    fn counted(mut self, of: &Estimated, (index, outcome): (usize, Option<usize>), group: usize) -> Self {
        let context = &of.context;
        let (converted, floored) = of.variant.mark_bits(&context.study.indices[index].ingredients);
        let frame = outcome.map_or(context.frame_of_index(index), |o| context.frame_of_pair(index, o));
        let ordered = &context.frames[frame].indices[index];
        for row in rows(ordered, &context.populations[0], &context.groups[group]) {
            if outcome.is_some_and(|o| (ordered.outcomes[row] >> (2 * o)) & 0b11 == UNKNOWN) {
                continue;
            }
            let people = u64::from(ordered.sample.people[row]);
            self.converted += if ordered.flags[row] & converted == 0 { 0 } else { people };
            self.floored += if ordered.flags[row] & floored == 0 { 0 } else { people };
        }
        self
    }

    /// The ratio to another estimate, its interval, and the replicates in which both exist.
    fn ratio(&self, to: &Self, (replicates, confidence): (&Replicates, f64)) -> Ratio {
        let of_both = self.replicates.iter().zip(&to.replicates);
        let both: Vec<f64> = of_both.map(|(own, other)| own / other).collect();
        let used = both.iter().filter(|r| r.is_finite()).count();
        let mut ratio = Ratio { used, ..Ratio::default() };
        if let (Some(own), Some(other)) = (self.value, to.value)
            && own > 0.0
            && other > 0.0
        {
            ratio.value = Some(own / other);
            let failed = Verdict::default().failed(used, replicates.count);
            let centre = Centre { full: own / other, df: self.df.min(to.df), confidence };
            if self.what.jumps() && !replicates.suits_jumps() {
                ratio.refused = Some(NO_JUMPS);
            } else if !failed {
                match replicates.interval_of_ratio(&both, centre) {
                    Ok(interval) => ratio.interval = Some(interval),
                    Err(StatError::Undefined(why)) => ratio.refused = Some(why),
                    Err(_) => {}
                }
            }
        }
        ratio
    }
}

#[derive(Default)]
struct Ratio {
    value: Option<f64>,
    interval: Option<Interval>,
    used: usize,
    /// Why the replicates give it no interval.
    refused: Option<&'static str>,
}

fn write(
    table: &mut Table,
    (of, index, group): (&Estimated, usize, &Group),
    estimate: &Estimate,
    released: Option<&Estimate>,
) -> Result<(), AnalysisError> {
    let context = &of.context;
    let frame = match estimate.what {
        What::Rule(outcome) | What::Smoothed(outcome) => context.frame_of_pair(index, outcome),
        _ => context.frame_of_index(index),
    };
    let by = (&*context.frames[frame].replicates, context.study.confidence);
    let released = released.filter(|_| of.variant.route > 0);
    let ratio = released.map(|released| estimate.ratio(released, by)).unwrap_or_default();
    let row = tabulate::lead(table.row(), context, (frame, index))
        .text("route", &*of.route.name)
        .text("route_label", &*of.route.label);
    let row = tabulate::of_group(row, &context.populations[0], group);
    of_what(row, of, estimate.what)
        .whole("n", Some(estimate.people as i64))
        .whole("df", Some(estimate.df as i64))
        .real("estimate", estimate.value)
        .real("lower", estimate.interval.map(|i| i.lower))
        .real("upper", estimate.interval.map(|i| i.upper))
        .text("interval", estimate.kind)
        .real("ratio", ratio.value)
        .real("ratio_lower", ratio.interval.map(|i| i.lower))
        .real("ratio_upper", ratio.interval.map(|i| i.upper))
        .whole("converted", Some(estimate.converted as i64))
        .whole("floored", Some(estimate.floored as i64))
        .whole("replicates", released.map(|_| ratio.used as i64))
        .text("stated", tabulate::STUDY)
        .text("withheld", estimate.verdict.reason(context.study))
        .text("notices", notices(&estimate.verdict.notices(context.study), &ratio))
        .done()?;
    Ok(())
}

/// The remarks on an estimate, and on a ratio that its own replicates do not surround.
fn notices(of_estimate: &str, ratio: &Ratio) -> String {
    let jumps = ratio.value.zip(ratio.interval).is_some_and(|(value, interval)| !interval.contains(value));
    let jumps =
        if jumps { "the ratio lies outside its interval: the best cutoff jumps between values" } else { "" };
    let refused = ratio.refused.filter(|why| !of_estimate.contains(why)).unwrap_or_default();
    let all = [of_estimate, jumps, refused].into_iter().filter(|text| !text.is_empty());
    all.collect::<Vec<_>>().join("; ")
}

/// The columns that say what is estimated.
fn of_what<'t>(row: RowBuilder<'t>, of: &Estimated, what: What) -> RowBuilder<'t> {
    let study = of.context.study;
    let outcome = |position: usize| &*study.outcomes[position].row.name;
    match what {
        What::Beyond(position) => {
            let threshold = &study.thresholds[position];
            row.text("method", "share_beyond")
                .real("threshold", Some(threshold.value))
                .text("strict", strict(threshold))
        }
        What::Percentile(p) => row.text("method", "percentile").real("percentile", Some(percent(p))),
        What::Rule(position) => {
            let rule = study.rules.first().map_or("", |rule| &*rule.name);
            row.text("method", rule).text("outcome", outcome(position))
        }
        What::Smoothed(position) => row.text("method", smoothed::METHOD).text("outcome", outcome(position)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::replicate::{BALANCED, BOOTSTRAP, JACKKNIFE};
    use crate::stats::replicate_ratio::NOT_POSITIVE;

    const ROUNDING: f64 = 1e-9;

    fn estimate(what: What, value: f64, replicates: [f64; 4]) -> Estimate {
        Estimate {
            what,
            people: 90,
            df: 2.0,
            value: Some(value),
            interval: None,
            kind: "",
            replicates: replicates.to_vec(),
            verdict: Verdict::default(),
            converted: 0,
            floored: 0,
        }
    }

    #[test]
    fn the_ratio_has_the_interval_that_the_replicates_give() {
        let replicates =
            |kind| Replicates { count: 4, factors: vec![1.0; 4], scale: 0.25, rscales: vec![1.0; 4], kind };
        let ratio = |what, kind| {
            let route = estimate(what, 3.0, [3.3, 2.7, 3.0, 3.0]);
            route.ratio(&estimate(what, 2.0, [2.0; 4]), (&replicates(kind), 0.95))
        };
        // Logarithms of 1.65, 1.35, 1.5, 1.5 deviate by ln 1.1, ln 0.9, 0, 0; t on 2 degrees of freedom 4.3026527297.
        let error = ((1.1_f64.ln().powi(2) + 0.9_f64.ln().powi(2)) / 4.0).sqrt();
        let apart = (4.302_652_729_7 * error).exp();
        for (what, kind) in
            [(What::Rule(0), BALANCED), (What::Smoothed(0), JACKKNIFE), (What::Beyond(0), JACKKNIFE)]
        {
            let interval = ratio(what, kind).interval.expect("replicates");
            assert!((interval.lower - 1.5 / apart).abs() < ROUNDING, "{what:?}: {interval:?}");
            assert!((interval.upper - 1.5 * apart).abs() < ROUNDING, "{what:?}: {interval:?}");
        }
        // The 2.5 % point of 1.35, 1.5, 1.5, 1.65 lies 0.075 of the way from the first.
        let drawn = ratio(What::Rule(0), BOOTSTRAP).interval.expect("a bootstrap");
        assert!((drawn.lower - (1.35 + 0.075 * 0.15)).abs() < ROUNDING, "{drawn:?}");
        let jumps = ratio(What::Percentile(0.5), JACKKNIFE);
        assert!(jumps.value == Some(1.5) && jumps.interval.is_none() && jumps.used == 4);
        assert_eq!(notices("", &jumps), NO_JUMPS);
        assert_eq!(notices(NO_JUMPS, &jumps), NO_JUMPS, "said once");
        let vanishing = estimate(What::Beyond(0), 3.0, [0.0, 3.0, 3.0, 3.0]);
        let vanishing =
            vanishing.ratio(&estimate(What::Beyond(0), 2.0, [2.0; 4]), (&replicates(BALANCED), 0.95));
        assert!(vanishing.interval.is_none() && notices("", &vanishing) == NOT_POSITIVE);
    }
}
