//! `cutspan plan` by the real program: its formats, what it takes from a run, and wrong options.

use std::process::Command;

use cutspan::study::{self, Study};

use crate::support::assert_close;

fn plan(arguments: &[&str]) -> (i32, String) {
    let run = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .arg("plan")
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    let said = [run.stdout, run.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
    (run.status.code().unwrap(), said)
}

/// One column of the rows of a measure.
fn column(csv: &str, measure: &str, name: &str) -> Vec<String> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let header = reader.headers().unwrap().clone();
    let place = |name: &str| header.iter().position(|h| h == name).unwrap();
    let rows = reader.records().map(Result::unwrap).filter(|row| &row[place("measure")] == measure);
    rows.map(|row| row[place(name)].to_owned()).collect()
}

fn widths(csv: &str, measure: &str) -> Vec<f64> {
    column(csv, measure, "width").iter().map(|width| width.parse().unwrap()).collect()
}

const FEW: &[&str] = &["--simulations", "100", "--auc", "0.8", "--cv", "0.5"];

#[test]
fn more_people_narrow_every_interval_in_every_format() {
    let sizes = ["--with", "50,200", "--without", "400"];
    let (code, csv) = plan(&[&sizes[..], FEW, &["--format", "csv"]].concat());
    assert_eq!(code, 0, "{csv}");
    for measure in ["sensitivity", "auc", "cutoff_smoothed", "cutoff_empirical"] {
        let widths = widths(&csv, measure);
        assert!(widths.len() == 2 && widths[0] > widths[1], "{measure}: {widths:?}");
    }
    assert_eq!(column(&csv, "specificity", "width")[0], column(&csv, "specificity", "width")[1]);
    assert_eq!(column(&csv, "percentile", "unit")[0], "× true value");
    let (code, text) = plan(&[&sizes[..], FEW].concat());
    assert!(code == 0 && text.contains("percentile 95") && text.contains("n^(-1/3)"), "{text}");
    let (code, again) = plan(&[&sizes[..], FEW, &["--format", "json"]].concat());
    let json: serde_json::Value = serde_json::from_str(&again).unwrap();
    let rows = json["rows"].as_array().unwrap();
    assert!(code == 0 && rows.len() == csv.lines().count() - 1);
    let cutoff = rows.iter().find(|row| row["measure"] == "cutoff_empirical").unwrap();
    assert_eq!(cutoff["width"].as_f64().unwrap(), widths(&csv, "cutoff_empirical")[0], "the same seed");
    assert!(cutoff["width_error"].as_f64().unwrap() > 0.0);
}

/// Simulated areas of two normal classes of equal spread lie 0.081 and 0.099 apart (central 95 %).
#[test]
fn an_area_is_as_wide_as_normal_classes_make_it() {
    for (with, without, auc, width) in [("60", "600", "0.9", 0.081), ("100", "300", "0.8", 0.099)] {
        let options = ["--with", with, "--without", without, "--auc", auc, "--simulations", "100"];
        let (code, csv) = plan(&[&options[..], &["--format", "csv"]].concat());
        assert_eq!(code, 0, "{csv}");
        assert!((widths(&csv, "auc")[0] / width - 1.0).abs() < 0.03, "{auc}: {:?}", widths(&csv, "auc"));
        let (_, text) = plan(&options);
        assert!(
            text.contains("exact variance for two normal classes of equal spread (Bamber 1975)"),
            "{text}"
        );
    }
}

#[test]
fn a_run_lends_its_area_distribution_and_design_effect() {
    let from = ["--from", "pipelines/demo.toml", "--index", "homa_ir", "--outcome", "insulin_resistant"];
    let sizes = ["--with", "300", "--without", "900", "--simulations", "100", "--format", "csv"];
    let (code, csv) = plan(&[&sizes[..], &from].concat());
    assert_eq!(code, 0, "{csv}");
    let first = |measure: &str, name: &str| -> f64 { column(&csv, measure, name)[0].parse().unwrap() };
    // data-public/veldmark-truth.csv: an area of 0.8514 and a median of 2.0068, here with standard errors of 0.010 and 0.047.
    assert_close(first("auc", "expected"), 0.8514, 3.0 * 0.010, "area");
    assert_close(first("percentile", "expected"), 2.0068, 3.0 * 0.047, "median");
    // People of one neighbourhood resemble each other.
    assert!((1.0..2.5).contains(&first("auc", "design_effect")));
    assert!((1.0..2.5).contains(&first("percentile", "design_effect")));
    let (_, stated) = plan(&[&sizes[..], &from, &["--design-effect", "9", "--auc", "0.6"]].concat());
    assert_eq!(column(&stated, "auc", "expected")[0], "0.6", "options come first");
    assert!(widths(&stated, "percentile")[0] > widths(&csv, "percentile")[0]);
}

#[test]
fn without_an_outcome_only_what_is_planned_is_said_and_the_run_lends_its_degrees_of_freedom() {
    let sizes = ["--with", "300", "--without", "900", "--simulations", "100"];
    let from = ["--from", "pipelines/demo.toml", "--index", "homa_ir"];
    let (code, text) = plan(&[&sizes[..], &from].concat());
    assert_eq!(code, 0, "{text}");
    assert!(
        text.contains("for shares and percentiles; 3") && text.contains("degrees of freedom; taken from"),
        "{text}"
    );
    assert!(
        text.contains("No --outcome (or --auc): no area and no cutoffs.") && !text.contains("No --df"),
        "{text}"
    );
    assert!(!text.contains("for the area"), "{text}");
    // Fewer degrees of freedom than the run's are wider, and its own are no news.
    let width = |more: &[&str]| {
        let (_, csv) = plan(&[&sizes[..], &from, more, &["--format", "csv"]].concat());
        widths(&csv, "percentile")[0]
    };
    assert!(width(&["--df", "5"]) > width(&[]) && width(&[]) > width(&["--df", "1199"]));
    let (_, stated) = plan(&[&sizes[..], &from, &["--auc", "0.8"]].concat());
    assert!(stated.contains("for want of --outcome the same for the area and cutoffs"), "{stated}");
}

#[test]
fn a_wanted_width_is_answered_by_numbers_of_people() {
    let asked = ["--width", "0.1", "--auc", "0.8", "--simulations", "100"];
    let answer = |more: &[&str]| plan(&[&asked[..], more].concat());
    let (code, text) = answer(&["--prevalence", "0.25"]);
    assert!(code == 0 && text.contains("An interval of the area no wider than 0.1 needs "), "{text}");
    let (_, csv) = answer(&["--prevalence", "0.25", "--format", "csv"]);
    let count = |name: &str| -> f64 { column(&csv, "auc", name)[0].parse().unwrap() };
    let (with, all) = (count("n_with"), count("n_with") + count("n_without"));
    assert!((with / all - 0.25).abs() < 0.01 && widths(&csv, "auc")[0] <= 0.1, "{csv}");
    // The interval among 100 and 300 people is 0.099 wide, as the simulated areas above lie apart.
    assert!((350.0..450.0).contains(&all), "{all}");
    let (_, beside) = answer(&["--with", "100", "--format", "csv"]);
    assert_eq!(column(&beside, "auc", "n_with"), ["100"]);
    for (more, wanted) in [
        (&["--with", "5"][..], "where the class that is given is too small"),
        (&[], "give one of --prevalence"),
        (&["--with", "50", "--without", "50"], "give one of --prevalence"),
        (&["--prevalence", "30"], "--prevalence is a share between 0 and 1"),
    ] {
        let (code, said) = answer(more);
        assert!(code == 2 && said.contains(wanted), "{wanted}: {said}");
    }
    let (code, said) = plan(&["--auc", "0.8"]);
    assert!(code == 2 && said.contains("--with 100 --without 300; or ask"), "{said}");
    let (code, said) = plan(&["--width", "0.1", "--prevalence", "0.3"]);
    assert!(code == 2 && said.contains("give --auc 0.8, or --from with --outcome"), "{said}");
}

#[test]
fn a_narrow_width_costs_no_more_than_a_wide_one() {
    let (code, csv) = plan(&[
        "--width",
        "0.001",
        "--prevalence",
        "0.3",
        "--auc",
        "0.8",
        "--simulations",
        "100",
        "--format",
        "csv",
    ]);
    assert_eq!(code, 0, "{csv}");
    let people: f64 = column(&csv, "auc", "n")[0].parse().unwrap();
    assert!(people > 1e6 && widths(&csv, "auc")[0] <= 0.001, "{csv}");
    for measure in ["cutoff_smoothed", "cutoff_empirical"] {
        let notice = &column(&csv, measure, "notices")[0];
        assert!(
            notice.contains("carried on from simulations of 10\u{202f}000 people"),
            "{measure}: {notice}"
        );
        assert!(widths(&csv, measure)[0] < 0.06, "{measure}: {csv}");
    }
}

/// Plan and run differ by the logit of replicates against the delta method, and by one degree of freedom of t.
const RUN_AND_PLAN: f64 = 0.04;
/// The plan counts the people with a known outcome, 4 % fewer, and takes its design effect from the median.
const PERCENTILES: f64 = 0.08;
/// Ends of 100 simulations and of 500 replicates vary by 10 % and 5 %; the classes are not quite normal.
const CUTOFFS: f64 = 0.3;
/// Twelve digits of the same number.
const PRINTED: f64 = 1e-11;

#[test]
fn a_plan_for_the_people_of_a_run_is_as_wide_as_the_run() {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
    // Without the sections that nothing here reads.
    let demo = study::load(&file).unwrap();
    let demo = Study { curves: None, sensitivity: None, standardisation: None, ..demo };
    let tables = cutspan::pipeline::estimate(&demo, &[]).unwrap().tables;
    let row = |table: &str, wanted: &[(&str, &str)]| {
        let table = tables.iter().find(|t| t.name == table).unwrap();
        table.iter().find(|row| wanted.iter().all(|(column, text)| row.text(column) == *text)).unwrap()
    };
    let ends = |row: &cutspan::table::Row<'_>| (row.real("lower").unwrap(), row.real("upper").unwrap());
    let everybody = [("index", "homa_ir"), ("grouping", "everybody"), ("outcome", "insulin_resistant")];
    let area = row("auc", &everybody);
    let count = |column: &str| area.whole(column).unwrap().to_string();
    let (df, with, without) = (count("df"), count("n_with"), count("n_without"));
    let from = ["--from", "pipelines/demo.toml", "--index", "homa_ir", "--outcome", "insulin_resistant"];
    let sizes =
        ["--with", &*with, "--without", &*without, "--df", &*df, "--simulations", "100", "--format", "csv"];
    let (code, csv) = plan(&[&sizes[..], &from].concat());
    assert_eq!(code, 0, "{csv}");
    let agrees = |planned: f64, run: f64, by: f64| {
        assert!((planned / run - 1.0).abs() < by, "planned {planned}, in the run {run}");
    };
    let expected = |measure: &str| column(&csv, measure, "expected")[0].parse::<f64>().unwrap();
    agrees(expected("auc"), area.real("auc").unwrap(), PRINTED);
    let median = row("percentiles", &everybody[..2]);
    agrees(expected("percentile"), median.real("value").unwrap(), PRINTED);
    let (lower, upper) = ends(&area);
    agrees(widths(&csv, "auc")[0], upper - lower, RUN_AND_PLAN);
    let (lower, upper) = ends(&median);
    agrees(widths(&csv, "percentile")[0], upper - lower, PERCENTILES);
    let smoothed = [&everybody[..], &[("method", "kernel_smoothed_youden")]].concat();
    let (lower, upper) = ends(&row("smoothed_cutoffs", &smoothed));
    agrees(widths(&csv, "cutoff_smoothed")[0], (upper / lower).ln(), CUTOFFS);
}

#[test]
fn people_drawn_singly_have_a_design_effect_of_one_and_units_are_explained() {
    let sizes = ["--with", "100", "--without", "300", "--simulations", "100"];
    let from =
        ["--from", "pipelines/own-table.toml", "--index", "homa_ir", "--outcome", "two_of_four_findings"];
    let (code, csv) = plan(&[&sizes[..], &from, &["--format", "csv"]].concat());
    assert_eq!(code, 0, "{csv}");
    for measure in ["auc", "percentile", "sensitivity", "cutoff_smoothed"] {
        assert_eq!(column(&csv, measure, "design_effect")[0], "1", "{measure}");
    }
    let (_, text) = plan(&[&sizes[..], &from].concat());
    assert!(
        text.contains("people drawn singly (design effect 1), as in") && !text.contains("No --df"),
        "{text}"
    );
    let (_, bare) = plan(&[&sizes[..], &["--auc", "0.8"]].concat());
    assert!(bare.contains("SD of the index away from the true cutoff"), "{bare}");
    assert!(bare.contains("−0.3 is three tenths of an SD too low. Add --cv"), "{bare}");
}

#[test]
fn wrong_options_are_named() {
    let sizes = ["--with", "50", "--without", "100"];
    let said = |more: &[&str]| {
        let (code, said) = plan(&[&sizes[..], more].concat());
        assert_eq!(code, 2, "{said}");
        said
    };
    assert!(said(&["--auc", "80"]).contains("--auc lies between 0.5"));
    assert!(said(&["--sensitivity", "80"]).contains("a share between 0 and 1"));
    assert!(said(&["--percentile", "100"]).contains("between 0 and 100"));
    assert!(said(&["--percentile", "0.9"]).contains("did you mean 90?"));
    assert!(said(&["--cv", "0"]).contains("--cv is a number above 0"));
    assert!(said(&["--design-effect", "0"]).contains("design effect must lie in (0, ∞)"));
    assert!(said(&["--index", "homa_ir"]).contains("--from"));
    assert!(plan(&["--with", "1", "--without", "9"]).1.contains("at least 2"));
    for sizes in [["--with", "5", "--without"], ["--width", "0.1", "--with"]] {
        let (code, said) = plan(&[&sizes[..], &["18446744073709551615", "--auc", "0.8"]].concat());
        assert!(code == 2 && said.contains("at most 10000000000, got 18446744073709551615"), "{said}");
    }
}
