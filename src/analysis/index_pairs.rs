//! Areas of two indices on the people who have both, and their difference.

use std::collections::HashMap;

use rayon::prelude::*;

use super::AnalysisError;
use super::compared::adjusted;
use super::context::Context;
use super::paired_rows::{Both, PairedRows, find};
use super::withhold::{self, Verdict};
use crate::stats::delong::delong;
use crate::stats::interval::{Interval, t_plain};
use crate::stats::paired::{Replicated, paired_difference};
use crate::stats::{StatError, roc, scan};

/// One pair of indices against one outcome in one group of the cohort.
#[derive(Debug)]
pub struct Pair {
    pub indices: (usize, usize),
    pub outcome: usize,
    pub group: usize,
    pub frame: usize,
    pub with: u64,
    pub without: u64,
    pub df: f64,
    /// AUC of either, on the people who have both.
    pub auc: Option<(f64, f64)>,
    /// Whether both order people in exactly the same way, so that the difference is 0 and nothing is to be tested.
    pub twins: bool,
    pub difference: Option<Difference>,
    pub p_holm: Option<f64>,
    pub verdict: Verdict,
}

#[derive(Debug, Clone, Copy)]
pub struct Difference {
    pub value: f64,
    pub standard_error: f64,
    /// `None` when too many replicates failed.
    pub interval: Option<Interval>,
    pub p: f64,
    pub kind: &'static str,
    /// `None` without replicates.
    pub used: Option<usize>,
}

/// An area with its replicates.
type Area = (f64, Vec<f64>);

/// Every pair against every outcome, in everybody and in the groups of single variables; p values are
/// adjusted over the pairs of one outcome and group.
pub fn all(context: &Context) -> Result<Vec<Pair>, AnalysisError> {
    let study = context.study;
    let single = |g: &usize| context.groups[*g].grouping.is_none_or(|by| study.groupings[by].len() == 1);
    let groups: Vec<usize> = (0..context.groups.len()).filter(single).collect();
    let of_outcome = |outcome: usize| {
        let found = study.index_pairs().into_iter();
        let found: Vec<_> = found.filter_map(|pair| Some((pair, find(context, pair, outcome)?))).collect();
        let rows: Vec<PairedRows> =
            found.into_par_iter().map(|(pair, joint)| PairedRows::new(context, joint, pair)).collect();
        let classes = classes(context, &rows);
        groups
            .par_iter()
            .map(|&group| Task { context, rows: &rows, classes: &classes, outcome, group }.pairs())
            .collect::<Result<Vec<Vec<Pair>>, AnalysisError>>()
    };
    let of_outcomes = (0..study.outcomes.len()).map(of_outcome).collect::<Result<Vec<_>, _>>()?;
    Ok(of_outcomes.into_iter().flatten().flatten().collect())
}

/// For every frame and index the first index that the same people have: an area on the people who have one
/// of a class is the area on those who have another, and need not be computed again.
fn classes(context: &Context, rows: &[PairedRows]) -> HashMap<(usize, usize), usize> {
    let mut classes = HashMap::new();
    for pair in rows {
        let (a, b) = pair.indices;
        let own = |index: usize| context.frames[pair.frame()].indices[index].sample.people_counted();
        if pair.people() == own(a) && pair.people() == own(b) {
            let first = *classes.entry((pair.frame(), a)).or_insert(a);
            classes.entry((pair.frame(), b)).or_insert(first);
        }
    }
    classes
}

struct Task<'a> {
    context: &'a Context<'a>,
    rows: &'a [PairedRows<'a>],
    classes: &'a HashMap<(usize, usize), usize>,
    outcome: usize,
    group: usize,
}

impl Task<'_> {
    fn pairs(&self) -> Result<Vec<Pair>, AnalysisError> {
        let mut known = HashMap::new();
        let mut pairs: Vec<Pair> = self.rows.iter().map(|rows| self.pair(rows, &mut known)).collect();
        let shown = |pair: &Pair| pair.verdict.shown(self.context.study);
        let raw: Vec<Option<f64>> =
            pairs.iter().map(|pair| pair.difference.filter(|_| shown(pair)).map(|d| d.p)).collect();
        for (pair, p) in pairs.iter_mut().zip(adjusted(&raw)?) {
            pair.p_holm = p;
        }
        Ok(pairs)
    }

    fn pair(&self, rows: &PairedRows, known: &mut HashMap<(usize, usize, usize), Area>) -> Pair {
        let context = self.context;
        let people = rows.both(context, self.outcome, (&context.populations[0], &context.groups[self.group]));
        let design = &context.frames[rows.frame()].design;
        let df_of = |class: bool| {
            design.degrees_of_freedom(&people.samples[0], &|row| people.classes[0][row] == class)
        };
        let mut pair = Pair {
            indices: rows.indices,
            outcome: self.outcome,
            group: self.group,
            frame: rows.frame(),
            with: people.with,
            without: people.without,
            df: df_of(true).min(df_of(false)),
            auc: None,
            twins: false,
            difference: None,
            p_holm: None,
            verdict: withhold::auc(context.study, people.with, people.without),
        };
        if people.with == 0 || people.without == 0 {
            return pair;
        }
        let by_people =
            !context.tallies.has_design && context.tallies.frames[pair.frame].frame.subsample.is_none();
        let compared = if by_people {
            self.without_design(rows, &mut pair)
        } else {
            self.by_replicates(&people, &mut pair, known)
        };
        if let Err(why) = compared {
            pair.verdict.withheld.push(why.to_string());
        }
        pair
    }

    /// Replicates of the design, the same ones for both.
    fn by_replicates(
        &self,
        people: &Both,
        pair: &mut Pair,
        known: &mut HashMap<(usize, usize, usize), Area>,
    ) -> Result<(), StatError> {
        let study = self.context.study;
        let frame = &self.context.frames[pair.frame];
        let class = |index: usize| *self.classes.get(&(pair.frame, index)).unwrap_or(&index);
        let (a, b) = pair.indices;
        let family = study.representative(b) == a;
        let mut area = |position: usize, own: usize, other: usize| -> Result<Area, StatError> {
            // Twins are compared on the very same rows, where they agree to the last bit.
            let key = (pair.frame, own, class(other));
            if let Some(area) = known.get(&key).filter(|_| !family) {
                return Ok(area.clone());
            }
            let (sample, classes) = (&people.samples[position], &people.classes[position]);
            let area = (roc::auc(sample, classes)?, scan::scan(sample, classes, &[], &frame.replicates).auc);
            known.insert(key, area.clone());
            Ok(area)
        };
        let (first, second) = (area(0, a, b)?, area(1, b, a)?);
        pair.auc = Some((first.0, second.0));
        let alike = |x: &f64, y: &f64| x == y || (x.is_nan() && y.is_nan());
        pair.twins = first.0 == second.0 && first.1.iter().zip(&second.1).all(|(x, y)| alike(x, y));
        if pair.twins {
            return Ok(());
        }
        pair.verdict.few_df(pair.df);
        let [x, y] = [&first, &second].map(|area| Replicated { value: area.0, replicates: &area.1 });
        let got = paired_difference(x, y, &frame.replicates, pair.df, study.confidence)?;
        let too_many = pair.verdict.failed(got.used, frame.replicates.count);
        pair.difference = Some(Difference {
            value: got.difference,
            standard_error: got.standard_error,
            interval: (!too_many).then_some(got.interval),
            p: got.p_value,
            kind: "replicates_paired_t",
            used: Some(got.used),
        });
        Ok(())
    }

    /// `DeLong`'s covariance, for people who all count the same.
    fn without_design(&self, rows: &PairedRows, pair: &mut Pair) -> Result<(), StatError> {
        let who = (&self.context.populations[0], &self.context.groups[self.group]);
        let (values, class) = rows.each(self.context, self.outcome, who);
        let got = delong(&[&values[0], &values[1]], &class)?;
        pair.auc = Some((got.auc[0], got.auc[1]));
        let Ok(test) = got.paired_test(0, 1) else {
            pair.twins = got.auc[0] == got.auc[1];
            return Ok(());
        };
        let interval =
            t_plain(test.difference, test.standard_error, f64::INFINITY, self.context.study.confidence)?;
        pair.difference = Some(Difference {
            value: test.difference,
            standard_error: test.standard_error,
            interval: Some(interval),
            p: test.p_value,
            kind: "delong_normal",
            used: None,
        });
        Ok(())
    }
}
