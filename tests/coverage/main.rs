//! `cargo bench --bench coverage`: how often the printed intervals hold the truth, and how often the
//! heterogeneity test rejects.
//!
//! Samples are drawn anew from the invented superpopulation, whose true values are known, and the whole
//! program estimates each of them. A long job, run on request: `DRAWS=1000 PEOPLE=6000 MIXTURES=400
//! POWER_DRAWS=1000 cargo bench --bench coverage`. The first table has a row per estimator and group: draws in
//! which it was printed, mean n, coverage of the 95 % intervals, bias and root mean squared error relative to
//! the truth, mean width relative to the truth. The second has a row per true ratio of two groups' cutoffs,
//! number of people and method. The third is of the mixture cutoff: `MIXTURES=400` samples of two known
//! distributions with `RESAMPLES=200` each as in a study, and `NO_CROSSING=100` draws of the invented survey, after
//! what the fit finds in one of `ENDLESS=400000` people.
//! `FIRST=500` starts with another draw, so that a long job can be done in parts.

mod intervals;
mod mixtures;
mod people;
mod power;

use cutspan::invented::USUAL_PEOPLE;

fn setting(name: &str, usual: usize) -> usize {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(usual)
}

#[expect(clippy::print_stdout, reason = "the tables are what this program is for")]
fn main() {
    let (draws, people) = (setting("DRAWS", 100), setting("PEOPLE", USUAL_PEOPLE));
    let (mixtures, power_draws) = (setting("MIXTURES", 5), setting("POWER_DRAWS", 100));
    let (first, replicates) = (setting("FIRST", 0), people::REPLICATES);
    if draws > 0 {
        println!("{draws} draws of {people} people, {replicates} replicates, nominal 95 %\n");
        intervals::report(&intervals::all(first..first + draws, people));
    }
    if power_draws > 0 {
        println!("\nHeterogeneity of two groups, {power_draws} draws each, {replicates} replicates\n");
        power::report(first..first + power_draws, &[people / 2, people]);
    }
    if mixtures > 0 {
        let resamples = setting("RESAMPLES", 200);
        println!("\nMixture cutoff, {mixtures} draws, {resamples} resamples, nominal 95 %\n");
        mixtures::known(&(first..first + mixtures), resamples);
        let draws = first..first + setting("NO_CROSSING", mixtures);
        mixtures::invented(&draws, people, (resamples, setting("ENDLESS", 400_000)));
    }
}
