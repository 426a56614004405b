//! Cutoffs derived from a study's people, beside one person's value: those of the smallest groups the person belongs
//! to, how well each separates, and how likely the usual value lies beyond.

use rayon::prelude::*;
use serde::Serialize;

use super::context::Context;
use super::groups::EVERYBODY;
use super::place_marks::passes;
use super::place_rank::smallest;
use super::place_usual::Chances;
use super::roc::{Curve, curve, oriented};
use super::{AnalysisError, smoothed, tabulate};
use crate::cohort::Subject;
use crate::stats::place::{Side, side};
use crate::stats::rule::Rule;
use crate::table::Row;

/// A cutoff derived from the study's people.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Cutoff {
    pub outcome: String,
    pub outcome_label: String,
    pub rule: String,
    pub rule_label: String,
    pub grouping: String,
    pub group: String,
    pub n: i64,
    pub n_with: i64,
    pub cutoff: Option<f64>,
    pub lower: Option<f64>,
    pub upper: Option<f64>,
    /// Shares of people with the outcome at or beyond the cutoff and of those without it short of it, in percent.
    pub sensitivity: Option<f64>,
    pub specificity: Option<f64>,
    /// Why either of them is withheld, where the cutoff is printed.
    pub accuracy_withheld: String,
    /// Area under the curve of the group and outcome.
    pub auc: Option<f64>,
    /// The upper end of its interval.
    pub auc_upper: Option<f64>,
    /// Cutoffs that do about as well as the one with the largest sensitivity + specificity; for that rule alone.
    pub flat_from: Option<f64>,
    pub flat_to: Option<f64>,
    /// The smoothed cutoff of the same group and outcome with its interval; for that rule alone.
    pub smoothed: Option<f64>,
    pub smoothed_lower: Option<f64>,
    pub smoothed_upper: Option<f64>,
    pub passed: Option<bool>,
    /// Whether the interval holds the value, so that the answer could be the other one.
    pub undecided: Option<bool>,
    /// Chance in percent that the usual value is at or beyond the cutoff, with the group's distribution.
    pub chance: Option<f64>,
    /// The same if the true cutoff were at the lower or upper end of its interval.
    pub chance_at_lower: Option<f64>,
    pub chance_at_upper: Option<f64>,
    /// `beyond`, `short` or `cannot_tell`; empty where nothing says how much the index varies.
    pub likely: &'static str,
    /// What the other factor of insulin says, where nobody knows which holds and it says otherwise.
    pub by_other: Option<ByOther>,
    /// Whether `likely` holds whatever a measurement is of which only a limit is known.
    pub whatever_below: bool,
    /// Whether the person already meets the outcome, by the values given: then it predicts nothing more.
    pub already_met: bool,
    /// One of the smallest groups of the person that has a cutoff, by its outcome and rule.
    pub own: bool,
    /// Smaller groups of the person whose cutoff is withheld and in whose place this one stands.
    pub instead_of: Vec<Instead>,
    pub withheld: String,
    pub notices: String,
}

impl Cutoff {
    /// Whether the whole interval of the area lies below one half: people with the outcome have the less resistant values, and
    /// no cutoff fits.
    #[must_use]
    pub fn runs_the_other_way(&self) -> bool {
        self.auc_upper.is_some_and(|upper| upper < 0.5)
    }
}

/// The answer by the other factor of insulin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ByOther {
    /// The factor that was taken, and the other.
    pub taken: f64,
    pub factor: f64,
    pub likely: &'static str,
    pub passed: Option<bool>,
}

/// A group whose cutoff is withheld.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Instead {
    pub grouping: String,
    pub group: String,
    pub why: String,
}

/// Cutoffs by every outcome and rule in the person's groups of the cohort.
pub(super) fn cutoffs(
    context: &Context,
    subject: &Subject,
    (index, value): (usize, f64),
    (chances, asked): (Option<&Chances>, Option<usize>),
) -> Result<Vec<Cutoff>, AnalysisError> {
    let groups = (0..context.groups.len()).filter(|&g| context.groups[g].holds(&subject.levels));
    let groups: Vec<usize> = groups.collect();
    let outcomes = 0..context.study.outcomes.len();
    let tasks: Vec<(usize, usize)> = outcomes.flat_map(|o| groups.iter().map(move |&g| (o, g))).collect();
    let curves: Vec<Curve> = tasks.par_iter().map(|&(o, g)| curve(context, (index, o), g)).collect();
    let table = tabulate::cutoffs(context, &curves)?;
    let rules = context.study.rules.len();
    let mut found: Vec<Cutoff> = table.iter().map(|row| cutoff(context, (index, value), &row)).collect();
    for (position, cutoff) in found.iter_mut().enumerate() {
        let of = &curves[position / rules];
        let area = of.auc.as_ref().filter(|_| of.auc_verdict.shown(context.study));
        cutoff.auc = area.map(|area| area.value);
        cutoff.auc_upper = area.and_then(|area| area.interval).map(|interval| interval.upper);
        if cutoff.cutoff.is_some() {
            accuracy(cutoff, of, position % rules);
            if let Some(chances) = chances {
                likely(cutoff, chances, of.group);
            }
        }
    }
    choose((context, subject), asked, &mut found);
    let leading: Vec<usize> =
        (0..found.len()).filter(|&at| at % rules == 0 && wants_smoothing(context, &found[at])).collect();
    let smooth: Vec<_> =
        leading.par_iter().map(|at| smoothed::smoothed(context, &curves[at / rules])).collect();
    for (at, smooth) in leading.into_iter().zip(smooth) {
        add_smoothed(context, index, &mut found[at], &smooth);
    }
    Ok(found)
}

/// The cutoffs that answer first, of somebody of whom no value is given.
pub(super) fn without_value(
    context: &Context,
    subject: &Subject,
    (index, asked): (usize, Option<usize>),
) -> Result<Vec<Cutoff>, AnalysisError> {
    let mut found = leading(&cutoffs(context, subject, (index, f64::NAN), (None, asked))?);
    for cutoff in &mut found {
        (cutoff.passed, cutoff.undecided) = (None, None);
    }
    Ok(found)
}

/// Cutoffs of the first rule and outcome in everybody and in the smallest groups: those that answer first.
fn leading(cutoffs: &[Cutoff]) -> Vec<Cutoff> {
    let mut found = of_first(cutoffs);
    found.retain(|c| c.own || c.grouping == EVERYBODY);
    found
}

/// Cutoffs of the first rule and outcome in every group of the person.
pub(super) fn of_first(cutoffs: &[Cutoff]) -> Vec<Cutoff> {
    let first = cutoffs.first();
    let leads = |c: &&Cutoff| first.is_some_and(|f| (&f.outcome, &f.rule) == (&c.outcome, &c.rule));
    cutoffs.iter().filter(leads).cloned().collect()
}

/// The leading cutoffs put to another value of a person of the same groups.
pub(super) fn put_to(
    (context, index): (&Context, usize),
    cutoffs: &[Cutoff],
    value: f64,
    chances: Option<&Chances>,
) -> Vec<Cutoff> {
    let mut found = leading(cutoffs);
    put((context, index), &mut found, value, chances);
    found
}

/// Puts cutoffs to another value.
pub(super) fn put(
    (context, index): (&Context, usize),
    cutoffs: &mut [Cutoff],
    value: f64,
    chances: Option<&Chances>,
) {
    let row = &context.study.indices[index];
    for cutoff in cutoffs {
        cutoff.passed = cutoff.cutoff.map(|limit| passes(row, value, limit, false));
        let interval = cutoff.lower.zip(cutoff.upper);
        cutoff.undecided = interval.map(|(lower, upper)| lower <= value && value <= upper);
        let group = context
            .groups
            .iter()
            .position(|group| (&group.grouping_name, &group.name) == (&cutoff.grouping, &cutoff.group));
        (cutoff.by_other, cutoff.whatever_below) = (None, false);
        cutoff.likely = "";
        if let (Some(chances), Some(group)) = (chances, group) {
            likely(cutoff, chances, group);
        }
    }
}

fn cutoff(context: &Context, (index, value): (usize, f64), found: &Row<'_>) -> Cutoff {
    let study = context.study;
    let (outcome, rule) = (found.text("outcome"), found.text("rule"));
    let label = study.outcomes.iter().find(|o| o.row.name == outcome).map(|o| o.row.label.clone());
    let rule_label = study.rules.iter().find(|r| r.name == rule).map(|r| r.label.clone());
    let (lower, upper) = (found.real("lower"), found.real("upper"));
    let limit = found.real("cutoff");
    Cutoff {
        outcome: outcome.to_owned(),
        outcome_label: label.unwrap_or_default(),
        rule: rule.to_owned(),
        rule_label: rule_label.unwrap_or_default(),
        grouping: found.text("grouping").to_owned(),
        group: found.text("group").to_owned(),
        n: found.whole("n").unwrap_or_default(),
        n_with: found.whole("n_with").unwrap_or_default(),
        cutoff: limit,
        lower,
        upper,
        sensitivity: None,
        specificity: None,
        accuracy_withheld: String::new(),
        auc: None,
        auc_upper: None,
        flat_from: found.real("flat_from"),
        flat_to: found.real("flat_to"),
        smoothed: None,
        smoothed_lower: None,
        smoothed_upper: None,
        passed: limit.map(|limit| passes(&study.indices[index], value, limit, false)),
        undecided: lower.zip(upper).map(|(lower, upper)| lower <= value && value <= upper),
        chance: None,
        chance_at_lower: None,
        chance_at_upper: None,
        likely: "",
        by_other: None,
        whatever_below: false,
        already_met: false,
        own: false,
        instead_of: Vec::new(),
        withheld: found.text("withheld").to_owned(),
        notices: found.text("notices").to_owned(),
    }
}

/// How well a printed cutoff separates, where that is printed too, and else why not.
fn accuracy(cutoff: &mut Cutoff, of: &Curve, rule: usize) {
    let measures = of.cutoffs.get(rule).map_or(&[][..], |found| &found.measures);
    let mut reasons: Vec<String> = Vec::new();
    let mut printed = |name: &str| {
        let measure = measures.iter().find(|m| m.name == name)?;
        if measure.verdict.withheld.is_empty() {
            return measure.value.map(|share| 100.0 * share);
        }
        let why = measure.verdict.withheld.join("; ");
        if !reasons.contains(&why) {
            reasons.push(why);
        }
        None
    };
    cutoff.sensitivity = printed("sensitivity");
    cutoff.specificity = printed("specificity");
    cutoff.accuracy_withheld = reasons.join("; ");
}

/// The chance that the usual value is at or beyond the cutoff, and at the ends of its interval.
fn likely(cutoff: &mut Cutoff, chances: &Chances, group: usize) {
    let at = |limit: Option<f64>| limit.and_then(|limit| chances.best(group, limit));
    cutoff.chance = at(cutoff.cutoff);
    cutoff.chance_at_lower = at(cutoff.lower);
    cutoff.chance_at_upper = at(cutoff.upper);
    let Some(chance) = cutoff.chance else { return };
    let share = |percent: Option<f64>| percent.map_or(f64::NAN, |p| p / 100.0);
    cutoff.likely = match side(chance / 100.0, [share(cutoff.chance_at_lower), share(cutoff.chance_at_upper)])
    {
        Side::Beyond => "beyond",
        Side::Short => "short",
        Side::CannotTell => "cannot_tell",
    };
}

/// Marks, for each outcome and rule, the cutoffs of the person's smallest groups; where one is withheld, that of the
/// largest crossing within it that has one, saying so.
fn choose((context, subject): (&Context, &Subject), asked: Option<usize>, cutoffs: &mut [Cutoff]) {
    let names: Vec<String> = context
        .study
        .groupings
        .iter()
        .map(|of| {
            of.iter().map(|&v| context.study.variables[v].name.as_str()).collect::<Vec<_>>().join(" × ")
        })
        .collect();
    for grouping in smallest(context.study, &subject.levels, asked) {
        for at in 0..cutoffs.len() {
            if cutoffs[at].grouping != names[grouping] {
                continue;
            }
            if cutoffs[at].cutoff.is_some() {
                cutoffs[at].own = true;
                continue;
            }
            let wider = super::place_rank::within(context.study, grouping);
            let stands_in = wider.iter().find_map(|&other| {
                let same = |c: &Cutoff| {
                    (&c.outcome, &c.rule, &c.grouping)
                        == (&cutoffs[at].outcome, &cutoffs[at].rule, &names[other])
                };
                cutoffs.iter().position(|c| same(c) && c.cutoff.is_some())
            });
            let everybody = || {
                let same = |c: &Cutoff| (&c.outcome, &c.rule) == (&cutoffs[at].outcome, &cutoffs[at].rule);
                cutoffs.iter().position(|c| same(c) && c.grouping == EVERYBODY)
            };
            let Some(instead) = stands_in.or_else(everybody) else { continue };
            let withheld = Instead {
                grouping: cutoffs[at].grouping.clone(),
                group: cutoffs[at].group.clone(),
                why: cutoffs[at].withheld.clone(),
            };
            cutoffs[instead].own |= stands_in.is_some();
            cutoffs[instead].instead_of.push(withheld);
        }
    }
}

fn wants_smoothing(context: &Context, cutoff: &Cutoff) -> bool {
    let youden = context.study.rules.first().is_some_and(|rule| matches!(rule.rule, Rule::Youden));
    youden && (cutoff.own || cutoff.grouping == EVERYBODY)
}

fn add_smoothed(context: &Context, index: usize, cutoff: &mut Cutoff, found: &smoothed::Smoothed) {
    if !found.verdict.shown(context.study) {
        return;
    }
    let sign = context.study.indices[index].sign() as f64;
    let interval = found.interval.map(|interval| oriented(interval, sign));
    cutoff.smoothed = found.value.map(|value| value * sign);
    cutoff.smoothed_lower = interval.map(|i| i.lower);
    cutoff.smoothed_upper = interval.map(|i| i.upper);
}
