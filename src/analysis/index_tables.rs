//! Which index separates best, and by how much, as table rows.

use super::context::Context;
use super::index_pairs::{Pair, Untested};
use super::roc::Curve;
use super::separates::better_than_chance;
use super::{AnalysisError, tabulate};
use crate::study::shared_ingredients;
use crate::table::Table;
use crate::table::schema::{DIFFER, NONE_SEPARATES, NOT_DISTINGUISHABLE};

/// What else may be said of two indices. The report and the charts read these words.
const TWINS: &str = "twins: both order people in the same way";
const FIXED: &str = "not tested: the difference does not vary";
const BEST: &str = "separates best";
/// Of some index nothing is known beside it.
const BEST_OF_COMPARED: &str = "separates best of those compared";
const ALONE: &str = "no other index to compare it with";

/// Every pair of indices on the people who have both.
pub fn comparison(context: &Context, pairs: &[Pair]) -> Result<Table, AnalysisError> {
    let study = context.study;
    let mut table = tabulate::empty("index_comparison");
    for pair in pairs {
        let name = |index: usize| &*study.indices[index].row.name;
        let verdict = &pair.verdict;
        let shown = verdict.shown(study);
        let auc = pair.auc.filter(|_| shown);
        let difference = pair.difference.filter(|_| shown);
        let untested = pair.untested_gap().filter(|_| shown);
        let zero = untested.filter(|_| pair.untested == Some(Untested::Twins));
        let interval = difference.and_then(|d| d.interval);
        let row = table
            .row()
            .text("survey", &*context.tallies.survey)
            .text("frame", context.frame_name(pair.frame))
            .text("outcome", &*study.outcomes[pair.outcome].row.name);
        tabulate::of_group(row, &context.populations[0], &context.groups[pair.group])
            .text("index", name(pair.indices.0))
            .text("other_index", name(pair.indices.1))
            .whole("n", Some((pair.with + pair.without) as i64))
            .whole("n_with", Some(pair.with as i64))
            .whole("n_without", Some(pair.without as i64))
            .whole("df", Some(pair.df as i64))
            .real("auc", auc.map(|a| a.0))
            .real("other_auc", auc.map(|a| a.1))
            .real("difference", difference.map(|d| d.value).or(untested))
            .real("lower", interval.map(|i| i.lower))
            .real("upper", interval.map(|i| i.upper))
            .real("standard_error", difference.and_then(|d| d.standard_error).or(zero))
            .real("p", difference.and_then(|d| d.p))
            .real("p_holm", pair.p_holm.filter(|_| shown))
            .text("interval", difference.map_or("", |d| d.kind))
            .whole("replicates", difference.and_then(|d| d.used).map(|used| used as i64))
            .text("conclusion", if shown { conclusion(context, pair) } else { "" })
            .text("stated", tabulate::TOOL)
            .text("withheld", verdict.reason(study))
            .text("notices", verdict.notices(study))
            .done()?;
    }
    Ok(table)
}

fn conclusion(context: &Context, pair: &Pair) -> &'static str {
    match (pair.untested, pair.p_holm) {
        (Some(Untested::Twins), _) => TWINS,
        (Some(Untested::Fixed), _) => FIXED,
        (None, Some(p)) if p < 1.0 - context.study.confidence => DIFFER,
        (None, Some(_)) => NOT_DISTINGUISHABLE,
        (None, None) => "",
    }
}

/// For each outcome and group, the index that fewest others beat on the people who have both, and how the others stand to it.
pub fn which(context: &Context, curves: &[Curve], pairs: &[Pair]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("which_index");
    let mut places: Vec<(usize, usize)> = pairs.iter().map(|p| (p.outcome, p.group)).collect();
    places.dedup();
    for place in places {
        Contest::new(context, curves, pairs, place).row(context, &mut table)?;
    }
    Ok(table)
}

/// Whether the first index has the higher area on the people who have both; where that is withheld, each on its own people.
fn beats(context: &Context, pairs: &[&Pair], (one, other): (&Curve, &Curve)) -> bool {
    let indices = (one.index.min(other.index), one.index.max(other.index));
    let pair = pairs.iter().find(|pair| pair.indices == indices && pair.verdict.shown(context.study));
    match pair.and_then(|pair| pair.auc) {
        Some((first, second)) if one.index < other.index => first > second,
        Some((first, second)) => second > first,
        None => one.auc.as_ref().map(|a| a.value) > other.auc.as_ref().map(|a| a.value),
    }
}

fn separates(curve: &Curve) -> bool {
    curve.auc.as_ref().is_some_and(|area| better_than_chance(area.value, area.interval))
}

/// The indices of one outcome and group, twins counted once.
struct Contest<'a> {
    place: (usize, usize),
    best: Option<&'a Curve>,
    /// Whether any of them separates better than chance.
    separates: bool,
    alike: Vec<usize>,
    lower: Vec<usize>,
    left_out: Vec<usize>,
}

impl<'a> Contest<'a> {
    fn new(context: &Context, curves: &'a [Curve], pairs: &[Pair], place: (usize, usize)) -> Self {
        let study = context.study;
        let representative = |c: &&Curve| study.representative(c.index) == c.index;
        let mut shown: Vec<&Curve> = curves
            .iter()
            .filter(|c| (c.outcome, c.group) == place)
            .filter(representative)
            .filter(|c| c.auc.is_some() && c.auc_verdict.shown(study))
            .collect();
        let here: Vec<&Pair> = pairs.iter().filter(|p| (p.outcome, p.group) == place).collect();
        // A stable sort: of indices that stand alike the first of the study comes first.
        let among = shown.clone();
        shown.sort_by_cached_key(|c| {
            among.iter().filter(|other| beats(context, &here, (**other, *c))).count()
        });
        let mut contest = Self {
            place,
            best: shown.first().copied(),
            separates: shown.iter().any(|curve| separates(curve)),
            alike: Vec::new(),
            lower: Vec::new(),
            left_out: Vec::new(),
        };
        let all = (0..study.indices.len()).filter(|&i| study.representative(i) == i);
        contest.left_out.extend(all.filter(|&i| shown.iter().all(|c| c.index != i)));
        for other in shown.iter().skip(1) {
            let best = shown[0].index;
            let indices = (best.min(other.index), best.max(other.index));
            let pair = here.iter().copied().find(|p| p.indices == indices);
            contest.place_other(context, pair, (best, other.index));
        }
        contest
    }

    fn place_other(&mut self, context: &Context, pair: Option<&Pair>, (best, other): (usize, usize)) {
        let tested = pair.and_then(|p| Some((p.p_holm?, p.difference?.value)));
        let Some((p, difference)) = tested else {
            let equal = pair.and_then(Pair::untested_gap) == Some(0.0);
            let list = if equal { &mut self.alike } else { &mut self.left_out };
            return list.push(other);
        };
        let ahead = if best < other { difference > 0.0 } else { difference < 0.0 };
        let lower = ahead && p < 1.0 - context.study.confidence;
        if lower { self.lower.push(other) } else { self.alike.push(other) }
    }

    fn conclusion(&self) -> &'static str {
        match (self.best, self.alike.len(), self.lower.len()) {
            (None, ..) => "",
            (_, 0, 0) => ALONE,
            _ if !self.separates => NONE_SEPARATES,
            (_, 0, _) if self.left_out.is_empty() => BEST,
            (_, 0, _) => BEST_OF_COMPARED,
            _ => NOT_DISTINGUISHABLE,
        }
    }

    /// Indices that the outcome itself counts a part of.
    fn built_in(&self, context: &Context) -> Vec<usize> {
        let study = context.study;
        let shares = |i: &usize| {
            study.representative(*i) == *i
                && !shared_ingredients(&study.indices[*i], &study.outcomes[self.place.0]).is_empty()
        };
        (0..study.indices.len()).filter(shares).collect()
    }

    fn row(&self, context: &Context, table: &mut Table) -> Result<(), AnalysisError> {
        let study = context.study;
        let (outcome, group) = self.place;
        let names = |list: &[usize]| {
            list.iter().map(|&i| study.indices[i].row.name.as_str()).collect::<Vec<_>>().join(", ")
        };
        let area = self.best.and_then(|c| c.auc.as_ref());
        let compared = usize::from(self.best.is_some()) + self.alike.len() + self.lower.len();
        let frame = context.frame_of_pair(self.best.map_or(0, |c| c.index), outcome);
        let mut row = table.row();
        row = match self.best {
            Some(c) => tabulate::lead(row, context, (frame, c.index)),
            None => row.text("survey", &*context.tallies.survey),
        };
        tabulate::of_group(row, &context.populations[0], &context.groups[group])
            .text("outcome", &*study.outcomes[outcome].row.name)
            .text("twins", self.best.map_or_else(String::new, |c| names(&study.twins(c.index))))
            .whole("n", self.best.map(|c| (c.with + c.without) as i64))
            .whole("n_with", self.best.map(|c| c.with as i64))
            .real("auc", area.map(|a| a.value))
            .real("lower", area.and_then(|a| a.interval).map(|i| i.lower))
            .real("upper", area.and_then(|a| a.interval).map(|i| i.upper))
            .text("interval", context.area_interval(frame))
            .whole("compared", Some(compared as i64))
            .text("not_distinguishable", names(&self.alike))
            .text("lower_indices", names(&self.lower))
            .text("built_in", names(&self.built_in(context)))
            .text("left_out", names(&self.left_out))
            .text("conclusion", self.conclusion())
            .text("stated", tabulate::TOOL)
            .text("withheld", if self.best.is_none() { "every AUC is withheld" } else { "" })
            .done()?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::withhold::Verdict;

    #[test]
    fn an_index_is_best_of_those_alone_that_it_was_compared_with() {
        let curve = Curve {
            index: 0,
            outcome: 0,
            group: 0,
            with: 50,
            without: 50,
            unknown: 0,
            weighted: 100.0,
            df: 15.0,
            auc: None,
            auc_verdict: Verdict::default(),
            cutoffs: Vec::new(),
        };
        let said = |alike: &[usize], lower: &[usize], left_out: &[usize]| {
            let [alike, lower, left_out] = [alike, lower, left_out].map(<[usize]>::to_vec);
            Contest { place: (0, 0), best: Some(&curve), separates: true, alike, lower, left_out }
                .conclusion()
        };
        assert_eq!(said(&[], &[1, 2], &[]), BEST);
        assert_eq!(said(&[], &[1], &[2]), BEST_OF_COMPARED);
        assert_eq!(said(&[1], &[], &[2]), NOT_DISTINGUISHABLE);
        assert_eq!(said(&[], &[], &[1, 2]), ALONE);
    }
}
