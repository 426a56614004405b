//! Estimators that compare and stabilise cutoffs: laws that must hold for any sample.

use cutspan::stats::covariance::Covariance;
use cutspan::stats::replicate::Replicates;
use cutspan::stats::scan::scan;
use cutspan::stats::{
    Sample, binormal, logistic, multiplicity, net_benefit, place, roc, scale, smooth, spread, standardize,
};
use proptest::prelude::*;

use crate::inference::{ROUNDING, pairs_of_units, sorted};

/// A smoothed cutoff moves by less than this when the lattice of the search moves.
const SEARCH: f64 = 1e-7;
/// The power of a transform is found to about 1e-7, and the cutoff follows it.
const POWER: f64 = 1e-5;

/// Two overlapping classes with uneven weights in eight units.
fn people() -> impl Strategy<Value = (Vec<f64>, Vec<f64>, Vec<bool>)> {
    let person = (0.2..3.0_f64, 1.0..50.0_f64, any::<bool>());
    prop::collection::vec(person, 60..90).prop_map(|people| {
        let value = people.iter().map(|(x, _, y)| x + if *y { 1.2 } else { 0.0 }).collect();
        (value, people.iter().map(|p| p.1).collect(), people.iter().map(|p| p.2).collect())
    })
}

fn sample_of(value: &[f64], weight: &[f64], class: &[bool]) -> (Sample, Vec<bool>) {
    let unit: Vec<u32> = (0..value.len() as u32).map(|row| row % 8).collect();
    let (sample, rows) = sorted(value, weight, &unit);
    (sample, rows.iter().map(|&row| class[row]).collect())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn heavier_weights_change_no_cutoff((value, weight, class) in people()) {
        let (sample, labels) = sample_of(&value, &weight, &class);
        let heavier: Vec<f64> = weight.iter().map(|w| w * 1000.0).collect();
        let (heavy, _) = sample_of(&value, &heavier, &class);
        let smoothed = |s: &Sample| smooth::smoothed_youden(s, &labels).expect("separated").cutoff;
        prop_assert!((smoothed(&sample) - smoothed(&heavy)).abs() < SEARCH);
        let fitted = |s: &Sample| binormal::binormal(s, &labels).expect("separated");
        prop_assert!((fitted(&sample).cutoff - fitted(&heavy).cutoff).abs() < POWER);
        let (model, again) = (logistic::logistic(&sample, &labels), logistic::logistic(&heavy, &labels));
        prop_assert!((model.expect("overlap").slope - again.expect("overlap").slope).abs() < ROUNDING);
    }

    #[test]
    fn another_unit_scales_the_cutoff((value, weight, class) in people(), factor in 0.1..10.0_f64) {
        let (sample, labels) = sample_of(&value, &weight, &class);
        let scaled = Sample { value: sample.value.iter().map(|x| x * factor).collect(), ..sample.clone() };
        let cutoff = |s: &Sample| {
            let log = scale::Scale::of(&s.value);
            log.back(smooth::smoothed_youden(&log.apply(s), &labels).expect("separated").cutoff)
        };
        prop_assert!((cutoff(&scaled) / cutoff(&sample) / factor - 1.0).abs() < SEARCH);
        let fitted = |s: &Sample| binormal::binormal(s, &labels).expect("separated");
        prop_assert!((fitted(&scaled).cutoff / fitted(&sample).cutoff / factor - 1.0).abs() < POWER);
        // The reciprocal, turned into resistance order, is the same family with the power's sign changed.
        let turned = Sample { value: sample.value.iter().map(|x| -1.0 / x).collect(), ..sample.clone() };
        prop_assert!((fitted(&turned).cutoff * fitted(&sample).cutoff + 1.0).abs() < POWER);
    }

    #[test]
    fn own_distribution_as_standard_changes_nothing(
        (value, weight, class) in people(),
        width in 0.5..2.0_f64,
    ) {
        let (sample, labels) = sample_of(&value, &weight, &class);
        let cell: Vec<usize> = sample.value.iter().map(|x| usize::from(*x > width)).collect();
        let mut own = vec![0.0; 2];
        cell.iter().zip(&sample.weight).for_each(|(&c, w)| own[c] += w);
        prop_assume!(own[0] > 0.0);
        let same = standardize::standardised_weights(&sample, &cell, &own).expect("both cells");
        for (got, want) in same.iter().zip(&sample.weight) {
            prop_assert!((got / want - 1.0).abs() < ROUNDING);
        }
        // One cell: standardising is a no-op in every replicate as well.
        let replicates = Replicates::bootstrap(&pairs_of_units(8), &[1, 2, 3, 4], 20, 5).expect("pairs");
        let one = standardize::standardised(&sample, &vec![0; sample.len()], &[7.0], &replicates).expect("one");
        let (got, want) = (scan(&one.sample, &labels, &[], &one.replicates), scan(&sample, &labels, &[], &replicates));
        for (got, want) in got.auc.iter().zip(&want.auc) {
            prop_assert!((got - want).abs() < ROUNDING);
        }
    }

    #[test]
    fn holm_never_falls_and_keeps_order(p in prop::collection::vec(0.0..=1.0_f64, 1..12)) {
        let adjusted = multiplicity::holm(&p).expect("p values");
        for (i, a) in adjusted.iter().enumerate() {
            prop_assert!(*a >= p[i] && *a <= 1.0);
            prop_assert!(adjusted.iter().zip(&p).all(|(b, q)| p[i] > *q || a <= b));
        }
        let smallest = p.iter().copied().fold(1.0, f64::min);
        let least = adjusted.iter().copied().fold(1.0, f64::min);
        prop_assert!((least - (smallest * p.len() as f64).min(1.0)).abs() < ROUNDING, "the smallest is Bonferroni's");
    }

    #[test]
    fn equal_groups_have_no_spread(level in -2.0..2.0_f64, variance in 0.001..1.0_f64, groups in 2..6_usize) {
        let covariance: Vec<Vec<f64>> =
            (0..groups).map(|a| (0..groups).map(|b| if a == b { variance } else { 0.3 * variance }).collect()).collect();
        let equal = vec![level; groups];
        prop_assert_eq!(spread::between_group_sd(&equal, &covariance), Ok(0.0));
        let replicated = Covariance { matrix: covariance.clone(), used: 500, failed: 0 };
        let interval = spread::between_group_interval(&equal, &replicated, 30.0, 0.95).expect("enough PSUs");
        prop_assert_eq!((interval.lower, interval.upper), (0.0, 0.0));
        let ratio = spread::largest_to_smallest(&equal, &covariance, 50, 1).expect("groups");
        prop_assert!(ratio.ratio == 1.0 && ratio.mean_under_equality > 1.0);
    }

    #[test]
    fn acting_on_everybody_is_the_lowest_cutoff((value, weight, class) in people(), t in 0.01..0.9_f64) {
        let (sample, labels) = sample_of(&value, &weight, &class);
        let everybody = net_benefit::decision_curve(&sample, &labels, &[sample.value[0]], &[t]).expect("fits")[0];
        let all = net_benefit::treat_all(roc::prevalence(&sample, &labels), t).expect("a prevalence");
        prop_assert!((everybody - all).abs() < ROUNDING);
        let nobody = net_benefit::decision_curve(&sample, &labels, &[f64::INFINITY], &[t]).expect("fits")[0];
        prop_assert_eq!(nobody, 0.0);
        // The risk model and the threshold probability name the same people.
        let model = logistic::logistic(&sample, &labels).expect("overlap");
        let cutoff = net_benefit::risk_cutoffs(&model, &[t]).expect("rises")[0];
        prop_assert!((model.risk(cutoff) - t).abs() < ROUNDING);
    }

    #[test]
    fn a_group_pulls_the_usual_value_towards_itself(observed in 0.5..10.0_f64, centre in 0.5..10.0_f64) {
        let variation = place::Variation { within_person: 0.25, analytical: 0.06 };
        let group = place::Group { log_mean: centre.ln(), log_variance: 0.3 };
        let pulled = place::place(observed, 2.0, variation, Some(group)).expect("positive");
        let flat = place::place(observed, 2.0, variation, None).expect("positive");
        prop_assert!((pulled.usual - centre).abs() <= (flat.usual - centre).abs() + ROUNDING);
        prop_assert!((0.0..=1.0).contains(&pulled.probability) && pulled.reliability < flat.reliability);
    }
}
