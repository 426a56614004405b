//! ROC curves of every index × outcome × group: AUC, cutoffs by every rule, and their replicates.

use rayon::prelude::*;

use super::AnalysisError;
use super::accuracy::{Measure, at_cutoff};
use super::context::{Context, FrameContext};
use super::select::{Classed, classed};
use super::singly::area_variance;
use super::withhold::{self, Verdict};
use crate::stats::Replicates;
use crate::stats::external;
use crate::stats::interval::{self, Interval};
use crate::stats::replicate::BOOTSTRAP;
use crate::stats::replicate_interval::Centre;
use crate::stats::roc::{self, RocPoint};
use crate::stats::rule::{self, Rule};
use crate::stats::scan::{self, RuleScan, Scan};
use crate::study::{empty_columns, known_of_nobody};

/// Cutoffs whose Youden index is this close to the best are shown as the flat range.
const FLAT: f64 = 0.01;

/// Everything derived from one ROC curve.
#[derive(Debug, Clone)]
pub struct Curve {
    pub index: usize,
    pub outcome: usize,
    /// Position in the context's groups; the population is the cohort.
    pub group: usize,
    pub with: u64,
    pub without: u64,
    pub unknown: u64,
    pub weighted: f64,
    /// The smaller of the degrees of freedom among people with and without the outcome.
    pub df: f64,
    pub auc: Option<Auc>,
    pub auc_verdict: Verdict,
    pub cutoffs: Vec<Cutoff>,
}

#[derive(Debug, Clone)]
pub struct Auc {
    pub value: f64,
    pub standard_error: Option<f64>,
    pub interval: Option<Interval>,
    /// Replicates behind the interval; `None` where it is not made from replicates.
    pub used: Option<usize>,
}

/// One cutoff, on the scale of resistance order (lower-is-resistant indices are negative here).
#[derive(Debug, Clone)]
pub struct Cutoff {
    pub value: f64,
    pub midpoint: f64,
    pub interval: Option<Interval>,
    pub interval_t: Option<Interval>,
    pub youden: f64,
    pub optimism: Option<f64>,
    /// Of the largest Youden index only.
    pub flat: Option<(f64, f64)>,
    /// The cutoff chosen in each replicate, `NaN` where there is none.
    pub replicates: Vec<f64>,
    pub used: usize,
    pub measures: Vec<Measure>,
    pub verdict: Verdict,
}

impl Cutoff {
    /// No cutoff in so many replicates, and why.
    fn none(replicates: usize, verdict: Verdict) -> Self {
        Self {
            value: f64::NAN,
            midpoint: f64::NAN,
            interval: None,
            interval_t: None,
            youden: f64::NAN,
            optimism: None,
            flat: None,
            replicates: vec![f64::NAN; replicates],
            used: 0,
            measures: Vec::new(),
            verdict,
        }
    }
}

/// All curves of a study: index by index, outcome by outcome, group by group.
pub fn all(context: &Context) -> Result<Vec<Curve>, AnalysisError> {
    let curves = every(context);
    refuse_one_class(context, &curves)?;
    Ok(curves)
}

/// All curves, those too that nobody with or without the outcome makes empty.
pub fn every(context: &Context) -> Vec<Curve> {
    let pairs =
        (0..context.study.indices.len()).flat_map(|i| (0..context.study.outcomes.len()).map(move |o| (i, o)));
    let tasks: Vec<_> = pairs.flat_map(|pair| (0..context.groups.len()).map(move |g| (pair, g))).collect();
    tasks.par_iter().map(|&(pair, group)| curve(context, pair, group)).collect()
}

/// An outcome that nobody, or everybody, of the whole cohort has cannot be judged at all.
fn refuse_one_class(context: &Context, curves: &[Curve]) -> Result<(), AnalysisError> {
    for curve in curves.iter().filter(|c| c.group == 0) {
        let missing = match (curve.with, curve.without) {
            (0, _) => "has",
            (_, 0) => "is without",
            _ => continue,
        };
        let index = &context.study.indices[curve.index];
        let without = known_of_nobody(context.study, &index.ingredients);
        if !without.is_empty() {
            let columns = empty_columns(context.study, &without);
            let (index, quantities) = (index.row.name.clone(), without.join(" and "));
            return Err(AnalysisError::NoValues { index, quantities, columns });
        }
        let outcome = &context.study.outcomes[curve.outcome];
        let without = known_of_nobody(context.study, &outcome.ingredients);
        let because = if without.is_empty() {
            String::new()
        } else {
            let columns = empty_columns(context.study, &without);
            format!(" The outcome reads {}, which is missing for everybody{columns}.", without.join(" and "))
        };
        return Err(AnalysisError::OneClass { outcome: outcome.row.name.clone(), missing, because });
    }
    Ok(())
}

/// The curve of a pair of index and outcome in one group.
pub fn curve(context: &Context, pair: (usize, usize), group: usize) -> Curve {
    let study = context.study;
    let people = classed(context, pair, &context.populations[0], &context.groups[group]);
    let frame = &context.frames[context.frame_of_pair(pair.0, pair.1)];
    let df_of =
        |class: bool| frame.design.degrees_of_freedom(&people.sample, &|row| people.class[row] == class);
    let mut result = Curve {
        index: pair.0,
        outcome: pair.1,
        group,
        with: people.with,
        without: people.without,
        unknown: people.unknown,
        weighted: people.sample.weight.iter().sum(),
        df: df_of(true).min(df_of(false)),
        auc: None,
        auc_verdict: withhold::auc(study, people.with, people.without),
        cutoffs: Vec::new(),
    };
    let replicates = frame.replicates.count;
    let Ok(points) = roc::curve(&people.sample, &people.class) else {
        let verdict = withhold::cutoff(study, people.with, people.without, None);
        result.cutoffs = vec![Cutoff::none(replicates, verdict); study.rules.len()];
        return result;
    };
    let rules: Vec<Rule> = study.rules.iter().map(|r| r.rule).collect();
    let scan = scan::scan(&people.sample, &people.class, &rules, &frame.replicates);
    result.auc = auc(context, &people, &scan, &mut result);
    let prevalence = roc::prevalence(&people.sample, &people.class);
    let build = |(position, rule): (usize, &Rule)| {
        let chosen = rule::choose(&points, *rule, prevalence)?;
        let full = Full { context, pair, people: &people, points: &points, chosen };
        let mut cutoff = full.cutoff(&scan, &scan.rules[position], &result);
        if matches!(rule, Rule::Youden) {
            cutoff.flat = rule::flat_range(&points, FLAT);
        }
        Some(cutoff)
    };
    let none = || {
        let verdict = withhold::cutoff(study, people.with, people.without, None);
        let few = verdict.barred;
        Cutoff::none(replicates, if few { verdict } else { Verdict::none("no cutoff satisfies the rule") })
    };
    result.cutoffs = rules.iter().enumerate().map(|task| build(task).unwrap_or_else(none)).collect();
    result
}

/// The area with its interval on the logit, t on the degrees of freedom: from the replicates, or by `DeLong`'s variance
/// where people were drawn singly.
fn auc(context: &Context, people: &Classed, scan: &Scan, curve: &mut Curve) -> Option<Auc> {
    let value = roc::auc(&people.sample, &people.class).ok()?;
    let frame = context.frame_of_pair(curve.index, curve.outcome);
    if context.drawn_singly(frame) {
        curve.auc_verdict.few_df(curve.df);
        return Some(singly(people, (value, curve.df), context.study.confidence));
    }
    let frame = &context.frames[frame];
    let spread = frame.replicates.variance(value, &scan.auc);
    let standard_error = (spread.used > 1).then(|| spread.variance.sqrt());
    let centre = Centre { full: value, df: curve.df, confidence: context.study.confidence };
    let interval = logit_interval(&frame.replicates, &scan.auc, centre, &mut curve.auc_verdict);
    curve.auc_verdict.few_df(curve.df);
    Some(Auc { value, standard_error, interval, used: Some(with_logit(&scan.auc)) })
}

/// The area of people who were drawn singly.
fn singly(people: &Classed, (value, df): (f64, f64), confidence: f64) -> Auc {
    let standard_error = area_variance(people).map(f64::sqrt);
    let on_logit =
        |error: f64| interval::t_on_logit(value, error / (value * (1.0 - value)), df, confidence).ok();
    let inside = roc::logit_of_area(value).is_some();
    let interval = standard_error.filter(|_| inside && df >= 1.0).and_then(on_logit);
    Auc { value, standard_error, interval, used: None }
}

/// t interval of an area on the logit; none where too many replicates have no logit, which is remarked.
pub fn logit_interval(
    replicates: &Replicates,
    areas: &[f64],
    centre: Centre,
    verdict: &mut Verdict,
) -> Option<Interval> {
    // An area of complete separation has no interval, which is no failure of replicates.
    roc::logit_of_area(centre.full)?;
    let used = with_logit(areas);
    let too_many = verdict.failed(used, areas.len());
    let enough = !too_many && used > 1 && centre.df >= 1.0;
    if enough { replicates.interval_on_logit(areas, centre).ok() } else { None }
}

/// How many areas have a logit.
pub fn with_logit(areas: &[f64]) -> usize {
    areas.iter().filter(|&&area| roc::logit_of_area(area).is_some()).count()
}

/// A chosen point of the full-sample curve and what it was chosen from.
struct Full<'a> {
    context: &'a Context<'a>,
    pair: (usize, usize),
    people: &'a Classed,
    points: &'a [RocPoint],
    chosen: usize,
}

impl Full<'_> {
    fn cutoff(&self, scan: &Scan, chosen: &RuleScan, curve: &Curve) -> Cutoff {
        let study = self.context.study;
        let point = &self.points[self.chosen];
        let less_resistant = self.chosen.checked_sub(1).map_or(point.cutoff, |i| self.points[i].cutoff);
        let replicates = self.replicate_cutoffs(chosen);
        let finite: Vec<f64> = replicates.iter().copied().filter(|v| v.is_finite()).collect();
        let auc = curve.auc.as_ref().and_then(|a| a.interval);
        let mut verdict = withhold::cutoff(study, curve.with, curve.without, auc);
        let too_many = verdict.failed(finite.len(), replicates.len());
        verdict.few_df(curve.df);
        let design = &self.frame().replicates;
        verdict.jumps(design);
        let centre = Centre { full: point.cutoff, df: curve.df, confidence: study.confidence };
        let interval = if too_many { None } else { design.interval_of_jumps(&replicates, centre).ok() };
        verdict.outside(point.cutoff, interval);
        Cutoff {
            value: point.cutoff,
            midpoint: f64::midpoint(point.cutoff, less_resistant),
            interval,
            interval_t: if too_many { None } else { self.t_interval(&replicates, curve.df) },
            youden: point.sensitivity + point.specificity - 1.0,
            optimism: self.optimism(scan, chosen),
            flat: None,
            used: finite.len(),
            measures: at_cutoff(self.context, self.pair, self.people, point, Some((scan, chosen))),
            replicates,
            verdict,
        }
    }

    fn frame(&self) -> &FrameContext {
        &self.context.frames[self.context.frame_of_pair(self.pair.0, self.pair.1)]
    }

    fn replicate_cutoffs(&self, chosen: &RuleScan) -> Vec<f64> {
        let values = &self.people.sample.value;
        chosen.row.iter().map(|&row| values.get(row as usize).copied().unwrap_or(f64::NAN)).collect()
    }

    /// t interval on the log where every value is positive on its own scale, else as it is.
    fn t_interval(&self, replicates: &[f64], df: f64) -> Option<Interval> {
        let study = self.context.study;
        let design = &self.frame().replicates;
        let sign = study.indices[self.pair.0].sign() as f64;
        let full = self.points[self.chosen].cutoff * sign;
        let own: Vec<f64> = replicates.iter().map(|v| v * sign).collect();
        let log = full > 0.0 && self.people.sample.value.iter().all(|v| v * sign > 0.0);
        if df < 1.0 || !design.suits_jumps() {
            return None;
        }
        let on_own_scale = if log {
            let logs: Vec<f64> = own.iter().map(|v| v.ln()).collect();
            let spread = design.variance(full.ln(), &logs);
            interval::t_on_log(full, spread.variance.sqrt(), df, study.confidence)
        } else {
            let spread = design.variance(full, &own);
            interval::t_plain(full, spread.variance.sqrt(), df, study.confidence)
        };
        // Back in resistance order, so that every cutoff of this module is on one scale.
        on_own_scale.ok().map(|i| oriented(i, sign))
    }

    /// Mean over replicates of J of the replicate's cutoff in the replicate, less its J in the sample. Only a
    /// bootstrap stands to the sample as the sample does to the population.
    fn optimism(&self, scan: &Scan, chosen: &RuleScan) -> Option<f64> {
        if self.frame().replicates.kind != BOOTSTRAP {
            return None;
        }
        external::gain(&self.people.sample, self.points, scan, chosen).map(|(mean, _)| mean)
    }
}

/// An interval on the index's own scale, from or to the resistance scale.
#[must_use]
pub fn oriented(interval: Interval, sign: f64) -> Interval {
    if sign > 0.0 { interval } else { Interval { lower: -interval.upper, upper: -interval.lower } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_replicate_that_separates_completely_has_failed() {
        let replicates = |count: usize| Replicates {
            count,
            factors: vec![1.0; count],
            scale: 1.0 / count as f64,
            rscales: vec![1.0; count],
            kind: BOOTSTRAP,
        };
        let centre = Centre { full: 0.9, df: 10.0, confidence: 0.95 };
        let judged = |areas: &[f64]| {
            let mut verdict = Verdict::default();
            let interval = logit_interval(&replicates(areas.len()), areas, centre, &mut verdict);
            (interval, with_logit(areas), verdict.remarks.len())
        };
        // The last bit of the sums puts complete separation just below 1, at 1 or just above.
        let separated = [1.0 - f64::EPSILON / 2.0, 1.0, 1.0 + f64::EPSILON];
        let mut areas = vec![0.88, 0.92, 0.88, 0.92, 0.88, 0.92, 0.88, 0.92, 0.9, 0.9, 0.9, 0.9];
        let whole = judged(&areas).0.expect("none failed");
        areas.push(separated[0]);
        let (interval, used, remarks) = judged(&areas);
        assert_eq!((used, remarks), (12, 1), "1 of 13 is more than 5 %");
        let interval = interval.expect("less than 20 %");
        assert!((interval.lower - whole.lower).abs() < 1e-9, "{interval:?} {whole:?}");
        areas.extend(&separated);
        assert_eq!(judged(&areas), (None, 12, 1), "4 of 16 are too many");
    }
}
