//! What a survey of infinitely many people would find: the numbers the invented survey estimates.

use std::f64::consts::FRAC_1_SQRT_2;

use super::model::{
    self, ANCESTRIES, BMI_TENTHS, OLDEST, REGION_SHARE, REGIONS, Sex, Traits, standard_normal_below,
};

/// How far a printed value may be from the exact one: half a unit of its last decimal and the
/// coarseness of the grid, which halving the grid's step moves by less than 0.00001.
pub const PRECISION: f64 = 0.0001;
const METHOD: &str = "sum of normal distributions over sex × age × ancestry × recorded BMI";

/// Means of ln HOMA-IR are put on a grid of this step, from the first value on.
const STEP: f64 = 0.002;
const FIRST: f64 = -0.75;
const POINTS: usize = 2_500;
/// A threshold that is often quoted; its true accuracy is stated too.
const QUOTED: f64 = 2.0;

/// One true number.
#[derive(Debug, Clone, PartialEq)]
pub struct TruthRow {
    /// `adults` (20 or older) or `cohort` (of these, those not pregnant, not told of diabetes and
    /// with a fasting glucose below 126 mg/dL).
    pub population: &'static str,
    pub grouping: &'static str,
    pub group: String,
    pub measure: &'static str,
    pub unit: &'static str,
    pub value: f64,
    pub precision: f64,
    pub method: &'static str,
}

/// True percentiles of HOMA-IR, and its best cutoff (index of Youden) and accuracy for insulin
/// resistance measured directly, for everybody and by group.
///
/// # Formula
///
/// ```text
/// F_D(z) = Σ q_D(c) Φ((z − m_D(c)) / s) / Σ q_D(c)
/// ```
///
/// over cells `c` of sex, age, ancestry and recorded BMI, where `q_D` is the share of the
/// population that is in the cell with outcome `D`, and `m_D`, `s` are mean and spread of ln HOMA-IR
/// there. Percentiles solve F(z) = p, the best cutoff maximises F₀ − F₁, and the area under the
/// ROC curve is Σ Σ of Φ((m₁ − m₀) / (s √2)).
///
/// # Units
///
/// Shares are proportions; percentiles and cutoffs are values of HOMA-IR.
///
/// # Checked against
///
/// A large drawn sample and the closed form of one cell, in the tests of this file, and the
/// committed table in `tests/suite/invented.rs`.
#[must_use]
pub fn truth() -> Vec<TruthRow> {
    let mut rows = Vec::new();
    for (population, mixtures) in [("adults", mixtures(|_, _| 1.0)), ("cohort", mixtures(model::in_cohort))] {
        let whole = mixtures[0].1.total();
        for (group, mixture) in mixtures {
            rows.extend(describe(&mixture, whole).into_iter().map(|(measure, unit, value)| TruthRow {
                population,
                grouping: group.grouping,
                group: group.label.clone(),
                measure,
                unit,
                value: (value / PRECISION).round() * PRECISION,
                precision: PRECISION,
                method: METHOD,
            }));
        }
    }
    rows
}

/// Best cutoffs of men and women of the cohort in the population of
/// [`contrast_survey`](super::contrast_survey), by the index of Youden.
#[must_use]
pub fn contrast_cutoffs(ratio: f64) -> [f64; 2] {
    let any = Traits { sex: Sex::Male, age: 20, ancestry: 0, bmi: 27.0 };
    [0.0, ratio.ln()].map(|above| {
        let mut mixture = Mixture::new(model::log_homa(&any, false).sd);
        for (traits, share) in adult_cells().into_iter().filter(|(traits, _)| traits.sex == Sex::Male) {
            let resistant = model::resistant(&traits);
            for (outcome, chance) in [(false, 1.0 - resistant), (true, resistant)] {
                let weight = share * chance * model::in_cohort(&traits, outcome);
                let mean = model::log_homa(&traits, outcome).mean + above;
                mixture.add(usize::from(outcome), mean, weight);
            }
        }
        mixture.best().exp()
    })
}

fn describe(mixture: &Mixture, whole: f64) -> Vec<(&'static str, &'static str, f64)> {
    let cutoff = mixture.best();
    let accuracy = |log: f64| (1.0 - mixture.below(1, log), mixture.below(0, log));
    let (sensitivity, specificity) = accuracy(cutoff);
    let (sensitivity_at_2, specificity_at_2) = accuracy(QUOTED.ln());
    let percentile = |p: f64| mixture.quantile(p).exp();
    vec![
        ("population_share", "1", mixture.total() / whole),
        ("prevalence", "1", mixture.share[1] / mixture.total()),
        ("percentile_50", "homa_ir", percentile(0.50)),
        ("percentile_75", "homa_ir", percentile(0.75)),
        ("percentile_90", "homa_ir", percentile(0.90)),
        ("percentile_95", "homa_ir", percentile(0.95)),
        ("share_beyond_2", "1", 1.0 - mixture.all_below(QUOTED.ln())),
        ("youden_cutoff", "homa_ir", cutoff.exp()),
        ("youden", "1", sensitivity + specificity - 1.0),
        ("sensitivity", "1", sensitivity),
        ("specificity", "1", specificity),
        ("sensitivity_at_2", "1", sensitivity_at_2),
        ("specificity_at_2", "1", specificity_at_2),
        ("auc", "1", mixture.auc()),
    ]
}

/// A group of the truth table.
struct Group {
    grouping: &'static str,
    label: String,
    holds: Box<dyn Fn(&Traits) -> bool>,
}

fn group(grouping: &'static str, label: &str, holds: impl Fn(&Traits) -> bool + 'static) -> Group {
    Group { grouping, label: label.to_owned(), holds: Box::new(holds) }
}

const BMI_CLASSES: [(&str, f64, f64); 4] = [
    ("under 18.5", 0.0, 18.5),
    ("18.5-24.9", 18.5, 25.0),
    ("25-29.9", 25.0, 30.0),
    ("30 and over", 30.0, f64::INFINITY),
];
const AGE_BANDS: [(&str, u32, u32); 3] =
    [("20-39", 20, 40), ("40-59", 40, 60), ("60 and over", 60, OLDEST + 1)];

fn groups() -> Vec<Group> {
    let mut groups = vec![group("everybody", "everybody", |_| true)];
    groups.extend(Sex::ALL.map(|sex| group("sex", sex.label(), move |t| t.sex == sex)));
    groups.extend(
        (0..ANCESTRIES.len()).map(|k| group("ancestry", ANCESTRIES[k].label, move |t| t.ancestry == k)),
    );
    groups.extend(
        BMI_CLASSES.map(|(label, from, to)| group("bmi_class", label, move |t| (from..to).contains(&t.bmi))),
    );
    groups.extend(
        AGE_BANDS.map(|(label, from, to)| group("age_20_40_60", label, move |t| (from..to).contains(&t.age))),
    );
    for sex in Sex::ALL {
        groups.extend(BMI_CLASSES.map(|(label, from, to)| {
            let label = format!("{} × {label}", sex.label());
            group("sex × bmi_class", &label, move |t| t.sex == sex && (from..to).contains(&t.bmi))
        }));
    }
    groups
}

/// Distributions of ln HOMA-IR without (0) and with (1) the outcome, each a sum of normal ones of
/// equal spread whose means lie on a grid.
struct Mixture {
    weight: [Vec<f64>; 2],
    share: [f64; 2],
    sd: f64,
}

impl Mixture {
    fn new(sd: f64) -> Self {
        Self { weight: [vec![0.0; POINTS], vec![0.0; POINTS]], share: [0.0; 2], sd }
    }

    /// Splits a weight between the two grid points around its mean, so that the mean is kept.
    fn add(&mut self, outcome: usize, mean: f64, weight: f64) {
        let at = (mean - FIRST) / STEP;
        let point = at as usize;
        let upper = at - point as f64;
        self.weight[outcome][point] += weight * (1.0 - upper);
        self.weight[outcome][point + 1] += weight * upper;
        self.share[outcome] += weight;
    }

    fn total(&self) -> f64 {
        self.share[0] + self.share[1]
    }

    /// Grid points that carry weight, as mean and weight.
    fn points(&self, outcome: usize) -> impl Iterator<Item = (f64, f64)> {
        let weights = self.weight[outcome].iter().enumerate();
        weights
            .filter(|(_, weight)| **weight > 0.0)
            .map(|(point, weight)| (FIRST + STEP * point as f64, *weight))
    }

    /// Share of the people with this outcome below `z`.
    fn below(&self, outcome: usize, z: f64) -> f64 {
        let sum: f64 = self
            .points(outcome)
            .map(|(mean, weight)| weight * standard_normal_below((z - mean) / self.sd))
            .sum();
        sum / self.share[outcome]
    }

    fn all_below(&self, z: f64) -> f64 {
        (self.share[0] * self.below(0, z) + self.share[1] * self.below(1, z)) / self.total()
    }

    fn quantile(&self, p: f64) -> f64 {
        crossing((-3.0, 6.0), |z| self.all_below(z) >= p)
    }

    /// Density of those with the outcome, less that of those without, times a constant.
    fn excess_density(&self, z: f64) -> f64 {
        let density = |outcome: usize| -> f64 {
            let bell = |mean: f64| (-0.5 * ((z - mean) / self.sd).powi(2)).exp();
            self.points(outcome).map(|(mean, weight)| weight * bell(mean)).sum::<f64>() / self.share[outcome]
        };
        density(1) - density(0)
    }

    /// Where the density of those with the outcome overtakes the other: F₀ − F₁ is largest there.
    /// One crossing lies between the two medians.
    fn best(&self) -> f64 {
        let median = |outcome: usize| crossing((-3.0, 6.0), |z| self.below(outcome, z) >= 0.5);
        crossing((median(0) - self.sd, median(1) + self.sd), |z| self.excess_density(z) >= 0.0)
    }

    /// Chance that somebody with the outcome has a higher value than somebody without.
    fn auc(&self) -> f64 {
        let apart: Vec<f64> = (0..2 * POINTS)
            .map(|i| standard_normal_below((i as f64 - POINTS as f64) * STEP / self.sd * FRAC_1_SQRT_2))
            .collect();
        let mut sum = 0.0;
        for (with, weight_with) in self.weight[1].iter().enumerate().filter(|(_, weight)| **weight > 0.0) {
            let row = &apart[with + 1..=POINTS + with];
            let ranked: f64 =
                self.weight[0].iter().zip(row.iter().rev()).map(|(weight, share)| weight * share).sum();
            sum += weight_with * ranked;
        }
        sum / (self.share[0] * self.share[1])
    }
}

/// The point of an interval from which on a condition holds, by halving.
fn crossing((mut from, mut to): (f64, f64), holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..50 {
        let middle = f64::midpoint(from, to);
        if holds(middle) {
            to = middle;
        } else {
            from = middle;
        }
    }
    f64::midpoint(from, to)
}

/// The mixture of every group, everybody first, in a population given by the chance to belong to it.
fn mixtures(belongs: impl Fn(&Traits, bool) -> f64) -> Vec<(Group, Mixture)> {
    let any = Traits { sex: Sex::Male, age: 20, ancestry: 0, bmi: 27.0 };
    let sd = model::log_homa(&any, false).sd;
    let mut mixtures: Vec<(Group, Mixture)> =
        groups().into_iter().map(|group| (group, Mixture::new(sd))).collect();
    for (traits, share) in adult_cells() {
        let resistant = model::resistant(&traits);
        for (outcome, chance) in [(false, 1.0 - resistant), (true, resistant)] {
            let weight = share * chance * belongs(&traits, outcome);
            let mean = model::log_homa(&traits, outcome).mean;
            for (group, mixture) in &mut mixtures {
                if (group.holds)(&traits) {
                    mixture.add(usize::from(outcome), mean, weight);
                }
            }
        }
    }
    mixtures
}

/// Every combination of sex, age from 20, ancestry and recorded BMI, with its share of the population.
fn adult_cells() -> Vec<(Traits, f64)> {
    let mut cells = Vec::new();
    for sex in Sex::ALL {
        for age in 20..=OLDEST {
            for ancestry in 0..ANCESTRIES.len() {
                let share = 0.5 * model::age_share(ancestry, age);
                cells.extend(
                    bmi_shares(sex, age, ancestry)
                        .map(|(bmi, given)| (Traits { sex, age, ancestry, bmi }, share * given)),
                );
            }
        }
    }
    cells
}

/// Recorded BMI of people of one sex, age and ancestry, with the share of the population that lives
/// in a region, is of this ancestry and has this BMI.
fn bmi_shares(sex: Sex, age: u32, ancestry: usize) -> impl Iterator<Item = (f64, f64)> {
    let (within, between) = model::log_bmi_spreads();
    let up_to = move |tenths: f64| -> f64 {
        (0..REGIONS)
            .map(|region| {
                let mean = model::log_bmi_mean(region, sex, age, ancestry);
                let below = model::Normal { mean, sd: within.hypot(between) }.below((tenths / 10.0).ln());
                REGION_SHARE[region] * model::ancestry_shares(region)[ancestry] * below
            })
            .sum()
    };
    let most = *BMI_TENTHS.end();
    let mut before = 0.0;
    BMI_TENTHS.map(move |tenths| {
        let edge = if tenths == most { f64::INFINITY } else { f64::from(tenths) + 0.5 };
        let below = up_to(edge);
        let share = below - before;
        before = below;
        (f64::from(tenths) / 10.0, share)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bisection to 2⁻⁵⁰ of the interval; the error function is good to 1e-11.
    const SOLVED: f64 = 1e-9;

    fn cell() -> Mixture {
        // Both means lie on the grid, 0.6 apart.
        let mut mixture = Mixture::new(0.5);
        mixture.add(0, FIRST + 1_000.0 * STEP, 0.7);
        mixture.add(1, FIRST + 1_300.0 * STEP, 0.3);
        mixture
    }

    #[test]
    fn one_cell_agrees_with_the_closed_form() {
        let mixture = cell();
        // Half way between 1.25 and 1.85; AUC = Φ(0.6 / (0.5 √2)); J = 2 Φ(0.3 / 0.5) − 1.
        assert!((mixture.best() - 1.55).abs() < SOLVED, "{}", mixture.best());
        let auc = standard_normal_below(0.6 / (0.5 * 2.0_f64.sqrt()));
        assert!((mixture.auc() - auc).abs() < SOLVED, "{} {auc}", mixture.auc());
        let youden = mixture.below(0, mixture.best()) - mixture.below(1, mixture.best());
        assert!((youden - (2.0 * standard_normal_below(0.6) - 1.0)).abs() < SOLVED, "{youden}");
    }

    #[test]
    fn the_contrast_has_the_ratio_that_it_is_asked_for() {
        for ratio in [1.0, 1.25] {
            let [men, women] = contrast_cutoffs(ratio);
            assert!((women / men - ratio).abs() < PRECISION, "{men} {women}");
        }
    }

    #[test]
    fn a_quantile_has_its_share_below() {
        let mixture = cell();
        assert!((mixture.all_below(mixture.quantile(0.9)) - 0.9).abs() < SOLVED);
    }

    #[test]
    fn adults_are_the_share_of_the_population_that_is_20_or_older() {
        let cells: f64 = adult_cells().iter().map(|(_, share)| share).sum();
        let expected: f64 = (0..REGIONS)
            .flat_map(|region| {
                model::ancestry_shares(region)
                    .map(|share| REGION_SHARE[region] * share)
                    .into_iter()
                    .enumerate()
            })
            .map(|(ancestry, share)| {
                share * (20..=OLDEST).map(|age| model::age_share(ancestry, age)).sum::<f64>()
            })
            .sum();
        assert!((cells - expected).abs() < SOLVED, "{cells} {expected}");
    }
}
