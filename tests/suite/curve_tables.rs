//! Curves over age and BMI of the invented survey: near the truth, in order, inside their bands, saved whole.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use cutspan::chart::{Labels, Print, draw_all};
use cutspan::stats::interval::normal_quantile;
use cutspan::study::{self, LmsPower, Over, Withhold};
use cutspan::table::{Row, Table};
use cutspan::{cohort, pipeline, source, tally};

/// A sample of about 180 people of a sex and BMI class leaves its P50 and P75 uncertain by 7 % (one standard
/// error), and the class's truth is a mixture over its BMIs, not the value at its middle.
const NEAR: f64 = 0.16;

const REGRESSION: &str = "quantile_regression_on_natural_spline";
const LMS: &str = "lms_on_natural_spline";

/// Values computed from numbers that went through a table.
const WRITTEN: f64 = 1e-9;

fn pipelines() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines")
}

fn demo_text() -> String {
    let text = std::fs::read_to_string(pipelines().join("demo.toml")).unwrap();
    text.replace("replicates = 500", "replicates = 40").replace("replicates = 100 ", "replicates = 40 ")
}

fn demo_study() -> study::Study {
    study::parse(&demo_text(), "demo.toml", &pipelines()).unwrap()
}

fn truth() -> BTreeMap<(String, String), f64> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-public/veldmark-truth.csv");
    let mut reader = csv::Reader::from_path(file).unwrap();
    let rows = reader.records().map(Result::unwrap);
    let rows = rows.filter(|row| &row[0] == "cohort" && &row[1] == "sex × bmi_class" && &row[4] == "homa_ir");
    rows.map(|row| ((row[2].to_owned(), row[3].to_owned()), row[5].parse().unwrap())).collect()
}

fn bracketed(row: &Row<'_>, column: &str) -> f64 {
    let [value, lower, upper] = [column, "lower", "upper"].map(|name| row.shown(name).unwrap());
    assert!(lower < value && value < upper, "{value} is not within {lower} to {upper}");
    value
}

#[test]
fn the_demo_has_curves_near_the_truth_that_do_not_cross() {
    let results = pipeline::estimate(&demo_study(), &[]).unwrap();
    let table = |name: &str| -> &Table { results.tables.iter().find(|table| table.name == name).unwrap() };
    let (percentiles, cutoffs, checks) =
        (table("percentile_curves"), table("cutoff_curves"), table("curve_checks"));
    charts_of_curves_are_whole(&results.tables);

    let mut curves: BTreeMap<(String, String, i64), Vec<f64>> = BTreeMap::new();
    for row in percentiles.iter().filter(|row| row.text("method") == REGRESSION) {
        let key = (row.text("group").to_owned(), row.text("over").to_owned(), row.real("x").unwrap() as i64);
        curves.entry(key).or_default().push(bracketed(&row, "value"));
    }
    assert!(curves.len() > 100, "two sexes, ages and BMIs: {}", curves.len());
    for (place, values) in &curves {
        assert!(values.len() == 3 && values.is_sorted(), "curves cross at {place:?}: {values:?}");
    }
    let truth = truth();
    for sex in ["male", "female"] {
        for (class, bmi) in [("18.5-24.9", 22), ("25-29.9", 27)] {
            let values = &curves[&(sex.to_owned(), "bmi".to_owned(), bmi)];
            for (name, value) in ["percentile_50", "percentile_75"].iter().zip(values) {
                let want = truth[&(format!("{sex} × {class}"), (*name).to_owned())];
                assert!(
                    (value / want - 1.0).abs() < NEAR,
                    "{sex} at {bmi}: {name} is {value}, in truth {want}"
                );
            }
        }
    }
    let mut shown = 0;
    for row in cutoffs.iter().filter(|row| row.shown("cutoff").is_some()) {
        let cutoff = bracketed(&row, "cutoff");
        let auc = row.real("auc").unwrap();
        assert!(cutoff > 0.0 && row.real("auc_lower").unwrap() < auc && auc < row.real("auc_upper").unwrap());
        shown += 1;
    }
    assert!(shown > 100, "{shown} cutoffs shown");
    let bins =
        checks.iter().filter(|row| row.text("measure") == "percentile" && row.shown("value").is_some());
    assert_eq!(bins.count(), 2 * 2 * 5 * 3, "sexes, covariates, bins, percentiles");
    lms_percentiles_follow_from_their_parameters(&results.tables);
    comparisons_are_those_of_the_printed_curves(&results.tables);
}

/// Draws the curves of the demo: every line has its points, and a fifth without a mark its reason.
fn charts_of_curves_are_whole(tables: &[Table]) {
    let curves = ["percentile_curves", "cutoff_curves", "curve_checks"];
    let tables: Vec<Table> = tables.iter().filter(|table| curves.contains(&table.name)).cloned().collect();
    let charts = draw_all(&tables, &Labels::default(), &Print::default()).unwrap();
    assert!(charts.len() > 3, "{}", charts.len());
    for chart in &charts {
        assert!(!chart.svg.contains("MM") && !chart.svg.contains("d=\"M\""), "{}", chart.name);
    }
    let by_bmi =
        charts.iter().find(|chart| chart.name == "cutoff_curves_homa_ir_insulin_resistant_bmi").unwrap();
    assert!(by_bmi.svg.contains("Marks withheld: "), "{}", by_bmi.name);
}

fn named<'t>(tables: &'t [Table], name: &str) -> &'t Table {
    tables.iter().find(|table| table.name == name).unwrap()
}

/// Place of a row: group, what it runs over and where.
fn place(row: &Row<'_>) -> (String, String, i64) {
    (row.text("group").to_owned(), row.text("over").to_owned(), row.real("x").unwrap() as i64)
}

/// Percentiles by method, place and percent.
fn printed(tables: &[Table], method: &str, percent: f64) -> BTreeMap<(String, String, i64), (f64, f64, f64)> {
    let rows = named(tables, "percentile_curves").iter();
    let own = rows.filter(|row| row.text("method") == method && row.real("percentile") == Some(percent));
    own.map(|row| {
        (place(&row), (bracketed(&row, "value"), row.real("lower").unwrap(), row.real("upper").unwrap()))
    })
    .collect()
}

fn lms_percentiles_follow_from_their_parameters(tables: &[Table]) {
    let parameters = named(tables, "lms_parameters");
    assert!(parameters.rows.len() > 100, "two sexes, ages and BMIs: {}", parameters.rows.len());
    for percent in [50.0, 75.0, 90.0] {
        let curve = printed(tables, LMS, percent);
        assert_eq!(curve.len(), parameters.rows.len());
        let z = normal_quantile(percent / 100.0);
        for row in parameters.iter() {
            let [l, m, s] = ["l", "m", "s"].map(|column| row.real(column).unwrap());
            let want = m * (1.0 + l * s * z).powf(1.0 / l);
            let got = curve[&place(&row)].0;
            assert!((got / want - 1.0).abs() < WRITTEN, "P{percent} at {:?}: {got} {want}", place(&row));
        }
    }
}

fn comparisons_are_those_of_the_printed_curves(tables: &[Table]) {
    let comparisons = named(tables, "curve_comparisons");
    assert_eq!(comparisons.rows.len(), 2 * 2 * 3 * 3, "sexes, covariates, percentiles, pairs of methods");
    for row in comparisons.iter().filter(|row| row.text("compared_with") == REGRESSION) {
        let percent = row.real("percentile").unwrap();
        let [own, other] = [LMS, REGRESSION].map(|method| printed(tables, method, percent));
        let same = |(group, over, _): &&(String, String, i64)| {
            row.text("group") == group && row.text("over") == over
        };
        let places: Vec<_> = own.keys().filter(same).collect();
        let away: Vec<f64> = places.iter().map(|at| 100.0 * (own[*at].0 / other[*at].0 - 1.0)).collect();
        let largest = away.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap();
        let within =
            places.iter().filter(|at| other[**at].1 <= own[**at].0 && own[**at].0 <= other[**at].2).count();
        assert_eq!(
            (row.whole("places"), row.whole("within")),
            (Some(places.len() as i64), Some(within as i64))
        );
        let mean = away.iter().sum::<f64>() / away.len() as f64;
        assert!((row.real("mean_difference").unwrap() - mean).abs() < 100.0 * WRITTEN);
        assert!((row.real("largest_difference").unwrap() - largest).abs() < 100.0 * WRITTEN);
        let below = row.real("share_below").unwrap();
        assert!((below - percent).abs() < 4.0, "{below} % are below P{percent} of {:?}", row.text("group"));
    }
    for row in comparisons.iter().filter(|row| row.text("compared_with") == "bins") {
        assert_eq!(row.whole("places"), Some(5), "fifths of the people");
        assert!(row.real("mean_difference").unwrap().abs() < 100.0 * NEAR);
        beside_the_bins(tables, &row);
    }
    let counted: Vec<(f64, f64)> = comparisons
        .iter()
        .filter_map(|row| Some((row.real("share_below")?, row.real("percentile")?)))
        .collect();
    assert_eq!(counted.len(), 2 * 2 * 3 * 2, "quantile regression sets its own");
    assert!(counted.iter().any(|(below, percent)| (below - percent).abs() > 0.1), "counted: {counted:?}");
}

/// A comparison with the bins, made again from the printed curve and the printed bins.
fn beside_the_bins(tables: &[Table], row: &Row<'_>) {
    let (percent, who) = (row.real("percentile").unwrap(), (row.text("group"), row.text("over")));
    let curve: Vec<(f64, f64)> = printed(tables, row.text("method"), percent)
        .into_iter()
        .filter(|((group, over, _), _)| (group.as_str(), over.as_str()) == who)
        .map(|((_, _, x), (value, ..))| (x as f64, value))
        .collect();
    let between = |x: f64| {
        let next = curve.iter().position(|(place, _)| *place >= x).unwrap().max(1);
        let ((from, low), (to, high)) = (curve[next - 1], curve[next]);
        low + (x - from) / (to - from) * (high - low)
    };
    let bins = named(tables, "curve_checks").iter().filter(|bin| {
        (bin.text("group"), bin.text("over")) == who && bin.real("percentile") == Some(percent)
    });
    let (mut away, mut within) = (Vec::new(), 0);
    for bin in bins {
        let [x, value, lower, upper] = ["x", "value", "lower", "upper"].map(|name| bin.real(name).unwrap());
        let curve = between(x);
        away.push((x, 100.0 * (curve / value - 1.0)));
        within += i64::from(lower <= curve && curve <= upper);
    }
    let mean = away.iter().map(|(_, away)| away).sum::<f64>() / away.len() as f64;
    let largest = away.iter().copied().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).unwrap();
    let near = |column: &str, want: f64| {
        let got = row.real(column).unwrap();
        assert!((got - want).abs() < 100.0 * WRITTEN, "{column} of {who:?}, P{percent}: {got} {want}");
    };
    near("mean_difference", mean);
    near("largest_difference", largest.1);
    near("at", largest.0);
    assert_eq!(row.whole("within"), Some(within));
}

/// People who may not be shown: one sex is too few, so that the other is left out beside it, and all fifths are.
#[test]
fn curves_of_people_who_are_not_counted_are_withheld_and_a_power_on_the_spline_runs() {
    let mut study = demo_study();
    study.sensitivity = None;
    study.standardisation = None;
    study.resampling.replicates = 8;
    study.withhold = Withhold::Withhold;
    let curves = study.curves.as_mut().unwrap();
    (curves.replicates, curves.lms, curves.over) = (8, Some(LmsPower::Spline), vec![Over::Age]);
    study.public = true;
    let public = pipeline::estimate(&study, &[]).unwrap().tables;
    let powers: Vec<f64> = named(&public, "lms_parameters").iter().filter_map(|row| row.real("l")).collect();
    assert!(powers.iter().any(|l| (l - powers[0]).abs() > 1e-3), "the power runs: {powers:?}");
    let sizes: Vec<i64> = named(&public, "lms_parameters").iter().filter_map(|row| row.whole("n")).collect();
    let most = sizes.iter().max().unwrap();
    assert!(sizes.iter().any(|n| n < most), "{sizes:?}");
    study.public = false;
    study.minimum_cell = *most as u32;
    let tables = pipeline::estimate(&study, &[]).unwrap().tables;
    for row in named(&tables, "lms_parameters").iter() {
        assert_eq!(row.text("power"), "spline");
        assert!(!row.text("withheld").is_empty(), "{}", row.text("group"));
        for column in ["n", "l", "m", "s"] {
            assert_eq!(row.real(column), None, "{column} of {}", row.text("group"));
        }
    }
    let comparisons = named(&tables, "curve_comparisons");
    assert!(!comparisons.rows.is_empty());
    for row in comparisons.iter() {
        let shown = row.text("withheld").is_empty();
        assert_eq!(row.real("share_below").is_some(), shown && row.text("method") == LMS);
        if row.text("compared_with") == "bins" {
            assert_eq!(row.whole("places"), Some(0), "no fifth is printed");
            assert_eq!(row.real("mean_difference"), None);
        } else {
            assert_eq!(row.real("mean_difference").is_some(), shown);
        }
    }
}

#[test]
fn joint_tallies_come_back_from_the_files() {
    let study = demo_study();
    let loaded = source::read_all(&study, &[]).unwrap();
    let cohort = cohort::build(&study, &loaded).unwrap();
    let joints = tally::joints(&study, &cohort).unwrap();
    let over = |j: &&tally::JointTally| {
        j.columns.iter().any(|c| matches!(c, tally::JointColumn::Age | tally::JointColumn::Bmi))
    };
    assert_eq!(joints.iter().filter(over).count(), 2, "age and BMI in one frame");
    let tallies = tally::Tallies { joints, ..tally::collect(&cohort).unwrap() };
    let folder = tempfile::tempdir().unwrap();
    tally::save(&tallies, &study, folder.path()).unwrap();
    assert_eq!(tally::load(&study, folder.path()).unwrap(), tallies);
    assert_eq!(tally::merge(std::slice::from_ref(&tallies)).unwrap(), tallies);
}

#[test]
fn defaults_are_written_out_and_slips_are_named() {
    let study = demo_study();
    let again = study::parse(&study.resolved_toml, "study.toml", &study.folder).unwrap();
    assert_eq!(again.curves, study.curves);
    let curves = study.curves.unwrap();
    assert_eq!(
        (curves.over, curves.indices, curves.outcomes),
        (vec![Over::Age, Over::Bmi], vec![0], vec![0])
    );
    assert_eq!(curves.lms, Some(LmsPower::Constant), "asked for by the demo, with the usual power");
    assert!(study.resolved_toml.contains("[analysis.curves]"));
    let without = demo_text().replacen("lms = true ", "lms = false ", 1);
    let without = study::parse(&without, "demo.toml", &study.folder).unwrap();
    assert_eq!(without.curves.as_ref().unwrap().lms, None);
    assert!(!without.resolved_toml.contains("lms_power"), "a power of nothing");
    let again = study::parse(&without.resolved_toml, "study.toml", &study.folder).unwrap();
    assert_eq!(again.curves, without.curves);
    for (right, wrong, said) in [
        ("over = [\"age\"", "over = [\"agee\"", "age"),
        ("by = \"sex\"", "by = \"sx\"", "sex"),
        ("knots = 3", "knots = 9", "found 9"),
        ("replicates = 40\n", "replicates = 41\n", "found 41"),
        ("lms = true", "lms = false", "needs lms = true"),
        ("lms_power = \"constant\"", "lms_power = \"constnt\"", "constnt"),
    ] {
        let text = &study.resolved_toml;
        let at = text.find("[analysis.curves]").unwrap();
        let slip = format!("{}{}", &text[..at], text[at..].replacen(right, wrong, 1));
        assert_ne!(&slip, text, "{right}");
        let error = study::parse(&slip, "study.toml", &study.folder).unwrap_err().to_string();
        assert!(error.contains("study.toml:") && error.contains(said), "{error}");
    }
}
