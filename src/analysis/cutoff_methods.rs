//! The best cutoff by other methods than the empirical maximum, side by side.

use rayon::prelude::*;

use super::context::Context;
use super::heterogeneity::EMPIRICAL;
use super::roc::{Curve, oriented};
use super::select::{Classed, classed};
use super::smoothed::{self, Smoothed};
use super::withhold::{self, Verdict};
use super::{AnalysisError, mixture_cutoffs, tabulate};
use crate::stats::binormal::{binormal, binormal_replicates};
use crate::stats::chosen::{row_of, scan_at, youden_at};
use crate::stats::external::{FullSample, Optimism, optimism};
use crate::stats::interval::Interval;
use crate::stats::replicate::{BALANCED, BOOTSTRAP};
use crate::stats::replicate_interval::Centre;
use crate::stats::rule::Rule;
use crate::stats::{Replicates, StatError};
use crate::table::Table;

pub const BINORMAL: &str = "binormal_box_cox";
/// Of the study's replicates, how many the binormal cutoff is refitted in: enough for an interval of a method
/// that stands beside the leading one, at a fifth of the cost of a thousand.
const BINORMAL_REPLICATES: usize = 200;
/// No power of the transform within the search makes the classes normal.
const LARGEST_POWER: f64 = 2.0 - 1e-6;

/// One cutoff in resistance order.
struct Method {
    name: &'static str,
    value: Option<f64>,
    /// Youden index as the method itself sees it.
    model: Option<f64>,
    /// Power of the transform, where there is one.
    power: Option<f64>,
    replicates: Vec<f64>,
    interval: Option<Interval>,
    verdict: Verdict,
}

/// A method's cutoff with what is counted at it.
struct Judged {
    method: Method,
    youden: Option<f64>,
    optimism: Option<Optimism>,
}

/// Every method in everybody and in the groups of single variables.
pub fn table(context: &Context, curves: &[Curve], smoothed: &[Smoothed]) -> Result<Table, AnalysisError> {
    let single = |c: &usize| context.groups[curves[*c].group].is_single();
    let places: Vec<usize> = (0..curves.len()).filter(single).collect();
    let judged: Vec<Vec<Judged>> =
        places.par_iter().map(|&c| methods(context, &curves[c], &smoothed[c])).collect();
    let mut table = tabulate::empty("cutoff_methods");
    for (&place, methods) in places.iter().zip(&judged) {
        for judged in methods {
            write(&mut table, context, &curves[place], judged)?;
        }
    }
    mixture_cutoffs::add(&mut table, context)?;
    Ok(table)
}

fn methods(context: &Context, curve: &Curve, smoothed: &Smoothed) -> Vec<Judged> {
    let frame = &context.frames[context.frame_of_pair(curve.index, curve.outcome)];
    let pair = (curve.index, curve.outcome);
    let people = classed(context, pair, &context.populations[0], &context.groups[curve.group]);
    let kernel = Method {
        name: smoothed::METHOD,
        value: smoothed.value,
        model: smoothed.youden,
        power: None,
        replicates: smoothed.replicates.clone(),
        interval: smoothed.interval,
        verdict: smoothed.verdict.clone(),
    };
    let few = frame.replicates.first(BINORMAL_REPLICATES);
    let methods = empirical(context, curve)
        .into_iter()
        .chain([kernel])
        .map(|method| (method, &*frame.replicates))
        .chain([(two_normals(context, curve, &people, &few), &few)]);
    methods.map(|(method, replicates)| judge(context, &people, method, replicates)).collect()
}

/// The largest Youden index as counted, if the study uses that rule.
fn empirical(context: &Context, curve: &Curve) -> Option<Method> {
    let youden = context.study.rules.iter().position(|r| matches!(r.rule, Rule::Youden))?;
    let cutoff = curve.cutoffs.get(youden)?;
    Some(Method {
        name: EMPIRICAL,
        value: Some(cutoff.value).filter(|c| c.is_finite()),
        model: Some(cutoff.youden).filter(|j| j.is_finite()),
        power: None,
        replicates: cutoff.replicates.clone(),
        interval: cutoff.interval,
        verdict: cutoff.verdict.clone(),
    })
}

/// Two normal distributions after the power transform that makes the classes most normal.
fn two_normals(context: &Context, curve: &Curve, people: &Classed, replicates: &Replicates) -> Method {
    let study = context.study;
    let auc = curve.auc.as_ref().and_then(|a| a.interval);
    let mut method = Method {
        name: BINORMAL,
        value: None,
        model: None,
        power: None,
        replicates: vec![f64::NAN; replicates.count],
        interval: None,
        verdict: withhold::cutoff(study, curve.with, curve.without, auc),
    };
    if !method.verdict.shown(study) {
        return method;
    }
    let fitted = || -> Result<_, StatError> {
        let full = binormal(&people.sample, &people.class)?;
        Ok((full, binormal_replicates(&people.sample, &people.class, replicates)?))
    };
    match fitted() {
        Ok((full, all)) => {
            method.value = Some(full.cutoff);
            method.model = Some(full.youden);
            method.power = Some(full.power);
            let finite = all.iter().filter(|c| c.is_finite()).count();
            let too_many = method.verdict.failed(finite, all.len());
            method.verdict.few_df(curve.df);
            if full.power.abs() > LARGEST_POWER {
                method.verdict.remarks.push("no power of the transform makes the classes normal".into());
            }
            let centre = Centre { full: full.cutoff, df: curve.df, confidence: study.confidence };
            let interval = replicates.interval(&all, centre).ok();
            method.interval = interval.filter(|_| !too_many);
            method.replicates = all;
        }
        Err(why) => method.verdict.cannot(why.to_string()),
    }
    method
}

fn judge(context: &Context, people: &Classed, method: Method, replicates: &Replicates) -> Judged {
    let shown = method.value.filter(|_| method.verdict.shown(context.study));
    let Some(cutoff) = shown else { return Judged { method, youden: None, optimism: None } };
    let (sample, class) = (&people.sample, &people.class[..]);
    let found = || -> Result<Optimism, StatError> {
        let scan = scan_at(sample, class, &method.replicates, replicates)?;
        let full = FullSample { sample, class, chosen_row: row_of(sample, cutoff) };
        optimism(full, &scan, &scan.rules[0], replicates)
    };
    Judged { youden: youden_at(sample, class, cutoff).ok(), optimism: found().ok(), method }
}

fn write(table: &mut Table, context: &Context, curve: &Curve, judged: &Judged) -> Result<(), AnalysisError> {
    let study = context.study;
    let Judged { method, youden, optimism } = judged;
    let sign = study.indices[curve.index].sign() as f64;
    let shown = method.verdict.shown(study);
    let interval = method.interval.filter(|_| shown).map(|i| oriented(i, sign));
    let flat = if shown { flat(context, curve) } else { None };
    let used = method.replicates.iter().filter(|c| c.is_finite()).count();
    let frame = context.frame_of_pair(curve.index, curve.outcome);
    let replicates = &context.frames[frame].replicates;
    // Only a bootstrap stands to the sample as the sample does to the population.
    let gained = optimism.filter(|_| replicates.kind == BOOTSTRAP);
    let outside = optimism.filter(|_| leaves_people_out(replicates.kind));
    let row = tabulate::lead(table.row(), context, (frame, curve.index))
        .text("outcome", &*study.outcomes[curve.outcome].row.name);
    tabulate::of_group(row, &context.populations[0], &context.groups[curve.group])
        .whole("n", Some((curve.with + curve.without) as i64))
        .whole("n_with", Some(curve.with as i64))
        .text("method", method.name)
        .text("weighted", "yes")
        .real("cutoff", method.value.filter(|_| shown).map(|c| c * sign))
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .text("interval", interval.map_or("", |_| replicates.interval_kind()))
        .real("flat_from", flat.map(|f| f.0 * sign))
        .real("flat_to", flat.map(|f| f.1 * sign))
        .real("youden", *youden)
        .real("youden_model", method.model.filter(|_| shown))
        .real("optimism", gained.map(|o| o.optimism))
        .real("youden_corrected", gained.map(|o| o.corrected))
        .real("youden_external", outside.and_then(|o| o.half_sample_external))
        .real("power", method.power.filter(|_| shown))
        .whole("replicates_asked", shown.then_some(method.replicates.len() as i64))
        .whole("replicates_failed", shown.then_some((method.replicates.len() - used) as i64))
        .text("stated", if method.name == EMPIRICAL { tabulate::STUDY } else { tabulate::TOOL })
        .text("withheld", method.verdict.reason(study))
        .text("notices", method.verdict.notices(study))
        .done()?;
    Ok(())
}

/// Whether the units that a replicate does not draw are a sample to judge its cutoff in: a jackknife leaves out one unit only.
/// Replicates of Fay leave out none and have no such sample either way.
fn leaves_people_out(kind: &str) -> bool {
    [BOOTSTRAP, BALANCED].contains(&kind)
}

/// Range of cutoffs that count nearly as well as the best.
fn flat(context: &Context, curve: &Curve) -> Option<(f64, f64)> {
    let youden = context.study.rules.iter().position(|r| matches!(r.rule, Rule::Youden))?;
    curve.cutoffs.get(youden)?.flat
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::replicate::JACKKNIFE;

    #[test]
    fn the_one_unit_that_a_jackknife_leaves_out_is_no_sample() {
        assert!(leaves_people_out(BOOTSTRAP) && leaves_people_out(BALANCED));
        assert!(!leaves_people_out(JACKKNIFE));
    }
}
