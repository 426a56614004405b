//! Sensitivity, specificity, predictive values and likelihood ratios at a cutoff or threshold.

use super::context::Context;
use super::no_interval::{no_interval, no_interval_of};
use super::select::{Classed, fold};
use super::two_by_two::{NamedMeasure, Table2};
use super::withhold::{self, Verdict};
use crate::stats::Replicates;
use crate::stats::design::Design;
use crate::stats::interval::{self, Interval};
use crate::stats::proportion::{self, Share};
use crate::stats::replicate_interval::Centre;
use crate::stats::roc::RocPoint;
use crate::stats::scan::{self, RuleScan, Scan};

pub const FIXED: &str = "fixed";
pub const RESELECTED: &str = "reselected";

/// One measure of accuracy with its interval.
#[derive(Debug, Clone)]
pub struct Measure {
    pub name: &'static str,
    pub cutoff_uncertainty: &'static str,
    pub value: Option<f64>,
    pub interval: Option<Interval>,
    pub interval_kind: &'static str,
    pub people: u64,
    pub df: f64,
    pub verdict: Verdict,
}

/// Which people stand in the denominator of a share, and which of them in its numerator, as
/// functions of (has the outcome, at or beyond the cutoff).
struct ShareOf {
    name: &'static str,
    denominator: fn(bool, bool) -> bool,
    event: fn(bool, bool) -> bool,
}

impl ShareOf {
    fn of(&self, design: &Design, people: &Classed, first_row: usize) -> Option<Share> {
        let beyond = |row: usize| row >= first_row;
        let denominator = |row: usize| (self.denominator)(people.class[row], beyond(row));
        let event = |row: usize| (self.event)(people.class[row], beyond(row));
        proportion::share(design, &people.sample, &denominator, &event).ok()
    }
}

const SHARES: &[ShareOf] = &[
    ShareOf { name: "sensitivity", denominator: |with, _| with, event: |_, beyond| beyond },
    ShareOf { name: "specificity", denominator: |with, _| !with, event: |_, beyond| !beyond },
    ShareOf { name: "ppv", denominator: |_, beyond| beyond, event: |with, _| with },
    ShareOf { name: "npv", denominator: |_, beyond| !beyond, event: |with, _| !with },
];

/// All measures at a point of the curve, held fixed; with a scan also those of the cutoff chosen
/// anew in every replicate.
pub fn at_cutoff(
    context: &Context,
    pair: (usize, usize),
    people: &Classed,
    point: &RocPoint,
    chosen: Option<(&Scan, &RuleScan)>,
) -> Vec<Measure> {
    let mut measures = at_row(context, pair, people, point.row);
    if let Some((scan, chosen)) = chosen {
        let replicates = &context.frames[context.frame_of_pair(pair.0, pair.1)].replicates;
        measures.extend(reselected((context, replicates), scan, chosen, &measures));
    }
    measures
}

/// All measures when rows from `first_row` on count as beyond.
pub fn at_row(context: &Context, pair: (usize, usize), people: &Classed, first_row: usize) -> Vec<Measure> {
    let design = &context.frames[context.frame_of_pair(pair.0, pair.1)].design;
    let (people, first_row) = &fold(people, first_row, design.units());
    let first_row = *first_row;
    let mut measures: Vec<Measure> =
        SHARES.iter().map(|s| fixed_share(context, s.name, s.of(design, people, first_row))).collect();
    let mut ratios = likelihood_ratios(context, pair, people, first_row);
    for ratio in &mut ratios {
        as_sure_as_its_shares(ratio, &measures);
    }
    measures.extend(ratios);
    measures
}

/// Withholds a likelihood ratio when the sensitivity or the specificity that it is made of is withheld.
fn as_sure_as_its_shares(ratio: &mut Measure, shares: &[Measure]) {
    let unsure = shares
        .iter()
        .filter(|share| ["sensitivity", "specificity"].contains(&share.name))
        .filter(|share| !share.verdict.withheld.is_empty());
    let unsure: Vec<&str> = unsure.map(|share| share.name).collect();
    if ratio.verdict.withheld.is_empty() && !unsure.is_empty() {
        let reason = format!("made of a {} that cannot be relied on", unsure.join(" and a "));
        ratio.verdict.withheld.push(reason);
    }
}

/// The share behind a measure of accuracy when rows from `first_row` on count as beyond.
pub fn share_behind(
    context: &Context,
    pair: (usize, usize),
    (people, first_row): (&Classed, usize),
    measure: &str,
) -> Option<Share> {
    let design = &context.frames[context.frame_of_pair(pair.0, pair.1)].design;
    let (people, first_row) = fold(people, first_row, design.units());
    SHARES.iter().find(|s| s.name == measure)?.of(design, &people, first_row)
}

fn fixed_share(context: &Context, name: &'static str, share: Option<Share>) -> Measure {
    let mut measure = Measure {
        name,
        cutoff_uncertainty: FIXED,
        value: None,
        interval: None,
        interval_kind: "korn_graubard",
        people: 0,
        df: 0.0,
        verdict: Verdict::default(),
    };
    let Some(share) = share else {
        measure.verdict.cannot(no_interval(context.study, 0));
        return measure;
    };
    measure.value = Some(share.p);
    measure.people = share.people;
    measure.df = share.df;
    match share.korn_graubard(context.study.confidence) {
        Ok(interval) => {
            measure.interval = Some(interval);
            measure.verdict = withhold::share(context.study, &share, interval);
        }
        Err(_) => measure.verdict.withheld.push(no_interval(context.study, share.people)),
    }
    measure
}

fn likelihood_ratios(
    context: &Context,
    pair: (usize, usize),
    people: &Classed,
    first_row: usize,
) -> [Measure; 2] {
    let frame = &context.frames[context.frame_of_pair(pair.0, pair.1)];
    let weight = |class: bool, from: usize| -> f64 {
        (from..people.class.len())
            .filter(|&r| people.class[r] == class)
            .map(|r| people.sample.weight[r])
            .sum()
    };
    let totals = (weight(true, 0), weight(false, 0));
    let full = Table2 {
        with: totals.0,
        without: totals.1,
        beyond_with: weight(true, first_row),
        beyond_without: weight(false, first_row),
    };
    let everybody = scan::beyond(&people.sample, &people.class, 0, &frame.replicates);
    let beyond = scan::beyond(&people.sample, &people.class, first_row, &frame.replicates);
    let replicate = |r: usize| Table2 {
        with: everybody.0[r],
        without: everybody.1[r],
        beyond_with: beyond.0[r],
        beyond_without: beyond.1[r],
    };
    let df_of = |class: bool| frame.design.degrees_of_freedom(&people.sample, &|r| people.class[r] == class);
    let [df_with, df_without] = [true, false].map(df_of);
    let about = Ratio {
        full: &full,
        df: df_with.min(df_without),
        fewest: if df_with <= df_without {
            (people.with, " with the outcome")
        } else {
            (people.without, " without the outcome")
        },
        classes: (people.with, people.without),
        replicates: &frame.replicates,
    };
    let ratios: [NamedMeasure; 2] =
        [("lr_positive", Table2::lr_positive), ("lr_negative", Table2::lr_negative)];
    ratios.map(|(name, ratio)| {
        let logs: Vec<f64> = (0..frame.replicates.count).map(|r| ratio(&replicate(r)).ln()).collect();
        likelihood_ratio(context, (name, ratio(&full)), &about, &logs)
    })
}

/// What both likelihood ratios of a cutoff rest on.
struct Ratio<'a> {
    full: &'a Table2,
    df: f64,
    /// People of the class with the fewer degrees of freedom, and which class it is.
    fewest: (u64, &'static str),
    /// People with and without the outcome.
    classes: (u64, u64),
    replicates: &'a Replicates,
}

/// A ratio that is undefined, or has no interval, is withheld.
fn likelihood_ratio(
    context: &Context,
    (name, value): (&'static str, f64),
    about: &Ratio<'_>,
    logs: &[f64],
) -> Measure {
    let Ratio { df, fewest, classes: (with, without), replicates, .. } = *about;
    let mut verdict = Verdict::default();
    let defined = value > 0.0 && value.is_finite();
    if !defined {
        verdict.cannot(about.full.undefined(name));
    }
    let finite: Vec<f64> = logs.iter().map(|l| if l.is_finite() { *l } else { f64::NAN }).collect();
    let spread = replicates.variance(value.ln(), &finite);
    let too_many = verdict.failed(spread.used, replicates.count);
    let interval = (defined && !too_many && df >= 1.0 && spread.used > 1)
        .then(|| interval::t_on_log(value, spread.variance.sqrt(), df, context.study.confidence).ok())
        .flatten();
    if defined && interval.is_none() {
        let many = "it is 0 or infinite in too many replicates".to_owned();
        let few = no_interval_of(context.study, fewest.0, fewest.1);
        verdict.withheld.push(if too_many { many } else { few });
    }
    Measure {
        name,
        cutoff_uncertainty: FIXED,
        value: defined.then_some(value),
        interval,
        interval_kind: "replicates_t_log",
        people: with + without,
        df,
        verdict,
    }
}

/// The shares again, with the interval of a cutoff chosen anew in every replicate.
fn reselected(
    (context, replicates): (&Context, &Replicates),
    scan: &Scan,
    chosen: &RuleScan,
    fixed: &[Measure],
) -> Vec<Measure> {
    let replicate = |r: usize| Table2 {
        with: scan.with[r],
        without: scan.without[r],
        beyond_with: chosen.positive_with[r],
        beyond_without: chosen.positive_without[r],
    };
    let shares: [NamedMeasure; 4] = [
        ("sensitivity", Table2::sensitivity),
        ("specificity", Table2::specificity),
        ("ppv", Table2::ppv),
        ("npv", Table2::npv),
    ];
    let chosen_in = |r: usize| chosen.row[r] != u32::MAX;
    shares
        .iter()
        .filter_map(|(name, share)| {
            let held = fixed.iter().find(|m| m.name == *name)?;
            let of = |r: usize| if chosen_in(r) { share(&replicate(r)) } else { f64::NAN };
            let values: Vec<f64> = (0..chosen.row.len()).map(of).collect();
            let mut verdict = held.verdict.clone();
            let used = values.iter().filter(|v| v.is_finite()).count();
            let too_many = verdict.failed(used, chosen.row.len());
            let full = held.value.unwrap_or(f64::NAN);
            let centre = Centre { full, df: held.df, confidence: context.study.confidence };
            let interval = replicates.interval_of_jumps(&values, centre).ok().filter(|_| !too_many);
            verdict.outside(full, interval);
            Some(Measure {
                cutoff_uncertainty: RESELECTED,
                interval,
                interval_kind: replicates.interval_kind(),
                verdict,
                ..held.clone()
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_likelihood_ratio_is_withheld_with_what_it_is_made_of() {
        let of = |name: &'static str, withheld: &[&str]| Measure {
            name,
            cutoff_uncertainty: FIXED,
            value: Some(0.5),
            interval: None,
            interval_kind: "korn_graubard",
            people: 100,
            df: 20.0,
            verdict: Verdict {
                withheld: withheld.iter().map(|&why| why.to_owned()).collect(),
                ..Verdict::default()
            },
        };
        let said = |shares: &[Measure], own: &[&str]| {
            let mut ratio = of("lr_positive", own);
            as_sure_as_its_shares(&mut ratio, shares);
            ratio.verdict.withheld.join("; ")
        };
        let (found, passed) = (of("sensitivity", &["few"]), of("specificity", &["few"]));
        let sure = [of("sensitivity", &[]), of("specificity", &[]), of("ppv", &["few"])];
        assert_eq!(said(&sure, &[]), "");
        assert_eq!(
            said(&[found.clone(), sure[1].clone()], &[]),
            "made of a sensitivity that cannot be relied on"
        );
        assert_eq!(
            said(&[found.clone(), passed], &[]),
            "made of a sensitivity and a specificity that cannot be relied on"
        );
        assert_eq!(said(&[found], &["it is infinite"]), "it is infinite");
    }
}
