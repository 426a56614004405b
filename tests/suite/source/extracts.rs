//! Made-up extracts of every era of the survey: every code and every missing code, person by person.

use std::fs;
use std::path::{Path, PathBuf};

use cutspan::definitions::Subsample;
use cutspan::source::{Loaded, SourceError, read};

use super::{cycle, numbers, study, texts, yes_no};

const ERAS: [&str; 4] = ["1999-2000", "2007-2008", "2017-2020", "2021-2023"];
const SPOKEN: &str =
    "glucose_mg_dl > insulin_uu_ml AND glucose_drug AND lipid_drug AND blood_pressure_drug AND pregnant";

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures")
}

fn read_in(folder: &Path, name: &str, spoken: &str) -> Result<Loaded, SourceError> {
    let source = cycle(name, 1.0);
    let study = study(vec![source.clone()], spoken);
    read(&study, &source, &[folder.to_path_buf()])
}

fn extract(name: &str) -> Loaded {
    read_in(&fixtures(), name, SPOKEN).unwrap_or_else(|e| panic!("{e}"))
}

/// Answers of the first ten people: y, n, or - for unknown.
fn answers(loaded: &Loaded, column: &str) -> String {
    let letter = |cell| match cell {
        Some(true) => 'y',
        Some(false) => 'n',
        None => '-',
    };
    yes_no(loaded, column).iter().take(10).map(letter).collect()
}

fn first(loaded: &Loaded, column: &str, people: usize) -> Vec<Option<f64>> {
    numbers(loaded, column).iter().take(people).collect()
}

#[test]
fn answers_and_skip_patterns_are_read_person_by_person() {
    for era in ERAS {
        let loaded = extract(era);
        let check =
            |column: &str, expected: &str| assert_eq!(answers(&loaded, column), expected, "{era} {column}");
        check("diagnosed_diabetes", "yyynn---nn");
        check("borderline_diabetes", "nnnny---nn");
        // 4 and 5 were not asked after a no and a borderline, 6 to 8 gave no answer on diabetes
        check("insulin_treated", "yn-nn---n-");
        check("diabetes_pills", "nynnnn----");
        check("glucose_drug", "yy-nn-----");
        // men are not pregnant; 6 cannot be ascertained, 8 is a woman without an answer
        check("pregnant", "nynnn-n-nn");
        check("pregnant_reported", "nynnn-n-n-");
        let late = era == "2021-2023";
        // 3 was never told to take medicine, 4, 9 and 10 were never told of high blood pressure
        check("blood_pressure_drug", if late { "yn-n----nn" } else { "ynnn----nn" });
        // 3 was never told to take it, 4 and 10 were never told of high cholesterol, 5 was never tested
        check("lipid_drug", if late { "yn---nnnnn" } else { "ynnnn----n" });
    }
}

#[test]
fn numbers_and_labels_are_read_person_by_person() {
    for era in ERAS {
        let loaded = extract(era);
        assert_eq!(loaded.frame.height(), 20);
        let glucose = [Some(95.0), Some(101.0), None, Some(126.0)];
        assert_eq!(first(&loaded, "glucose_mg_dl", 4), glucose, "{era}");
        assert_eq!(first(&loaded, "glucose_reported_mg_dl", 4), glucose);
        assert_eq!(first(&loaded, "hdl_mg_dl", 3), [Some(50.0), None, Some(45.0)]);
        assert_eq!(first(&loaded, "a1c_percent", 2), [Some(5.5), None]);
        assert_eq!(first(&loaded, "body_weight_kg", 2), [Some(70.0), None]);
        // hand: 9 h 30 min, 10 h, 12 h without minutes, 7 h 45 min
        assert_eq!(first(&loaded, "fasting_hours", 5), [Some(9.5), Some(10.0), None, None, Some(7.75)]);
        assert_eq!(texts(&loaded, "sex").get(1), Some("female"));
        assert_eq!(texts(&loaded, "ancestry").get(4), Some("Other or multiracial"));
        let detailed =
            loaded.frame.column("ancestry_detailed").ok().map(|c| c.str().unwrap().get(4).unwrap());
        assert_eq!(detailed, (era >= "2011").then_some("Non-Hispanic Asian"), "{era}");
        // weight zero and no weight stay what they are
        let weights = [Some(1000.5), Some(0.0), None, Some(2000.0)];
        assert_eq!(first(&loaded, "weight_fasting", 4), weights, "{era}");
        assert_eq!(first(&loaded, "weight_examination", 2), [Some(0.0), Some(1100.0)]);
    }
}

#[test]
fn blood_pressure_follows_the_protocol_of_the_era() {
    let mercury = extract("2007-2008");
    // hand: (120 + 110) / 2, the one reading, none, (116 + 114) / 2
    assert_eq!(first(&mercury, "systolic_mm_hg", 4), [Some(115.0), Some(120.0), None, Some(115.0)]);
    // hand: 40 alone is no zero; nothing but a zero; none; (72 + 74) / 2
    assert_eq!(first(&mercury, "diastolic_mm_hg", 4), [Some(40.0), None, None, Some(73.0)]);
    assert_eq!(texts(&mercury, "blood_pressure_protocol").get(0), Some("mercury"));
    let oscillometric = extract("2017-2020");
    // hand: (120 + 110 + 100) / 3 and (75 + 70 + 65) / 3
    assert_eq!(first(&oscillometric, "systolic_mm_hg", 2), [Some(110.0), None]);
    assert_eq!(first(&oscillometric, "diastolic_mm_hg", 2), [Some(70.0), None]);
    assert_eq!(texts(&oscillometric, "blood_pressure_protocol").get(0), Some("oscillometric"));
}

#[test]
fn what_only_some_eras_have_is_there_and_only_there() {
    let tolerance = extract("2007-2008");
    assert_eq!(first(&tolerance, "glucose_2h_mg_dl", 3), [Some(140.0), None, Some(199.0)]);
    assert_eq!(first(&tolerance, "weight_glucose_tolerance", 3), [Some(1200.0), Some(0.0), None]);
    assert_eq!(tolerance.weights.last(), Some(&Subsample::GlucoseTolerance));
    let pandemic = extract("2017-2020");
    assert_eq!(pandemic.weights, [Subsample::Interview, Subsample::Examination, Subsample::Fasting]);
    assert!(answers(&pandemic, "insulin_below_detection").starts_with("ny-n"));
    assert!(pandemic.frame.column("glucose_2h_mg_dl").is_err());
    assert!(extract("2021-2023").frame.column("triglycerides_mg_dl").is_err());
}

#[test]
fn pooling_1999_to_2002_reads_the_four_year_weights() {
    let source = cycle("1999-2000", 1.0);
    let study = study(vec![source.clone(), cycle("2001-2002", 1.0)], SPOKEN);
    let loaded = read(&study, &source, &[fixtures()]).unwrap();
    assert_eq!(first(&loaded, "weight_interview", 2), [Some(450.0), Some(500.0)]);
    assert_eq!(first(&loaded, "weight_fasting", 2), [Some(500.25), Some(0.0)]);
}

/// A copy of an era's files with `from` replaced by `to` in one of them, or without it.
fn altered(era: &str, name: &str, change: impl Fn(String) -> Option<String>) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(fixtures().join("nhanes").join(era)).unwrap() {
        let path = entry.unwrap().path();
        let target = folder.path().join(path.file_name().unwrap());
        if path.file_name().unwrap() == name {
            if let Some(text) = change(fs::read_to_string(&path).unwrap()) {
                fs::write(target, text).unwrap();
            }
        } else {
            fs::copy(&path, target).unwrap();
        }
    }
    folder
}

fn refused(name: &str, change: impl Fn(String) -> Option<String>) -> String {
    let folder = altered("2017-2020", name, change);
    read_in(folder.path(), "2017-2020", SPOKEN).unwrap_err().to_string()
}

#[test]
fn files_that_do_not_fit_are_refused_with_place_and_reason() {
    let code = refused("P_DIQ.csv", |text| Some(text.replacen("\n2,1,", "\n2,5,", 1)));
    assert!(code.contains("P_DIQ.csv, line 3, column `DIQ010`: found `5`"), "{code}");
    assert!(code.contains("1 (yes), 2 (no), 3 (no), or missing [7.0, 9.0]"), "{code}");
    let twice = refused("P_GLU.csv", |text| Some(text.replacen("\n4,", "\n3,", 1)));
    assert!(twice.contains("line 5") && twice.contains("line 4 too"), "{twice}");
    let stranger = refused("P_GLU.csv", |text| Some(text.replacen("\n4,", "\n444,", 1)));
    assert!(stranger.contains("found `444`") && stranger.contains("demographics"), "{stranger}");
    let negative = refused("P_GLU.csv", |text| Some(text.replacen("\n1,1000.5", "\n1,-3", 1)));
    assert!(negative.contains("`WTSAFPRP`: found `-3`, expected a weight of 0 or more"), "{negative}");
    let renamed = refused("P_GLU.csv", |text| Some(text.replace("LBXGLU", "GLUCOSE")));
    assert!(renamed.contains("no column `LBXGLU`") && renamed.contains("GLUCOSE"), "{renamed}");
    let words = refused("P_GLU.csv", |text| Some(text.replacen(",95", ",high", 1)));
    assert!(words.contains("line 2, column `LBXGLU`: found `high`"), "{words}");
}

#[test]
fn a_needed_file_is_missed_and_another_is_only_mentioned() {
    let missing = refused("P_INS.csv", |_| None);
    assert!(missing.contains("P_INS.XPT") && missing.contains("nhanes/2017-2020"), "{missing}");
    assert!(missing.contains("cutspan data get 2017-2020 --to FOLDER"), "{missing}");
    let folder = altered("2017-2020", "P_GHB.csv", |_| None);
    let loaded = read_in(folder.path(), "2017-2020", SPOKEN).unwrap();
    let said = loaded.notices.iter().find(|n| n.kind == "file_not_there").unwrap();
    assert!(said.message.contains("P_GHB"), "{said}");
    // A weight's file is needed by every study of its subsample.
    let folder = altered("2017-2020", "P_GLU.csv", |_| None);
    let error = read_in(folder.path(), "2017-2020", "triglycerides_mg_dl > 150").unwrap_err().to_string();
    assert!(error.contains("P_GLU.XPT"), "{error}");
}

#[test]
fn an_absent_quantity_that_a_study_speaks_of_is_a_caution() {
    let loaded = read_in(&fixtures(), "2021-2023", "triglycerides_mg_dl > 150").unwrap();
    let said = loaded.notices.iter().find(|n| n.kind == "quantity_absent").unwrap();
    assert!(
        said.message.starts_with("triglycerides is missing for everybody: not among the released files"),
        "{said}"
    );
    let loaded =
        read_in(&fixtures(), "1999-2000", "ancestry_detailed = 'Other' AND glucose_30_mg_dl > 1").unwrap();
    let said: Vec<&str> =
        loaded.notices.iter().filter(|n| n.kind == "quantity_absent").map(|n| n.message.as_str()).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].starts_with("ancestry_detailed") && said[1].starts_with("glucose_30"), "{said:?}");
}
