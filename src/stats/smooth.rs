//! The Youden cutoff from smoothed distributions: steadier than the empirical maximum.

use std::f64::consts::TAU;

use super::kernel_table::{BINS_PER_STEP, GRID, KernelTable};
use super::numeric::{interior_maximum, phi, quartic_top};
use super::quantile::weighted_quantile;
use super::unit_sums::UnitSums;
use super::vector::widest;
use super::{Replicates, Sample, StatError};

/// Steps between the points at which a replicate's curve is looked at first: up to a bandwidth (0.7 of one among 9,000 people
/// of unequal weights, 1.0 among 20,000 of equal weights).
const COARSE: usize = 4;
/// Interquartile range of a normal distribution in standard deviations, as Silverman rounds it.
const NORMAL_IQR: f64 = 1.34;
/// Halvings of a grid step until no digit is left.
const HALVINGS: usize = 60;

/// A cutoff from smoothed distributions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmoothedCutoff {
    pub cutoff: f64,
    /// Smoothed sensitivity + specificity − 1 at the cutoff.
    pub youden: f64,
    pub sensitivity: f64,
    pub specificity: f64,
    pub bandwidth_with: f64,
    pub bandwidth_without: f64,
}

/// Cutoff with the largest Youden index between kernel-smoothed distributions of the two classes.
///
/// # Formula
///
/// ```text
/// F_k(c) = Σ w Φ((c − x) / h_k) / Σ w           class k: with (1) or without (0) the outcome
/// h_k    = 0.9 min(SD, IQR / 1.34) n_k^(−1/5)  n_k = (Σ w)² / Σ w²
/// J(c)   = F₀(c) − F₁(c)                        sensitivity 1 − F₁, specificity F₀
/// ```
///
/// `n_k` is the effective number of people of the class (Kish), below their number wherever weights differ. SD and quartiles
/// are weighted; where more than half of a class share a value the SD alone is used. `J` is
/// looked at on 256 points between the smallest and the largest value, and the best is refined where `J`
/// stops rising, `f₀ = f₁`.
///
/// # Units
///
/// That of the values. Pass skewed indices on their logarithm ([`super::scale::Scale`]); the cutoff is then a
/// logarithm too. It need not be an observed value.
///
/// # Missing data and ties
///
/// People whose outcome is unknown must not be in the sample. Ties need no care.
///
/// # Errors
///
/// [`StatError::OneClass`] if a class is empty, [`StatError::Undefined`] if all of a class share a value or
/// `J` is largest at an end of the data (the index does not separate the classes); what [`Sample::check`] refuses.
///
/// # Source
///
/// Fluss, Faraggi and Reiser 2005, Biom J 47:458–472; bandwidth of Silverman 1986, Density Estimation, 3.31.
///
/// # Checked against
///
/// `scipy`, the same equations maximised by `minimize_scalar`: `tests/reference/smoothed_youden/`.
pub fn smoothed_youden(sample: &Sample, class: &[bool]) -> Result<SmoothedCutoff, StatError> {
    let kernels = Kernels::of(sample, class)?;
    let grid = Grid::over(sample);
    let binned = grid.class_sums(sample, class, &kernels, &|_| 0).replicate_totals(&Replicates::once(1));
    let totals = [kernels.total(false), kernels.total(true)];
    let curve: Vec<f64> =
        (0..GRID).map(|g| binned[g][0] / totals[0] - binned[GRID + g][0] / totals[1]).collect();
    let best = interior_maximum(&curve).ok_or(StatError::Undefined(
        "the Youden index is largest at an end of the data: the index does not separate the classes",
    ))?;
    let cutoff = kernels.top_between(grid.point(best - 1), grid.point(best + 1));
    let (sensitivity, specificity) = (1.0 - kernels.cdf(true, cutoff), kernels.cdf(false, cutoff));
    Ok(SmoothedCutoff {
        cutoff,
        youden: sensitivity + specificity - 1.0,
        sensitivity,
        specificity,
        bandwidth_with: kernels.with.bandwidth,
        bandwidth_without: kernels.without.bandwidth,
    })
}

/// The smoothed Youden cutoff in every replicate.
///
/// # Formula
///
/// As [`smoothed_youden`], with three economies. The bandwidths stay those of the full sample, so that the spread is of the cutoff and
/// not of the smoothing. Values are shared out linearly between neighbouring points of a fine lattice (2,041 points),
/// every fourth grid point is looked at first and all of them around the best, and the best grid point is refined on the
/// quartic through it and two neighbours on each side.
///
/// # Missing data and ties
///
/// `NaN` where a class vanished or `J` is largest at an end.
///
/// # Errors
///
/// As for [`smoothed_youden`].
///
/// # Checked against
///
/// [`smoothed_youden`]'s equations on replicate weights, `scipy`: `tests/reference/smoothed_youden/`.
pub fn smoothed_replicates(
    sample: &Sample,
    class: &[bool],
    replicates: &Replicates,
) -> Result<Vec<f64>, StatError> {
    let kernels = Kernels::of(sample, class)?;
    let grid = Grid::over(sample);
    let sums = grid.class_sums(sample, class, &kernels, &|row| sample.unit[row]);
    let coarse = (0..GRID).step_by(COARSE);
    let wide = coarse.clone().chain(coarse.clone().map(|g| GRID + g)).chain([2 * GRID, 2 * GRID + 1]);
    let totals = sums.totals_of(&wide, replicates);
    let (below, of_class) = totals.split_at(2 * coarse.len());
    let hills = hills(below, of_class);
    let cutoff = |r: usize| {
        let weights = [of_class[0][r], of_class[1][r]];
        let near = (weights[0] > 0.0 && weights[1] > 0.0).then(|| hills[r] * COARSE);
        let top = near.and_then(|g| Window::around(g, &sums, replicates, (r, weights)).top());
        top.map_or(f64::NAN, |steps| grid.point(0) + grid.step * steps)
    };
    Ok((0..replicates.count).map(cutoff).collect())
}

/// The coarse point where the Youden index of each replicate is largest; the last of several.
fn hills(below: &[Vec<f64>], of_class: &[Vec<f64>]) -> Vec<usize> {
    let (without, with) = below.split_at(below.len() / 2);
    let mut best = vec![(f64::NEG_INFINITY, 0); of_class[0].len()];
    for (k, (without, with)) in without.iter().zip(with).enumerate() {
        for (r, best) in best.iter_mut().enumerate() {
            let youden = without[r] / of_class[0][r] - with[r] / of_class[1][r];
            if youden >= best.0 {
                *best = (youden, k);
            }
        }
    }
    best.into_iter().map(|(_, k)| k).collect()
}

/// The Youden index of a replicate at every grid point near its coarse maximum.
struct Window {
    /// Grid point of the first value.
    first: usize,
    youden: Vec<f64>,
}

impl Window {
    /// All points between the coarse neighbours of `middle`, and two more on each side.
    fn around(middle: usize, sums: &UnitSums, replicates: &Replicates, of: (usize, [f64; 2])) -> Self {
        let (replicate, [without, with]) = of;
        let first = middle.saturating_sub(COARSE + 2);
        let points = (middle + COARSE + 3).min(GRID) - first;
        let factors: Vec<f64> =
            (0..sums.units()).map(|unit| replicates.of_unit(unit as u32)[replicate]).collect();
        let (b0, b1) = (sums.window(first, &factors), sums.window(GRID + first, &factors));
        let youden = b0.iter().zip(&b1).take(points).map(|(b0, b1)| b0 / without - b1 / with).collect();
        Self { first, youden }
    }

    /// The refined top in steps from the first grid point; `None` at an end of the grid.
    fn top(&self) -> Option<f64> {
        let best = interior_maximum(&self.youden)?;
        Some((self.first + best) as f64 + quartic_top(&self.youden, best))
    }
}

/// The people of one class and the width of the kernel put on each.
struct Kernel {
    value: Vec<f64>,
    weight: Vec<f64>,
    total: f64,
    bandwidth: f64,
}

impl Kernel {
    fn of(sample: &Sample, rows: &[usize]) -> Result<Self, StatError> {
        let pick = |column: &[f64]| -> Vec<f64> { rows.iter().map(|&row| column[row]).collect() };
        let (value, weight) = (pick(&sample.value), pick(&sample.weight));
        let total: f64 = weight.iter().sum();
        let squares: f64 = pick(&sample.weight_squared).iter().sum();
        let mean = value.iter().zip(&weight).map(|(x, w)| w * x).sum::<f64>() / total;
        let square_distance = value.iter().zip(&weight).map(|(x, w)| w * (x - mean) * (x - mean));
        let sd = (square_distance.sum::<f64>() / total).sqrt();
        let quartile = |p| weighted_quantile(&value, &weight, p);
        let iqr = quartile(0.75)? - quartile(0.25)?;
        let spread = if iqr > 0.0 { sd.min(iqr / NORMAL_IQR) } else { sd };
        if spread <= 0.0 {
            return Err(StatError::Undefined("everybody in a class has the same value: nothing to smooth"));
        }
        let bandwidth = 0.9 * spread * (total * total / squares).powf(-0.2);
        Ok(Self { value, weight, total, bandwidth })
    }

    fn cdf(&self, c: f64) -> f64 {
        let below = self.value.iter().zip(&self.weight).map(|(x, w)| w * phi((c - x) / self.bandwidth));
        below.sum::<f64>() / self.total
    }

    fn density(&self, c: f64) -> f64 {
        let near = self.value.iter().zip(&self.weight).map(|(x, w)| {
            let z = (c - x) / self.bandwidth;
            w * (-0.5 * z * z).exp()
        });
        near.sum::<f64>() / (self.total * self.bandwidth * TAU.sqrt())
    }
}

struct Kernels {
    with: Kernel,
    without: Kernel,
}

impl Kernels {
    fn of(sample: &Sample, class: &[bool]) -> Result<Self, StatError> {
        sample.check()?;
        if class.len() != sample.len() {
            return Err(StatError::Length(sample.len(), class.len()));
        }
        let rows = |wanted: bool| -> Vec<usize> {
            (0..sample.len()).filter(|&row| class[row] == wanted && sample.weight[row] > 0.0).collect()
        };
        let (with, without) = (rows(true), rows(false));
        if with.is_empty() {
            return Err(StatError::OneClass("has"));
        }
        if without.is_empty() {
            return Err(StatError::OneClass("lacks"));
        }
        Ok(Self { with: Kernel::of(sample, &with)?, without: Kernel::of(sample, &without)? })
    }

    fn of_class(&self, class: bool) -> &Kernel {
        if class { &self.with } else { &self.without }
    }

    fn total(&self, class: bool) -> f64 {
        self.of_class(class).total
    }

    fn cdf(&self, class: bool, c: f64) -> f64 {
        self.of_class(class).cdf(c)
    }

    /// Where `J` stops rising between two points; the middle if it does not rise and fall there, which only
    /// a curve flat to the last bins can do.
    fn top_between(&self, mut low: f64, mut high: f64) -> f64 {
        let slope = |c: f64| self.without.density(c) - self.with.density(c);
        if slope(low) <= 0.0 || slope(high) >= 0.0 {
            return f64::midpoint(low, high);
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if slope(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }
}

/// Evenly spaced points from the smallest to the largest value with weight.
struct Grid {
    start: f64,
    step: f64,
}

impl Grid {
    fn over(sample: &Sample) -> Self {
        let counted = |row: &usize| sample.weight[*row] > 0.0;
        let first = (0..sample.len()).find(counted).unwrap_or(0);
        let last = (0..sample.len()).rfind(counted).unwrap_or(0);
        let start = sample.value[first];
        Self { start, step: (sample.value[last] - start) / (GRID - 1) as f64 }
    }

    fn point(&self, position: usize) -> f64 {
        self.start + self.step * position as f64
    }

    /// Smoothed weights below each grid point, those without the outcome first, then the weights of
    /// the classes, summed by unit.
    fn class_sums(
        &self,
        sample: &Sample,
        class: &[bool],
        kernels: &Kernels,
        unit: &dyn Fn(usize) -> u32,
    ) -> UnitSums {
        let units = (0..sample.len()).map(unit).max().map_or(0, |largest| largest as usize + 1);
        let mut sums = UnitSums::new(2 * GRID + 2, units);
        let table = |kernel: &Kernel| KernelTable::new(self.step, kernel.bandwidth);
        let tables = [table(&kernels.without), table(&kernels.with)];
        for row in (0..sample.len()).filter(|&row| sample.weight[row] > 0.0) {
            let k = usize::from(class[row]);
            let (unit, weight) = (unit(row), sample.weight[row]);
            sums.add(2 * GRID + k, unit, weight);
            let position = (sample.value[row] - self.start) / self.step * BINS_PER_STEP as f64;
            let (bin, share) = (position as usize, position.fract());
            let (near, far) = (tables[k].of_bin(bin), tables[k].of_bin(bin + 1));
            let to = sums.of_unit(unit, k * GRID..(k + 1) * GRID);
            widest(
                #[inline(always)]
                || {
                    for ((sum, near), far) in to.iter_mut().zip(near).zip(far) {
                        let smoothed = (1.0 - share) * near + share * far;
                        *sum += weight * smoothed;
                    }
                },
            );
        }
        sums
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::interval::normal_quantile;
    use crate::stats::{Design, LonelyPsu};

    /// The replicate lattice moves a value by less than a hundredth of a bandwidth.
    const LATTICE: f64 = 1e-4;

    /// Two normal classes one standard deviation apart by their quantiles, in four units.
    fn normals(delta: f64) -> (Sample, Vec<bool>) {
        let people = 200;
        let quantile = |i: usize| normal_quantile((i as f64 + 0.5) / people as f64);
        let value: Vec<f64> = (0..people).flat_map(|i| [quantile(i), quantile(i) + delta]).collect();
        let unit: Vec<u32> = (0..2 * people as u32).map(|row| row / 2 % 4).collect();
        let mut rows: Vec<usize> = (0..value.len()).collect();
        rows.sort_by(|&a, &b| value[a].total_cmp(&value[b]));
        let sample = Sample::from_people(&value, &vec![1.5; value.len()], &unit).expect("usable rows");
        (sample, rows.iter().map(|row| row % 2 == 1).collect())
    }

    #[test]
    fn equal_spread_puts_the_cutoff_in_the_middle() {
        let (sample, class) = normals(1.05);
        let got = smoothed_youden(&sample, &class).expect("two classes");
        assert!((got.cutoff - 0.525).abs() < 1e-9, "by symmetry: {got:?}");
        assert!((got.sensitivity - got.specificity).abs() < 1e-9);
        // Smoothing widens each class to √(1 + h²): J = 2 Φ(δ / (2 √(1 + h²))) − 1.
        let widened = 2.0 * phi(0.525 / got.bandwidth_with.hypot(1.0)) - 1.0;
        assert!((got.youden - widened).abs() < 2e-3, "{} {widened}", got.youden);
    }

    #[test]
    fn unit_factors_give_the_full_sample() {
        let (sample, class) = normals(1.05);
        let design = Design::new(vec![0, 0, 1, 1], None, LonelyPsu::Fail).expect("pairs");
        let mut replicates = Replicates::bootstrap(&design, &[1, 2], 5, 3).expect("valid");
        replicates.factors.fill(1.0);
        let full = smoothed_youden(&sample, &class).expect("two classes").cutoff;
        let got = smoothed_replicates(&sample, &class, &replicates).expect("two classes");
        assert!(got.iter().all(|c| (c - full).abs() < LATTICE), "{got:?} {full}");
        for unit in 0..4 {
            replicates.factors[unit * 5] = 0.0;
        }
        assert!(smoothed_replicates(&sample, &class, &replicates).expect("two classes")[0].is_nan());
    }

    #[test]
    fn what_cannot_be_smoothed_is_refused() {
        let (sample, class) = normals(1.05);
        assert_eq!(smoothed_youden(&sample, &[true; 400]), Err(StatError::OneClass("lacks")));
        assert_eq!(smoothed_youden(&sample, &[false; 400]), Err(StatError::OneClass("has")));
        assert_eq!(smoothed_youden(&sample, &class[1..]), Err(StatError::Length(400, 399)));
        let flat = Sample::from_people(&[1.0, 1.0, 2.0], &[1.0; 3], &[0; 3]).expect("usable rows");
        assert!(matches!(smoothed_youden(&flat, &[false, false, true]), Err(StatError::Undefined(_))));
        let reversed: Vec<bool> = class.iter().map(|y| !y).collect();
        assert!(matches!(smoothed_youden(&sample, &reversed), Err(StatError::Undefined(_))));
    }
}
