//! One cutoff under every combination of the stated choices.

use super::percentiles::{self, percent};
use super::roc::oriented;
use super::sensitivity::Estimated;
use super::withhold::Verdict;
use super::{AnalysisError, Group, tabulate};
use crate::stats::interval::Interval;
use crate::study::Study;
use crate::table::Table;

/// A cutoff and the choices that lead to it.
pub struct Choice {
    pub index: usize,
    /// Position among the groups of the first variant.
    pub group: usize,
    pub made: Made,
    /// Position of the variant among all, with its exclusion set and route.
    pub variant: usize,
    pub exclusions: usize,
    pub route: usize,
    pub frame: usize,
    pub people: u64,
    /// Whether its people may be told beside those of the other choices.
    pub told: bool,
    /// People with and without the outcome.
    pub classes: Option<(u64, u64)>,
    pub df: f64,
    /// On the index's own scale, as far as it may be printed.
    pub cutoff: Option<f64>,
    pub interval: Option<Interval>,
    pub verdict: Verdict,
}

/// How a cutoff is made: against an outcome, or as a percentile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    ByRule {
        rule: usize,
        outcome: usize,
    },
    /// Position among the percentiles and the populations.
    ByPercentile {
        percentile: usize,
        population: usize,
    },
}

impl Made {
    /// The kind of cutoff: two kinds are never ranged over together.
    pub fn kind(self) -> &'static str {
        match self {
            Self::ByRule { .. } => "outcome",
            Self::ByPercentile { .. } => "percentile",
        }
    }

    /// The two choices within a kind, by position; the base is the first of each.
    pub fn positions(self) -> [usize; 2] {
        match self {
            Self::ByRule { rule, outcome } => [rule, outcome],
            Self::ByPercentile { percentile, population } => [percentile, population],
        }
    }
}

impl Choice {
    /// Whether these are the study's own first choices.
    pub fn is_base(&self) -> bool {
        self.positions() == [0; 4]
    }

    /// Two choices within the kind, exclusion set, route.
    pub fn positions(&self) -> [usize; 4] {
        let [first, second] = self.made.positions();
        [first, second, self.exclusions, self.route]
    }
}

/// Every cutoff of every variant, groups of the first variant outermost.
pub fn all(study: &Study, variants: &[Estimated]) -> Vec<Choice> {
    let Some(base) = variants.first() else { return Vec::new() };
    let mut choices = Vec::new();
    for index in 0..base.context.study.indices.len() {
        for (position, group) in base.context.groups.iter().enumerate() {
            for (variant, one) in variants.iter().enumerate() {
                let Some(own) = one.group(group) else { continue };
                let place = Place { index, group: position, variant };
                choices.extend(by_rule(one, &place, own));
                choices.extend(by_percentile(one, &place, (own, 1 + study.references.len())));
            }
        }
    }
    choices.sort_by_key(|c| (c.index, c.group, c.made.kind(), c.made.positions(), c.exclusions, c.route));
    choices
}

/// Where a cutoff stands: index, group of the first variant, variant.
struct Place {
    index: usize,
    group: usize,
    variant: usize,
}

impl Place {
    fn choice(&self, of: &Estimated, made: Made, frame: usize) -> Choice {
        Choice {
            index: self.index,
            group: self.group,
            made,
            variant: self.variant,
            exclusions: of.variant.exclusions,
            route: of.variant.route,
            frame,
            people: 0,
            told: true,
            classes: None,
            df: 0.0,
            cutoff: None,
            interval: None,
            verdict: Verdict::default(),
        }
    }
}

fn by_rule(of: &Estimated, place: &Place, group: usize) -> Vec<Choice> {
    let study = of.context.study;
    let sign = study.indices[place.index].sign() as f64;
    let mut choices = Vec::new();
    for outcome in 0..study.outcomes.len() {
        let Some(position) = of.curve((place.index, outcome), group) else { continue };
        let curve = &of.curves[position];
        let frame = of.context.frame_of_pair(place.index, outcome);
        for rule in 0..study.rules.len() {
            let cutoff = &curve.cutoffs[rule];
            let shown = cutoff.verdict.shown(study) && cutoff.value.is_finite();
            choices.push(Choice {
                people: curve.with + curve.without,
                classes: Some((curve.with, curve.without)),
                df: curve.df,
                cutoff: shown.then_some(cutoff.value * sign),
                interval: cutoff.interval.filter(|_| shown).map(|i| oriented(i, sign)),
                verdict: cutoff.verdict.clone(),
                ..place.choice(of, Made::ByRule { rule, outcome }, frame)
            });
        }
    }
    choices
}

fn by_percentile(of: &Estimated, place: &Place, (group, populations): (usize, usize)) -> Vec<Choice> {
    let context = &of.context;
    let frame = context.frame_of_index(place.index);
    let mut choices = Vec::new();
    for population in 0..populations {
        let all = percentiles::estimate(context, (place.index, population, group));
        for (percentile, estimate) in all.estimates.iter().enumerate() {
            let printed = percentiles::printed(context, &all, estimate);
            choices.push(Choice {
                people: all.people,
                df: all.df,
                cutoff: printed.value,
                interval: printed.interval,
                verdict: printed.verdict,
                ..place.choice(of, Made::ByPercentile { percentile, population }, frame)
            });
        }
    }
    choices
}

/// The cutoffs as a table.
pub fn table(variants: &[Estimated], choices: &[Choice]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("choices");
    for choice in choices {
        let of = &variants[choice.variant];
        let (context, study) = (&of.context, of.context.study);
        let group: &Group = &variants[0].context.groups[choice.group];
        let row = tabulate::lead(table.row(), context, (choice.frame, choice.index))
            .text("kind", choice.made.kind())
            .text("base", if choice.is_base() { "yes" } else { "" });
        let told = |people: u64| choice.told.then_some(people as i64);
        let (row, population, interval) = match choice.made {
            Made::ByRule { rule, outcome } => {
                let row = row.text("rule", &*study.rules[rule].name);
                let kind = context.frames[choice.frame].replicates.interval_kind();
                (row.text("outcome", &*study.outcomes[outcome].row.name), 0, kind)
            }
            Made::ByPercentile { percentile, population } => {
                let p = percent(study.percentiles[percentile]);
                (row.real("percentile", Some(p)), population, "woodruff_logit")
            }
        };
        tabulate::of_group(row, &context.populations[population], group)
            .text("exclusions", &*of.set.name)
            .text("exclusions_label", &*of.set.label)
            .text("route", &*of.route.name)
            .text("route_label", &*of.route.label)
            .whole("n", told(choice.people))
            .whole("n_with", choice.classes.and_then(|(with, _)| told(with)))
            .whole("n_without", choice.classes.and_then(|(_, without)| told(without)))
            .whole("df", Some(choice.df as i64).filter(|_| choice.told))
            .real("cutoff", choice.cutoff)
            .real("lower", choice.interval.map(|i| i.lower))
            .real("upper", choice.interval.map(|i| i.upper))
            .text("interval", interval)
            .text("stated", tabulate::STUDY)
            .text("withheld", choice.verdict.reason(study))
            .text("notices", choice.verdict.notices(study))
            .done()?;
    }
    Ok(table)
}
