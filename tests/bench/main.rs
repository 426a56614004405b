//! `cargo bench`: reading, tallying, and the scan of replicates beside the same work done plainly.
//!
//! All input is the invented survey, so that anybody can run it. Figures are compared within one
//! run, as ratios; DEVELOPERS.md keeps the last ones with the machine they were taken on.

use std::path::{Path, PathBuf};

use cutspan::cohort;
use cutspan::source;
use cutspan::stats::design::{Design, LonelyPsu};
use cutspan::stats::replicate::Replicates;
use cutspan::stats::rule::{self, Rule};
use cutspan::stats::{Sample, roc, scan};
use cutspan::study::{self, Study};
use cutspan::tally;
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

fn demo() -> Study {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
    study::load(&file).expect("the demo study is checked by the tests")
}

#[divan::bench(sample_count = 10)]
fn read_the_demo_survey(bencher: Bencher) {
    let study = demo();
    let folders: Vec<PathBuf> = Vec::new();
    bencher.bench(|| source::read_all(&study, &folders).expect("the demo survey is readable"));
}

#[divan::bench(sample_count = 10)]
fn tally_the_demo_survey(bencher: Bencher) {
    let study = demo();
    let loaded = source::read_all(&study, &[]).expect("the demo survey is readable");
    let cohort = cohort::build(&study, &loaded).expect("the demo cohort can be built");
    bencher.bench(|| tally::collect(&cohort).expect("the demo cohort can be tallied"));
}

/// As many people, PSUs and replicates as one cycle of a national survey has.
struct Curve {
    sample: Sample,
    class: Vec<bool>,
    replicates: Replicates,
}

const PEOPLE: usize = 4000;
const UNITS: usize = 50;
const REPLICATES: usize = 1000;
const RULES: [Rule; 5] = [
    Rule::Youden,
    Rule::ClosestToCorner,
    Rule::LargestProduct,
    Rule::SmallestDifference,
    Rule::SensitivityAtLeast(0.8),
];

fn curve() -> Curve {
    // A plain congruential sequence: the values need no randomness, only disorder and ties.
    let noise = |i: usize, salt: usize| ((i * 7919 + salt * 104_729) % 10_007) as f64 / 10_007.0;
    let sample = Sample {
        value: (0..PEOPLE).map(|i| (i / 2) as f64).collect(),
        weight: (0..PEOPLE).map(|i| 1000.0 + 9000.0 * noise(i, 1)).collect(),
        weight_squared: vec![1.0; PEOPLE],
        people: vec![1; PEOPLE],
        unit: (0..PEOPLE).map(|i| (noise(i, 2) * UNITS as f64) as u32).collect(),
    };
    let class = (0..PEOPLE).map(|i| noise(i, 3) < 0.2 + 0.4 * i as f64 / PEOPLE as f64).collect();
    let strata: Vec<u32> = (0..UNITS as u32).map(|u| u / 2).collect();
    let design = Design::new(strata, None, LonelyPsu::Fail).expect("two units a stratum");
    let keys: Vec<u64> = (0..UNITS as u64 / 2).collect();
    let replicates = Replicates::bootstrap(&design, &keys, REPLICATES, 1).expect("two units a stratum");
    Curve { sample, class, replicates }
}

#[divan::bench(sample_count = 10)]
fn scan_of_a_thousand_replicates(bencher: Bencher) {
    let curve = curve();
    bencher.bench(|| scan::scan(black_box(&curve.sample), &curve.class, &RULES, &curve.replicates));
}

/// The same numbers, one replicate after the other: weights, curve, AUC, every rule.
#[divan::bench(sample_count = 3)]
fn the_same_replicates_one_by_one(bencher: Bencher) {
    let curve = curve();
    bencher.bench(|| {
        (0..REPLICATES)
            .map(|r| {
                let mut sample = curve.sample.clone();
                for (weight, &unit) in sample.weight.iter_mut().zip(&curve.sample.unit) {
                    *weight *= curve.replicates.factors[unit as usize * REPLICATES + r];
                }
                let points = roc::curve(&sample, &curve.class).expect("both classes are there");
                let prevalence = roc::prevalence(&sample, &curve.class);
                let chosen = RULES.map(|rule| rule::choose(&points, rule, prevalence));
                (roc::auc(&sample, &curve.class).expect("both classes are there"), chosen)
            })
            .collect::<Vec<_>>()
    });
}
