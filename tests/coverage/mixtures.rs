//! How often the interval of the mixture cutoff holds the value that the method aims at.
//!
//! The method has no true value in the population: it fits two normal distributions to people who were
//! drawn with unequal chances, and counts each of them once. What it aims at is what it would find in a sample of
//! this design without end; one very large sample stands for that. Beside it is printed what it finds when
//! people are drawn from that sample by their weights, so that they stand for the population.

use std::ops::Range;

use cutspan::analysis::Context;
use cutspan::invented;
use cutspan::stats::mixture::{Mixture, mixture, mixture_interval};
use cutspan::stats::scale::Scale;
use cutspan::stats::{Sample, StatError};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rayon::prelude::*;

use super::people::{classed, study_text, tallied};

const CONFIDENCE: f64 = 0.95;
/// Of the sample that stands for one without end.
const ENDLESS_SEED: u64 = 3_000_000;
/// Replicates are not used here; a study cannot do with fewer.
const REPLICATES: usize = 20;
/// Share of failed resamples from which the program prints no interval.
const FAILED: f64 = 0.20;

/// What the program prints of one draw.
struct Found {
    n: f64,
    /// None where the components do not part or fit no better than one.
    cutoff: Option<f64>,
    interval: Option<(f64, f64)>,
}

/// The value aimed at, found among `endless` people, and a Markdown row of all draws.
#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
pub fn report(draws: &Range<usize>, people: usize, (resamples, endless): (usize, usize)) {
    let endless = logs(ENDLESS_SEED, endless);
    let n = endless.people_counted();
    println!("In one sample of the same design with n = {n}, each person once: {}", words(mixture(&endless)));
    println!("The same people drawn by their weights: {}\n", words(mixture(&by_weight(&endless))));
    let Ok(aim) = mixture(&endless) else {
        println!("No cutoff to hold the samples against.");
        return;
    };
    let aim = Scale::Log.back(aim.cutoff);
    println!(
        "| drawn | mean n | cutoffs printed | bias % | RMSE % | intervals printed | coverage % | width % |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- |");
    let draws = draws.clone().into_par_iter();
    let all: Vec<Found> =
        draws.map(|draw| found(ENDLESS_SEED + 1 + draw as u64, people, resamples)).collect();
    row(people, &all, aim);
}

#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
fn row(people: usize, all: &[Found], aim: f64) {
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let away: Vec<f64> = all.iter().filter_map(|f| Some(f.cutoff? / aim - 1.0)).collect();
    let squares: Vec<f64> = away.iter().map(|a| a * a).collect();
    let intervals: Vec<(f64, f64)> = all.iter().filter_map(|f| f.interval).collect();
    let holds: Vec<f64> =
        intervals.iter().map(|&(lower, upper)| f64::from(u8::from(lower <= aim && aim <= upper))).collect();
    let widths: Vec<f64> = intervals.iter().map(|(lower, upper)| (upper - lower) / aim).collect();
    println!(
        "| {people} | {:.0} | {} of {} | {:+.1} | {:.1} | {} of {} | {:.1} | {:.1} |",
        mean(&all.iter().map(|f| f.n).collect::<Vec<_>>()),
        away.len(),
        all.len(),
        100.0 * mean(&away),
        100.0 * mean(&squares).sqrt(),
        intervals.len(),
        all.len(),
        100.0 * mean(&holds),
        100.0 * mean(&widths),
    );
}

/// Logarithms of HOMA-IR of the cohort of one drawn survey.
fn logs(seed: u64, people: usize) -> Sample {
    let survey = invented::survey(seed, people).expect("a number of people that can be drawn");
    let (study, tallies) = tallied(&survey, &study_text("[]", REPLICATES));
    let context = Context::new(&study, &tallies).expect("usable tallies");
    Scale::Log.apply(&classed(&context, 0).0)
}

/// As the program does it: no cutoff without support for a second component.
fn found(seed: u64, people: usize, resamples: usize) -> Found {
    let logs = logs(seed, people);
    let back = |log: f64| Scale::Log.back(log);
    let fit = mixture(&logs).ok().filter(|fit| fit.bic_gain >= 0.0);
    let interval = fit
        .and_then(|_| mixture_interval(&logs, resamples, 1, CONFIDENCE).ok())
        .filter(|found| found.failed as f64 <= FAILED * resamples as f64)
        .map(|found| (back(found.interval.lower), back(found.interval.upper)));
    Found { n: logs.people_counted() as f64, cutoff: fit.map(|fit| back(fit.cutoff)), interval }
}

/// As many people, drawn with replacement with a chance in proportion to their weights.
fn by_weight(sample: &Sample) -> Sample {
    let sums: Vec<f64> = sample
        .weight
        .iter()
        .scan(0.0, |sum, weight| {
            *sum += weight;
            Some(*sum)
        })
        .collect();
    let total = sums.last().copied().unwrap_or_default();
    let mut random = ChaCha8Rng::seed_from_u64(ENDLESS_SEED);
    let mut uniform = || ((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
    let draw = |_| {
        let mark = total * uniform();
        sample.value[sums.partition_point(|sum| *sum < mark)]
    };
    let value: Vec<f64> = (0..sample.people_counted()).map(draw).collect();
    let ones = vec![1.0; value.len()];
    Sample::from_people(&value, &ones, &vec![0; value.len()]).expect("usable rows")
}

fn words(fit: Result<Mixture, StatError>) -> String {
    match fit {
        Ok(fit) => format!(
            "cutoff {:.3}; shares {:.2} and {:.2} about {:.2} and {:.2}; gain in BIC {:.0}",
            Scale::Log.back(fit.cutoff),
            fit.lower.share,
            fit.upper.share,
            Scale::Log.back(fit.lower.mean),
            Scale::Log.back(fit.upper.mean),
            fit.bic_gain
        ),
        Err(why) => why.to_string(),
    }
}
