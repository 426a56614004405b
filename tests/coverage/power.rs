//! How often the heterogeneity test rejects, when groups share their true cutoff and when they do not.

use std::collections::BTreeMap;
use std::ops::Range;

use cutspan::invented::{contrast_survey, truth::contrast_cutoffs};

use super::people::{REPLICATES, estimate, study_text};

/// Chance of a false alarm that the test promises.
const LEVEL: f64 = 0.05;
/// True ratios of the two groups' cutoffs.
const RATIOS: [f64; 2] = [1.0, 1.25];

/// Tests of one method on one kind of draw.
#[derive(Default)]
struct Tests {
    made: usize,
    rejected: usize,
    people: f64,
    spread: f64,
}

/// One Markdown row per true ratio, number of people and method.
#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
pub fn report(draws: Range<usize>, sizes: &[usize]) {
    println!(
        "| true ratio | drawn | n of the two groups | method | tests made | p < {LEVEL} % (± SE) | mean exp(τ) |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    for ratio in RATIOS {
        let [men, women] = contrast_cutoffs(ratio);
        for &people in sizes {
            for (method, tests) in of_draws(draws.clone(), people, ratio) {
                let made = tests.made as f64;
                let share = tests.rejected as f64 / made;
                println!(
                    "| {:.3} ({men:.2}, {women:.2}) | {people} | {:.0} | {method} | {} of {} | {:.1} ± {:.1} | {:.3} |",
                    women / men,
                    tests.people / made,
                    tests.made,
                    draws.len(),
                    100.0 * share,
                    100.0 * (share * (1.0 - share) / made).sqrt(),
                    tests.spread / made,
                );
            }
        }
    }
}

fn of_draws(draws: Range<usize>, people: usize, ratio: f64) -> BTreeMap<String, Tests> {
    let mut by_method: BTreeMap<String, Tests> = BTreeMap::new();
    for draw in draws {
        let survey = contrast_survey(2_000_000 + draw as u64, people, ratio).expect("people can be drawn");
        let results = estimate(&survey, &study_text("[\"sex\"]", REPLICATES)).results;
        let table =
            |name: &str| results.tables.iter().find(|t| t.name == name).expect("a table of every run");
        let both = table("auc");
        let both = both.iter().filter(|row| row.text("grouping") == "sex");
        let n: f64 = both
            .map(|row| ["n_with", "n_without"].map(|n| row.real(n).unwrap_or_default()).iter().sum::<f64>())
            .sum();
        for row in table("heterogeneity").iter() {
            let tests = by_method.entry(row.text("method").to_owned()).or_default();
            let Some(p) = row.real("p") else { continue };
            tests.made += 1;
            tests.rejected += usize::from(p < LEVEL);
            tests.people += n;
            tests.spread += row.real("spread").unwrap_or(f64::NAN);
        }
    }
    by_method
}
