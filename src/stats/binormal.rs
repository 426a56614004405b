//! The Youden cutoff of two normal distributions, after the power transform that makes them most normal.

use super::numeric::{golden_maximum, interior_maximum, parabola_at, phi, quartic_top};
use super::unit_sums::UnitSums;
use super::{Replicates, Sample, StatError};

/// Powers tried, from −`LARGEST_POWER` to `LARGEST_POWER`.
const LARGEST_POWER: f64 = 2.0;
/// Powers per unit: the likelihood is smooth, so its maximum lies where a parabola says.
const POWERS_PER_UNIT: usize = 10;
const POWERS: usize = 2 * LARGEST_POWER as usize * POWERS_PER_UNIT + 1;

/// Mean and standard deviation of a normal distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    pub mean: f64,
    pub sd: f64,
}

/// What a binormal model says about an index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Binormal {
    /// In the unit of the values.
    pub cutoff: f64,
    pub youden: f64,
    pub sensitivity: f64,
    pub specificity: f64,
    pub auc: f64,
    /// Power of the transform; ±2, the ends of the search, means that no power makes the classes normal.
    pub power: f64,
}

/// Cutoff at which two normal distributions have their largest Youden index.
///
/// # Formula
///
/// The root `c` of `a c² + b c + g = 0`, where the densities are equal, with the larger
/// `J = Φ((c − μ₀)/σ₀) − Φ((c − μ₁)/σ₁)`:
///
/// ```text
/// a = σ₁² − σ₀²      b = 2 (μ₁ σ₀² − μ₀ σ₁²)
/// g = μ₀² σ₁² − μ₁² σ₀² − 2 σ₀² σ₁² ln(σ₁/σ₀)
/// ```
///
/// With equal standard deviations it is the midpoint of the means. Returns the cutoff and `J`.
///
/// # Errors
///
/// [`StatError::Parameter`] for a standard deviation that is not positive, [`StatError::Undefined`] if no cutoff has
/// `J > 0` (equal distributions, or equal spread and a lower mean with the outcome).
///
/// # Source
///
/// Schisterman and Perkins 2007, Commun Stat Simul Comput 36:549–563.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::binormal::{Normal, normal_youden};
/// let (without, with) = (Normal { mean: 0.0, sd: 1.0 }, Normal { mean: 1.5, sd: 1.5 });
/// let (cutoff, youden) = normal_youden(without, with)?;
/// assert!((cutoff - 0.967_873_241).abs() < 1e-9);
/// assert!((youden - 0.472_058_154_708).abs() < 1e-9);
/// # Ok::<(), cutspan::stats::StatError>(())
/// ```
pub fn normal_youden(without: Normal, with: Normal) -> Result<(f64, f64), StatError> {
    for class in [without, with] {
        if !(class.sd > 0.0 && class.sd.is_finite() && class.mean.is_finite()) {
            let what = "standard deviation of a class";
            return Err(StatError::Parameter { what, range: "(0, ∞)", value: class.sd });
        }
    }
    let (m0, m1) = (without.mean, with.mean);
    let (v0, v1) = (without.sd * without.sd, with.sd * with.sd);
    let a = v1 - v0;
    let b = 2.0 * (m1 * v0 - m0 * v1);
    let g = m0 * m0 * v1 - m1 * m1 * v0 - 2.0 * v0 * v1 * (with.sd / without.sd).ln();
    // This form loses no digits when `a` is near 0 and one root runs off to infinity.
    let q = -0.5 * (b + b.signum() * (b * b - 4.0 * a * g).max(0.0).sqrt());
    let youden = |c: f64| phi((c - m0) / without.sd) - phi((c - m1) / with.sd);
    let roots = [q / a, g / q].into_iter().filter(|c| c.is_finite()).map(|c| (c, youden(c)));
    roots
        .max_by(|x, y| x.1.total_cmp(&y.1))
        .filter(|(_, j)| *j > 0.0)
        .ok_or(StatError::Undefined("no cutoff separates the classes: those with the outcome are not higher"))
}

/// Youden cutoff and AUC of a binormal model fitted after a Box–Cox transform common to both classes.
///
/// # Formula
///
/// ```text
/// y = (u^λ − 1) / λ, ln u at λ = 0       u = x over the weighted geometric mean
/// ℓ(λ) = −½ Σ_k W_k ln σ_k²(λ)           W_k, σ_k²: weight and weighted variance of class k
/// AUC = Φ((μ₁ − μ₀) / √(σ₀² + σ₁²))
/// ```
///
/// `λ` maximises `ℓ` in [−2, 2], to about 1e-7; the cutoff is [`normal_youden`] of the weighted means and
/// standard deviations (divisor `W_k`), transformed back.
///
/// # Units
///
/// That of the values, which must all be positive, or all negative as for an index of which less is more
/// resistant; then `u = −1/x`, which rises with `x`, is transformed (the same family).
///
/// # Missing data and ties
///
/// People whose outcome is unknown must not be in the sample.
///
/// # Errors
///
/// [`StatError::Value`] for values of different signs, [`StatError::OneClass`] for an empty class,
/// [`StatError::Undefined`] if a class does not vary or the classes are not separated; what [`Sample::check`] refuses.
///
/// # Source
///
/// Box and Cox 1964, J R Stat Soc B 26:211–252; Fluss, Faraggi and Reiser 2005, Biom J 47:458–472.
///
/// # Checked against
///
/// `scipy`, the same likelihood maximised by `minimize_scalar`: `tests/reference/binormal_youden/`.
pub fn binormal(sample: &Sample, class: &[bool]) -> Result<Binormal, StatError> {
    let data = Ratios::of(sample, class)?;
    let likelihood = |power: f64| data.moments(power).map_or(f64::NEG_INFINITY, |m| m.log_likelihood());
    let best = (0..POWERS).max_by(|&i, &j| likelihood(power_at(i)).total_cmp(&likelihood(power_at(j))));
    let best = power_at(best.unwrap_or(0));
    let step = 1.0 / POWERS_PER_UNIT as f64;
    let power =
        golden_maximum(likelihood, (best - step).max(-LARGEST_POWER), (best + step).min(LARGEST_POWER));
    let [without, with] = data.moments(power)?.normals();
    let (transformed, youden) = normal_youden(without, with)?;
    let sensitivity = phi((with.mean - transformed) / with.sd);
    Ok(Binormal {
        cutoff: data.back(transformed, power)?,
        youden,
        sensitivity,
        specificity: youden + 1.0 - sensitivity,
        auc: phi((with.mean - without.mean) / without.sd.hypot(with.sd)),
        power,
    })
}

/// The binormal Youden cutoff in every replicate, the power chosen anew each time.
///
/// # Formula
///
/// As [`binormal`]. The likelihood is looked at for powers a tenth apart; the maximum is that of the quartic through the best
/// and two neighbours on each side, and the cutoff is read at it from the parabola through three cutoffs.
///
/// # Missing data and ties
///
/// `NaN` where a class vanished or does not vary, or the classes are not separated.
///
/// # Errors
///
/// As for [`binormal`], for the full sample.
///
/// # Checked against
///
/// [`binormal`] on replicate weights: `tests/reference/binormal_youden/`.
pub fn binormal_replicates(
    sample: &Sample,
    class: &[bool],
    replicates: &Replicates,
) -> Result<Vec<f64>, StatError> {
    let data = Ratios::of(sample, class)?;
    let totals = data.unit_sums(sample).replicate_totals(replicates);
    let at = |r: usize, i: usize| {
        let of_class = |k: usize| {
            let start = k * PER_CLASS;
            Sums {
                weight: totals[start][r],
                logs: totals[start + 1][r],
                first: totals[start + 2 + 2 * i][r],
                second: totals[start + 3 + 2 * i][r],
            }
        };
        Moments { power: power_at(i), sums: [of_class(0), of_class(1)] }
    };
    let cutoff = |r: usize| -> Result<f64, StatError> {
        let likelihood: Vec<f64> = (0..POWERS).map(|i| at(r, i).log_likelihood()).collect();
        let of_power = |i: usize| {
            let [without, with] = at(r, i).normals();
            data.back(normal_youden(without, with)?.0, power_at(i))
        };
        // A power at an end of the search stays as it is.
        let Some(best) = interior_maximum(&likelihood) else {
            let end = (0..POWERS).max_by(|&i, &j| likelihood[i].total_cmp(&likelihood[j])).unwrap_or(0);
            return of_power(end);
        };
        let three = [of_power(best - 1)?, of_power(best)?, of_power(best + 1)?];
        Ok(parabola_at(three, quartic_top(&likelihood, best)))
    };
    Ok((0..replicates.count).map(|r| cutoff(r).unwrap_or(f64::NAN)).collect())
}

/// Weight, weighted logs, and first and second power sums of a class.
#[derive(Debug, Clone, Copy)]
struct Sums {
    weight: f64,
    logs: f64,
    first: f64,
    second: f64,
}

/// Quantities per class that a replicate needs: weight, logs, and two per power.
const PER_CLASS: usize = 2 + 2 * POWERS;

/// Both classes under one power.
struct Moments {
    power: f64,
    sums: [Sums; 2],
}

impl Moments {
    fn normals(&self) -> [Normal; 2] {
        self.sums.map(|s| {
            let mean = s.first / s.weight;
            Normal { mean, sd: (s.second / s.weight - mean * mean).max(0.0).sqrt() }
        })
    }

    /// `NaN` without weight in a class: such a replicate has no maximum and its cutoff fails.
    fn log_likelihood(&self) -> f64 {
        let spread: f64 = self.sums.iter().zip(self.normals()).map(|(s, n)| s.weight * n.sd.ln()).sum();
        let logs: f64 = self.sums.iter().map(|s| s.logs).sum();
        (self.power - 1.0) * logs - spread
    }
}

/// Values over their geometric mean, with class and weight.
struct Ratios {
    log_ratio: Vec<f64>,
    weight: Vec<f64>,
    class: Vec<usize>,
    log_geometric_mean: f64,
    negative: bool,
}

impl Ratios {
    fn of(sample: &Sample, class: &[bool]) -> Result<Self, StatError> {
        sample.check()?;
        if class.len() != sample.len() {
            return Err(StatError::Length(sample.len(), class.len()));
        }
        let negative = sample.value[0] < 0.0;
        if let Some(row) = sample.value.iter().position(|x| *x == 0.0 || (*x < 0.0) != negative) {
            let what = "value beside values of the other sign";
            return Err(StatError::Value { row, what, value: sample.value[row] });
        }
        for (wanted, verb) in [(true, "has"), (false, "lacks")] {
            if !class.iter().zip(&sample.weight).any(|(y, w)| *y == wanted && *w > 0.0) {
                return Err(StatError::OneClass(verb));
            }
        }
        let log: Vec<f64> =
            sample.value.iter().map(|x| if negative { -x.abs().ln() } else { x.ln() }).collect();
        let total: f64 = sample.weight.iter().sum();
        let log_geometric_mean = log.iter().zip(&sample.weight).map(|(l, w)| l * w).sum::<f64>() / total;
        Ok(Self {
            log_ratio: log.iter().map(|l| l - log_geometric_mean).collect(),
            weight: sample.weight.clone(),
            class: class.iter().map(|y| usize::from(*y)).collect(),
            log_geometric_mean,
            negative,
        })
    }

    fn moments(&self, power: f64) -> Result<Moments, StatError> {
        let mut sums = [Sums { weight: 0.0, logs: 0.0, first: 0.0, second: 0.0 }; 2];
        for ((&log, &w), &k) in self.log_ratio.iter().zip(&self.weight).zip(&self.class) {
            let y = box_cox(log, power);
            sums[k].weight += w;
            sums[k].logs += w * log;
            sums[k].first += w * y;
            sums[k].second += w * y * y;
        }
        let moments = Moments { power, sums };
        if moments.normals().iter().all(|n| n.sd > 0.0) {
            Ok(moments)
        } else {
            Err(StatError::Undefined("everybody in a class has the same value"))
        }
    }

    fn unit_sums(&self, sample: &Sample) -> UnitSums {
        let units = sample.units();
        let mut sums = UnitSums::new(2 * PER_CLASS, units);
        for (row, &unit) in sample.unit.iter().enumerate() {
            let (log, w, start) = (self.log_ratio[row], self.weight[row], self.class[row] * PER_CLASS);
            sums.add(start, unit, w);
            sums.add(start + 1, unit, w * log);
            for i in 0..POWERS {
                let y = box_cox(log, power_at(i));
                sums.add(start + 2 + 2 * i, unit, w * y);
                sums.add(start + 3 + 2 * i, unit, w * y * y);
            }
        }
        sums
    }

    /// A transformed cutoff in the unit of the values.
    fn back(&self, y: f64, power: f64) -> Result<f64, StatError> {
        let log = if power == 0.0 { y } else { (power * y).ln_1p() / power } + self.log_geometric_mean;
        match log.is_finite() {
            true if self.negative => Ok(-(-log).exp()),
            true => Ok(log.exp()),
            false => {
                Err(StatError::Undefined("the binormal cutoff lies outside what the transform can reach"))
            }
        }
    }
}

fn power_at(position: usize) -> f64 {
    // From whole numbers, so that 0 is met exactly.
    (position as f64 - (POWERS / 2) as f64) / POWERS_PER_UNIT as f64
}

/// Box–Cox transform of `exp(log)`.
fn box_cox(log: f64, power: f64) -> f64 {
    if power == 0.0 { log } else { (power * log).exp_m1() / power }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::interval::normal_quantile;
    use crate::stats::{Design, LonelyPsu};

    /// Log-normal classes by their quantiles, in four units.
    fn log_normals(with: Normal) -> (Sample, Vec<bool>) {
        let people = 150;
        let z = |i: usize| normal_quantile((i as f64 + 0.5) / people as f64);
        let value: Vec<f64> =
            (0..people).flat_map(|i| [z(i).exp(), (with.mean + with.sd * z(i)).exp()]).collect();
        let unit: Vec<u32> = (0..2 * people as u32).map(|row| row / 2 % 4).collect();
        let mut rows: Vec<usize> = (0..value.len()).collect();
        rows.sort_by(|&a, &b| value[a].total_cmp(&value[b]));
        let sample = Sample::from_people(&value, &vec![2.0; value.len()], &unit).expect("usable rows");
        (sample, rows.iter().map(|row| row % 2 == 1).collect())
    }

    #[test]
    fn worked_values_of_two_normals() {
        let standard = Normal { mean: 0.0, sd: 1.0 };
        for (delta, youden) in [(0.51, 0.2013), (1.05, 0.4004), (1.68, 0.5991), (2.56, 0.7995)] {
            let (c, j) = normal_youden(standard, Normal { mean: delta, sd: 1.0 }).expect("separated");
            assert!((c - delta / 2.0).abs() < 1e-12 && (j - youden).abs() < 5e-5, "{c} {j}");
        }
        let (c, _) = normal_youden(standard, Normal { mean: 1.0, sd: 1.0 + 1e-12 }).expect("separated");
        assert!((c - 0.5).abs() < 1e-9, "nearly equal spreads: {c}");
        assert!(normal_youden(standard, standard).is_err());
        assert!(normal_youden(standard, Normal { mean: -1.0, sd: 1.0 }).is_err());
        assert!(normal_youden(standard, Normal { mean: 1.0, sd: 0.0 }).is_err());
    }

    #[test]
    fn log_normal_classes_ask_for_the_logarithm() {
        let (sample, class) = log_normals(Normal { mean: 1.5, sd: 1.5 });
        let got = binormal(&sample, &class).expect("separated");
        assert!(got.power.abs() < 0.02, "{got:?}");
        // Quantiles stand in for the distribution, so the spread falls a little short.
        assert!((got.cutoff.ln() - 0.967_873).abs() < 0.01, "{got:?}");
        assert!(
            (got.youden - 0.472_058).abs() < 0.005 && (got.auc - phi(1.5 / 3.25_f64.sqrt())).abs() < 0.005
        );
        assert!((got.sensitivity + got.specificity - 1.0 - got.youden).abs() < 1e-12);
    }

    #[test]
    fn unit_factors_give_the_full_sample() {
        let (sample, class) = log_normals(Normal { mean: 1.5, sd: 1.5 });
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let mut replicates = Replicates::bootstrap(&design, &[1, 2], 5, 3).expect("valid");
        replicates.factors.fill(1.0);
        for unit in 0..4 {
            replicates.factors[unit * 5] = 0.0;
        }
        let full = binormal(&sample, &class).expect("separated").cutoff;
        let got = binormal_replicates(&sample, &class, &replicates).expect("separated");
        assert!(got[0].is_nan());
        assert!(got[1..].iter().all(|c| (c / full - 1.0).abs() < 1e-4), "{got:?} {full}");
    }

    #[test]
    fn what_cannot_be_modelled_is_refused() {
        let mixed = Sample::from_people(&[-1.0, 1.0, 2.0], &[1.0; 3], &[0; 3]).expect("usable rows");
        assert!(matches!(binormal(&mixed, &[false, true, true]), Err(StatError::Value { row: 1, .. })));
        let two = Sample::from_people(&[1.0, 1.0, 2.0], &[1.0; 3], &[0; 3]).expect("usable rows");
        assert!(matches!(binormal(&two, &[false, false, true]), Err(StatError::Undefined(_))));
        assert_eq!(binormal(&two, &[false; 3]), Err(StatError::OneClass("has")));
        assert_eq!(binormal(&two, &[false; 2]), Err(StatError::Length(3, 2)));
    }
}
