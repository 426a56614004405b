//! A small invented set of result tables: the survey, its groups and all numbers are made up.

use std::collections::BTreeSet;

use cutspan::chart::{IndexLabel, Labels};
use cutspan::table::{RowBuilder, Table, schema};

pub const SURVEY: &str = "veldmark";
const SHORT: &str = "fewer than 30 people with the outcome";
const LONG: &str = "the interval of the area under the curve includes 0.5, so that no value of the index tells people \
                    with the outcome from people without it";

struct Index {
    name: &'static str,
    unit: &'static str,
    at: f64,
    step: f64,
}

const INDICES: &[Index] = &[
    Index { name: "homa_ir", unit: "1", at: 2.31, step: 0.17 },
    Index { name: "quicki", unit: "1", at: 0.341, step: -0.003 },
    Index { name: "balance", unit: "mmol/L", at: -0.12, step: 0.06 },
];

const GROUPS: &[(&str, &[&str])] = &[
    ("everybody", &["everybody"]),
    ("sex", &["women", "men"]),
    ("age_band", &["20–39 years", "40–59 years", "60 years and over"]),
    (
        "ancestry",
        &[
            "Ardenne",
            "Bresk",
            "Corvane",
            "Dunmar",
            "Two or more of the invented groups, or one not listed here",
        ],
    ),
    (
        "sex × ancestry",
        &["women × Ardenne", "women × Bresk", "men × Ardenne", "men × Bresk", "men × Corvane"],
    ),
];

fn open(name: &str) -> Table {
    Table::new(schema::shape(name).unwrap())
}

fn lead<'a>(
    table: &'a mut Table,
    index: &Index,
    population: &str,
    grouping: &str,
    group: &str,
) -> RowBuilder<'a> {
    table
        .row()
        .text("survey", SURVEY)
        .text("frame", "fasting")
        .text("index", index.name)
        .text("unit", index.unit)
        .text("population", population)
        .text("grouping", grouping)
        .text("group", group)
}

/// Every group with its position, from 0 for everybody.
fn groups() -> impl Iterator<Item = (usize, &'static str, &'static str)> {
    GROUPS
        .iter()
        .flat_map(|(grouping, groups)| groups.iter().map(move |group| (*grouping, *group)))
        .enumerate()
        .map(|(position, (grouping, group))| (position, grouping, group))
}

fn people(position: usize) -> i64 {
    if position == 0 { 4019 } else { 2100 / position as i64 + 40 }
}

fn withheld(position: usize) -> &'static str {
    match position {
        8 => SHORT,
        12 => LONG,
        _ => "",
    }
}

/// A value that scatters by position without a random number.
fn scatter(index: &Index, position: usize) -> f64 {
    index.at + index.step * ((position * 7 % 11) as f64 - 4.0) * if position == 0 { 0.0 } else { 1.0 }
}

fn cutoffs(secret: f64) -> Table {
    let mut table = open("cutoffs");
    for index in INDICES {
        for rule in ["youden", "closest_to_corner", "sensitivity_at_least_0.80"] {
            for (position, grouping, group) in groups() {
                let reason = withheld(position);
                let shift = if rule == "sensitivity_at_least_0.80" { -1.4 * index.step } else { 0.0 };
                let value = if reason.is_empty() { scatter(index, position) + shift } else { secret };
                let half = index.step.abs() * (0.8 + 0.25 * position as f64);
                lead(&mut table, index, "cohort", grouping, group)
                    .text("outcome", "metabolic_syndrome")
                    .whole("n", Some(people(position)))
                    .whole("n_with", Some(people(position) / 3))
                    .whole("n_without", Some(people(position) - people(position) / 3))
                    .text("rule", rule)
                    .real("cutoff", Some(value))
                    .real("lower", Some(value - half * 0.8))
                    .real("upper", Some(value + half))
                    .text("interval", "95 % percentile of replicates")
                    .text("stated", "study")
                    .text("withheld", reason)
                    .done()
                    .unwrap();
            }
        }
    }
    table
}

fn percentiles(secret: f64) -> Table {
    let mut table = open("percentiles");
    for index in INDICES {
        for population in ["cohort", "healthy"] {
            for (position, grouping, group) in groups() {
                for (rank, percentile) in [50.0, 75.0, 90.0].into_iter().enumerate() {
                    let reason = if position == 12 || (position == 10 && rank == 2) {
                        "fewer than 5 people beyond it"
                    } else {
                        ""
                    };
                    let spread = index.step.abs() * if index.step > 0.0 { 3.0 } else { -3.0 };
                    let value = scatter(index, position) + spread * (rank as f64 - 1.5);
                    let value = if reason.is_empty() { value } else { secret };
                    let half = index.step.abs() * (0.5 + 0.1 * position as f64);
                    lead(&mut table, index, population, grouping, group)
                        .whole("n", Some(people(position)))
                        .real("percentile", Some(percentile))
                        .real("value", Some(value))
                        .real("lower", Some(value - half))
                        .real("upper", Some(value + half))
                        .text("method", "step")
                        .text("interval", "95 % Woodruff, logit")
                        .text("stated", "study")
                        .text("withheld", reason)
                        .done()
                        .unwrap();
                }
            }
        }
    }
    table
}

fn threshold_shares(secret: f64) -> Table {
    let mut table = open("threshold_shares");
    for index in INDICES {
        for threshold in [index.at - index.step, index.at + 2.0 * index.step] {
            let threshold = (threshold * 1000.0).round() / 1000.0;
            for population in ["cohort", "healthy"] {
                for (position, grouping, group) in groups() {
                    let reason = withheld(position);
                    let percentile = 20.0 + (position * 37 % 71) as f64;
                    let percentile = if reason.is_empty() { percentile } else { secret };
                    lead(&mut table, index, population, grouping, group)
                        .real("threshold", Some(threshold))
                        .text("strict", "no")
                        .whole("n", Some(people(position)))
                        .real("share_beyond", Some(100.0 - percentile))
                        .real("lower", Some((97.0 - percentile).max(0.0)))
                        .real("upper", Some((103.0 - percentile).min(100.0)))
                        .text("interval", "95 % Korn–Graubard")
                        .real("percentile", Some(percentile))
                        .text("stated", "study")
                        .text("withheld", reason)
                        .done()
                        .unwrap();
                }
            }
        }
    }
    table
}

fn roc() -> (Table, Table, Table) {
    let (mut points, mut auc, mut accuracy) = (open("roc_points"), open("auc"), open("cutoff_accuracy"));
    for index in INDICES {
        for (position, grouping, group) in groups().filter(|(position, ..)| *position < 3) {
            let power = 0.32 + 0.08 * position as f64;
            lead(&mut auc, index, "cohort", grouping, group)
                .text("outcome", "metabolic_syndrome")
                .whole("n", Some(people(position)))
                .whole("n_with", Some(people(position) / 3))
                .real("auc", Some(1.0 / (1.0 + power)))
                .real("lower", Some(1.0 / (1.03 + power)))
                .real("upper", Some(1.0 / (0.97 + power)))
                .text("interval", "95 % logit, replicates")
                .done()
                .unwrap();
            for step in 1..40 {
                let false_positive = f64::from(step) / 40.0;
                let sensitivity = false_positive.powf(power);
                lead(&mut points, index, "cohort", grouping, group)
                    .text("outcome", "metabolic_syndrome")
                    .real("cutoff", Some(index.at + index.step * (20.0 - f64::from(step)) / 4.0))
                    .real("false_positive_share", Some(false_positive))
                    .real("sensitivity", Some(sensitivity))
                    .real("specificity", Some(1.0 - false_positive))
                    .real("sensitivity_lower", Some((sensitivity - 0.04).max(0.0)))
                    .real("sensitivity_upper", Some((sensitivity + 0.04).min(1.0)))
                    .done()
                    .unwrap();
            }
        }
        at_the_cutoffs(&mut accuracy, index);
    }
    (auc, points, accuracy)
}

/// Sensitivity and specificity of each rule's cutoff for everybody.
fn at_the_cutoffs(accuracy: &mut Table, index: &Index) {
    for (rule, sensitivity, specificity) in [
        ("youden", 0.708, 0.66),
        ("closest_to_corner", 0.708, 0.66),
        ("sensitivity_at_least_0.80", 0.801, 0.5),
    ] {
        let shift = if rule == "sensitivity_at_least_0.80" { -1.4 * index.step } else { 0.0 };
        for (measure, value) in [("sensitivity", sensitivity), ("specificity", specificity)] {
            lead(accuracy, index, "cohort", "everybody", "everybody")
                .text("outcome", "metabolic_syndrome")
                .text("rule", rule)
                .real("cutoff", Some(index.at + shift))
                .text("measure", measure)
                .text("cutoff_uncertainty", "fixed")
                .real("value", Some(value))
                .done()
                .unwrap();
        }
    }
}

fn distributions() -> Table {
    let mut table = open("distributions");
    for index in INDICES {
        for (position, grouping, group) in
            groups().filter(|(_, grouping, _)| ["everybody", "sex", "age_band"].contains(grouping))
        {
            let shares: Vec<f64> = (0..40)
                .map(|bin| (-(f64::from(bin) - 16.0 - position as f64).powi(2) / 60.0).exp())
                .collect();
            let total: f64 = shares.iter().sum();
            for (bin, share) in shares.iter().enumerate() {
                let edge = |bin: usize| {
                    let steps = bin as f64 - 20.0;
                    if index.name == "homa_ir" {
                        2.3 * (steps * 0.12).exp()
                    } else {
                        index.at + index.step.abs() * steps * 0.7
                    }
                };
                lead(&mut table, index, "cohort", grouping, group)
                    .real("from", Some(edge(bin)))
                    .real("to", Some(edge(bin + 1)))
                    .real("share", Some(share / total * 100.0))
                    .done()
                    .unwrap();
            }
        }
    }
    table
}

fn flow() -> Table {
    let mut table = open("participant_flow");
    let steps: [(&str, &str, i64, i64); 7] = [
        ("veldmark 1", "interviewed", 5120, 0),
        ("veldmark 2", "interviewed", 4988, 0),
        ("all", "files joined by person", 10_108, 0),
        ("all", "20 years and over", 7310, 2798),
        (
            "all",
            "fasted at least 8 and less than 24 hours before the blood was drawn, as far as the answer is known",
            4420,
            2890,
        ),
        ("all", "not pregnant", 4365, 55),
        ("all", "no diagnosed diabetes", 4019, 346),
    ];
    for (order, (source, step, people, left_out)) in steps.into_iter().enumerate() {
        table
            .row()
            .text("source", source)
            .whole("order", Some(order as i64 + 1))
            .text("step", step)
            .whole("people", Some(people))
            .whole("left_out", Some(left_out))
            .done()
            .unwrap();
    }
    table
}

/// Flow, percentiles, AUC, ROC, cutoffs, thresholds and distributions of the invented survey.
pub fn tables() -> Vec<Table> {
    tables_hiding(7.777_777)
}

/// The same tables with a value of one's choice in the cells of withheld rows.
pub fn tables_hiding(secret: f64) -> Vec<Table> {
    let (auc, points, accuracy) = roc();
    vec![
        flow(),
        percentiles(secret),
        auc,
        points,
        cutoffs(secret),
        accuracy,
        threshold_shares(secret),
        distributions(),
    ]
}

fn named(pairs: &[(&str, &str)]) -> std::collections::BTreeMap<String, String> {
    pairs.iter().map(|(name, label)| ((*name).to_owned(), (*label).to_owned())).collect()
}

pub fn labels() -> Labels {
    let indices = [
        ("homa_ir", "HOMA-IR", "1", false),
        ("quicki", "QUICKI", "1", true),
        ("balance", "Signed balance", "mmol/L", false),
    ];
    Labels {
        design: cutspan::chart::design_words(cutspan::study::Design::Survey),
        confidence: cutspan::chart::Confidence::default(),
        fewest_shown: None,
        weights_are_people: false,
        survey: "Veldmark Health Survey (invented)".to_owned(),
        indices: indices
            .iter()
            .map(|(name, label, unit, lower)| {
                let index = IndexLabel {
                    label: (*label).to_owned(),
                    unit: (*unit).to_owned(),
                    lower_is_resistant: *lower,
                };
                ((*name).to_owned(), index)
            })
            .collect(),
        outcomes: named(&[("metabolic_syndrome", "metabolic syndrome (harmonised 2009)")]),
        counted_parts: BTreeSet::new(),
        groupings: named(&[
            ("sex", "sex"),
            ("age_band", "age"),
            ("ancestry", "ancestry (invented groups)"),
            ("sex × ancestry", "sex × ancestry"),
        ]),
        populations: named(&[("healthy", "people of normal weight without metabolic abnormality")]),
        rules: named(&[
            ("youden", "largest Youden index"),
            ("closest_to_corner", "nearest to the perfect corner"),
            ("sensitivity_at_least_0.80", "highest specificity with sensitivity of at least 0.80"),
        ]),
        levels: [("sex".to_owned(), vec!["men".to_owned(), "women".to_owned()])].into_iter().collect(),
    }
}
