//! Items nobody answered, values below detection, and the stated alternatives: by brute force on the people of the
//! real survey.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use cutspan::analysis::Results;
use cutspan::notice::Notice;
use cutspan::source::{self, Loaded};
use cutspan::study::{self, Study};
use cutspan::table::{Row, Table};
use cutspan::{definitions, pipeline};
use polars::prelude::DataFrame;

use crate::support::{assert_close, official_data, table};

/// Sums of a few thousand weights in another order.
pub const SUM: f64 = 1e-6;

pub fn parse(text: &str, folder: &Path) -> Study {
    study::parse(text, "test.toml", folder).unwrap_or_else(|e| panic!("{e:#?}"))
}

/// The row of a table whose texts are these; panics unless there is exactly one.
#[track_caller]
pub fn row<'a>(table: &'a Table, texts: &[(&str, &str)]) -> Row<'a> {
    let same = |row: &Row| texts.iter().all(|(column, text)| row.text(column) == *text);
    let found: Vec<Row> = table.iter().filter(same).collect();
    assert_eq!(found.len(), 1, "rows with {texts:?}");
    found[0]
}

pub fn whole(row: &Row, columns: &[&str]) -> Vec<Option<i64>> {
    columns.iter().map(|column| row.whole(column)).collect()
}

pub const ANSWERS: [&str; 4] = ["n", "n_yes", "n_no", "n_unknown"];
pub const DECIDED: [&str; 4] = ["n_item_unknown", "decided_yes", "decided_no", "undecided"];

// ---- the real survey

const ADULTS: &str = r#"
title = "test"
question = "test"
[[source]]
survey = "nhanes"
cycle = "2017-2020"
[cohort]
age = { from = 20 }
exclude = ["pregnant", "diagnosed_diabetes"]
[analysis]
indices = ["homa_ir", "tyg"]
outcomes = ["metabolic_syndrome_harmonized_2009", "metabolic_syndrome_harmonized_2009_complete_case"]
waist_table = "united_states"
groups = ["sex", "age_20_40_60"]
rules = ["youden"]
[resampling]
replicates = 20
seed = 1
"#;

/// One person's columns, by hand: nothing here goes through a formula of the program.
struct People<'a>(&'a DataFrame);

impl People<'_> {
    fn number(&self, column: &str, person: usize) -> Option<f64> {
        self.0.column(column).unwrap().f64().unwrap().get(person)
    }

    fn yes(&self, column: &str, person: usize) -> Option<bool> {
        self.0.column(column).unwrap().bool().unwrap().get(person)
    }

    fn man(&self, person: usize) -> bool {
        self.0.column("sex").unwrap().str().unwrap().get(person) == Some("male")
    }

    /// The five items of the harmonized definition, waist 102 and 88 cm.
    fn items(&self, person: usize) -> [Option<bool>; 5] {
        let man = self.man(person);
        let at = |column: &str, limit: f64| self.number(column, person).map(|x| x >= limit);
        let drug = |name: &str| self.yes(name, person);
        let low = self.number("hdl_reported_mg_dl", person).map(|x| x < if man { 40.0 } else { 50.0 });
        let pressure = either(at("systolic_mm_hg", 130.0), at("diastolic_mm_hg", 85.0));
        [
            at("waist_cm", if man { 102.0 } else { 88.0 }),
            either(at("triglycerides_reported_mg_dl", 150.0), drug("lipid_drug")),
            either(low, drug("lipid_drug")),
            either(pressure, drug("blood_pressure_drug")),
            either(at("glucose_reported_mg_dl", 100.0), drug("glucose_drug")),
        ]
    }

    fn in_cohort(&self, person: usize) -> bool {
        self.number("weight_fasting", person).is_some_and(|w| w > 0.0)
            && self.number("age_years", person).is_some_and(|age| age >= 20.0)
            && self.yes("diagnosed_diabetes", person) != Some(true)
            && (self.man(person) || self.yes("pregnant", person) != Some(true))
    }
}

/// Yes when one is yes, no when both are no, else unknown.
fn either(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    match (a, b) {
        (Some(true), _) | (_, Some(true)) => Some(true),
        (Some(false), Some(false)) => Some(false),
        _ => None,
    }
}

/// The adults, read and estimated once; `None` without official files.
fn adults() -> Option<&'static (Results, Loaded)> {
    static FOUND: OnceLock<Option<(Results, Loaded)>> = OnceLock::new();
    let estimate = || {
        let data = official_data()?;
        let study = parse(ADULTS, &PathBuf::from("."));
        let loaded = source::read_all(&study, std::slice::from_ref(&data)).unwrap();
        Some((pipeline::estimate(&study, &[data]).unwrap_or_else(|e| panic!("{e:?}")), loaded))
    };
    FOUND.get_or_init(estimate).as_ref()
}

/// The prevalence among those whose answer is known is biased where a file is missing: the notice bounds it.
#[test]
fn a_cycle_without_a_file_bounds_the_prevalence_and_names_what_is_missing() {
    let Some(data) = official_data() else { return };
    let text = ADULTS
        .replace("2017-2020", "2021-2023")
        .replace(", \"metabolic_syndrome_harmonized_2009_complete_case\"", "")
        .replace("[\"homa_ir\", \"tyg\"]", "[\"homa_ir\"]");
    let study = parse(&text, &PathBuf::from("."));
    let results = pipeline::estimate(&study, std::slice::from_ref(&data)).unwrap();
    let items = table(&results, "outcome_items");
    let whole = row(items, &[("part", "outcome"), ("group", "everybody")]);
    let (yes, unknown) = (whole.real("yes_percent").unwrap(), whole.real("unknown_percent").unwrap());
    let said = results.notices.iter().find(|n| n.kind == "undecided_outcome").unwrap();
    let bounds = format!("anywhere from {yes:.1} to {:.1} %", yes + unknown);
    assert!(unknown > 5.0 && said.message.contains(&bounds), "{said}");
    assert!(said.message.contains("because triglycerides is missing for everybody"), "{said}");
    let study = parse(&text.replace("homa_ir", "tyg"), &PathBuf::from("."));
    let error = format!("{:#}", pipeline::estimate(&study, &[data]).unwrap_err());
    let named = "index tyg: nobody of the cohort has a value, because triglycerides is missing for everybody";
    assert!(error.contains(named), "{error}");
}

#[test]
fn items_of_the_metabolic_syndrome_on_the_real_survey_are_those_of_a_count_by_hand() {
    let Some((results, loaded)) = adults() else { return };
    let people = People(&loaded.frame);
    let cohort: Vec<usize> = (0..loaded.frame.height()).filter(|&p| people.in_cohort(p)).collect();
    assert!(cohort.len() > 3000, "{}", cohort.len());
    let items = table(results, "outcome_items");
    let name = "metabolic_syndrome_harmonized_2009";
    for (group, keep) in [("everybody", None), ("male", Some(true)), ("female", Some(false))] {
        let inside: Vec<usize> =
            cohort.iter().copied().filter(|&p| keep.is_none_or(|man| people.man(p) == man)).collect();
        let (mut answers, mut missing, mut decided, mut unknown) = ([0_i64; 3], 0, [0_i64; 2], [0_i64; 5]);
        let (mut weight, mut unknown_weight) = (0.0, 0.0);
        for &person in &inside {
            let own = people.items(person);
            let of = |answer: Option<bool>| own.iter().filter(|item| **item == answer).count();
            let answer = if of(Some(true)) >= 3 {
                0
            } else if of(Some(false)) >= 3 {
                1
            } else {
                2
            };
            answers[answer] += 1;
            let w = people.number("weight_fasting", person).unwrap();
            weight += w;
            unknown_weight += if answer == 2 { w } else { 0.0 };
            missing += i64::from(of(None) > 0);
            if answer < 2 && of(None) > 0 {
                decided[answer] += 1;
            }
            for (unknown, item) in unknown.iter_mut().zip(own) {
                *unknown += i64::from(item.is_none());
            }
        }
        let one = row(items, &[("outcome", name), ("part", "outcome"), ("group", group)]);
        assert_eq!(one.whole("n"), Some(inside.len() as i64), "{group}");
        assert_eq!(whole(&one, &ANSWERS[1..]), answers.map(Some), "{group}");
        assert_eq!(whole(&one, &DECIDED[..3]), [missing, decided[0], decided[1]].map(Some), "{group}");
        assert!(decided[0] > 0 && decided[1] > 0 && answers[2] > 0, "nothing to count in {group}");
        assert_close(one.real("unknown_percent").unwrap(), 100.0 * unknown_weight / weight, SUM, group);
        let complete = row(
            items,
            &[("outcome", &format!("{name}_complete_case")), ("part", "outcome"), ("group", group)],
        );
        assert_eq!(complete.whole("n_unknown"), Some(missing), "{group}");
        let names = [
            "large_waist",
            "high_triglycerides_or_drug",
            "low_hdl_or_drug",
            "raised_blood_pressure_or_drug",
            "raised_fasting_glucose_or_drug",
        ];
        for (item, unknown) in names.iter().zip(unknown) {
            let one = row(items, &[("outcome", name), ("item", item), ("group", group)]);
            assert_eq!(one.whole("n_unknown"), Some(unknown), "{item} in {group}");
        }
    }
}

#[test]
fn values_at_the_detection_limit_and_missing_ones_are_those_of_a_count_by_hand() {
    let Some((results, loaded)) = adults() else { return };
    let people = People(&loaded.frame);
    let limits = table(results, "measurement_limits");
    let cohort: Vec<usize> = (0..loaded.frame.height()).filter(|&p| people.in_cohort(p)).collect();
    let insulin = |p: usize| people.number("insulin_uu_ml", p);
    let one = row(limits, &[("quantity", "insulin")]);
    let count = |yes: &dyn Fn(usize) -> bool| Some(cohort.iter().filter(|p| yes(**p)).count() as i64);
    assert_eq!(one.whole("n"), Some(cohort.len() as i64));
    assert_eq!(one.whole("missing"), count(&|p| insulin(p).is_none()));
    assert_eq!(one.whole("at_fill"), count(&|p| insulin(p) == Some(0.71)));
    assert_eq!(one.whole("below_limit"), Some(0));
    // published: P_INS lists 4,625 values, 7 of them below the limit of detection.
    assert_eq!(whole(&one, &["read", "read_at_fill"]), [4625, 7].map(Some));
    let age = row(limits, &[("quantity", "age")]);
    assert_eq!(age.whole("top_coded"), count(&|p| people.number("age_years", p) == Some(80.0)));
    let lipids = row(limits, &[("quantity", "lipid_drug")]);
    assert_eq!(lipids.whole("n_yes"), count(&|p| people.yes("lipid_drug", p) == Some(true)));
    assert_eq!(lipids.whole("missing"), count(&|p| people.yes("lipid_drug", p).is_none()));
}

#[test]
fn releases_hold_as_many_values_at_the_limit_as_their_codebooks_list() {
    let Some(data) = official_data() else { return };
    // published: 16 values of 0.71 in L10AM_C, 7 marked in INS_J; smallest insulin of 2005-2006 is 1, so no limit.
    for (cycle, expected) in [("2003-2004", Some(16)), ("2017-2018", Some(7)), ("2005-2006", None)] {
        let text = ADULTS.replace("2017-2020", cycle);
        let results =
            pipeline::estimate(&parse(&text, &PathBuf::from(".")), std::slice::from_ref(&data)).unwrap();
        let one = row(table(&results, "measurement_limits"), &[("quantity", "insulin")]);
        assert_eq!(one.whole("read_at_fill"), expected, "{cycle}");
    }
}

// ---- alternatives and notices

#[test]
fn alternatives_can_be_named_by_a_section_of_other_choices_and_unknown_names_list_them() {
    let section = "[sensitivity]\nindex = \"homa_ir\"\noutcomes = [\"metabolic_syndrome_harmonized_2009\", \
                   \"metabolic_syndrome_harmonized_2009_without_treatment\"]\n\
                   [[sensitivity.exclusions]]\nname = \"detected\"\nexclude = [\"insulin_at_detection_limit\", \
                   \"lipid_drug\", \"blood_pressure_drug\"]\n";
    let study = parse(&format!("{ADULTS}{section}"), &PathBuf::from("."));
    let names: Vec<&str> = study.every_outcome().map(|o| o.row.name.as_str()).collect();
    assert_eq!(names.len(), 3, "{names:?}");
    let without = study.every_outcome().last().unwrap();
    assert!(!without.sql.contains("drug"), "{}", without.sql);
    let misspelt = format!("{ADULTS}{section}").replace("2009_without_treatment", "2009_without_treatmen");
    let error = study::parse(&misspelt, "test.toml", Path::new(".")).unwrap_err().to_string();
    assert!(error.contains("metabolic_syndrome_harmonized_2009_without_treatment"), "{error}");
    assert!(definitions::exclusions().iter().any(|row| row.name == "insulin_at_detection_limit"));
}

#[test]
fn an_exclusion_that_only_a_part_of_the_frame_was_asked_is_cautioned_with_its_share() {
    let Some(data) = official_data() else { return };
    let text = ADULTS
        .replace("indices = [\"homa_ir\", \"tyg\"]", "indices = [\"bmi\"]")
        .replace("\"diagnosed_diabetes\"]", "\"diagnosed_diabetes\", \"diabetes_by_fasting_glucose\"]")
        .replace(
            "[\"metabolic_syndrome_harmonized_2009\", \"metabolic_syndrome_harmonized_2009_complete_case\"]",
            "[\"raised_a1c\"]",
        );
    let results = pipeline::estimate(&parse(&text, &PathBuf::from(".")), &[data]).unwrap();
    let caution = results.notices.iter().find(|n| n.kind == "exclusion_beyond_frame").unwrap();
    assert_eq!(caution.about, "diabetes_by_fasting_glucose, frame examination");
    assert!(caution.message.contains("who stay in"), "{}", caution.message);
}

#[test]
fn people_of_whom_a_measured_exclusion_is_not_known_stay_in_and_are_counted() {
    let Some(data) = official_data() else { return };
    let cautions = |exclude: &str| {
        let text = ADULTS.replace("\"diagnosed_diabetes\"]", exclude);
        let results =
            pipeline::estimate(&parse(&text, &PathBuf::from(".")), std::slice::from_ref(&data)).unwrap();
        let kind = |n: &Notice| n.kind == "exclusion_unanswered";
        results.notices.into_iter().filter(kind).collect::<Vec<_>>()
    };
    assert_eq!(cautions("\"diagnosed_diabetes\"]"), [], "questions alone");
    let lean = cautions("\"diagnosed_diabetes\", \"bmi_25_or_more\"]");
    assert_eq!(lean.len(), 1, "{lean:?}");
    assert_eq!(lean[0].about, "bmi_25_or_more");
    assert!(lean[0].message.contains("“BMI 25 or more” holds, and they stay in"), "{}", lean[0].message);
}

#[test]
fn a_route_for_glucose_says_what_it_leaves_of_the_two_hour_test() {
    let section = "[sensitivity]\nindex = \"homa_ir\"\n[[sensitivity.route]]\nname = \"c501\"\nglucose = \"roche_c501\"\n";
    let kinds = |exclude: &str| {
        let text = ADULTS.replace("2017-2020", "2015-2016").replace("\"diagnosed_diabetes\"]", exclude);
        let study = parse(&format!("{text}{section}"), &PathBuf::from("."));
        study::remarks(&study).iter().filter(|n| n.kind == "route_without_2h_glucose").count()
    };
    assert_eq!(kinds("\"diagnosed_diabetes\", \"diabetes_by_2h_glucose\"]"), 1);
    assert_eq!(kinds("\"diagnosed_diabetes\"]"), 0);
}
