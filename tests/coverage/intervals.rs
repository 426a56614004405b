//! How often the intervals hold the truth, per method and group.

use std::collections::BTreeMap;
use std::ops::Range;

use cutspan::analysis::{Context, Results};
use cutspan::invented::{self, truth::TruthRow};
use cutspan::stats::binormal::{binormal, binormal_replicates};
use cutspan::stats::interval::percentile_of_replicates;
use cutspan::table::Row;

use super::people::{Estimated, REPLICATES, classed, estimate, study_text};

const CONFIDENCE: f64 = 0.95;

/// One estimate of one draw: the key names estimator and group.
pub struct Printed {
    key: (String, String),
    truth: f64,
    /// `NaN` where the method found none.
    value: f64,
    /// Some methods have no interval.
    interval: Option<(f64, f64)>,
    n: f64,
}

type Truth = BTreeMap<(String, String, String), f64>;

fn truth() -> Truth {
    let cohort = |row: &TruthRow| row.population == "cohort";
    invented::truth()
        .into_iter()
        .filter(cohort)
        .map(|row| ((row.grouping.to_owned(), row.group.clone(), row.measure.to_owned()), row.value))
        .collect()
}

/// All draws of samples of `people`.
pub fn all(draws: Range<usize>, people: usize) -> Vec<Printed> {
    let truth = truth();
    draws.flat_map(|d| draw(1_000_000 + d as u64, people, &truth)).collect()
}

fn draw(seed: u64, people: usize, truth: &Truth) -> Vec<Printed> {
    let survey = invented::survey(seed, people).expect("a number of people that can be drawn");
    let estimated = estimate(&survey, &study_text("[\"bmi_class\", \"sex\"]", REPLICATES));
    let results = &estimated.results;
    let mut printed = Vec::new();
    collect(results, "percentiles", truth, &mut printed, |row| {
        let p = row.real("percentile")?;
        Some((format!("P{p}, Woodruff"), format!("percentile_{p}"), "value", 1.0))
    });
    collect(results, "threshold_shares", truth, &mut printed, |_| {
        Some(("share beyond 2, Korn–Graubard".into(), "share_beyond_2".into(), "share_beyond", 0.01))
    });
    collect(results, "auc", truth, &mut printed, |_| {
        Some(("AUC, replicates on the logit".into(), "auc".into(), "auc", 1.0))
    });
    collect(results, "cutoffs", truth, &mut printed, |_| {
        Some(("Youden cutoff, empirical".into(), "youden_cutoff".into(), "cutoff", 1.0))
    });
    collect(results, "smoothed_cutoffs", truth, &mut printed, |_| {
        Some(("Youden cutoff, kernel-smoothed".into(), "youden_cutoff".into(), "cutoff", 1.0))
    });
    models(&estimated, truth, &mut printed);
    printed
}

/// Adds every printed estimate of a table that has a true value. `name` answers with the estimator, the
/// measure of the truth, the column and the factor from the column to the truth's unit.
fn collect(
    results: &Results,
    table: &str,
    truth: &Truth,
    printed: &mut Vec<Printed>,
    name: impl Fn(&Row) -> Option<(String, String, &'static str, f64)>,
) {
    let table = results.tables.iter().find(|t| t.name == table).expect("a table of every run");
    for row in table.iter().filter(|row| row.text("population") == "cohort") {
        let Some((estimator, measure, column, factor)) = name(&row) else { continue };
        let (grouping, group) = (row.text("grouping").to_owned(), row.text("group").to_owned());
        let Some(&truth) = truth.get(&(grouping, group.clone(), measure)) else { continue };
        if let (Some(value), Some(lower), Some(upper)) =
            (row.real(column), row.real("lower"), row.real("upper"))
        {
            let [value, lower, upper] = [value, lower, upper].map(|v| v * factor);
            let counts = ["n", "n_with", "n_without"].into_iter().filter(|n| table.position(n).is_some());
            let counts: Vec<f64> = counts.filter_map(|n| row.real(n)).collect();
            // Either everybody, or those with and those without the outcome.
            let n = if table.position("n").is_some() { counts[0] } else { counts.iter().sum() };
            let interval = Some((lower, upper));
            printed.push(Printed { key: (estimator, group), truth, value, interval, n });
        }
    }
}

/// The models that the program fits but does not print in every run.
fn models(estimated: &Estimated, truth: &Truth, printed: &mut Vec<Printed>) {
    let context = Context::new(&estimated.study, &estimated.tallies).expect("estimated before");
    let replicates = &context.frames[context.frame_of_pair(0, 0)].replicates;
    for (position, group) in context.groups.iter().enumerate() {
        let (sample, class) = classed(&context, position);
        let mut add = |estimator: &str, measure: &str, value: f64, interval: Option<(f64, f64)>| {
            let key = (group.grouping_name.clone(), group.name.clone(), measure.to_owned());
            let Some(&truth) = truth.get(&key) else { return };
            let n = sample.people_counted() as f64;
            printed.push(Printed {
                key: (estimator.to_owned(), group.name.clone()),
                truth,
                value,
                interval,
                n,
            });
        };
        // Where the program withholds a cutoff: fewer than 30 people with or without the outcome.
        let with = class.iter().filter(|c| **c).count();
        if with < 30 || class.len() - with < 30 {
            continue;
        }
        if let Ok(fit) = binormal(&sample, &class) {
            let interval = binormal_replicates(&sample, &class, replicates)
                .and_then(|cutoffs| percentile_of_replicates(&cutoffs, CONFIDENCE));
            let interval = interval.ok().map(|i| (i.lower, i.upper));
            add("Youden cutoff, binormal after Box–Cox", "youden_cutoff", fit.cutoff, interval);
            add("AUC, binormal after Box–Cox (no interval)", "auc", fit.auc, None);
        }
    }
}

/// One Markdown row per estimator and group.
#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
pub fn report(all: &[Printed]) {
    let mut by_key: BTreeMap<&(String, String), Vec<&Printed>> = BTreeMap::new();
    for printed in all {
        by_key.entry(&printed.key).or_default().push(printed);
    }
    println!("| estimator | group | printed | mean n | coverage % | bias % | RMSE % | width % |");
    println!("| --- | --- | --- | --- | --- | --- | --- | --- |");
    for ((estimator, group), attempts) in by_key {
        let rows: Vec<&&Printed> = attempts.iter().filter(|printed| !printed.value.is_nan()).collect();
        if rows.is_empty() {
            println!("| {estimator} | {group} | 0 of {} | – | – | – | – | – |", attempts.len());
            continue;
        }
        let mean = |values: Vec<f64>| values.iter().sum::<f64>() / values.len() as f64;
        let of_all = |f: &dyn Fn(&Printed) -> f64| mean(rows.iter().map(|r| f(r)).collect());
        let of_intervals = |f: &dyn Fn((f64, f64), f64) -> f64| {
            let found: Vec<f64> =
                rows.iter().filter_map(|r| r.interval.map(|interval| 100.0 * f(interval, r.truth))).collect();
            if found.is_empty() { "–".to_owned() } else { format!("{:.1}", mean(found)) }
        };
        println!(
            "| {estimator} | {group} | {} | {:.0} | {} | {:+.1} | {:.1} | {} |",
            rows.len(),
            of_all(&|r| r.n),
            of_intervals(&|(lower, upper), truth| f64::from(u8::from(lower <= truth && truth <= upper))),
            100.0 * of_all(&|r| r.value / r.truth - 1.0),
            100.0 * of_all(&|r| (r.value / r.truth - 1.0).powi(2)).sqrt(),
            of_intervals(&|(lower, upper), truth| (upper - lower) / truth),
        );
    }
}
