//! The superpopulation of Veldmark: every coefficient of the invented truth.
//!
//! # Formula
//!
//! ```text
//! region        h = 1 … 10, population shares REGION_SHARE
//! ancestry      k | h       shares tilted by region
//! age           a | k       P(age ≤ a) = ((a − 11) / 74)^(1 / slope_k), whole years 12 … 85
//! sex           ½ each
//! BMI           ln b | h, PSU, sex, a, k  ~  N(mean, 0.18²),  PSU effect ~ N(0, 0.03²)
//! resistant     D | sex, a, b, k  ~  Bernoulli(logistic(−1.35 + 0.13 (b − 27) + 0.012 (a − 45) + shift_k))
//! HOMA-IR       ln x | D, sex, a, b, k, PSU  ~  N(ln 1.70 + 0.050 (b − 27) + 0.002 (a − 45)
//!                   + shift_k + 0.25 [a < 20] − 0.03 [female] + 0.62 D, 0.46²),  PSU effect ~ N(0, 0.08²)
//! glucose       ln g | D, told, sex, a, b, independent of ln x given these
//! insulin       405 x / g
//! ```
//!
//! `b` is BMI as recorded, to one decimal, and `D` an invented direct measurement of insulin
//! resistance. Because the spread of ln x is the same with and without D, the best cutoff by the
//! index of Youden for people of one sex, age, BMI and ancestry is exactly half way, exp(mean
//! without D + 0.31); it rises with BMI, and that of a group is a mixture over its members.
//! Diagnosis and glucose do not depend on ln x once D is known, so leaving diabetes out changes
//! who is in the cohort and not the curves within a cell: truth needs sums, no simulation.

use statrs::function::erf::erf;

pub const REGIONS: usize = 10;
pub const REGION_SHARE: [f64; REGIONS] = [0.16, 0.14, 0.12, 0.11, 0.13, 0.09, 0.08, 0.07, 0.06, 0.04];
/// Shift of ln BMI by region.
const REGION_BMI: [f64; REGIONS] = [-0.03, -0.02, -0.01, 0.0, 0.0, 0.01, 0.01, 0.02, 0.03, 0.04];

pub const YOUNGEST: u32 = 12;
pub const OLDEST: u32 = 85;
/// Recorded BMI in tenths: values outside are recorded as the nearest of these.
pub const BMI_TENTHS: std::ops::RangeInclusive<u32> = 130..=700;

const BMI_SPREAD: f64 = 0.18;
const BMI_PSU_SPREAD: f64 = 0.03;
const LOG_HOMA_SPREAD: f64 = 0.46;
const LOG_HOMA_PSU_SPREAD: f64 = 0.08;
/// How much ln HOMA-IR is higher in people with the outcome, all else equal.
pub const LOG_HOMA_RESISTANT: f64 = 0.62;

/// Chance that a woman aged 20 to 44 is pregnant; nothing else depends on it.
pub const PREGNANT: f64 = 0.06;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sex {
    Male,
    Female,
}

impl Sex {
    pub const ALL: [Self; 2] = [Self::Male, Self::Female];

    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::Male => "male",
            Self::Female => "female",
        }
    }

    pub(super) fn if_female(self, value: f64) -> f64 {
        if self == Self::Female { value } else { 0.0 }
    }
}

/// An invented ancestry group and all that is peculiar to it.
#[derive(Debug, PartialEq)]
pub struct Ancestry {
    pub label: &'static str,
    /// Share in the most central region and by how much it grows per region outwards.
    share: f64,
    share_tilt: f64,
    /// Above 1: a younger group.
    age_slope: f64,
    bmi: f64,
    resistant: f64,
    log_homa: f64,
    /// Chance that a person asked to fast did so for 8 to 24 hours.
    pub fasted: f64,
    /// Chance that waist and blood pressure are missing.
    pub unmeasured: f64,
}

pub const ANCESTRIES: [Ancestry; 4] = [
    Ancestry {
        label: "Brinnic",
        share: 0.38,
        share_tilt: 0.025,
        age_slope: 1.05,
        bmi: 0.0,
        resistant: 0.0,
        log_homa: 0.0,
        fasted: 0.88,
        unmeasured: 0.02,
    },
    Ancestry {
        label: "Calduen",
        share: 0.28,
        share_tilt: -0.005,
        age_slope: 1.35,
        bmi: 0.05,
        resistant: 0.25,
        log_homa: 0.14,
        fasted: 0.84,
        unmeasured: 0.04,
    },
    Ancestry {
        label: "Orvane",
        share: 0.20,
        share_tilt: -0.010,
        age_slope: 1.15,
        bmi: -0.11,
        resistant: 0.50,
        log_homa: 0.08,
        fasted: 0.80,
        unmeasured: 0.05,
    },
    Ancestry {
        label: "Sithrel",
        share: 0.14,
        share_tilt: -0.010,
        age_slope: 1.10,
        bmi: 0.03,
        resistant: -0.20,
        log_homa: -0.16,
        fasted: 0.70,
        unmeasured: 0.09,
    },
];

/// What the chances of a person rest on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Traits {
    pub sex: Sex,
    pub age: u32,
    /// Position in [`ANCESTRIES`].
    pub ancestry: usize,
    /// kg/m², to one decimal.
    pub bmi: f64,
}

/// Mean and standard deviation of a normal variable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    pub mean: f64,
    pub sd: f64,
}

impl Normal {
    #[must_use]
    pub fn below(&self, x: f64) -> f64 {
        standard_normal_below((x - self.mean) / self.sd)
    }
}

/// Share of the standard normal distribution below `z`.
#[must_use]
pub fn standard_normal_below(z: f64) -> f64 {
    0.5 * (1.0 + erf(z * std::f64::consts::FRAC_1_SQRT_2))
}

/// Shares of the ancestry groups in a region.
#[must_use]
pub fn ancestry_shares(region: usize) -> [f64; 4] {
    ANCESTRIES.each_ref().map(|group| group.share + group.share_tilt * region as f64)
}

/// Share of an ancestry group that is of this age.
#[must_use]
pub fn age_share(ancestry: usize, age: u32) -> f64 {
    let up_to = |years: u32| (f64::from(years) / years_of_age()).powf(1.0 / ANCESTRIES[ancestry].age_slope);
    up_to(age - YOUNGEST + 1) - up_to(age - YOUNGEST)
}

/// The age below which the share `u` of an ancestry group is.
#[must_use]
pub fn age_at(ancestry: usize, u: f64) -> u32 {
    YOUNGEST + (years_of_age() * u.powf(ANCESTRIES[ancestry].age_slope)) as u32
}

fn years_of_age() -> f64 {
    f64::from(OLDEST - YOUNGEST + 1)
}

/// Mean of ln BMI in a region, PSU effects averaged out.
#[must_use]
pub fn log_bmi_mean(region: usize, sex: Sex, age: u32, ancestry: usize) -> f64 {
    let years = f64::from(age);
    let youth = if age < 20 { -0.016 * (20.0 - years) } else { 0.0 };
    let adult = 0.0035 * (years.clamp(20.0, 60.0) - 45.0) - 0.004 * (years - 70.0).max(0.0);
    27.4_f64.ln() + youth + adult + sex.if_female(0.01) + ANCESTRIES[ancestry].bmi + REGION_BMI[region]
}

/// Spread of ln BMI among people of a PSU, and of the PSUs themselves.
#[must_use]
pub fn log_bmi_spreads() -> (f64, f64) {
    (BMI_SPREAD, BMI_PSU_SPREAD)
}

/// Chance of the outcome, insulin resistance as measured directly.
#[must_use]
pub fn resistant(traits: &Traits) -> f64 {
    let shift = ANCESTRIES[traits.ancestry].resistant;
    logistic(-1.35 + 0.13 * (traits.bmi - 27.0) + 0.012 * (f64::from(traits.age) - 45.0) + shift)
}

/// Distribution of ln HOMA-IR over people and PSUs, given the outcome.
#[must_use]
pub fn log_homa(traits: &Traits, resistant: bool) -> Normal {
    let (within, between) = log_homa_spreads();
    let mean = 1.70_f64.ln()
        + 0.050 * (traits.bmi - 27.0)
        + 0.002 * (f64::from(traits.age) - 45.0)
        + ANCESTRIES[traits.ancestry].log_homa
        + if traits.age < 20 { 0.25 } else { 0.0 }
        + traits.sex.if_female(-0.03)
        + if resistant { LOG_HOMA_RESISTANT } else { 0.0 };
    Normal { mean, sd: within.hypot(between) }
}

/// Spread of ln HOMA-IR among people of a PSU, and of the PSUs themselves.
#[must_use]
pub fn log_homa_spreads() -> (f64, f64) {
    (LOG_HOMA_SPREAD, LOG_HOMA_PSU_SPREAD)
}

/// Chance of having been told of diabetes.
#[must_use]
pub fn told_diabetes(traits: &Traits, resistant: bool) -> f64 {
    let outcome = if resistant { 1.8 } else { 0.0 };
    logistic(-4.1 + 0.055 * (f64::from(traits.age) - 45.0) + 0.04 * (traits.bmi - 27.0) + outcome)
}

/// Distribution of ln fasting glucose (mg/dL).
#[must_use]
pub fn log_glucose(traits: &Traits, resistant: bool, told: bool) -> Normal {
    if told {
        return Normal { mean: 140.0_f64.ln(), sd: 0.28 };
    }
    let mean = 95.0_f64.ln()
        + 0.0016 * (f64::from(traits.age) - 45.0)
        + 0.0020 * (traits.bmi - 27.0)
        + traits.sex.if_female(-0.02)
        + if resistant { 0.07 } else { 0.0 };
    Normal { mean, sd: if resistant { 0.12 } else { 0.065 } }
}

/// Chance of belonging to the cohort for which cutoffs are derived: not pregnant, not told of
/// diabetes, recorded fasting glucose below 126 mg/dL.
#[must_use]
pub fn in_cohort(traits: &Traits, resistant: bool) -> f64 {
    let glucose = log_glucose(traits, resistant, false).below(125.5_f64.ln());
    let pregnant = if may_be_pregnant(traits) { PREGNANT } else { 0.0 };
    (1.0 - told_diabetes(traits, resistant)) * glucose * (1.0 - pregnant)
}

/// Pregnancy is recorded for women aged 20 to 44.
#[must_use]
pub fn may_be_pregnant(traits: &Traits) -> bool {
    traits.sex == Sex::Female && (20..45).contains(&traits.age)
}

pub(super) fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sums of a few hundred terms of size one.
    const EXACT: f64 = 1e-12;

    #[test]
    fn shares_add_up_to_one() {
        assert!((REGION_SHARE.iter().sum::<f64>() - 1.0).abs() < EXACT);
        for region in 0..REGIONS {
            let shares = ancestry_shares(region);
            assert!((shares.iter().sum::<f64>() - 1.0).abs() < EXACT, "region {region}");
            assert!(shares.iter().all(|share| *share > 0.02), "region {region}");
        }
        for ancestry in 0..ANCESTRIES.len() {
            let ages: f64 = (YOUNGEST..=OLDEST).map(|age| age_share(ancestry, age)).sum();
            assert!((ages - 1.0).abs() < EXACT, "ancestry {ancestry}");
        }
    }

    #[test]
    fn ages_span_the_stated_range() {
        assert_eq!(age_at(0, 0.0), YOUNGEST);
        assert_eq!(age_at(3, 1.0 - f64::EPSILON), OLDEST);
    }

    #[test]
    fn the_cutoff_of_a_cell_lies_half_way_where_the_densities_cross() {
        let traits = Traits { sex: Sex::Male, age: 45, ancestry: 0, bmi: 27.0 };
        let (without, with) = (log_homa(&traits, false), log_homa(&traits, true));
        let cutoff = without.mean + LOG_HOMA_RESISTANT / 2.0;
        let youden = |x: f64| without.below(x) - with.below(x);
        assert!(youden(cutoff) > youden(cutoff + 0.01) && youden(cutoff) > youden(cutoff - 0.01));
        // exp(ln 1.70 + 0.31)
        assert!((cutoff.exp() - 2.317_822).abs() < 1e-6, "{}", cutoff.exp());
    }
}
