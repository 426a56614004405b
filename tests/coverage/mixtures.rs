//! How often the interval of the mixture cutoff holds the truth, and how often the method finds a cutoff where
//! there is none.
//!
//! Two populations. In the first the method's assumption is true: two log-normal distributions whose crossing is
//! known, from which people are drawn with equal chances. The second is the invented survey, which is no such
//! mixture: in a sample of it without end the two fitted components do not part, so that a cutoff printed from
//! one draw is a chance find.

use std::ops::Range;

use cutspan::analysis::Context;
use cutspan::invented;
use cutspan::stats::interval::normal_quantile;
use cutspan::stats::mixture::{Component, Mixture, crossing, mixture};
use cutspan::stats::mixture_interval::mixture_interval;
use cutspan::stats::scale::Scale;
use cutspan::stats::{Sample, StatError};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rayon::prelude::*;

use super::people::{classed, study_text, tallied};

const CONFIDENCE: f64 = 0.95;
/// Of the invented survey that stands for one without end, and of the draws after it.
const ENDLESS_SEED: u64 = 3_000_000;
/// Of people drawn from two distributions.
const KNOWN_SEED: u64 = 4_000_000;
const SIZES: [usize; 2] = [500, 2000];
/// Replicates are not used here; a study cannot do with fewer.
const REPLICATES: usize = 20;
/// Share of failed resamples beyond which the program prints no cutoff.
const FAILED: f64 = 0.20;

/// What the program prints of one draw, on the index's own scale.
struct Found {
    cutoff: f64,
    interval: (f64, f64),
}

/// Log-normal distributions about 1.5 and 4.5, the lower of 70 % of the people.
fn components() -> [Component; 2] {
    [(0.7, 1.5_f64, 0.45), (0.3, 4.5, 0.50)].map(|(share, median, sd)| Component {
        share,
        mean: median.ln(),
        sd,
    })
}

/// Coverage of the crossing of two known distributions, a Markdown row for each number of people.
#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
pub fn known(draws: &Range<usize>, resamples: usize) {
    let [lower, upper] = components();
    let truth = Scale::Log.back(crossing(lower, upper).expect("two distributions that part"));
    println!("Two log-normal distributions that part at {truth:.3}, people drawn with equal chances\n");
    println!("| n | cutoffs printed | bias % | RMSE % | coverage % | width % |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for n in SIZES {
        let of = |draw: usize| found(&drawn(KNOWN_SEED + draw as u64, n), resamples);
        let all: Vec<Found> = draws.clone().into_par_iter().filter_map(of).collect();
        row((n, draws.len()), &all, truth);
    }
}

#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
fn row((n, draws): (usize, usize), printed: &[Found], truth: f64) {
    let mean = |of: &dyn Fn(&Found) -> f64| printed.iter().map(of).sum::<f64>() / printed.len() as f64;
    let away = |found: &Found| 100.0 * (found.cutoff / truth - 1.0);
    let holds = |found: &Found| (found.interval.0..=found.interval.1).contains(&truth);
    println!(
        "| {n} | {} of {draws} | {:+.1} | {:.1} | {:.1} | {:.1} |",
        printed.len(),
        mean(&away),
        mean(&|found| away(found).powi(2)).sqrt(),
        mean(&|found| 100.0 * f64::from(u8::from(holds(found)))),
        mean(&|found| 100.0 * (found.interval.1 - found.interval.0) / truth),
    );
}

/// What the fit finds in one invented survey of `endless` people, and how often it finds a cutoff in draws of `people`.
#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
pub fn invented(draws: &Range<usize>, people: usize, (resamples, endless): (usize, usize)) {
    let endless = logs(ENDLESS_SEED, endless);
    println!("\nInvented survey, n = {}: {}\n", endless.people_counted(), words(mixture(&endless)));
    let of = |draw: usize| found(&logs(ENDLESS_SEED + 1 + draw as u64, people), resamples);
    let mut printed: Vec<Found> = draws.clone().into_par_iter().filter_map(of).collect();
    printed.sort_by(|a, b| a.cutoff.total_cmp(&b.cutoff));
    let at = |p: f64| printed.get((p * printed.len() as f64) as usize).map_or(f64::NAN, |found| found.cutoff);
    println!("| drawn | cutoffs printed | half of them between |");
    println!("| --- | --- | --- |");
    println!("| {people} | {} of {} | {:.2} and {:.2} |", printed.len(), draws.len(), at(0.25), at(0.75));
}

/// Logarithms of people of the two known distributions.
fn drawn(seed: u64, n: usize) -> Sample {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut uniform = || ((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
    let [lower, upper] = components();
    let one = |_| {
        let of = if uniform() < lower.share { lower } else { upper };
        of.mean + of.sd * normal_quantile(uniform())
    };
    let values: Vec<f64> = (0..n).map(one).collect();
    Sample::from_people(&values, &vec![1.0; n], &vec![0; n]).expect("usable rows")
}

/// Logarithms of HOMA-IR of the cohort of one drawn survey.
fn logs(seed: u64, people: usize) -> Sample {
    let survey = invented::survey(seed, people).expect("a number of people that can be drawn");
    let (study, tallies) = tallied(&survey, &study_text("[]", REPLICATES));
    let context = Context::new(&study, &tallies).expect("usable tallies");
    Scale::Log.apply(&classed(&context, 0).0)
}

/// As the program does it: no cutoff without support for a second component, nor where it does not part in resamples.
fn found(logs: &Sample, resamples: usize) -> Option<Found> {
    let fit = mixture(logs).ok().filter(|fit| fit.bic_gain >= 0.0)?;
    let found = mixture_interval(logs, resamples, 1, CONFIDENCE).ok()?;
    let [cutoff, lower, upper] =
        [fit.cutoff, found.interval.lower, found.interval.upper].map(|log| Scale::Log.back(log));
    let steady = found.failed as f64 <= FAILED * resamples as f64;
    steady.then_some(Found { cutoff, interval: (lower, upper) })
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
