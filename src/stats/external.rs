//! How much of a Youden index is owed to choosing the cutoff on the same people.

use super::roc::{self, RocPoint};
use super::scan::{RuleScan, Scan};
use super::{Replicates, Sample, StatError};

/// Youden index of a chosen cutoff: as found, and seen from outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Optimism {
    /// Mean gain of a cutoff in the replicate that chose it over the full sample.
    pub optimism: f64,
    /// Index at the full sample's cutoff, less the optimism.
    pub corrected: f64,
    /// Replicates behind the optimism.
    pub used: usize,
    /// Mean index of a replicate's cutoff among the units it did not draw; never subtracted from anything.
    pub half_sample_external: Option<f64>,
    /// Replicates whose undrawn units hold both classes.
    pub external_used: usize,
}

/// The full sample with its chosen cutoff.
#[derive(Debug, Clone, Copy)]
pub struct FullSample<'a> {
    pub sample: &'a Sample,
    pub class: &'a [bool],
    /// First row of the chosen value.
    pub chosen_row: usize,
}

/// Optimism of the Youden index at a cutoff chosen by a rule, and its value in units not drawn.
///
/// # Formula
///
/// ```text
/// optimism  = mean over r of J_r(c_r) − J_full(c_r)      c_r: the rule's choice in replicate r
/// corrected = J_full(c) − optimism                       c: the rule's choice in the full sample
/// external  = mean over r of J(c_r) on the base weights of units with factor 0 in r
/// ```
///
/// `chosen_row` is the row of `c` ([`super::roc::RocPoint::row`]); `scan` and `rule` come from
/// [`super::scan::scan`] on the same sample and replicates.
///
/// # Missing data and ties
///
/// A replicate without a cutoff is left out. One whose undrawn units lack a class has no external value.
///
/// # Errors
///
/// [`StatError::OneClass`] for an empty class, [`StatError::Length`] if the scan does not fit,
/// [`StatError::Undefined`] if no replicate has a cutoff; what [`Sample::check`] refuses.
///
/// # Source
///
/// Harrell, Lee and Mark 1996, Stat Med 15:361–387.
///
/// # Checked against
///
/// `numpy`, replicate by replicate: `tests/reference/optimism/`.
pub fn optimism(
    full: FullSample<'_>,
    scan: &Scan,
    rule: &RuleScan,
    replicates: &Replicates,
) -> Result<Optimism, StatError> {
    let FullSample { sample, class, chosen_row } = full;
    let points = roc::curve(sample, class)?;
    if chosen_row >= sample.len() {
        let (what, range) = ("row of the cutoff", "the sample's rows");
        return Err(StatError::Parameter { what, range, value: chosen_row as f64 });
    }
    if rule.row.len() != replicates.count || scan.with.len() != replicates.count {
        return Err(StatError::Length(replicates.count, rule.row.len()));
    }
    let (optimism, used) = gain(sample, &points, scan, rule)
        .ok_or(StatError::Undefined("no replicate has a cutoff: the optimism cannot be estimated"))?;
    let outside = outside(sample, class, rule, replicates).get();
    let (half_sample_external, external_used) = outside.map_or((None, 0), |(mean, n)| (Some(mean), n));
    let corrected = youden_of_row(sample, &points, chosen_row) - optimism;
    Ok(Optimism { optimism, corrected, used, half_sample_external, external_used })
}

/// Mean gain of a cutoff in the replicate that chose it over the full sample, and the replicates behind it; `points` are
/// the curve of the sample.
#[must_use]
pub fn gain(sample: &Sample, points: &[RocPoint], scan: &Scan, rule: &RuleScan) -> Option<(f64, usize)> {
    let mut gains = Mean::default();
    for (r, &row) in rule.row.iter().enumerate().filter(|(_, row)| **row != u32::MAX) {
        let own = rule.positive_with[r] / scan.with[r] - rule.positive_without[r] / scan.without[r];
        gains.add(own - youden_of_row(sample, points, row as usize));
    }
    gains.get()
}

/// Youden index of the full sample at the value of a row; `NaN` where nobody with a weight is at or beyond it.
fn youden_of_row(sample: &Sample, points: &[RocPoint], row: usize) -> f64 {
    let value = sample.value[row];
    let point = points.get(points.partition_point(|point| point.cutoff < value));
    point.map_or(f64::NAN, |point| point.sensitivity + point.specificity - 1.0)
}

/// Index of each replicate's cutoff among the units that it did not draw.
fn outside(sample: &Sample, class: &[bool], rule: &RuleScan, replicates: &Replicates) -> Mean {
    let mut outside = Mean::default();
    let mut beyond = Beyond::nobody(sample, class);
    let mut by_row: Vec<usize> = (0..replicates.count).filter(|&r| rule.row[r] != u32::MAX).collect();
    by_row.sort_by_key(|&r| rule.row[r]);
    // From the most resistant row down: at each chosen row the people at or beyond it have been added.
    for row in (0..sample.len()).rev() {
        beyond.add(sample, class, row);
        while let Some(r) = by_row.pop_if(|r| rule.row[*r] as usize == row) {
            outside.add(beyond.youden_outside(replicates, r));
        }
    }
    outside
}

/// A mean that leaves out `NaN`.
#[derive(Default)]
struct Mean {
    sum: f64,
    count: usize,
}

impl Mean {
    fn add(&mut self, x: f64) {
        if !x.is_nan() {
            self.sum += x;
            self.count += 1;
        }
    }

    fn get(&self) -> Option<(f64, usize)> {
        (self.count > 0).then(|| (self.sum / self.count as f64, self.count))
    }
}

/// Weights of a unit: at or beyond the present row, and in all.
#[derive(Clone, Copy, Default)]
struct UnitWeights {
    beyond_with: f64,
    beyond_without: f64,
    with: f64,
    without: f64,
}

/// Weights at or beyond a row, by unit.
struct Beyond {
    units: Vec<UnitWeights>,
}

impl Beyond {
    fn nobody(sample: &Sample, class: &[bool]) -> Self {
        let units = sample.units();
        let mut units = vec![UnitWeights::default(); units];
        for row in 0..sample.len() {
            let unit = &mut units[sample.unit[row] as usize];
            *(if class[row] { &mut unit.with } else { &mut unit.without }) += sample.weight[row];
        }
        Self { units }
    }

    fn add(&mut self, sample: &Sample, class: &[bool], row: usize) {
        let unit = &mut self.units[sample.unit[row] as usize];
        *(if class[row] { &mut unit.beyond_with } else { &mut unit.beyond_without }) += sample.weight[row];
    }

    /// Youden index at the present row among units with factor 0; `NaN` if a class is missing there.
    fn youden_outside(&self, replicates: &Replicates, r: usize) -> f64 {
        let undrawn = self.units.iter().enumerate();
        let undrawn = undrawn.filter(|(unit, _)| replicates.of_unit(*unit as u32)[r] == 0.0);
        let sum = undrawn.fold(UnitWeights::default(), |sum, (_, unit)| UnitWeights {
            beyond_with: sum.beyond_with + unit.beyond_with,
            beyond_without: sum.beyond_without + unit.beyond_without,
            with: sum.with + unit.with,
            without: sum.without + unit.without,
        });
        sum.beyond_with / sum.with - sum.beyond_without / sum.without
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::scan::scan;
    use crate::stats::{Design, LonelyPsu, Rule};

    #[test]
    fn two_halves_by_hand() {
        // Unit 0: 1 and 3 without, 2 and 4 with. Unit 1: 1 and 2 without, 3 and 4 with. Weights 1.
        let value = [1.0, 2.0, 3.0, 4.0, 1.0, 2.0, 3.0, 4.0];
        let sample = Sample::from_people(&value, &[1.0; 8], &[0, 0, 0, 0, 1, 1, 1, 1]).expect("usable");
        // Sorted: 1 1 | 2 2 | 3 3 | 4 4, unit 0 first within a tie.
        let class = [false, false, true, false, false, true, true, true];
        let design = Design::new(vec![0, 0], None, LonelyPsu::Fail).expect("a pair");
        let replicates = Replicates::jackknife(&design).expect("a pair");
        let scan = scan(&sample, &class, &[Rule::Youden], &replicates);
        // Full: cutoff 3 with sensitivity 3/4, specificity 3/4 (and 2 with 1 and ½: a tie, taken for its
        // sensitivity): J ½ at row 2. Without unit 0: cutoff 3, J 1 there, ½ in full, ½ − … in unit 0: Se ½, Sp ½: 0.
        // Without unit 1: 2 (Se 1, Sp ½, J ½, tie with 4), ½ in full, in unit 1 Se 1, Sp ½: ½.
        let full = FullSample { sample: &sample, class: &class, chosen_row: 2 };
        let got = optimism(full, &scan, &scan.rules[0], &replicates).expect("both replicates choose");
        assert!((got.optimism - 0.25).abs() < 1e-15 && (got.corrected - 0.25).abs() < 1e-15, "{got:?}");
        assert_eq!((got.half_sample_external, got.used, got.external_used), (Some(0.25), 2, 2));
        let beyond_the_end = FullSample { chosen_row: 8, ..full };
        assert!(optimism(beyond_the_end, &scan, &scan.rules[0], &replicates).is_err());
    }

    #[test]
    fn no_cutoff_anywhere_is_an_error() {
        let sample = Sample::from_people(&[1.0, 2.0], &[1.0; 2], &[0, 1]).expect("usable");
        let design = Design::new(vec![0, 0], None, LonelyPsu::Fail).expect("a pair");
        let replicates = Replicates::jackknife(&design).expect("a pair");
        let class = [false, true];
        let scan = scan(&sample, &class, &[Rule::Youden], &replicates);
        let full = FullSample { sample: &sample, class: &class, chosen_row: 1 };
        let got = optimism(full, &scan, &scan.rules[0], &replicates);
        assert!(matches!(got, Err(StatError::Undefined(_))), "each replicate has one class: {got:?}");
    }
}
