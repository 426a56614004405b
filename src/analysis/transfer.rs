//! Derived in one sample, judged in another: what a cutoff does among people it was not chosen for.

use rayon::prelude::*;

use super::accuracy::{FIXED, Measure, at_row};
use super::context::Context;
use super::roc::Cutoff;
use super::sample_comparison::{curve_of, find};
use super::samples::Derived;
use super::select::{Classed, classed, fold, values};
use super::withhold::{self, Verdict};
use super::{AnalysisError, tabulate};
use crate::stats::interval::t_plain;
use crate::stats::replicate::BOOTSTRAP;
use crate::stats::replicate_interval::Centre;
use crate::stats::{Replicates, proportion, scan};
use crate::table::Table;

/// The cutoff is the other sample's in each of its replicates.
const VARYING: &str = "varying";
const EVERYBODY: &str = "everybody";
const SAME_GROUP: &str = "same group";

/// A measure of a pair of sensitivity and specificity, with its name.
type NamedOf = (&'static str, fn(&(f64, f64)) -> f64);

/// What one cutoff does in one group of the other sample.
struct Line {
    derived_from: &'static str,
    rule: String,
    cutoff: Option<f64>,
    measure: Measure,
}

/// Every sample's cutoffs in every other.
pub fn table(samples: &[Derived]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("transfer");
    let directions = (0..samples.len()).flat_map(|from| (0..samples.len()).map(move |to| (from, to)));
    for (from, to) in directions.filter(|(from, to)| from != to) {
        let judge = Judge { from: &samples[from], to: &samples[to] };
        let context = &judge.to.context;
        let (indices, outcomes) = (context.study.indices.len(), context.study.outcomes.len());
        let pairs = (0..indices).flat_map(|i| (0..outcomes).map(move |o| (i, o)));
        let tasks: Vec<_> =
            pairs.flat_map(|pair| (0..context.groups.len()).map(move |g| (pair, g))).collect();
        let lines: Vec<Vec<Line>> = tasks.par_iter().map(|&(pair, group)| judge.lines(pair, group)).collect();
        for (&(pair, group), lines) in tasks.iter().zip(&lines) {
            for line in lines {
                judge.row(&mut table, (pair, group), line)?;
            }
        }
    }
    Ok(table)
}

/// The sample that a cutoff comes from and the one it is judged in.
struct Judge<'a> {
    from: &'a Derived<'a>,
    to: &'a Derived<'a>,
}

impl Judge<'_> {
    fn lines(&self, pair: (usize, usize), group: usize) -> Vec<Line> {
        let context = &self.to.context;
        let people = classed(context, pair, &context.populations[0], &context.groups[group]);
        let mut lines = vec![self.area(pair, group)];
        let matching = (group > 0).then(|| (SAME_GROUP, find(&self.from.context, &context.groups[group])));
        for (derived_from, position) in [(EVERYBODY, Some(0))].into_iter().chain(matching) {
            for (rule, stated) in context.study.rules.iter().enumerate() {
                let cutoff = position.map(|p| &curve_of(self.from, pair, p).0.cutoffs[rule]);
                let usable = cutoff.filter(|c| c.verdict.shown(context.study) && c.value.is_finite());
                let measures = match usable {
                    Some(cutoff) => self.judged((pair, group), (rule, cutoff), &people),
                    None => vec![withheld("youden", people.with + people.without, self.why(cutoff))],
                };
                lines.extend(measures.into_iter().map(|measure| Line {
                    derived_from,
                    rule: stated.name.clone(),
                    cutoff: usable.map(|c| c.value * context.study.indices[pair.0].sign() as f64),
                    measure,
                }));
            }
        }
        lines
    }

    fn why(&self, cutoff: Option<&Cutoff>) -> String {
        let why = cutoff.map_or("nobody in the group".to_owned(), |c| c.verdict.withheld.join(", "));
        format!("the cutoff of {}: {why}", self.from.label())
    }

    /// The area that the index has in the sample, whatever the cutoff.
    fn area(&self, pair: (usize, usize), group: usize) -> Line {
        let (context, curve) = (&self.to.context, curve_of(self.to, pair, group).0);
        let auc = curve.auc.as_ref();
        let measure = Measure {
            name: "auc",
            cutoff_uncertainty: "",
            value: auc.map(|a| a.value),
            interval: auc.and_then(|a| a.interval),
            interval_kind: context.area_interval(context.frame_of_pair(pair.0, pair.1)),
            people: curve.with + curve.without,
            df: curve.df,
            verdict: curve.auc_verdict.clone(),
        };
        Line { derived_from: "", rule: String::new(), cutoff: None, measure }
    }

    /// All measures of one cutoff: held fixed, then varying as it does in the sample it comes from.
    fn judged(
        &self,
        (pair, group): ((usize, usize), usize),
        (rule, cutoff): (usize, &Cutoff),
        people: &Classed,
    ) -> Vec<Measure> {
        let context = &self.to.context;
        let first = first_beyond(people, cutoff.value);
        let mut measures = at_row(context, pair, people, first);
        measures.retain(|m| ["sensitivity", "specificity"].contains(&m.name));
        measures.extend(self.youden((pair, group), rule, (people, first)));
        let varying = self.varying(pair, cutoff, people, &measures);
        measures.extend(varying);
        measures.push(self.share(pair.0, group, cutoff.value));
        measures
    }

    /// The index of Youden at the cutoff, and how much lower it is than at the sample's own cutoff.
    fn youden(
        &self,
        (pair, group): ((usize, usize), usize),
        rule: usize,
        (people, first): (&Classed, usize),
    ) -> [Measure; 2] {
        let context = &self.to.context;
        let curve = curve_of(self.to, pair, group).0;
        let replicates = &context.frames[context.frame_of_pair(pair.0, pair.1)].replicates;
        let here = youden_of(people, first, replicates);
        let own = &curve.cutoffs[rule];
        let own_here = Some(own).filter(|c| c.value.is_finite() && c.verdict.shown(context.study));
        let own_here = own_here.map(|c| youden_of(people, first_beyond(people, c.value), replicates));
        let enough = withhold::auc(context.study, people.with, people.without);
        let measure = |name, (value, spread): (f64, Vec<f64>)| {
            let spread = replicates.variance(value, &spread);
            let mut verdict = enough.clone();
            let too_many = verdict.failed(spread.used, replicates.count);
            let interval = t_plain(value, spread.variance.sqrt(), curve.df, context.study.confidence).ok();
            let mut measure = plain(name, Some(value).filter(|v| v.is_finite()), (people, curve.df), verdict);
            measure.interval = interval.filter(|_| !too_many);
            measure.interval_kind = "replicates_t";
            measure
        };
        let loss = if let Some((value, spread)) = own_here {
            let gaps = spread.iter().zip(&here.1).map(|(own, other)| own - other).collect();
            measure("youden_loss", (value - here.0, gaps))
        } else {
            let why = format!("the cutoff of {}: {}", self.to.label(), own.verdict.withheld.join(", "));
            withheld("youden_loss", people.with + people.without, why)
        };
        [measure("youden", here), loss]
    }

    /// Share of everybody with a value at or beyond the cutoff.
    fn share(&self, index: usize, group: usize, cutoff: f64) -> Measure {
        let context = &self.to.context;
        let frame = &context.frames[context.frame_of_index(index)];
        let sample = values(&frame.indices[index], &context.populations[0], &context.groups[group]);
        let first = sample.value.partition_point(|&v| v < cutoff);
        let Ok(share) = proportion::share(&frame.design, &sample, &|_| true, &|row| row >= first) else {
            return withheld("share_beyond", 0, "nobody in the group".to_owned());
        };
        match share.korn_graubard(context.study.confidence) {
            Ok(interval) => Measure {
                name: "share_beyond",
                cutoff_uncertainty: FIXED,
                value: Some(share.p),
                interval: Some(interval),
                interval_kind: "korn_graubard",
                people: share.people,
                df: share.df,
                verdict: withhold::share(context.study, &share, interval),
            },
            Err(why) => withheld("share_beyond", share.people, why.to_string()),
        }
    }

    /// Replicate by replicate of both samples: the cutoff of one, the people of the other.
    fn varying(
        &self,
        pair: (usize, usize),
        cutoff: &Cutoff,
        people: &Classed,
        fixed: &[Measure],
    ) -> Vec<Measure> {
        let context = &self.to.context;
        let replicates = &context.frames[context.frame_of_pair(pair.0, pair.1)].replicates;
        let paired = replicates.kind == BOOTSTRAP && replicates.count == cutoff.replicates.len();
        let points = if paired { paired_points(people, &cutoff.replicates, replicates) } else { Vec::new() };
        let measures: [NamedOf; 3] =
            [("sensitivity", |p| p.0), ("specificity", |p| p.1), ("youden", |p| p.0 + p.1 - 1.0)];
        let varied = measures.iter().filter_map(|(name, of)| {
            let held = fixed.iter().find(|m| m.name == *name)?;
            let spread: Vec<f64> = points.iter().map(of).collect();
            let used = spread.iter().filter(|v| v.is_finite()).count();
            let mut verdict = held.verdict.clone();
            if !paired {
                let why = "replicates that are not drawn cannot be paired between samples";
                verdict.withheld.push(why.to_owned());
            }
            let too_many = verdict.failed(used, cutoff.replicates.len());
            let full = held.value.unwrap_or(f64::NAN);
            let centre = Centre { full, df: held.df, confidence: context.study.confidence };
            let interval = replicates.interval_of_jumps(&spread, centre).ok();
            Some(Measure {
                cutoff_uncertainty: VARYING,
                interval: interval.filter(|_| !too_many),
                interval_kind: replicates.interval_kind(),
                verdict,
                ..held.clone()
            })
        });
        varied.collect()
    }

    fn row(
        &self,
        table: &mut Table,
        ((index, outcome), group): ((usize, usize), usize),
        line: &Line,
    ) -> Result<(), AnalysisError> {
        let context: &Context = &self.to.context;
        let row = tabulate::lead(table.row(), context, (context.frame_of_pair(index, outcome), index))
            .text("survey", self.from.label())
            .text("judged_in", self.to.label())
            .text("outcome", &*context.study.outcomes[outcome].row.name);
        let row = tabulate::of_group(row, &context.populations[0], &context.groups[group])
            .text("derived_from", line.derived_from)
            .text("rule", &*line.rule)
            .real("cutoff", line.cutoff)
            .text("cutoff_uncertainty", line.measure.cutoff_uncertainty);
        tabulate::of_measure(row, context, &line.measure).text("stated", tabulate::TOOL).done()?;
        Ok(())
    }
}

fn first_beyond(people: &Classed, cutoff: f64) -> usize {
    people.sample.value.partition_point(|&v| v < cutoff)
}

fn plain(name: &'static str, value: Option<f64>, (people, df): (&Classed, f64), verdict: Verdict) -> Measure {
    Measure {
        name,
        cutoff_uncertainty: FIXED,
        value,
        interval: None,
        interval_kind: "",
        people: people.with + people.without,
        df,
        verdict,
    }
}

/// Of so many people: that nothing is said of them is no sign that they are few.
fn withheld(name: &'static str, people: u64, why: String) -> Measure {
    Measure { people, ..plain(name, None, (&Classed::default(), 0.0), Verdict::none(why)) }
}

/// The index of Youden at a row of the people, in the sample and in every replicate.
fn youden_of(people: &Classed, first: usize, replicates: &Replicates) -> (f64, Vec<f64>) {
    let units = replicates.factors.len() / replicates.count.max(1);
    let (people, first) = fold(people, first, units);
    let total = |class: bool, from: usize| -> f64 {
        (from..people.class.len())
            .filter(|&r| people.class[r] == class)
            .map(|r| people.sample.weight[r])
            .sum()
    };
    let youden =
        |with, without, beyond_with, beyond_without| -> f64 { beyond_with / with - beyond_without / without };
    let value = youden(total(true, 0), total(false, 0), total(true, first), total(false, first));
    let all = scan::beyond(&people.sample, &people.class, 0, replicates);
    let beyond = scan::beyond(&people.sample, &people.class, first, replicates);
    let one = |r: usize| youden(all.0[r], all.1[r], beyond.0[r], beyond.1[r]);
    (value, (0..replicates.count).map(one).collect())
}

/// Sensitivity and specificity of the cutoff of each replicate of one sample among the people of the
/// same replicate of the other; `NaN` where either failed. Sums go by sampling unit, not by person.
fn paired_points(people: &Classed, cutoffs: &[f64], replicates: &Replicates) -> Vec<(f64, f64)> {
    let units = replicates.factors.len() / replicates.count.max(1);
    let sample = &people.sample;
    let mut total = vec![[0.0; 2]; units];
    for row in 0..sample.len() {
        total[sample.unit[row] as usize][usize::from(people.class[row])] += sample.weight[row];
    }
    let mut order: Vec<usize> = (0..cutoffs.len()).filter(|&r| cutoffs[r].is_finite()).collect();
    order.sort_by(|&a, &b| cutoffs[b].total_cmp(&cutoffs[a]));
    let mut beyond = vec![[0.0; 2]; units];
    let mut row = sample.len();
    let mut points = vec![(f64::NAN, f64::NAN); cutoffs.len()];
    for r in order {
        while row > 0 && sample.value[row - 1] >= cutoffs[r] {
            row -= 1;
            beyond[sample.unit[row] as usize][usize::from(people.class[row])] += sample.weight[row];
        }
        let sums = |of: &[[f64; 2]]| {
            of.iter().enumerate().fold([0.0; 2], |sum, (unit, own)| {
                let factor = replicates.of_unit(unit as u32)[r];
                [sum[0] + factor * own[0], sum[1] + factor * own[1]]
            })
        };
        let (all, past) = (sums(&total), sums(&beyond));
        points[r] = (past[1] / all[1], 1.0 - past[0] / all[0]);
    }
    points
}
