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
use cutspan::stats::mixture::{Component, Mixture, crossing, mixture, mixture_interval};
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
/// Share of failed resamples from which the program prints no interval.
const FAILED: f64 = 0.20;

/// What the program prints of one draw, on the index's own scale.
struct Found {
    /// None where the components do not part or fit no better than one.
    cutoff: Option<f64>,
    interval: Option<(f64, f64)>,
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
    println!("| n | cutoffs printed | bias % | RMSE % | intervals printed | coverage % | width % |");
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    for n in SIZES {
        let of = |draw: usize| found(&drawn(KNOWN_SEED + draw as u64, n), resamples);
        let all: Vec<Found> = draws.clone().into_par_iter().map(of).collect();
        row(n, &all, truth);
    }
}

#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
fn row(n: usize, all: &[Found], truth: f64) {
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let away: Vec<f64> = all.iter().filter_map(|f| Some(f.cutoff? / truth - 1.0)).collect();
    let squares: Vec<f64> = away.iter().map(|a| a * a).collect();
    let intervals: Vec<(f64, f64)> = all.iter().filter_map(|f| f.interval).collect();
    let holds = intervals.iter().filter(|(lower, upper)| (*lower..=*upper).contains(&truth)).count();
    let widths: Vec<f64> = intervals.iter().map(|(lower, upper)| (upper - lower) / truth).collect();
    println!(
        "| {n} | {} of {} | {:+.1} | {:.1} | {} | {:.1} | {:.1} |",
        away.len(),
        all.len(),
        100.0 * mean(&away),
        100.0 * mean(&squares).sqrt(),
        intervals.len(),
        100.0 * holds as f64 / intervals.len() as f64,
        100.0 * mean(&widths),
    );
}

/// What the fit finds in one invented survey of `endless` people, and how often it finds a cutoff in draws of `people`.
#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
pub fn invented(draws: &Range<usize>, people: usize, (resamples, endless): (usize, usize)) {
    let endless = logs(ENDLESS_SEED, endless);
    println!("\nInvented survey, n = {}: {}\n", endless.people_counted(), words(mixture(&endless)));
    let of = |draw: usize| found(&logs(ENDLESS_SEED + 1 + draw as u64, people), resamples);
    let all: Vec<Found> = draws.clone().into_par_iter().map(of).collect();
    let mut cutoffs: Vec<f64> = all.iter().filter_map(|f| f.cutoff).collect();
    cutoffs.sort_by(f64::total_cmp);
    let at = |p: f64| cutoffs.get((p * cutoffs.len() as f64) as usize).copied().unwrap_or(f64::NAN);
    let ratios: Vec<f64> =
        all.iter().filter_map(|f| f.interval).map(|(lower, upper)| upper / lower).collect();
    println!(
        "| drawn | cutoffs printed | of these half between | intervals printed | mean ratio of their limits |"
    );
    println!("| --- | --- | --- | --- | --- |");
    println!(
        "| {people} | {} of {} | {:.2} and {:.2} | {} | {:.2} |",
        cutoffs.len(),
        all.len(),
        at(0.25),
        at(0.75),
        ratios.len(),
        ratios.iter().sum::<f64>() / ratios.len() as f64,
    );
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

/// As the program does it: no cutoff without support for a second component.
fn found(logs: &Sample, resamples: usize) -> Found {
    let back = |log: f64| Scale::Log.back(log);
    let fit = mixture(logs).ok().filter(|fit| fit.bic_gain >= 0.0);
    let interval = fit
        .and_then(|_| mixture_interval(logs, resamples, 1, CONFIDENCE).ok())
        .filter(|found| found.failed as f64 <= FAILED * resamples as f64)
        .map(|found| (back(found.interval.lower), back(found.interval.upper)));
    Found { cutoff: fit.map(|fit| back(fit.cutoff)), interval }
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
