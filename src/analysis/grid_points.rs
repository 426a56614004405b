//! The thresholds of an index that a reader can try: readable numbers where people are.

use std::collections::BTreeSet;

use super::context::Context;
use super::select::values;
use crate::stats::quantile::weighted_quantile;

/// Most thresholds of an index.
pub const MOST: usize = 101;
/// At least this many steps lie between the cohort's P10 and P90.
const FEWEST_STEPS: f64 = 25.0;
/// Every so many steps a number is round, and stands in the grid wherever it lies in range.
const ROUND_STEPS: i64 = 10;

/// Thresholds on the index's own scale, ascending: the cohort's percentiles from 1 to 99 rounded to a
/// readable step, round numbers between them, and the study's thresholds as they stand.
pub fn thresholds(context: &Context, index: usize) -> Vec<f64> {
    let ordered = &context.frames[context.frame_of_index(index)].indices[index];
    let everybody = values(ordered, &context.populations[0], &context.groups[0]);
    let sign = context.study.indices[index].sign() as f64;
    let own: Vec<f64> = everybody.value.iter().map(|value| value * sign).collect();
    let percentiles: Vec<f64> = (1..=99)
        .filter_map(|p| weighted_quantile(&own, &everybody.weight, f64::from(p) / 100.0).ok())
        .collect();
    let study = context.study.thresholds.iter().filter(|threshold| threshold.index == index);
    grid(&percentiles, &study.map(|threshold| threshold.value).collect::<Vec<_>>())
}

/// The grid from percentiles 1 to 99 and numbers that must stand in it.
fn grid(percentiles: &[f64], stated: &[f64]) -> Vec<f64> {
    let mut points = stated.to_vec();
    if let [first, .., last] = percentiles
        && let Some(step) = Step::of(percentiles[89] - percentiles[9])
    {
        let (low, high) = (step.nearest(*first), step.nearest(*last));
        let round: BTreeSet<i64> =
            (low..=high).filter(|multiple| multiple % ROUND_STEPS == 0).take(MOST / 2).collect();
        let others: Vec<i64> = percentiles
            .iter()
            .map(|value| step.nearest(*value))
            .collect::<BTreeSet<i64>>()
            .difference(&round)
            .copied()
            .collect();
        let room = MOST.saturating_sub(round.len() + stated.len());
        points.extend(round.iter().chain(&thinned(&others, room)).map(|&multiple| step.value(multiple)));
    }
    points.sort_by(f64::total_cmp);
    points.dedup();
    points
}

/// At most `room` of some multiples, spread evenly over them.
fn thinned(multiples: &[i64], room: usize) -> Vec<i64> {
    if multiples.len() <= room {
        return multiples.to_vec();
    }
    (0..room).map(|place| multiples[place * multiples.len() / room]).collect()
}

/// 1, 2 or 5 times a power of ten.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Step {
    figure: i64,
    exponent: i32,
}

impl Step {
    /// The largest step of which `FEWEST_STEPS` fit into a range.
    fn of(range: f64) -> Option<Self> {
        if !(range > 0.0 && range.is_finite()) {
            return None;
        }
        let widest = range / FEWEST_STEPS;
        let exponent = widest.log10().floor() as i32;
        let figure = [5, 2, 1].into_iter().find(|&figure| Self { figure, exponent }.value(1) <= widest);
        Some(Self { figure: figure.unwrap_or(1), exponent })
    }

    fn nearest(self, value: f64) -> i64 {
        (value / self.value(1)).round() as i64
    }

    /// A multiple of the step as the decimal nearest to it: 3 × 0.1 is 0.3.
    fn value(self, multiple: i64) -> f64 {
        let figures = (multiple * self.figure) as f64;
        let power = 10f64.powi(self.exponent.abs());
        if self.exponent < 0 { figures / power } else { figures * power }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_readable_and_fine_enough() {
        assert_eq!(Step::of(4.1), Some(Step { figure: 1, exponent: -1 }));
        assert_eq!(Step::of(0.08), Some(Step { figure: 2, exponent: -3 }));
        assert_eq!(Step::of(140.0), Some(Step { figure: 5, exponent: 0 }));
        assert_eq!(Step { figure: 1, exponent: -1 }.value(3), 0.3);
        assert_eq!(Step::of(0.0), None);
    }

    #[test]
    fn a_grid_is_readable_and_holds_round_and_stated_numbers() {
        let percentiles: Vec<f64> = (1..=99).map(|p| 0.3 + 0.04 * f64::from(p)).collect();
        let points = grid(&percentiles, &[2.05]);
        assert!(points.len() <= MOST && points.is_sorted());
        for wanted in [0.3, 1.0, 2.0, 2.05, 3.0, 4.0, 4.3] {
            assert!(points.contains(&wanted), "{wanted} in {points:?}");
        }
        let readable = |point: &f64| (point * 10.0).round() / 10.0 == *point || *point == 2.05;
        assert!(points.iter().all(readable), "{points:?}");
        // A long tail of round numbers leaves room for the percentiles.
        let tail: Vec<f64> = (1..=99).map(|p| if p < 95 { f64::from(p) } else { 1e6 }).collect();
        let points = grid(&tail, &[7.0]);
        assert!(points.len() <= MOST && points.contains(&7.0) && points.contains(&50.0), "{points:?}");
        assert_eq!(grid(&[1.0; 99], &[2.0]), [2.0]);
    }
}
