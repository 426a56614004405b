//! Where one person's values stand: by brute force, by a run with the value as a threshold, and by hand.

use std::path::Path;

use cutspan::analysis::{Again, Person, place};
use cutspan::definitions::answer::{Answer, AnswerError, Given};
use cutspan::definitions::quantity::{quantities, quantity};
use cutspan::pipeline;
use cutspan::table::{Row, Table};
use proptest::prelude::*;

use crate::place_support::{BY_HAND, WEIGHTS_ROUNDED, WOMAN, answers, index, opened, woman};
use crate::support::assert_close;

/// Weighted percentage of the invented survey's cohort below a HOMA-IR, from the rows of its file.
fn percent_below(homa: f64, keep: impl Fn(&dyn Fn(&str) -> Option<f64>) -> bool) -> (u64, f64) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-public/veldmark.csv");
    let mut reader = csv::Reader::from_path(path).unwrap();
    let names = reader.headers().unwrap().clone();
    let (mut people, mut below, mut total) = (0, 0.0, 0.0);
    for row in reader.records() {
        let row = row.unwrap();
        let cell = |name: &str| row[names.iter().position(|n| n == name).unwrap()].parse::<f64>().ok();
        let (Some(glucose), Some(insulin)) = (cell("glucose"), cell("insulin")) else { continue };
        let weight = cell("fasting_weight").unwrap_or(0.0);
        let pregnant = cell("sex") == Some(2.0) && cell("pregnant") == Some(1.0);
        let diabetes = cell("diabetes_told") == Some(1.0) || glucose >= 126.0;
        if weight <= 0.0 || cell("age").unwrap() < 20.0 || pregnant || diabetes || !keep(&cell) {
            continue;
        }
        people += 1;
        total += weight;
        below += if glucose * insulin / 405.0 < homa { weight } else { 0.0 };
    }
    (people, 100.0 * below / total)
}

#[test]
fn a_percentile_is_the_weighted_share_of_less_resistant_people() {
    let (study, tallies) = opened();
    let placed = place(study, tallies, &woman()).unwrap();
    let homa = index(&placed, "homa_ir");
    assert_close(homa.value, 101.0 * 9.8 / 405.0, 1e-9, "HOMA-IR");
    let woman = |cell: &dyn Fn(&str) -> Option<f64>| cell("sex") == Some(2.0);
    let large = |cell: &dyn Fn(&str) -> Option<f64>| woman(cell) && cell("bmi").is_some_and(|b| b >= 30.0);
    let brute = [
        ("everybody", percent_below(homa.value, |_| true)),
        ("female", percent_below(homa.value, woman)),
        ("female × 30 and over", percent_below(homa.value, large)),
    ];
    for (group, (people, percent)) in brute {
        let rank = homa.ranks.iter().find(|r| r.population == "cohort" && r.group == group).unwrap();
        assert_eq!(rank.n as u64, people, "{group}");
        assert!(people > 100);
        assert_close(rank.percentile.unwrap(), percent, WEIGHTS_ROUNDED, group);
        assert!(rank.lower.unwrap() < percent && percent < rank.upper.unwrap());
    }
    // The woman's groups and no others, in the cohort and in the reference group.
    assert_eq!(homa.ranks.len(), 6);
    // QUICKI is a falling function of HOMA-IR: the same percentiles.
    assert_eq!(index(&placed, "quicki").ranks.len(), 6);
    for (a, b) in homa.ranks.iter().zip(&index(&placed, "quicki").ranks) {
        assert_eq!(a.percentile, b.percentile, "{}", a.group);
        let (of_homa, of_quicki) = (a.lower.unwrap_or(-1.0), b.lower.unwrap_or(-1.0));
        assert_close(of_homa, of_quicki, WEIGHTS_ROUNDED, &a.group);
    }
    assert_eq!(placed.missing.len(), 1);
    assert_eq!(placed.missing[0].why, "not given: triglycerides");
}

#[test]
fn a_run_with_the_value_as_a_threshold_says_the_same() {
    let (study, tallies) = opened();
    let placed = place(study, tallies, &woman()).unwrap();
    let homa = index(&placed, "homa_ir");
    let results = pipeline::estimate(study, &[]).unwrap();
    let table = |name: &str| -> &Table { results.tables.iter().find(|t| t.name == name).unwrap() };
    let mut compared = 0;
    let shares =
        |row: &Row<'_>| row.text("index") == "homa_ir" && row.real("threshold") == Some(2.443_950_617);
    for row in table("threshold_shares").iter().filter(shares) {
        let same = |r: &&cutspan::analysis::Rank| {
            r.population == row.text("population")
                && r.grouping == row.text("grouping")
                && r.group == row.text("group")
        };
        let Some(rank) = homa.ranks.iter().find(same) else { continue };
        assert_eq!(rank.percentile, row.real("percentile"));
        assert_eq!(rank.lower, row.real("upper").map(|u| 100.0 - u));
        assert_eq!(rank.withheld, row.text("withheld"));
        compared += 1;
    }
    // Everybody, women and people of her BMI in the cohort; in the reference group nobody is of her BMI.
    assert_eq!(compared, 5);
    let mut compared = 0;
    for row in table("cutoffs").iter().filter(|r| r.text("index") == "homa_ir") {
        let same = |c: &&cutspan::analysis::PlacedCutoff| {
            c.rule == row.text("rule") && c.grouping == row.text("grouping") && c.group == row.text("group")
        };
        let Some(cutoff) = homa.cutoffs.iter().find(same) else { continue };
        assert_eq!(
            (cutoff.cutoff, cutoff.lower, cutoff.upper),
            (row.real("cutoff"), row.real("lower"), row.real("upper"))
        );
        assert_eq!(cutoff.passed, cutoff.cutoff.map(|c| homa.value >= c));
        compared += 1;
    }
    assert_eq!(compared, 3 * study.rules.len());
    let own: Vec<&str> = homa.cutoffs.iter().filter(|c| c.own).map(|c| c.group.as_str()).collect();
    assert_eq!(own, vec!["female × 30 and over"; study.rules.len()]);
    let equal = table("equivalent_thresholds");
    let of_two = homa.equivalents.iter().find(|e| e.threshold == 2.0 && e.group == "female").unwrap();
    let row = equal.iter().find(|r| {
        r.text("same") == "percentile" && r.text("group") == "female" && r.real("threshold") == Some(2.0)
    });
    assert_eq!(of_two.equivalent, row.unwrap().real("equivalent"));
}

#[test]
fn the_tests_between_groups_are_those_of_a_run() {
    let (study, tallies) = opened();
    let known: Vec<(&str, &str)> = WOMAN.iter().copied().chain([("triglycerides", "150mg/dL")]).collect();
    let person = Person { answers: answers(&known), ..Person::default() };
    let placed = place(study, tallies, &person).unwrap();
    let results = pipeline::estimate(study, &[]).unwrap();
    let table = results.tables.iter().find(|t| t.name == "heterogeneity").unwrap();
    let mut raised = Vec::new();
    for name in ["homa_ir", "tyg"] {
        let is = |row: &Row<'_>| {
            (row.text("index"), row.text("method")) == (name, "kernel_smoothed_youden")
                && row.text("grouping") == "sex"
        };
        let row = table.iter().find(is).unwrap();
        let [test] = &*index(&placed, name).tests else { panic!("one grouping is of a single variable") };
        let (p, p_holm) = (test.p.unwrap(), test.p_holm.unwrap());
        // A file holds twelve digits.
        assert_close(p, row.real("p").unwrap(), 1e-11, name);
        assert_close(p_holm, row.real("p_holm").unwrap(), 1e-11, name);
        raised.push(p_holm / p);
    }
    // Two indices that order people otherwise ask two questions: the smaller p is doubled.
    assert_close(raised.iter().copied().fold(0.0, f64::max), 2.0, 1e-9, "Holm");
}

#[test]
fn every_exclusion_is_named_and_leaves_no_percentile() {
    let (study, tallies) = opened();
    let cases = [
        ("age", "19", "under 20 years"),
        ("pregnant", "yes", "pregnant"),
        ("diagnosed_diabetes", "yes", "diabetes"),
        ("glucose", "7.0mmol/L", "glucose"),
        ("fasting", "6", "not fasted 8 to under 24 hours"),
        ("fasting", "24", "not fasted 8 to under 24 hours"),
        ("insulin_treated", "yes", "takes insulin"),
    ];
    for (name, value, words) in cases {
        let changed: Vec<(&str, &str)> =
            WOMAN.iter().map(|(n, v)| if *n == name { (*n, value) } else { (*n, *v) }).collect();
        let placed =
            place(study, tallies, &Person { answers: answers(&changed), ..Person::default() }).unwrap();
        assert_eq!(placed.standing.outside.len(), 1, "{name} {value}: {:?}", placed.standing);
        assert!(placed.standing.outside[0].contains(words), "{:?}", placed.standing.outside);
        assert_eq!(placed.indices.len(), 2, "HOMA-IR and QUICKI have values: {name} {value}");
        for index in &placed.indices {
            assert!(index.ranks.is_empty() && index.cutoffs.is_empty() && index.published.is_empty());
            assert!(index.usual.is_empty() && index.thresholds.is_empty() && index.value > 0.0);
        }
    }
    // 6.9 mmol/L is 124.3 mg/dL: below both limits. Nothing excludes the woman herself.
    assert!(place(study, tallies, &woman()).unwrap().standing.outside.is_empty());
}

#[test]
fn what_is_not_known_is_said_to_be_unknown() {
    let (study, tallies) = opened();
    let few = answers(&WOMAN[..5]);
    let placed = place(study, tallies, &Person { answers: few, ..Person::default() }).unwrap();
    let needs: Vec<&str> =
        placed.standing.unknown.iter().flat_map(|u| u.needs.iter().map(String::as_str)).collect();
    assert_eq!(needs, ["pregnant", "diagnosed_diabetes", "insulin_treated", "fasting"]);
    assert!(placed.standing.outside.is_empty() && !placed.indices[0].ranks.is_empty());
    // Without an age nobody is known to be of the study's age: its people of unknown age were left out.
    let ageless: Vec<(&str, &str)> = WOMAN.iter().filter(|(n, _)| *n != "age").copied().collect();
    let placed = place(study, tallies, &Person { answers: answers(&ageless), ..Person::default() }).unwrap();
    assert!(placed.standing.outside[0].contains("not given: age"), "{:?}", placed.standing);
    // A man is not asked whether he is pregnant.
    let man = [("glucose", "101mg/dL"), ("insulin", "9.8uU/mL"), ("sex", "male"), ("age", "47")];
    let placed = place(study, tallies, &Person { answers: answers(&man), ..Person::default() }).unwrap();
    let needs: Vec<&str> =
        placed.standing.unknown.iter().flat_map(|u| u.needs.iter().map(String::as_str)).collect();
    assert_eq!(needs, ["diagnosed_diabetes", "insulin_treated", "fasting"]);
    let body = |caution: &String| caution.contains("body mass index");
    assert!(placed.standing.not_grouped.iter().any(body), "{:?}", placed.standing.not_grouped);
}

#[test]
fn the_usual_value_and_a_change_by_hand() {
    let (study, tallies) = opened();
    let second = |insulin: &str| {
        let answers = answers(&[("glucose", "96mg/dL"), ("insulin", insulin)]);
        let again = Again { answers, months: 6.0, ..Again::default() };
        Person { within_person: Some(0.20), analytical: Some(0.05), second: Some(again), ..woman() }
    };
    let placed = place(study, tallies, &second("6uU/mL")).unwrap();
    let homa = index(&placed, "homa_ir");
    // ln(2.443951 / 2) = 0.200469; SD of the logarithm √(ln 1.04 + ln 1.0025) = 0.204249; Φ(0.981492) = 0.836825.
    let two = homa.usual.iter().find(|u| u.threshold == 2.0).unwrap();
    assert_close(two.flat_probability.unwrap(), 83.6825, 1e2 * BY_HAND, "flat");
    assert_eq!(two.group, "female × 30 and over");
    let (usual, reliability) = (two.usual.unwrap(), two.reliability.unwrap());
    assert!((0.0..1.0).contains(&reliability) && usual > homa.value, "the group's centre lies higher");
    // exp(±1.959964 × √2 × 0.204249): +76.1452 %, −43.2287 %. 96 × 6 / 405 = 1.422222, −41.8064 %.
    let change = homa.change.as_ref().unwrap();
    assert_close(change.rise.unwrap(), 76.1452, 1e2 * BY_HAND, "rise");
    assert_close(change.fall.unwrap(), 43.2287, 1e2 * BY_HAND, "fall");
    assert_close(change.change.unwrap(), -41.8064, 1e2 * BY_HAND, "change");
    assert_eq!(change.beyond_chance, Some(false));
    // The second value is put to the same cutoffs as the first.
    let (before, after) = (&homa.cutoffs[0], &change.cutoffs[0]);
    assert_eq!((after.cutoff, &after.group), (before.cutoff, &before.group));
    assert!(after.chance.unwrap() < before.chance.unwrap() && after.passed == Some(false));
    // 96 × 5.8 / 405 = 1.374815, −43.7462 %: beyond the fall of 43.2287 %.
    let placed = place(study, tallies, &second("5.8uU/mL")).unwrap();
    assert_eq!(index(&placed, "homa_ir").change.as_ref().unwrap().beyond_chance, Some(true));
    // Without stated ones: within √(e^(ln 1.0025 + ln 1.0441) − 1) = 0.216126, assay
    // √(e^(ln 1.0004 + ln 1.0025) − 1) = 0.053861; glucose and insulin each move HOMA-IR in proportion. Taken as printed.
    let placed = place(study, tallies, &woman()).unwrap();
    let variation = index(&placed, "homa_ir").variation.as_ref().unwrap();
    assert_close(variation.within_person, 0.216, 1e-12, "within a person");
    assert_close(variation.analytical, 0.054, 1e-12, "assay");
    let stated = variation.within_person_stated || variation.analytical_stated;
    assert!(!stated && variation.sources.iter().all(|s| s.contains("not read again")));
}

#[test]
fn published_cutoffs_are_of_the_same_form_and_sex() {
    let (study, tallies) = opened();
    let placed = place(study, tallies, &woman()).unwrap();
    for index in &placed.indices {
        let sign = if index.lower_is_resistant { -1.0 } else { 1.0 };
        for row in &index.published {
            assert_ne!(row.sex, "male");
            assert_eq!(row.passed, sign * index.value >= sign * row.value, "{} {}", index.index, row.source);
        }
    }
    assert!(index(&placed, "homa_ir").published.len() > 5);
}

/// Every number's quantity and unit, with the factor where one must be chosen.
fn units() -> Vec<(&'static str, usize, Option<f64>)> {
    let of = |q: &'static cutspan::definitions::Quantity| {
        q.units.iter().enumerate().map(|(at, unit)| (q.name.as_str(), at, unit.choices.first().copied()))
    };
    quantities().iter().flat_map(of).collect()
}

proptest! {
    #[test]
    fn a_value_in_any_unit_is_read_back(pick in 0..units().len(), scale in 0.6..1.6_f64, space in any::<bool>()) {
        let (name, unit, factor) = units()[pick];
        let row = quantity(name).unwrap();
        let plausible = row.units[unit].from_first(row.plausible.unwrap(), factor);
        let value = (plausible * scale * 1000.0).round() / 1000.0;
        let gap = if space { " " } else { "" };
        let written = format!("{value}{gap}{}", row.units[unit].unit);
        let answer = Answer::read(row, &written, factor).unwrap();
        prop_assert_eq!(answer.given, Given::Number { value, unit, factor });
        if row.units.len() > 1 {
            let bare = Answer::read(row, &value.to_string(), factor);
            prop_assert!(matches!(bare, Err(AnswerError::NoUnit { .. })), "{:?}", bare);
        }
    }

    #[test]
    fn no_text_is_read_as_something_it_is_not(
        // Any text, or a number as it may be written before a unit that can be read.
        text in prop_oneof!["\\PC{0,12}", "[<+.,0-9 -]{1,6}"],
        before_unit in any::<bool>(),
        pick in 0..units().len(),
    ) {
        let (name, unit, factor) = units()[pick];
        let row = quantity(name).unwrap();
        let text = if before_unit { format!("{text}{}", row.units[unit].unit) } else { text };
        if let Ok(Answer { given: Given::Number { value, .. }, .. }) = Answer::read(row, &text, factor) {
            prop_assert!(value.is_finite() && value >= 0.0 && text.trim().starts_with(|c: char| "<+.0123456789".contains(c)));
        }
    }
}
