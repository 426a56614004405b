//! Areas of two indices on the people who have both, and their difference.

use std::collections::HashMap;

use rayon::prelude::*;

use super::AnalysisError;
use super::compared::adjusted;
use super::context::Context;
use super::groups::{Group, Population};
use super::paired_rows::{Both, PairedRows, find};
use super::withhold::{self, Verdict};
use crate::stats::delong::delong;
use crate::stats::interval::{Interval, t_plain};
use crate::stats::paired::{PairedDifference, Replicated, paired_difference};
use crate::stats::{StatError, roc, scan};

/// A difference of areas below this is rounding.
const ROUNDING: f64 = 1e-12;

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
    pub untested: Option<Untested>,
    pub difference: Option<Difference>,
    pub p_holm: Option<f64>,
    pub verdict: Verdict,
}

impl Pair {
    /// The difference of areas that have nothing to be tested by.
    pub fn untested_gap(&self) -> Option<f64> {
        let gap = self.untested.and(self.auc).map(|(own, other)| own - other);
        gap.map(|gap| if gap.abs() < ROUNDING { 0.0 } else { gap })
    }
}

/// Why a difference of areas has nothing to be tested by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Untested {
    /// Both order people in exactly the same way.
    Twins,
    /// The difference is the same whoever is drawn, as where both separate these people completely.
    Fixed,
}

#[derive(Debug, Clone, Copy)]
pub struct Difference {
    pub value: f64,
    /// These three are `None` when too many replicates failed.
    pub standard_error: Option<f64>,
    pub interval: Option<Interval>,
    pub p: Option<f64>,
    pub kind: &'static str,
    /// `None` without replicates.
    pub used: Option<usize>,
}

impl Difference {
    fn of_replicates(got: &PairedDifference, too_many_failed: bool) -> Self {
        let known = !too_many_failed;
        Self {
            value: got.difference,
            standard_error: known.then_some(got.standard_error),
            interval: known.then_some(got.interval),
            p: known.then_some(got.p_value),
            kind: "replicates_paired_t",
            used: Some(got.used),
        }
    }
}

/// Whether two areas differ by the same in every replicate in which both exist.
fn fixed(first: &Area, second: &Area) -> bool {
    let full = first.0 - second.0;
    let mut each = first.1.iter().zip(&second.1).map(|(a, b)| a - b).filter(|gap| gap.is_finite()).peekable();
    each.peek().is_some() && each.all(|gap| (gap - full).abs() < ROUNDING)
}

/// An area with its replicates.
type Area = (f64, Vec<f64>);

/// Every pair against every outcome, in everybody and in the groups of single variables; p values are
/// adjusted over the pairs of one outcome and group.
pub fn all(context: &Context) -> Result<Vec<Pair>, AnalysisError> {
    let study = context.study;
    let single = |g: &usize| context.groups[*g].is_single();
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
            pairs.iter().map(|pair| pair.difference.filter(|_| shown(pair)).and_then(|d| d.p)).collect();
        for (pair, p) in pairs.iter_mut().zip(adjusted(&raw)?) {
            pair.p_holm = p;
        }
        Ok(pairs)
    }

    fn who(&self) -> (&Population, &Group) {
        (&self.context.populations[0], &self.context.groups[self.group])
    }

    fn same_order(&self, rows: &PairedRows) -> bool {
        rows.same_order(self.context, self.outcome, self.who())
    }

    fn pair(&self, rows: &PairedRows, known: &mut HashMap<(usize, usize, usize), Area>) -> Pair {
        let context = self.context;
        let people = rows.both(context, self.outcome, self.who());
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
            untested: None,
            difference: None,
            p_holm: None,
            verdict: withhold::auc(context.study, people.with, people.without),
        };
        if people.with == 0 || people.without == 0 {
            return pair;
        }
        let compared = if context.drawn_singly(pair.frame) {
            self.without_design(rows, &mut pair)
        } else {
            self.by_replicates((rows, &people), &mut pair, known)
        };
        if let Err(why) = compared {
            match pair.auc {
                Some(_) => pair.verdict.withheld.push(why.to_string()),
                None => pair.verdict.cannot(why.to_string()),
            }
        }
        pair
    }

    /// Replicates of the design, the same ones for both.
    fn by_replicates(
        &self,
        (rows, people): (&PairedRows, &Both),
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
        // Members of a family are functions of each other: only the rounding of their values may part their orders.
        let alike = fixed(&first, &second);
        if self.same_order(rows) || (family && alike && first.0 == second.0) {
            pair.auc = Some((first.0, first.0));
            pair.untested = Some(Untested::Twins);
            return Ok(());
        }
        if alike {
            pair.untested = Some(Untested::Fixed);
            return Ok(());
        }
        pair.verdict.few_df(pair.df);
        let [x, y] = [&first, &second].map(|area| Replicated { value: area.0, replicates: &area.1 });
        let both = first.1.iter().zip(&second.1).filter(|(a, b)| a.is_finite() && b.is_finite()).count();
        let df = frame.replicates.behind_test(pair.df, both);
        let got = paired_difference(x, y, &frame.replicates, df, study.confidence)?;
        let too_many = pair.verdict.failed(got.used, frame.replicates.count);
        pair.difference = Some(Difference::of_replicates(&got, too_many));
        Ok(())
    }

    /// `DeLong`'s covariance, for people who all count the same.
    fn without_design(&self, rows: &PairedRows, pair: &mut Pair) -> Result<(), StatError> {
        let (values, class) = rows.each(self.context, self.outcome, self.who());
        let got = delong(&[&values[0], &values[1]], &class)?;
        pair.auc = Some((got.auc[0], got.auc[1]));
        let Ok(test) = got.paired_test(0, 1) else {
            pair.untested = Some(if self.same_order(rows) { Untested::Twins } else { Untested::Fixed });
            return Ok(());
        };
        let interval =
            t_plain(test.difference, test.standard_error, f64::INFINITY, self.context.study.confidence)?;
        pair.difference = Some(Difference {
            value: test.difference,
            standard_error: Some(test.standard_error),
            interval: Some(interval),
            p: Some(test.p_value),
            kind: "delong_normal",
            used: None,
        });
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_too_many_replicates_failed_nothing_is_tested() {
        let got = PairedDifference {
            difference: 0.1,
            standard_error: 0.02,
            interval: Interval { lower: 0.05, upper: 0.15 },
            p_value: 0.001,
            used: 70,
            failed: 30,
        };
        let whole = Difference::of_replicates(&got, false);
        assert_eq!((whole.standard_error, whole.p), (Some(0.02), Some(0.001)));
        let failed = Difference::of_replicates(&got, true);
        assert_eq!((failed.value, failed.used), (0.1, Some(70)));
        assert!(failed.interval.is_none() && failed.p.is_none() && failed.standard_error.is_none());
    }

    #[test]
    fn a_difference_is_fixed_when_no_replicate_moves_it() {
        let area = |value: f64, replicates: [f64; 3]| (value, replicates.to_vec());
        assert!(fixed(&area(1.0, [1.0; 3]), &area(1.0, [1.0, f64::NAN, 1.0])));
        assert!(fixed(&area(1.0, [1.0; 3]), &area(0.5, [0.5; 3])));
        assert!(!fixed(&area(0.8, [0.8, 0.7, 0.9]), &area(0.8, [0.8, 0.7, 0.8])));
        assert!(!fixed(&area(1.0, [f64::NAN; 3]), &area(1.0, [1.0; 3])), "no replicate has both");
    }
}
