//! The whole way from official files to estimates, against numbers made outside the project.

use std::fs;
use std::path::PathBuf;

use cutspan::analysis::Results;
use cutspan::cohort::{self, Cohort};
use cutspan::pipeline;
use cutspan::study::{self, Study};
use cutspan::table::Row;
use cutspan::tally::{self, Tallies};

use crate::support::{assert_close, official_data, table};

fn parse(text: &str) -> Study {
    study::parse(text, "test.toml", &PathBuf::from(".")).unwrap_or_else(|e| panic!("{e:#?}"))
}

fn estimates(text: &str) -> Option<Results> {
    let data = official_data()?;
    Some(pipeline::estimate(&parse(text), &[data]).unwrap_or_else(|e| panic!("{e:?}")))
}

fn study_of(cycle: &str, rest: &str) -> String {
    format!(
        "title = \"test\"\nquestion = \"test\"\n[[source]]\nsurvey = \"nhanes\"\ncycle = \"{cycle}\"\n{rest}"
    )
}

const ADULTS_BY_R: &str = r#"
[cohort]
age = { from = 20 }
exclude = ["pregnant", "diagnosed_diabetes", "diabetes_by_fasting_glucose"]
[analysis]
indices = ["homa_ir"]
outcomes = ["a1c_5_7_or_more"]
groups = ["sex", "age_20_40_60", "three_bmi_bands", "ancestry"]
percentiles = [50, 75, 90]
rules = ["youden"]
[resampling]
kind = "jackknife"
[[define.outcome]]
name = "a1c_5_7_or_more"
label = "A1c 5.7 % or more"
formula = "a1c_percent >= 5.7"
source = "test"
[[define.group]]
name = "three_bmi_bands"
label = "BMI"
column = "bmi_kg_m2"
cuts = [25.0, 30.0]
labels = ["under 25", "25 to 29.9", "30 or more"]
source = "test"
"#;

/// Values and ends are decimals that both programs print: they agree to the last one.
const VALUE: f64 = 1e-9;
/// Two sums over thousands of people in different orders.
const STANDARD_ERROR: f64 = 1e-8;

#[test]
fn percentiles_and_areas_equal_those_of_r_survey() {
    let Some(results) = estimates(&study_of("2017-2020", ADULTS_BY_R)) else { return };
    let expected = fs::read_to_string("tests/reference/survey_2017_2020/expected.csv").unwrap();
    let mut compared = 0;
    for line in expected.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let want: Vec<&str> = line.split(',').collect();
        let number = |i: usize| want[i].parse::<f64>().unwrap();
        let of_group = |row: &Row| {
            row.text("population") == "cohort"
                && row.text("group") == if want[0] == "everybody" { "everybody" } else { want[1] }
        };
        if want[2] == "auc_a1c_5_7" {
            let table = table(&results, "auc");
            let row = table.iter().find(of_group).unwrap_or_else(|| panic!("no row for {line}"));
            assert_eq!(row.whole("n"), want[3].parse().ok(), "{line}");
            assert_eq!(row.whole("df"), want[4].parse().ok(), "{line}");
            assert_close(row.real("auc").unwrap(), number(5), VALUE, line);
            assert_close(row.real("standard_error").unwrap(), number(8), STANDARD_ERROR, line);
            // On the logit the interval leans a little; its width still is about 2 t standard errors.
            let width = row.real("upper").unwrap() - row.real("lower").unwrap();
            let t = cutspan::stats::interval::t_quantile(0.975, number(4));
            assert_close(width / (2.0 * t * number(8)), 1.0, 0.05, line);
        } else {
            let p: f64 = want[2].trim_start_matches("percentile_").parse().unwrap();
            let table = table(&results, "percentiles");
            let same = |row: &Row| of_group(row) && row.real("percentile") == Some(p);
            let row = table.iter().find(same).unwrap_or_else(|| panic!("no row for {line}"));
            assert_eq!(row.whole("n"), want[3].parse().ok(), "{line}");
            assert_eq!(row.whole("df"), want[4].parse().ok(), "{line}");
            assert_close(row.real("value").unwrap(), number(5), VALUE, line);
            assert_close(row.real("lower").unwrap(), number(6), VALUE, line);
            assert_close(row.real("upper").unwrap(), number(7), VALUE, line);
            assert_close(row.real("standard_error").unwrap(), number(8), STANDARD_ERROR, line);
        }
        compared += 1;
    }
    assert_eq!(compared, 14 * 4);
}

/// Keys are rounded to 1e-9; the slope of QUICKI in HOMA-IR is below 1 here.
const MAPPED: f64 = 2e-9;

const THREE_TWINS: &str = r#"
[cohort]
age = { from = 20 }
[analysis]
indices = ["homa_ir", "quicki", "firi"]
outcomes = ["low_hdl"]
groups = ["sex"]
[resampling]
replicates = 50
seed = 7
"#;

/// HOMA-IR, QUICKI and FIRI are one-to-one functions of glucose × insulin, so every result by rank is
/// the same (Rudvik and Månsson 2018, BMC Med Res Methodol 18), cutoffs map into each other.
#[test]
fn monotone_twins_give_the_same_areas_and_cutoffs_that_map_into_each_other() {
    let Some(results) = estimates(&study_of("2017-2020", THREE_TWINS)) else { return };
    let areas: Vec<Vec<f64>> = ["homa_ir", "quicki", "firi"]
        .iter()
        .map(|i| {
            table(&results, "auc")
                .iter()
                .filter(|r| r.text("index") == *i)
                .filter_map(|r| r.real("auc"))
                .collect()
        })
        .collect();
    assert_eq!(areas[0].len(), 3);
    assert_eq!(areas[0], areas[1]);
    assert_eq!(areas[0], areas[2]);
    let cutoffs = table(&results, "cutoffs");
    let of = |index: &str| -> Vec<Row> { cutoffs.iter().filter(|r| r.text("index") == index).collect() };
    let mut mapped = 0;
    for (homa, quicki) in of("homa_ir").iter().zip(of("quicki")) {
        assert_eq!(homa.real("youden"), quicki.real("youden"));
        let ends: &[&str] = match homa.text("rule") {
            "youden" => &["cutoff", "flat_from", "flat_to"],
            _ => &["cutoff"],
        };
        assert_eq!(homa.real("flat_from").is_some(), homa.text("rule") == "youden");
        for end in ends {
            let (h, q) = (homa.real(end).unwrap(), quicki.real(end).unwrap());
            assert_close(q, 1.0 / (405.0 * h).log10(), MAPPED, end);
            mapped += 1;
        }
    }
    assert_eq!(mapped, 3 * (6 + 2));
}

fn prepared(text: &str) -> Option<(Study, Cohort)> {
    let data = official_data()?;
    let study = parse(text);
    let loaded = cutspan::source::read_all(&study, &[data]).unwrap();
    let cohort = cohort::build(&study, &loaded).unwrap();
    Some((study, cohort))
}

#[test]
fn pieces_of_the_survey_merge_to_the_same_bytes_in_any_order() {
    let Some((study, whole)) = prepared(&study_of("2017-2020", ADULTS_BY_R)) else { return };
    let rows = whole.rows.height();
    let cuts = [0, rows / 5, rows / 2, rows];
    let pieces: Vec<Tallies> = cuts
        .windows(2)
        .map(|w| {
            let part = whole.rows.slice(w[0] as i64, w[1] - w[0]);
            tally::collect(&Cohort { rows: part, ..whole.clone() }).unwrap()
        })
        .collect();
    let bytes = |tallies: &Tallies| -> Vec<(String, Vec<u8>)> {
        let folder = tempfile::tempdir().unwrap();
        let names = tally::save(tallies, &study, folder.path()).unwrap();
        names.into_iter().map(|n| (n.clone(), fs::read(folder.path().join(n)).unwrap())).collect()
    };
    let at_once = bytes(&tally::collect(&whole).unwrap());
    assert!(at_once.len() >= 4);
    for order in [[0, 1, 2], [2, 0, 1], [1, 2, 0]] {
        let shuffled: Vec<Tallies> = order.iter().map(|&i| pieces[i].clone()).collect();
        assert!(bytes(&tally::merge(&shuffled).unwrap()) == at_once, "{order:?}");
    }
}

#[test]
fn one_thread_and_two_give_the_same_tables() {
    let Some(data) = official_data() else { return };
    let study = parse(&study_of("2017-2020", THREE_TWINS));
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| pipeline::estimate(&study, std::slice::from_ref(&data)).unwrap())
    };
    assert!(with(1).tables == with(2).tables);
}

#[test]
fn saved_tallies_come_back_the_same_and_a_changed_file_is_refused() {
    let Some((study, cohort)) = prepared(&study_of("2017-2020", THREE_TWINS)) else { return };
    let tallies = tally::collect(&cohort).unwrap();
    let folder = tempfile::tempdir().unwrap();
    tally::save(&tallies, &study, folder.path()).unwrap();
    assert!(tally::load(&study, folder.path()).unwrap() == tallies);
    let file = folder.path().join("fasting_homa_ir.parquet");
    let mut bytes = fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&file, bytes).unwrap();
    let refused = tally::load(&study, folder.path()).unwrap_err().to_string();
    assert!(refused.contains("sha256"), "{refused}");
}
