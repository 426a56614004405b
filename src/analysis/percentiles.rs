//! Percentiles with Woodruff intervals, and geometric means, of every index × population × group.

use rayon::prelude::*;

use super::beside::fewer_beside_value;
use super::context::Context;
use super::roc::oriented;
use super::select::values;
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::interval::Interval;
use crate::stats::mean::{MeanEstimate, geometric_mean};
use crate::stats::quantile::{QuantileEstimate, QuantileRule, WoodruffScale, woodruff};
use crate::stats::{Sample, StatError};
use crate::study::Study;
use crate::table::Table;

/// (index, population, group) of one domain.
pub type Domain = (usize, usize, usize);

fn domains(context: &Context) -> Vec<Domain> {
    let (indices, populations) = (context.study.indices.len(), context.populations.len());
    (0..indices)
        .flat_map(|i| (0..populations).map(move |p| (i, p)))
        .flat_map(|(i, p)| (0..context.groups.len()).map(move |g| (i, p, g)))
        .collect()
}

pub fn sample_of(context: &Context, (index, population, group): Domain) -> Sample {
    let ordered = &context.frames[context.frame_of_index(index)].indices[index];
    values(ordered, &context.populations[population], &context.groups[group])
}

/// Percentiles of one domain, in the order in which they were asked for.
pub struct Percentiles {
    domain: Domain,
    pub people: u64,
    pub weighted: f64,
    pub df: f64,
    pub estimates: Vec<Estimate>,
}

/// One percentile in resistance order.
pub struct Estimate {
    p: f64,
    found: Result<QuantileEstimate, StatError>,
    /// People beyond it on its nearer side.
    beyond: u64,
}

/// One percentile on the index's own scale, as far as it may be printed.
pub struct Printed {
    pub value: Option<f64>,
    pub interval: Option<Interval>,
    pub standard_error: Option<f64>,
    pub verdict: Verdict,
}

/// The percentiles that the study asks for, in resistance order, on the index's own scale.
pub fn percentiles(context: &Context) -> Result<Table, AnalysisError> {
    let all: Vec<Percentiles> =
        domains(context).into_par_iter().map(|domain| estimate(context, domain)).collect();
    let mut table = tabulate::empty("percentiles");
    for one in &all {
        for estimate in &one.estimates {
            percentile_row(context, one, estimate, &mut table)?;
        }
    }
    Ok(table)
}

/// The percentiles of one domain that the study asks for.
pub fn estimate(context: &Context, domain: Domain) -> Percentiles {
    estimate_at(context, domain, &context.study.percentiles)
}

/// Any percentiles of one domain.
pub fn estimate_at(context: &Context, domain: Domain, at: &[f64]) -> Percentiles {
    let sample = sample_of(context, domain);
    let design = &context.frames[context.frame_of_index(domain.0)].design;
    let (rule, scale, confidence) = (QuantileRule::Step, WoodruffScale::Logit, context.study.confidence);
    let one = |&p: &f64| {
        let found = woodruff(design, &sample, p, rule, scale, confidence);
        let beyond = found.as_ref().map_or(0, |found| fewer_beside_value(&sample, found.value));
        Estimate { p, found, beyond }
    };
    Percentiles {
        domain,
        people: sample.people_counted(),
        weighted: sample.weight.iter().sum(),
        df: design.degrees_of_freedom(&sample, &|_| true),
        estimates: at.iter().map(one).collect(),
    }
}

/// The estimate of a percentile, unless it is too unsure.
pub fn printed(context: &Context, one: &Percentiles, estimate: &Estimate) -> Printed {
    let sign = context.study.indices[one.domain.0].sign() as f64;
    let interval = estimate.found.as_ref().ok().and_then(|e| e.interval);
    let has_interval = match &estimate.found {
        Ok(e) if e.interval.is_none() => Err(e.reason.unwrap_or("no interval")),
        Ok(_) => Ok(()),
        Err(_) => Err("nobody in the group"),
    };
    let mut verdict = withhold::percentile(context.study, one.people, estimate.beyond, has_interval);
    verdict.few_df(one.df);
    let shown = verdict.shown(context.study);
    let estimate = estimate.found.as_ref().ok().filter(|_| shown);
    Printed {
        value: estimate.map(|e| e.value * sign),
        interval: interval.filter(|_| shown).map(|i| oriented(i, sign)),
        standard_error: estimate.and_then(|e| e.standard_error),
        verdict,
    }
}

fn percentile_row(
    context: &Context,
    one: &Percentiles,
    estimate: &Estimate,
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let (index, population, group) = one.domain;
    let Printed { value, interval, standard_error, verdict } = printed(context, one, estimate);
    let row = tabulate::lead(table.row(), context, (context.frame_of_index(index), index));
    tabulate::of_group(row, &context.populations[population], &context.groups[group])
        .whole("n", Some(one.people as i64))
        .real("weighted_n", Some(one.weighted))
        .whole("df", Some(one.df as i64))
        .real("percentile", Some(percent(estimate.p)))
        .real("value", value)
        .real("lower", interval.map(|i| i.lower))
        .real("upper", interval.map(|i| i.upper))
        .real("standard_error", standard_error)
        .text("method", "weighted_step")
        .text("interval", "woodruff_logit")
        .text("stated", tabulate::STUDY)
        .text("withheld", verdict.reason(context.study))
        .text("notices", verdict.notices(context.study))
        .done()?;
    Ok(())
}

/// A proportion as percent, free of the noise of binary fractions (0.95 is 95).
pub fn percent(p: f64) -> f64 {
    (p * 1e12).round() / 1e10
}

/// A geometric mean on the index's own scale, and of whom it is.
pub struct Mean {
    pub people: u64,
    weighted: f64,
    df: f64,
    estimate: Result<MeanEstimate, StatError>,
    pub verdict: Verdict,
}

impl Mean {
    /// The estimate, as far as it may be printed.
    pub fn shown(&self, study: &Study) -> Option<&MeanEstimate> {
        self.estimate.as_ref().ok().filter(|_| self.verdict.shown(study))
    }
}

/// The geometric mean of one domain.
pub fn geometric(context: &Context, domain: Domain) -> Mean {
    let study = context.study;
    let ordered = sample_of(context, domain);
    let sample = if study.indices[domain.0].sign() < 0 { ordered.negated() } else { ordered };
    let design = &context.frames[context.frame_of_index(domain.0)].design;
    let people = sample.people_counted();
    let estimate = geometric_mean(design, &sample, study.confidence);
    let mut verdict = withhold::mean(study, people, has_interval(&estimate));
    if matches!(estimate, Err(StatError::Value { .. })) && !verdict.barred {
        verdict.bar("a value is not positive");
    }
    Mean {
        people,
        weighted: sample.weight.iter().sum(),
        df: design.degrees_of_freedom(&sample, &|_| true),
        estimate,
        verdict,
    }
}

/// Why a geometric mean has no interval.
fn has_interval(mean: &Result<MeanEstimate, StatError>) -> Result<(), &'static str> {
    match mean {
        Ok(mean) if mean.interval.is_some() => Ok(()),
        Ok(_) => Err("no finite interval"),
        Err(_) => Err("nobody in the group"),
    }
}

/// Weighted geometric means of every index whose values are all positive.
pub fn geometric_means(context: &Context) -> Result<Table, AnalysisError> {
    let all: Vec<_> =
        domains(context).into_par_iter().map(|domain| (domain, geometric(context, domain))).collect();
    let mut table = tabulate::empty("geometric_means");
    for ((index, population, group), mean) in all {
        let shown = mean.shown(context.study);
        let row = tabulate::lead(table.row(), context, (context.frame_of_index(index), index));
        tabulate::of_group(row, &context.populations[population], &context.groups[group])
            .whole("n", Some(mean.people as i64))
            .real("weighted_n", Some(mean.weighted))
            .whole("df", Some(mean.df as i64))
            .real("value", shown.map(|m| m.value))
            .real("lower", shown.and_then(|m| m.interval).map(|i| i.lower))
            .real("upper", shown.and_then(|m| m.interval).map(|i| i.upper))
            .real("standard_error", shown.map(|m| m.standard_error).filter(|s| s.is_finite()))
            .text("interval", "linearised_t_log")
            .text("stated", tabulate::TOOL)
            .text("withheld", mean.verdict.reason(context.study))
            .done()?;
    }
    Ok(table)
}
