//! Rows of outcomes: limits known from print, in the reported unit; what is unknown; conditions counted from items.

use cutspan::definitions::{Definitions, Outcome, outcomes};
use polars::prelude::*;

use crate::definitions::{Person, answer, built_in, outcome_sql, plausible, run, set, waist_table};

/// Limits are compared in the unit in which the value was reported (published limits).
#[test]
fn limits_hold_in_the_reported_unit() {
    let all = built_in();
    // outcome, sex, quantity, position of the unit, value, answer
    for (outcome, sex, quantity, unit, value, expected) in [
        ("diabetes_by_fasting_glucose", "male", "glucose", 0, 126.0, true),
        ("diabetes_by_fasting_glucose", "male", "glucose", 0, 125.9, false),
        ("diabetes_by_fasting_glucose", "male", "glucose", 1, 7.0, true),
        ("diabetes_by_fasting_glucose", "male", "glucose", 1, 6.99, false),
        ("diabetes_by_2h_glucose", "male", "glucose_2h", 0, 200.0, true),
        ("diabetes_by_2h_glucose", "male", "glucose_2h", 0, 199.9, false),
        ("diabetes_by_2h_glucose", "male", "glucose_2h", 1, 11.1, true),
        ("diabetes_by_2h_glucose", "male", "glucose_2h", 1, 11.09, false),
        ("diabetes_by_a1c", "male", "a1c", 0, 6.5, true),
        ("diabetes_by_a1c", "male", "a1c", 0, 6.4, false),
        ("diabetes_by_a1c", "male", "a1c", 1, 48.0, true),
        ("diabetes_by_a1c", "male", "a1c", 1, 47.0, false),
        ("raised_a1c", "male", "a1c", 0, 5.7, true),
        ("raised_a1c", "male", "a1c", 0, 5.6, false),
        ("raised_a1c", "male", "a1c", 1, 39.0, true),
        ("raised_a1c", "male", "a1c", 1, 38.0, false),
        ("raised_fasting_glucose", "male", "glucose", 0, 100.0, true),
        ("raised_fasting_glucose", "male", "glucose", 0, 99.9, false),
        ("raised_fasting_glucose", "male", "glucose", 1, 5.6, true),
        ("raised_fasting_glucose", "male", "glucose", 1, 5.59, false),
        ("raised_fasting_glucose_110", "male", "glucose", 0, 110.0, true),
        ("raised_fasting_glucose_110", "male", "glucose", 0, 109.9, false),
        ("raised_fasting_glucose_110", "male", "glucose", 1, 6.1, true),
        ("raised_fasting_glucose_110", "male", "glucose", 1, 6.09, false),
        ("prediabetes_by_fasting_glucose", "male", "glucose", 0, 126.0, false),
        ("prediabetes_by_fasting_glucose", "male", "glucose", 1, 5.6, true),
        ("prediabetes_by_fasting_glucose", "male", "glucose", 1, 7.0, false),
        ("prediabetes_by_2h_glucose", "male", "glucose_2h", 0, 140.0, true),
        ("prediabetes_by_2h_glucose", "male", "glucose_2h", 0, 139.9, false),
        ("prediabetes_by_2h_glucose", "male", "glucose_2h", 0, 200.0, false),
        ("prediabetes_by_2h_glucose", "male", "glucose_2h", 1, 7.8, true),
        ("prediabetes_by_a1c", "male", "a1c", 0, 6.4, true),
        ("prediabetes_by_a1c", "male", "a1c", 0, 6.5, false),
        ("prediabetes_by_a1c", "male", "a1c", 0, 5.6, false),
        ("high_triglycerides", "male", "triglycerides", 0, 150.0, true),
        ("high_triglycerides", "male", "triglycerides", 0, 149.9, false),
        ("high_triglycerides", "male", "triglycerides", 1, 1.7, true),
        ("high_triglycerides", "male", "triglycerides", 1, 1.69, false),
        ("low_hdl", "male", "hdl", 0, 40.0, false),
        ("low_hdl", "male", "hdl", 0, 39.9, true),
        ("low_hdl", "male", "hdl", 1, 1.03, false),
        ("low_hdl", "male", "hdl", 1, 1.02, true),
        ("low_hdl", "female", "hdl", 0, 50.0, false),
        ("low_hdl", "female", "hdl", 1, 1.29, false),
        ("low_hdl", "female", "hdl", 1, 1.28, true),
        ("raised_blood_pressure", "male", "systolic", 0, 130.0, true),
        ("raised_blood_pressure", "male", "systolic", 0, 129.0, false),
        ("raised_blood_pressure", "male", "diastolic", 0, 85.0, true),
        ("raised_blood_pressure", "male", "diastolic", 0, 84.0, false),
        ("large_waist", "male", "waist", 0, 102.0, true),
        ("large_waist", "male", "waist", 0, 101.9, false),
        ("large_waist", "female", "waist", 0, 88.0, true),
        ("large_waist", "female", "waist", 0, 87.9, false),
        ("large_waist_aha_nhlbi", "male", "waist", 0, 102.0, true),
        ("large_waist_aha_nhlbi", "male", "waist", 0, 101.9, false),
        ("large_waist_atp_iii", "male", "waist", 0, 102.0, false),
        ("large_waist_atp_iii", "female", "waist", 0, 88.0, false),
        ("large_waist_atp_iii", "female", "waist", 0, 88.1, true),
        ("central_obesity_idf_2005", "male", "bmi", 0, 30.1, true),
        ("central_obesity_idf_2005", "male", "bmi", 0, 30.0, false),
    ] {
        let mut person = plausible(&all);
        set(&mut person, &all, "waist", 0, 70.0);
        set(&mut person, &all, quantity, unit, value);
        person.insert("sex".to_owned(), AnyValue::String(sex));
        let got = answer(&all, &person, &outcome_sql(&all, outcome));
        assert_eq!(got, Some(expected), "{outcome} of a {sex} with {quantity} {value}");
    }
}

#[test]
fn the_waist_table_sets_the_limit() {
    let all = Definitions::built_in(waist_table("europid_idf"));
    let mut person = plausible(&all);
    set(&mut person, &all, "waist", 0, 81.0);
    assert_eq!(answer(&all, &person, &outcome_sql(&all, "large_waist")), Some(true));
    assert_eq!(answer(&all, &person, &outcome_sql(&all, "large_waist_aha_nhlbi")), Some(false));
}

#[test]
fn unknown_stays_unknown() {
    let all = built_in();
    let outcomes = |person: &Person, name: &str| answer(&all, person, &outcome_sql(&all, name));
    let mut person = plausible(&all);
    person.insert("sex".to_owned(), AnyValue::Null);
    set(&mut person, &all, "hdl", 0, 45.0);
    assert_eq!(outcomes(&person, "low_hdl"), None, "45 mg/dL is low for a woman only");
    set(&mut person, &all, "hdl", 0, 55.0);
    assert_eq!(outcomes(&person, "low_hdl"), Some(false), "55 mg/dL is low for nobody");
    set(&mut person, &all, "systolic", 0, 140.0);
    person.insert("blood_pressure_drug".to_owned(), AnyValue::Null);
    assert_eq!(outcomes(&person, "raised_blood_pressure_or_drug"), Some(true));
    set(&mut person, &all, "systolic", 0, 110.0);
    assert_eq!(outcomes(&person, "raised_blood_pressure_or_drug"), None);
    for column in ["glucose_reported_mg_dl", "glucose_reported_mmol_l"] {
        person.insert(column.to_owned(), AnyValue::Null);
    }
    assert_eq!(outcomes(&person, "diabetes_by_fasting_glucose"), None);
    assert_eq!(outcomes(&person, "diabetes"), None);
    person.insert("diagnosed_diabetes".to_owned(), AnyValue::Boolean(true));
    assert_eq!(outcomes(&person, "diabetes"), Some(true));
}

/// The rule for k of m with unknown items (and required ones), on every combination of answers.
#[test]
fn counts_of_items_follow_three_valued_logic() {
    const ITEMS: [&str; 4] = ["glucose_drug", "lipid_drug", "blood_pressure_drug", "insulin_treated"];
    let mut all = built_in();
    for name in ITEMS.into_iter().chain(["pregnant"]) {
        let mut row = all.outcomes[0].clone();
        (row.name, row.formula) = (format!("item_{name}"), Some(name.to_owned()));
        all.add_outcome(row).unwrap();
    }
    let counted = |required: &[&str], at_least| Outcome {
        name: "counted".to_owned(),
        formula: None,
        items: ITEMS.iter().map(|name| format!("item_{name}")).collect(),
        required: required.iter().map(|name| format!("item_{name}")).collect(),
        at_least: Some(at_least),
        ..built_in().outcomes[0].clone()
    };
    let answers = [Some(true), Some(false), None];
    let cell = |answer: Option<bool>| answer.map_or(AnyValue::Null, AnyValue::Boolean);
    let combinations: Vec<[Option<bool>; 5]> =
        (0..243).map(|code: usize| [1, 3, 9, 27, 81].map(|power| answers[code / power % 3])).collect();
    let people: Vec<Person> = combinations
        .iter()
        .map(|given| {
            let named = ITEMS.into_iter().chain(["pregnant"]).zip(given);
            let mut person = plausible(&all);
            person.extend(named.map(|(name, answer)| (name.to_owned(), cell(*answer))));
            person
        })
        .collect();
    for k in 1..=4_u32 {
        let free = run(&all, &people, &all.outcome_sql(&counted(&[], k)).unwrap());
        let bound = run(&all, &people, &all.outcome_sql(&counted(&["pregnant"], k)).unwrap());
        for (row, given) in combinations.iter().enumerate() {
            let yes = given[..4].iter().filter(|answer| **answer == Some(true)).count();
            let unknown = given[..4].iter().filter(|answer| answer.is_none()).count();
            let expected = match k as usize {
                k if yes >= k => Some(true),
                k if yes + unknown < k => Some(false),
                _ => None,
            };
            assert_eq!(free.bool().unwrap().get(row), expected, "{k} of {given:?}");
            let with_required = match (expected, given[4]) {
                (Some(false), _) | (_, Some(false)) => Some(false),
                (Some(true), Some(true)) => Some(true),
                _ => None,
            };
            assert_eq!(bound.bool().unwrap().get(row), with_required, "{k} of {given:?}, required");
        }
    }
}

#[test]
fn leaving_glucose_out_keeps_the_count_and_loses_the_glucose() {
    let all = built_in();
    let mut pairs = 0;
    for row in outcomes() {
        let Some(full) = row.name.strip_suffix("_without_glucose") else { continue };
        let full = outcomes().iter().find(|other| other.name == full).unwrap();
        assert_eq!((full.at_least, &full.required), (row.at_least, &row.required), "{}", row.name);
        assert_eq!(full.items.len(), row.items.len() + 1);
        let read = |name| all.ingredients(name, &outcome_sql(&all, name)).unwrap();
        assert!(read(&full.name).contains(&"glucose".to_owned()));
        let left = read(&row.name);
        assert!(!left.iter().any(|name| name.contains("glucose") || name.contains("diabetes")), "{left:?}");
        pairs += 1;
    }
    assert_eq!(pairs, 4);
}
