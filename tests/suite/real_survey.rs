//! The whole way from official files to estimates, against numbers made outside the project.

use std::fs;
use std::path::PathBuf;

use cutspan::analysis::Results;
use cutspan::cohort::{self, Cohort};
use cutspan::pipeline;
use cutspan::study::{self, Study};
use cutspan::table::{Row, Table};
use cutspan::tally::{self, Tallies};

use crate::support::{assert_close, official_data};

fn parse(text: &str) -> Study {
    study::parse(text, "test.toml", &PathBuf::from(".")).unwrap_or_else(|e| panic!("{e:#?}"))
}

fn estimates(text: &str) -> Option<Results> {
    let data = official_data()?;
    Some(pipeline::estimate(&parse(text), &[data]).unwrap_or_else(|e| panic!("{e:?}")))
}

fn table<'a>(results: &'a Results, name: &str) -> &'a Table {
    results.tables.iter().find(|t| t.name == name).unwrap()
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

/// Official insulin tables, printed with two decimals; official percentiles interpolate and the file
/// of 2013–2014 was revised after the table was made, so the last printed digits differ.
const OFFICIAL: f64 = 0.02 + 1e-9;

struct Official {
    cycle: &'static str,
    index: &'static str,
    n: i64,
    mean: (f64, f64),
    percentiles: [f64; 5],
}

/// NCHS, documentation of the 2013–2014 insulin file (`INS_H`): geometric mean (standard error) and
/// percentiles 5, 25, 50, 75 and 95 of fasting insulin, as released and adjusted to the method of 2011–2012.
const OFFICIAL_INSULIN: [Official; 3] = [
    Official {
        cycle: "2011-2012",
        index: "insulin",
        n: 2704,
        mean: (10.31, 0.17),
        percentiles: [3.51, 6.47, 10.13, 16.21, 32.22],
    },
    Official {
        cycle: "2013-2014",
        index: "insulin",
        n: 2848,
        mean: (9.20, 0.27),
        percentiles: [3.00, 5.74, 8.89, 14.38, 31.57],
    },
    Official {
        cycle: "2013-2014",
        index: "insulin_as_2011",
        n: 2848,
        mean: (10.46, 0.31),
        percentiles: [3.50, 6.60, 10.12, 16.17, 34.86],
    },
];

#[test]
fn insulin_equals_the_official_tables() {
    for official in &OFFICIAL_INSULIN {
        let rest = format!(
            r#"
[cohort]
[analysis]
indices = ["{}"]
outcomes = []
groups = []
percentiles = [5, 25, 50, 75, 95]
[[define.index]]
name = "insulin_as_2011"
label = "Insulin by the method of 2011-2012"
formula = "POWER(10.0, 0.9765 * LOG10(insulin_uu_ml) + 0.07832)"
unit = "uU/mL"
direction = "higher"
source = "NCHS, documentation of INS_H, backward Deming regression"
"#,
            official.index
        );
        let Some(results) = estimates(&study_of(official.cycle, &rest)) else { return };
        let means = table(&results, "geometric_means");
        let mean = means.iter().next().unwrap();
        assert_eq!(mean.whole("n"), Some(official.n), "{}", official.cycle);
        assert_close(mean.real("value").unwrap(), official.mean.0, OFFICIAL, official.cycle);
        assert_close(mean.real("standard_error").unwrap(), official.mean.1, OFFICIAL, official.cycle);
        let percentiles = table(&results, "percentiles");
        for (row, want) in percentiles.iter().zip(official.percentiles) {
            assert_close(row.real("value").unwrap(), want, OFFICIAL, official.cycle);
        }
        assert_eq!(percentiles.rows.len(), 5);
    }
}

/// NCHS, documentation of the 2015–2016 glucose file (`GLU_I`): share of non-pregnant adults of 18 or
/// more without diagnosed diabetes with fasting glucose of 100–125 and of 126 mg/dL or more, after the
/// backward equation to the method of 2013–2014: 41.5 % and 3.4 %, printed with one decimal.
#[test]
fn raised_glucose_equals_the_official_figures_after_the_backward_equation() {
    let rest = r#"
[cohort]
age = { from = 18 }
exclude = ["pregnant", "diagnosed_diabetes"]
[analysis]
indices = ["glucose_as_2013"]
outcomes = []
groups = []
[[analysis.threshold]]
index = "glucose_as_2013"
value = 100.0
source = "test"
[[analysis.threshold]]
index = "glucose_as_2013"
value = 126.0
source = "test"
[[define.index]]
name = "glucose_as_2013"
label = "Glucose by the method of 2013-2014"
formula = "0.9776 * glucose_mg_dl + 0.4994"
unit = "mg/dL"
direction = "higher"
source = "NCHS, documentation of GLU_I, backward regression"
"#;
    let Some(results) = estimates(&study_of("2015-2016", rest)) else { return };
    let beyond = |threshold: f64| {
        let table = table(&results, "threshold_shares");
        let row = table.iter().find(|r| r.real("threshold") == Some(threshold)).unwrap();
        row.real("share_beyond").unwrap()
    };
    assert_close(beyond(100.0) - beyond(126.0), 41.5, 0.05, "100 to 125 mg/dL");
    assert_close(beyond(126.0), 3.4, 0.05, "126 mg/dL or more");
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
        for end in ["cutoff", "flat_from", "flat_to"] {
            let (h, q) = (homa.real(end).unwrap(), quicki.real(end).unwrap());
            assert_close(q, 1.0 / (405.0 * h).log10(), MAPPED, end);
            mapped += 1;
        }
    }
    assert_eq!(mapped, 3 * 6 * 3);
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
