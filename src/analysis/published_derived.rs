//! The run's own cutoff by the rule of a cutoff in print.

use super::context::Context;
use super::percentiles::{self, Printed};
use super::roc::{Curve, oriented};
use crate::definitions::Published;
use crate::stats::interval::Interval;
use crate::table::RowBuilder;

/// The rule is the source's.
pub const OF_THE_SOURCE: &str = "of the source";
/// The source names no rule of the study, so the study's first stands in.
const FIRST_OF_THE_STUDY: &str = "first of the study";

/// A cutoff of the run, on the index's own scale.
#[derive(Debug, Clone, Default)]
pub struct Derived {
    rule: String,
    rule_is: &'static str,
    population: String,
    value: Option<f64>,
    interval: Option<Interval>,
    withheld: String,
}

/// The group's own cutoff by the rule of a cutoff in print, whose value on the index's scale decides between several.
pub fn derived(
    context: &Context,
    (row, value): (&Published, f64),
    (index, outcome, group): (usize, Option<usize>, usize),
    curves: &[Curve],
) -> Derived {
    if let Some(percentile) = row.percentile {
        return of_percentile(context, (percentile, row.of_reference), (index, group));
    }
    if row.outcome.is_empty() && row.rules.is_empty() {
        return nothing("the rule of the source is none of the study's");
    }
    let curve = curves.iter().find(|c| c.index == index && Some(c.outcome) == outcome && c.group == group);
    curve.map_or_else(|| nothing("the study has no outcome"), |curve| of_curve(context, row, value, curve))
}

fn nothing(why: &str) -> Derived {
    Derived { withheld: why.to_owned(), ..Derived::default() }
}

/// The same percentile, of the study's first reference group where the source's is one of a reference group.
fn of_percentile(
    context: &Context,
    (percentile, of_reference): (f64, bool),
    (index, group): (usize, usize),
) -> Derived {
    let population = usize::from(of_reference && context.populations.len() > 1);
    let p = percentile / 100.0;
    let one = percentiles::estimate_at(context, (index, population, group), &[p]);
    let Printed { value, interval, verdict, .. } = percentiles::printed(context, &one, &one.estimates[0]);
    Derived {
        rule: format!("percentile_{}", crate::table::number::significant(percentile, 4)),
        rule_is: OF_THE_SOURCE,
        population: context.populations[population].name.clone(),
        value,
        interval,
        withheld: verdict.reason(context.study),
    }
}

/// The cutoff of the source's rule (the nearest of several), else of the study's first rule.
fn of_curve(context: &Context, row: &Published, value: f64, curve: &Curve) -> Derived {
    let study = context.study;
    let sign = study.indices[curve.index].sign() as f64;
    let shown = |at: usize| {
        let cutoff = &curve.cutoffs[at];
        (cutoff.verdict.shown(study) && cutoff.value.is_finite()).then_some(cutoff)
    };
    let named: Vec<usize> =
        (0..study.rules.len()).filter(|&rule| row.rules.contains(&study.rules[rule].name)).collect();
    let rule_is = if named.is_empty() { FIRST_OF_THE_STUDY } else { OF_THE_SOURCE };
    let candidates = if named.is_empty() { vec![0] } else { named };
    let far = |at: usize| shown(at).map_or(f64::INFINITY, |c| (sign * c.value - value).abs());
    let nearest = candidates.into_iter().min_by(|&a, &b| far(a).total_cmp(&far(b))).unwrap_or_default();
    let cutoff = shown(nearest);
    Derived {
        rule: study.rules[nearest].name.clone(),
        rule_is,
        population: context.populations[0].name.clone(),
        value: cutoff.map(|c| sign * c.value),
        interval: cutoff.and_then(|c| c.interval).map(|i| oriented(i, sign)),
        withheld: curve.cutoffs[nearest].verdict.reason(study),
    }
}

impl Derived {
    /// The columns of the derived cutoff, and how `published` compares.
    pub fn columns<'t>(&self, row: RowBuilder<'t>, published: f64) -> RowBuilder<'t> {
        let ratio = self.value.filter(|derived| *derived > 0.0 && published > 0.0);
        row.text("derived_rule", &*self.rule)
            .text("derived_rule_is", self.rule_is)
            .text("derived_population", &*self.population)
            .real("derived", self.value)
            .real("derived_lower", self.interval.map(|i| i.lower))
            .real("derived_upper", self.interval.map(|i| i.upper))
            .text("derived_withheld", &*self.withheld)
            .real("ratio", ratio.map(|derived| published / derived))
    }
}
