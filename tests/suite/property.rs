//! Laws that hold for any sample.

use cutspan::stats::proportion::share;
use cutspan::stats::quantile::{QuantileRule, WoodruffScale, quantile, weighted_quantile, woodruff};
use cutspan::stats::rule::{Rule, choose};
use cutspan::stats::scan::{beyond, scan, sensitivity_at};
use cutspan::stats::{Design, LonelyPsu, Replicates, Sample, replicate, roc};
use proptest::prelude::*;

/// Sums in another order differ by a few units in the last place.
const ROUNDING: f64 = 1e-11;
const UNITS: u32 = 8;
const QUANTILE_RULES: [QuantileRule; 3] =
    [QuantileRule::Step, QuantileRule::HyndmanFan6, QuantileRule::HyndmanFan7];
const RULES: [Rule; 8] = [
    Rule::Youden,
    Rule::ClosestToCorner,
    Rule::LargestProduct,
    Rule::SmallestDifference,
    Rule::SensitivityAtLeast(0.8),
    Rule::SpecificityAtLeast(0.75),
    Rule::LowestCost { prevalence: 0.3, miss_to_false_alarm: 2.0 },
    Rule::NetBenefit { threshold_probability: 0.2 },
];

/// One person: a value from few (so that ties abound), a weight, a unit and the outcome.
#[derive(Debug, Clone)]
struct Person {
    value: f64,
    weight: f64,
    unit: u32,
    outcome: bool,
}

/// Between 8 and 60 people; the first four have weight and both outcomes.
fn people() -> impl Strategy<Value = Vec<Person>> {
    let person = (0..14_i32, 0..9_u32, 0..UNITS, any::<bool>()).prop_map(|(value, weight, unit, outcome)| {
        Person { value: f64::from(value) / 4.0 + 0.5, weight: f64::from(weight) * 0.7, unit, outcome }
    });
    prop::collection::vec(person, 8..60).prop_map(|mut people| {
        for (i, person) in people.iter_mut().take(4).enumerate() {
            person.weight += 1.3;
            person.outcome = i % 2 == 0;
        }
        people
    })
}

/// Between 100 and 300 people of 200 values, the outcome more frequent among the higher: a curve with a top, and long
/// stretches far from it.
fn crowd() -> impl Strategy<Value = Vec<Person>> {
    let person =
        (0..200_i32, 0..9_u32, 0..UNITS, 0..100_i32).prop_map(|(value, weight, unit, luck)| Person {
            value: f64::from(value) / 40.0 + 0.5,
            weight: f64::from(weight) * 0.7 + 0.1,
            unit,
            outcome: luck < 15 + value / 3,
        });
    prop::collection::vec(person, 100..300)
}

fn column<T>(people: &[Person], of: impl Fn(&Person) -> T) -> Vec<T> {
    people.iter().map(of).collect()
}

/// The people as a sample, with the outcomes of its rows.
fn sample_of(people: &[Person]) -> (Sample, Vec<bool>) {
    let mut sorted = people.to_vec();
    sorted.sort_by(|a, b| a.value.total_cmp(&b.value));
    let value = column(&sorted, |p| p.value);
    let sample = Sample::from_people(&value, &column(&sorted, |p| p.weight), &column(&sorted, |p| p.unit));
    (sample.expect("usable rows"), column(&sorted, |p| p.outcome))
}

fn pairs() -> Design {
    Design::new((0..UNITS).map(|unit| unit / 2).collect(), None, LonelyPsu::Fail)
        .expect("two units a stratum")
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= ROUNDING * a.abs().max(b.abs()).max(1.0)
}

proptest! {
    // A failure prints its smallest case; nothing is written beside the tests.
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_scan_is_the_full_sample_rule_on_every_replicate(
        people in prop_oneof![people(), crowd()],
        seed in any::<u64>(),
    ) {
        let (sample, class) = sample_of(&people);
        let mut replicates = Replicates::bootstrap(&pairs(), &[1, 2, 3, 4], 70, seed).expect("valid");
        for unit in 0..UNITS as usize {
            replicates.factors[unit * 70] = 1.0;
        }
        let got = scan(&sample, &class, &RULES, &replicates);
        for r in 0..70 {
            let factor = |row: usize| replicates.of_unit(sample.unit[row])[r];
            let weight = (0..sample.len()).map(|row| sample.weight[row] * factor(row)).collect();
            let replicate = Sample { weight, ..sample.clone() };
            let Ok(points) = roc::curve(&replicate, &class) else {
                prop_assert!(got.auc[r].is_nan());
                prop_assert!(got.rules.iter().all(|rule| rule.row[r] == u32::MAX));
                continue;
            };
            prop_assert_eq!(got.auc[r], roc::auc(&replicate, &class).expect("both classes"));
            for (rule, chosen) in RULES.iter().zip(&got.rules) {
                let want = choose(&points, *rule, roc::prevalence(&replicate, &class));
                prop_assert_eq!(chosen.row[r], want.map_or(u32::MAX, |k| points[k].row as u32), "{:?}", rule);
                if let Some(k) = want {
                    prop_assert_eq!(chosen.positive_with[r] / got.with[r], points[k].sensitivity);
                    prop_assert_eq!(1.0 - chosen.positive_without[r] / got.without[r], points[k].specificity);
                    let (with, without) = beyond(&sample, &class, points[k].row, &replicates);
                    prop_assert_eq!((with[r], without[r]), (chosen.positive_with[r], chosen.positive_without[r]));
                }
            }
        }
    }

    #[test]
    fn bands_read_the_steps_of_each_replicate(people in people(), seed in any::<u64>()) {
        let (sample, class) = sample_of(&people);
        let replicates = Replicates::bootstrap(&pairs(), &[1, 2, 3, 4], 20, seed).expect("valid");
        let grid = [0.0, 0.1, 0.35, 0.5, 0.9, 1.0];
        let got = sensitivity_at(&sample, &class, &replicates, &grid);
        for r in 0..20 {
            let factor = |row: usize| replicates.of_unit(sample.unit[row])[r];
            let weight = (0..sample.len()).map(|row| sample.weight[row] * factor(row)).collect();
            let Ok(points) = roc::curve(&Sample { weight, ..sample.clone() }, &class) else {
                prop_assert!(got.iter().all(|of_share| of_share[r].is_nan()));
                continue;
            };
            for (share, got) in grid.iter().zip(&got) {
                let allowed = points.iter().filter(|point| 1.0 - point.specificity <= share + 1e-12);
                let want = allowed.map(|point| point.sensitivity).fold(0.0, f64::max);
                prop_assert_eq!(got[r], want, "share {}", share);
            }
        }
    }

    #[test]
    fn auc_is_the_share_of_concordant_pairs_and_turns_with_the_scale(people in people()) {
        let (sample, class) = sample_of(&people);
        let (mut pairs, mut all) = (0.0, 0.0);
        for with in people.iter().filter(|p| p.outcome) {
            for without in people.iter().filter(|p| !p.outcome) {
                let weight = with.weight * without.weight;
                all += weight;
                pairs += weight * match with.value.total_cmp(&without.value) {
                    std::cmp::Ordering::Less => 0.0,
                    std::cmp::Ordering::Equal => 0.5,
                    std::cmp::Ordering::Greater => 1.0,
                };
            }
        }
        let auc = roc::auc(&sample, &class).expect("both classes");
        prop_assert!(close(auc, pairs / all));
        let turned: Vec<Person> = people.iter().map(|p| Person { value: -p.value, ..p.clone() }).collect();
        let (turned, turned_class) = sample_of(&turned);
        prop_assert!(close(auc + roc::auc(&turned, &turned_class).expect("both classes"), 1.0));
    }

    #[test]
    fn a_monotone_transform_moves_no_point(people in people()) {
        let (sample, class) = sample_of(&people);
        let moved = Sample { value: sample.value.iter().map(|x| x.ln() * 3.0 - 7.0).collect(), ..sample.clone() };
        let points = roc::curve(&sample, &class).expect("both classes");
        let moved = roc::curve(&moved, &class).expect("both classes");
        prop_assert_eq!(points.len(), moved.len());
        for (a, b) in points.iter().zip(&moved) {
            prop_assert_eq!((a.row, a.sensitivity, a.specificity), (b.row, b.sensitivity, b.specificity));
        }
    }

    #[test]
    fn only_ratios_of_weights_matter(people in people(), factor in 0.01_f64..1000.0) {
        let scaled: Vec<Person> = people.iter().map(|p| Person { weight: p.weight * factor, ..p.clone() }).collect();
        let ((a, class), (b, _)) = (sample_of(&people), sample_of(&scaled));
        prop_assert!(close(roc::auc(&a, &class).expect("both"), roc::auc(&b, &class).expect("both")));
        let event = |row: usize| a.value[row] >= 2.0;
        let (p, q) = (share(&pairs(), &a, &|_| true, &event), share(&pairs(), &b, &|_| true, &event));
        let (p, q) = (p.expect("somebody"), q.expect("somebody"));
        prop_assert!(close(p.p, q.p) && (p.variance - q.variance).abs() <= ROUNDING * p.variance.max(1e-6));
        for at in [0.1, 0.5, 0.77, 1.0] {
            let of = |s: &Sample| weighted_quantile(&s.value, &s.weight, at).expect("usable rows");
            prop_assert_eq!(of(&a), of(&b));
        }
    }

    #[test]
    fn a_weight_of_k_is_the_row_k_times(
        people in people(),
        times in prop::collection::vec(1_usize..4, 60),
        p in 0.01_f64..=1.0,
    ) {
        let weighted: Vec<Person> =
            people.iter().zip(&times).map(|(p, &k)| Person { weight: k as f64, ..p.clone() }).collect();
        let repeated: Vec<Person> = people
            .iter()
            .zip(&times)
            .flat_map(|(p, &k)| std::iter::repeat_n(Person { weight: 1.0, ..p.clone() }, k))
            .collect();
        let ((a, class_a), (b, class_b)) = (sample_of(&weighted), sample_of(&repeated));
        prop_assert_eq!(weighted_quantile(&a.value, &a.weight, p), weighted_quantile(&b.value, &b.weight, p));
        prop_assert_eq!(roc::auc(&a, &class_a), roc::auc(&b, &class_b));
        let steps = |sample, class: &[bool]| -> Vec<(f64, f64, f64)> {
            let points = roc::curve(sample, class).expect("both classes");
            points.iter().map(|point| (point.cutoff, point.sensitivity, point.specificity)).collect()
        };
        prop_assert_eq!(steps(&a, &class_a), steps(&b, &class_b));
    }

    #[test]
    fn equal_weights_are_the_unweighted_quantile(people in people(), p in 0.01_f64..=1.0, weight in 0.1_f64..50.0) {
        let mut values = column(&people, |p| p.value);
        let weights = vec![weight; values.len()];
        let got = QUANTILE_RULES.map(|rule| quantile(&values, &weights, p, rule).expect("usable rows"));
        values.sort_by(f64::total_cmp);
        let n = values.len();
        let between = |position: f64| {
            let position = position.clamp(1.0, n as f64);
            let below = values[position.floor() as usize - 1];
            below + position.fract() * (values[position.ceil() as usize - 1] - below)
        };
        prop_assert_eq!(got[0], values[((p * n as f64 * (1.0 - 1e-12)).ceil() as usize).max(1) - 1]);
        prop_assert!(close(got[1], between(p * (n + 1) as f64)));
        prop_assert!(close(got[2], between(p * (n - 1) as f64 + 1.0)));
    }

    #[test]
    fn quantiles_ascend_stay_inside_and_ignore_the_order_of_rows(people in people(), a in 0.01_f64..=1.0, b in 0.01_f64..=1.0) {
        let (values, weights) = (column(&people, |p| p.value), column(&people, |p| p.weight));
        let reversed: Vec<Person> = people.iter().rev().cloned().collect();
        for rule in QUANTILE_RULES {
            let at = |p| quantile(&values, &weights, p, rule).expect("usable rows");
            prop_assert!(at(a.min(b)) <= at(a.max(b)) + ROUNDING, "{:?}", rule);
            let turned = quantile(&column(&reversed, |p| p.value), &column(&reversed, |p| p.weight), a, rule);
            prop_assert_eq!(turned, Ok(at(a)));
        }
        let step = weighted_quantile(&values, &weights, a).expect("usable rows");
        prop_assert!(people.iter().any(|p| p.value == step && p.weight > 0.0), "an observed value");
    }

    #[test]
    fn intervals_hold_their_estimate(people in people(), p in 0.05_f64..0.95) {
        let (sample, _) = sample_of(&people);
        let got = woodruff(&pairs(), &sample, p, QuantileRule::Step, WoodruffScale::Logit, 0.95).expect("usable rows");
        prop_assert_eq!(got.interval.is_none(), got.reason.is_some());
        prop_assert!(got.interval.is_none_or(|interval| interval.contains(got.value)), "{:?}", got);
        let beyond = share(&pairs(), &sample, &|_| true, &|row| sample.value[row] >= got.value).expect("somebody");
        if let Ok(interval) = beyond.korn_graubard(0.95) {
            prop_assert!(interval.contains(beyond.p), "{:?} {:?}", interval, beyond);
        }
    }

    #[test]
    fn one_unit_per_person_is_the_textbook_variance(people in people()) {
        let n = people.len();
        let values = column(&people, |p| p.value);
        let sample = Sample::from_people(&values, &vec![2.5; n], &(0..n as u32).collect::<Vec<_>>()).expect("usable");
        let units = Design::new(vec![0; n], None, LonelyPsu::Fail).expect("valid");
        let mean = values.iter().sum::<f64>() / n as f64;
        let variance = values.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n as f64 - 1.0) / n as f64;
        let got = units.ratio_variance(&sample, &|_| true, &|row| sample.value[row] - mean);
        prop_assert!(close(got, variance));
    }

    #[test]
    fn rows_summed_over_people_keep_the_variance_by_people(people in people()) {
        let (sample, _) = sample_of(&people);
        let strata: Vec<u32> = (0..UNITS).map(|unit| unit / 4).collect();
        let in_stratum = |s| people.iter().filter(|p| p.unit / 4 == s).count() as u64;
        let design = Design::new(strata, Some(vec![in_stratum(0), in_stratum(1)]), LonelyPsu::Certainty).expect("valid");
        let mut summed = Sample::default();
        for row in 0..sample.len() {
            let same = (0..summed.len()).find(|&k| summed.value[k] == sample.value[row] && summed.unit[k] == sample.unit[row]);
            let k = same.unwrap_or_else(|| {
                summed.value.push(sample.value[row]);
                summed.unit.push(sample.unit[row]);
                summed.weight.push(0.0);
                summed.weight_squared.push(0.0);
                summed.people.push(0);
                summed.len() - 1
            });
            summed.weight[k] += sample.weight[row];
            summed.weight_squared[k] += sample.weight_squared[row];
            summed.people[k] += 1;
        }
        let event = |s: &Sample, row: usize| s.value[row] >= 2.0;
        let a = share(&design, &sample, &|_| true, &|row| event(&sample, row)).expect("somebody");
        let b = share(&design, &summed, &|_| true, &|row| event(&summed, row)).expect("somebody");
        prop_assert!(close(a.p, b.p) && close(a.variance, b.variance));
        prop_assert_eq!((a.people, a.events), (b.people, b.events));
    }

    #[test]
    fn replicates_of_a_total_give_the_linearised_variance(people in people()) {
        let (sample, _) = sample_of(&people);
        let weight: f64 = sample.weight.iter().sum();
        let linearised = pairs().ratio_variance(&sample, &|_| true, &|row| sample.value[row]) * weight * weight;
        let total = |w: &[f64]| Ok(w.iter().zip(&sample.value).map(|(w, x)| w * x).sum());
        for replicates in [Replicates::jackknife(&pairs()), Replicates::brr(&pairs(), 0.0), Replicates::brr(&pairs(), 0.4)] {
            let got = replicate::estimate(&replicates.expect("pairs"), &sample, total).expect("a total");
            // Differences of totals, squared: rounding of the totals is magnified.
            prop_assert!((got.standard_error.powi(2) - linearised).abs() <= 1e-9 * linearised.max(1.0));
        }
    }
}
