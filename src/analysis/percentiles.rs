//! Percentiles with Woodruff intervals, and geometric means, of every index × population × group.

use rayon::prelude::*;

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
    pub estimates: Vec<Result<QuantileEstimate, StatError>>,
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
        for (&p, estimate) in context.study.percentiles.iter().zip(&one.estimates) {
            percentile_row(context, one, p, estimate, &mut table)?;
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
    let one = |&p: &f64| {
        woodruff(design, &sample, p, QuantileRule::Step, WoodruffScale::Logit, context.study.confidence)
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
pub fn printed(
    context: &Context,
    one: &Percentiles,
    (p, estimate): (f64, &Result<QuantileEstimate, StatError>),
) -> Printed {
    let sign = context.study.indices[one.domain.0].sign() as f64;
    let interval = estimate.as_ref().ok().and_then(|e| e.interval);
    let has_interval = match estimate {
        Ok(e) if e.interval.is_none() => Err(e.reason.unwrap_or("no interval")),
        Ok(_) => Ok(()),
        Err(_) => Err("nobody in the group"),
    };
    let mut verdict = withhold::percentile(context.study, one.people, p, has_interval);
    verdict.few_df(one.df);
    let shown = verdict.shown(context.study);
    let estimate = estimate.as_ref().ok().filter(|_| shown);
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
    p: f64,
    estimate: &Result<QuantileEstimate, StatError>,
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let (index, population, group) = one.domain;
    let Printed { value, interval, standard_error, verdict } = printed(context, one, (p, estimate));
    let row = tabulate::lead(table.row(), context, (context.frame_of_index(index), index));
    tabulate::of_group(row, &context.populations[population], &context.groups[group])
        .whole("n", Some(one.people as i64))
        .real("weighted_n", Some(one.weighted))
        .whole("df", Some(one.df as i64))
        .real("percentile", Some(percent(p)))
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

/// The geometric mean of one domain.
pub fn geometric(context: &Context, domain: Domain) -> Result<MeanEstimate, StatError> {
    let sign = context.study.indices[domain.0].sign() as f64;
    let mut sample = sample_of(context, domain);
    for value in &mut sample.value {
        *value *= sign;
    }
    let design = &context.frames[context.frame_of_index(domain.0)].design;
    geometric_mean(design, &sample, context.study.confidence)
}

/// Whether a geometric mean may be printed.
pub fn judged_mean(study: &Study, mean: &Result<MeanEstimate, StatError>) -> Verdict {
    let people = mean.as_ref().map_or(0, |m| m.people);
    let no_interval = match mean {
        Ok(m) if m.interval.is_some() => Ok(()),
        Ok(_) => Err("no finite interval"),
        Err(StatError::Empty) => Err("nobody in the group"),
        Err(_) => Err("a value is not positive"),
    };
    withhold::mean(study, people, no_interval)
}

/// Weighted geometric means of every index whose values are all positive.
pub fn geometric_means(context: &Context) -> Result<Table, AnalysisError> {
    let all: Vec<_> =
        domains(context).into_par_iter().map(|domain| (domain, geometric(context, domain))).collect();
    let mut table = tabulate::empty("geometric_means");
    for ((index, population, group), mean) in all {
        let people = mean.as_ref().map_or(0, |m| m.people);
        let verdict = judged_mean(context.study, &mean);
        let shown = mean.as_ref().ok().filter(|_| verdict.shown(context.study));
        let row = tabulate::lead(table.row(), context, (context.frame_of_index(index), index));
        tabulate::of_group(row, &context.populations[population], &context.groups[group])
            .whole("n", Some(people as i64))
            .real("weighted_n", mean.as_ref().ok().map(|m| m.weighted_people))
            .whole("df", mean.as_ref().ok().map(|m| m.df as i64))
            .real("value", shown.map(|m| m.value))
            .real("lower", shown.and_then(|m| m.interval).map(|i| i.lower))
            .real("upper", shown.and_then(|m| m.interval).map(|i| i.upper))
            .real("standard_error", shown.map(|m| m.standard_error).filter(|s| s.is_finite()))
            .text("interval", "linearised_t_log")
            .text("stated", tabulate::TOOL)
            .text("withheld", verdict.reason(context.study))
            .done()?;
    }
    Ok(table)
}
