//! Invented tables that strain a drawing: 64 groups, long labels, huge and tiny intervals, counts of
//! one and of a hundred million, eight thresholds, rules that choose nearly the same point.

use cutspan::chart::{IndexLabel, Labels};
use cutspan::table::{RowBuilder, Table, schema};

const REASON: &str = "fewer than 30 people with the outcome; the interval of the area under the curve includes 0.5; more \
                      than 20 % of the replicates failed because a class vanished";
const RULES: [&str; 6] = [
    "youden",
    "closest_to_corner",
    "largest_product",
    "smallest_difference",
    "sensitivity_at_least_0.80",
    "net_benefit",
];

fn open(name: &str) -> Table {
    Table::new(schema::shape(name).unwrap())
}

fn lead<'a>(table: &'a mut Table, grouping: &str, group: &str) -> RowBuilder<'a> {
    table
        .row()
        .text("survey", "veldmark")
        .text("frame", "fasting")
        .text("index", "insulin")
        .text("population", "cohort")
        .text("grouping", grouping)
        .text("group", group)
}

fn groups() -> Vec<(String, String)> {
    let everybody = [("everybody".to_owned(), "everybody".to_owned())];
    let many = (0..60).map(|i| {
        ("sex × age × ancestry".to_owned(), format!("women × 60 years and over × invented group {i}"))
    });
    let few = (0..3)
        .map(|i| ("bmi_class".to_owned(), format!("class {i} of the body-mass index, with a long name")));
    everybody.into_iter().chain(many).chain(few).collect()
}

fn value(position: usize) -> f64 {
    8.0 + (position * 7 % 13) as f64
}

fn cutoffs() -> (Table, Table) {
    let (mut cutoffs, mut accuracy) = (open("cutoffs"), open("cutoff_accuracy"));
    for (position, (grouping, group)) in groups().iter().enumerate() {
        let value = value(position);
        let upper = if position == 5 { 4000.0 } else { value * 1.3 };
        let lower = if position == 9 { 0.01 } else { value * 0.8 };
        for (rank, rule) in RULES.into_iter().enumerate() {
            lead(&mut cutoffs, grouping, group)
                .text("outcome", "syndrome")
                .whole("n", Some(123_456_789))
                .whole("n_with", Some(1))
                .text("rule", rule)
                .real("cutoff", Some(value + rank as f64 * 0.01))
                .real("lower", Some(lower))
                .real("upper", Some(upper))
                .text("interval", "95 % percentile of replicates")
                .text("withheld", if position == 20 { REASON } else { "" })
                .done()
                .unwrap();
            for (measure, value) in
                [("sensitivity", 0.95 - 0.01 * rank as f64), ("specificity", 0.3 + 0.01 * rank as f64)]
            {
                lead(&mut accuracy, grouping, group)
                    .text("outcome", "syndrome")
                    .text("rule", rule)
                    .text("measure", measure)
                    .real("value", Some(value))
                    .done()
                    .unwrap();
            }
        }
    }
    (cutoffs, accuracy)
}

fn percentiles_and_shares() -> (Table, Table) {
    let (mut percentiles, mut shares) = (open("percentiles"), open("threshold_shares"));
    for (position, (grouping, group)) in groups().iter().enumerate() {
        for percentile in [50.0, 75.0, 90.0] {
            let value = value(position) * percentile / 50.0;
            lead(&mut percentiles, grouping, group)
                .whole("n", Some(1))
                .real("percentile", Some(percentile))
                .real("value", Some(value))
                .real("lower", Some(value * 0.9))
                .real("upper", Some(value * 1.2))
                .text("method", "step")
                .text("interval", "95 % Woodruff, logit")
                .done()
                .unwrap();
        }
        for threshold in [1.0, 2.5, 5.0, 7.5, 10.0, 12.0, 15.0, 20.0] {
            lead(&mut shares, grouping, group)
                .real("threshold", Some(threshold))
                .text("strict", "yes")
                .whole("n", Some(2))
                .real("percentile", Some(threshold * 5.0))
                .real("share_beyond", Some(100.0 - threshold * 5.0))
                .text("withheld", if position == 20 { REASON } else { "" })
                .done()
                .unwrap();
        }
    }
    (percentiles, shares)
}

fn roc() -> (Table, Table) {
    let (mut points, mut auc) = (open("roc_points"), open("auc"));
    lead(&mut auc, "everybody", "everybody")
        .text("outcome", "syndrome")
        .text("withheld", REASON)
        .done()
        .unwrap();
    for step in 1..3000 {
        let share = f64::from(step) / 3000.0;
        lead(&mut points, "everybody", "everybody")
            .text("outcome", "syndrome")
            .real("false_positive_share", Some(share))
            .real("sensitivity", Some(share.powf(0.15)))
            .real("sensitivity_lower", Some(share.powf(0.2)))
            .real("sensitivity_upper", Some(share.powf(0.1)))
            .done()
            .unwrap();
        for (grouping, group) in groups().iter().skip(61).filter(|_| step % 5 == 0) {
            lead(&mut points, grouping, group)
                .text("outcome", "syndrome")
                .real("false_positive_share", Some(share))
                .real("sensitivity", Some(share.powf(0.3)))
                .done()
                .unwrap();
        }
    }
    (points, auc)
}

fn distribution() -> Table {
    let mut table = open("distributions");
    for bin in 0..30 {
        lead(&mut table, "everybody", "everybody")
            .real("from", Some(f64::from(bin) * 10.0))
            .real("to", Some(f64::from(bin + 1) * 10.0))
            .real("share", Some(100.0 * 0.5_f64.powi(bin + 1)))
            .done()
            .unwrap();
    }
    table
}

/// Everybody's cutoff and a group's own, judged in another sample; some withheld in part, some in whole.
fn transfer() -> Table {
    let mut table = open("transfer");
    for (position, (grouping, group)) in groups().iter().enumerate() {
        let own = if grouping == "everybody" { "" } else { "same group" };
        for derived_from in ["everybody", own].into_iter().filter(|whose| !whose.is_empty()) {
            for (measure, share) in [("sensitivity", 0.999), ("specificity", 0.000_1)] {
                let hidden = position == 20 || position == 30 && measure == "specificity";
                lead(&mut table, grouping, group)
                    .text("judged_in", "the fifth wave, with supplement (invented)")
                    .text("outcome", "syndrome")
                    .text("derived_from", derived_from)
                    .text("rule", "youden")
                    .text("cutoff_uncertainty", "fixed")
                    .text("measure", measure)
                    .whole("n", Some(123_456_789))
                    .real("cutoff", Some(value(position)))
                    .real("value", Some(share))
                    .real("lower", Some(0.0))
                    .real("upper", Some(1.0))
                    .text("withheld", if hidden { REASON } else { "" })
                    .done()
                    .unwrap();
            }
        }
    }
    table
}

pub fn tables() -> Vec<Table> {
    let (cutoffs, accuracy) = cutoffs();
    let (percentiles, shares) = percentiles_and_shares();
    let (points, auc) = roc();
    vec![percentiles, auc, points, cutoffs, accuracy, shares, distribution(), transfer()]
}

pub fn labels() -> Labels {
    let mut labels = Labels {
        survey:
            "Veldmark Health and Nutrition Survey, third and fourth wave pooled, with supplement (invented)"
                .to_owned(),
        ..Labels::default()
    };
    let label = "Fasting insulin measured after an overnight fast".to_owned();
    labels.indices.insert(
        "insulin".to_owned(),
        IndexLabel { label, unit: "µU/mL".to_owned(), lower_is_resistant: false },
    );
    labels.outcomes.insert(
        "syndrome".to_owned(),
        "metabolic syndrome, three or more of five criteria, glucose criterion left out, 3 of the remaining 4".to_owned(),
    );
    labels.rules.insert(
        "youden".to_owned(),
        "largest Youden index (sensitivity + specificity − 1), ties to the higher sensitivity".to_owned(),
    );
    labels
}
