//! `cargo bench --bench coverage`: how often the printed intervals hold the truth.
//!
//! Samples are drawn anew from the invented superpopulation, whose true values are known, and the whole
//! program estimates each of them. A long job, run on request: `DRAWS=1000 PEOPLE=6000 cargo bench
//! --bench coverage`. Prints one Markdown row per estimator and group: draws, mean n, coverage of the 95 %
//! intervals, bias and root mean squared error relative to the truth, mean width relative to the truth.

use std::collections::BTreeMap;
use std::fs;

use cutspan::analysis::Results;
use cutspan::invented::{self, truth::TruthRow};
use cutspan::pipeline;
use cutspan::study;
use cutspan::table::Row;

const REPLICATES: usize = 200;

fn setting(name: &str, usual: usize) -> usize {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(usual)
}

/// The demo's sources and cohort with a smaller analysis, on the file `survey.csv` beside it.
fn study_text() -> String {
    let demo = include_str!("../../pipelines/demo.toml").replace("../data-public/veldmark.csv", "survey.csv");
    let source = &demo[..demo.find("[analysis]").expect("the demo has an analysis")];
    let define = &demo[demo.find("[[define.quantity]]").expect("the demo defines its outcome")..];
    format!(
        "{source}\n[analysis]\nindices = [\"homa_ir\"]\noutcomes = [\"insulin_resistant\"]\n\
         groups = [\"bmi_class\", \"sex\"]\nrules = [\"youden\"]\n\
         [[analysis.threshold]]\nindex = \"homa_ir\"\nvalue = 2.0\nsource = \"coverage\"\n\
         [resampling]\nreplicates = {REPLICATES}\nseed = 1\n{define}"
    )
}

/// One estimate of one draw: the key names estimator and group.
struct Printed {
    key: (String, String),
    truth: f64,
    value: f64,
    lower: f64,
    upper: f64,
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

fn draw(seed: u64, people: usize, truth: &Truth) -> Vec<Printed> {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let survey = invented::survey(seed, people).expect("a number of people that can be drawn");
    fs::write(folder.path().join("survey.csv"), invented::file::survey_csv(&survey)).expect("written");
    let study = study::parse(&study_text(), "coverage.toml", folder.path()).expect("the study is valid");
    let results = pipeline::estimate(&study, &[]).expect("the draw can be estimated");
    let mut printed = Vec::new();
    collect(&results, "percentiles", truth, &mut printed, |row| {
        let p = row.real("percentile")?;
        Some((format!("P{p}, Woodruff"), format!("percentile_{p}"), "value", 1.0))
    });
    collect(&results, "threshold_shares", truth, &mut printed, |_| {
        Some(("share beyond 2, Korn–Graubard".into(), "share_beyond_2".into(), "share_beyond", 0.01))
    });
    collect(&results, "auc", truth, &mut printed, |_| {
        Some(("AUC, replicates on the logit".into(), "auc".into(), "auc", 1.0))
    });
    collect(&results, "cutoffs", truth, &mut printed, |_| {
        Some(("Youden cutoff, percentile of replicates".into(), "youden_cutoff".into(), "cutoff", 1.0))
    });
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
            let n = row.real("n").unwrap_or_default();
            printed.push(Printed { key: (estimator, group), truth, value, lower, upper, n });
        }
    }
}

#[expect(clippy::print_stdout, reason = "the table is what this program is for")]
fn main() {
    let (draws, people) = (setting("DRAWS", 100), setting("PEOPLE", invented::USUAL_PEOPLE));
    let truth = truth();
    let all: Vec<Vec<Printed>> = (0..draws as u64).map(|d| draw(1_000_000 + d, people, &truth)).collect();
    let mut by_key: BTreeMap<(String, String), Vec<&Printed>> = BTreeMap::new();
    for printed in all.iter().flatten() {
        by_key.entry(printed.key.clone()).or_default().push(printed);
    }
    println!("{draws} draws of {people} people, {REPLICATES} replicates, nominal 95 %\n");
    println!("| estimator | group | printed | mean n | coverage % | bias % | RMSE % | width % |");
    println!("| --- | --- | --- | --- | --- | --- | --- | --- |");
    for ((estimator, group), rows) in &by_key {
        let count = rows.len() as f64;
        let mean = |f: &dyn Fn(&Printed) -> f64| rows.iter().map(|r| f(r)).sum::<f64>() / count;
        let holds = |r: &Printed| f64::from(u8::from(r.lower <= r.truth && r.truth <= r.upper));
        println!(
            "| {estimator} | {group} | {} | {:.0} | {:.1} | {:+.1} | {:.1} | {:.1} |",
            rows.len(),
            mean(&|r| r.n),
            100.0 * mean(&holds),
            100.0 * mean(&|r| r.value / r.truth - 1.0),
            100.0 * mean(&|r| (r.value / r.truth - 1.0).powi(2)).sqrt(),
            100.0 * mean(&|r| (r.upper - r.lower) / r.truth),
        );
    }
}
