//! Which cutoff fits one person, and what else is said in words, by the real program and by a run.
//! Sizes of groups, cutoffs and shares in the words are golden: our own output on the invented survey.

use std::fs;

use cutspan::analysis::{Person, place};
use cutspan::pipeline;
use cutspan::stats::place::{Group, Variation, place as usual_value};
use cutspan::table::Table;

use crate::place_support::{
    TYPED, WEIGHTS_ROUNDED, cutspan, index, opened, said, said_of_demo, said_of_demo_without, small_demo,
    woman,
};
use crate::support::assert_close;

#[test]
fn every_smallest_group_stands_side_by_side() {
    let (study, tallies) = opened();
    let placed = place(study, tallies, &woman()).unwrap();
    let homa = index(&placed, "homa_ir");
    let own = |placed: &cutspan::analysis::PlacedIndex| -> Vec<String> {
        placed.own.iter().map(|&at| placed.ranks[at].group.clone()).collect()
    };
    // sex is split further by sex × BMI class, and does not stand beside it.
    assert_eq!(own(homa), ["female × 30 and over"]);
    let asked = Person { grouping: Some(0), ..woman() };
    let by_sex = place(study, tallies, &asked).unwrap();
    assert_eq!(own(index(&by_sex, "homa_ir")), ["female"]);
    let said = said_of_demo(&[]);
    let first = said.split("How to read this").next().unwrap();
    // By age alone cutoffs do not differ over all tests of the study: the group of her BMI is taken, and both are told.
    let fits =
        "HOMA-IR 2.44 is likely short of 3.44 (2.70–4.61), the cutoff that fits (female × BMI 30 and over).";
    assert!(first.contains(fits), "{said}");
    let by_age = "is taken because cutoffs differ by BMI. Otherwise in age 40-59 (n = 551): cannot tell, value short of 2.72 \
                  (2.23–3.13).";
    assert!(first.contains(by_age), "{said}");
    let rule = "n = 351: finds 74 of 100 with it, spares 74 of 100 without it; AUC 0.80, so the index separates the two well";
    assert!(first.contains(rule), "{said}");
    let tests = "differ by more than noise by BMI (p < 0.001); not distinguishable by sex (p = 1.00), age (p = 0.086) and ancestry \
                 (p = 1.00).";
    assert!(first.contains(tests), "{said}");
    assert!(first.contains("Between groups the smoothed cutoffs"), "{said}");
    assert!(first.contains("A low percentile in a group whose values lie high is no reassurance"), "{said}");
    for unexplained in ["CASE WHEN", "derived cutoffs passed", "knowing nothing else", "own group*", "?/"] {
        assert!(!said.contains(unexplained), "{unexplained}: {said}");
    }
}

#[test]
fn without_a_sex_the_groups_that_are_known_are_taken() {
    let said = said_of_demo_without("--sex", &[]);
    let first = said.split("How to read this").next().unwrap();
    for group in ["age 40-59 ", "BMI 30 and over "] {
        assert!(first.contains(group), "{group}: {said}");
    }
    assert!(said.contains("In print for this age and BMI: past"), "{said}");
}

#[test]
fn what_cutoffs_differ_by_is_asked_for() {
    let said = said_of_demo_without("--bmi", &[]);
    let asked =
        "CAUTION: BMI is not given, and cutoffs of HOMA-IR differ by it by more than noise: give --bmi.";
    assert!(said.contains(asked), "{said}");
    assert!(said.contains("In print for this sex and age: past"), "{said}");
    assert!(!said_of_demo(&[]).contains("is not given, and cutoffs"));
}

#[test]
fn a_value_that_few_people_have_gives_no_firm_answer() {
    let said = said(&[("--insulin", "59uU/mL")]);
    // 101 × 59 / 405 = 14.714; 59 pmol/L are 59 / 6 uU/mL: 101 × 9.8333 / 405 = 2.4523.
    let first = "If insulin 59 uU/mL is right (read as pmol/L it would be HOMA-IR 2.45): HOMA-IR 14.7 is likely beyond ";
    assert!(said.contains(first), "{said}");
    assert!(said.contains("likely beyond, if insulin is right"), "{said}");
    assert!(!said.contains(">99.9 %") && !said.contains("the chance that"), "{said}");
    assert!(!said_of_demo(&[]).contains("is right"));
}

#[test]
fn a_withheld_cutoff_names_what_stands_in_its_place() {
    // A woman under 18.5: too few of them for a cutoff.
    let said = said_of_demo(&[("--bmi", "18")]);
    assert!(
        said.contains(
            "female (n = 1009), as it is withheld in female × BMI under 18.5: cannot tell, value short of 2.66 (2.27–2.72)"
        ),
        "{said}"
    );
    // Cutoffs differ by BMI, which splits no group here: none is preferred, and both leave it open.
    let why = "as none of these groups is split by BMI, by which cutoffs differ, and no group can tell: female (n = 1009), ";
    assert!(said.contains(why), "{said}");
    assert!(said.contains("; age 40-59 (n = 551): cannot tell, value short of 2.72 (2.23–3.13)."), "{said}");
}

#[test]
fn beside_each_cutoff_stands_what_a_run_says() {
    let (study, tallies) = opened();
    let person = Person { within_person: Some(0.20), analytical: Some(0.05), ..woman() };
    let placed = place(study, tallies, &person).unwrap();
    let homa = index(&placed, "homa_ir");
    let results = pipeline::estimate(study, &[]).unwrap();
    let table = |name: &str| -> &Table { results.tables.iter().find(|t| t.name == name).unwrap() };
    let own = homa.cutoffs.iter().find(|c| c.own && c.rule == "youden").unwrap();
    let of_own =
        |row: &cutspan::table::Row<'_>| row.text("index") == "homa_ir" && row.text("group") == own.group;
    let accuracy = |measure: &str| {
        let mut rows = table("cutoff_accuracy").iter();
        let row = rows.find(|r| of_own(r) && r.text("rule") == "youden" && r.text("measure") == measure);
        row.unwrap().real("value").map(|share| 100.0 * share)
    };
    assert!(own.sensitivity.is_some());
    assert_eq!(own.sensitivity, accuracy("sensitivity"));
    assert_eq!(own.specificity, accuracy("specificity"));
    // Cutoffs about as good are those of the largest sum alone; another rule has none.
    assert!(homa.cutoffs.iter().all(|c| c.flat_from.is_none() || c.rule == "youden"));
    assert!(own.flat_from.is_some());
    let smoothed = table("smoothed_cutoffs").iter().find(of_own).unwrap();
    assert!(own.smoothed.is_some());
    assert_eq!(own.smoothed, smoothed.real("cutoff"));
    assert_eq!((own.smoothed_lower, own.smoothed_upper), (smoothed.real("lower"), smoothed.real("upper")));
    for test in &homa.tests {
        let mut rows = table("heterogeneity").iter();
        let row = rows.find(|r| {
            r.text("index") == "homa_ir"
                && r.text("grouping") == test.grouping
                && r.text("method") == "kernel_smoothed_youden"
        });
        // A file holds twelve digits.
        assert_close(test.p.unwrap(), row.unwrap().real("p").unwrap(), 1e-11, &test.grouping);
    }
    assert_eq!(homa.tests.len(), 1, "sex is the one single variable");
    // The chance of the group's own cutoff, from the rows of the file: women of BMI 30 and over, by weight.
    let (log_mean, log_variance) = moments_of_large_women();
    let variation = Variation { within_person: 0.20, analytical: 0.05 };
    let chance = |limit: f64| {
        let group = Group { log_mean, log_variance };
        100.0 * usual_value(homa.value, limit, variation, Some(group)).unwrap().probability
    };
    assert_close(own.chance.unwrap(), chance(own.cutoff.unwrap()), WEIGHTS_ROUNDED, "chance");
    assert_close(own.chance_at_lower.unwrap(), chance(own.lower.unwrap()), WEIGHTS_ROUNDED, "lower end");
    assert_close(own.chance_at_upper.unwrap(), chance(own.upper.unwrap()), WEIGHTS_ROUNDED, "upper end");
}

/// Weighted mean and variance of ln HOMA-IR among the demo's women of BMI 30 and over, from the rows of its file.
fn moments_of_large_women() -> (f64, f64) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data-public/veldmark.csv");
    let mut reader = csv::Reader::from_path(path).unwrap();
    let names = reader.headers().unwrap().clone();
    let mut rows: Vec<(f64, f64)> = Vec::new();
    for row in reader.records() {
        let row = row.unwrap();
        let cell = |name: &str| row[names.iter().position(|n| n == name).unwrap()].parse::<f64>().ok();
        let (Some(glucose), Some(insulin), Some(bmi)) = (cell("glucose"), cell("insulin"), cell("bmi"))
        else {
            continue;
        };
        let weight = cell("fasting_weight").unwrap_or(0.0);
        let out = cell("pregnant") == Some(1.0) || cell("diabetes_told") == Some(1.0) || glucose >= 126.0;
        if weight > 0.0 && cell("age").unwrap() >= 20.0 && cell("sex") == Some(2.0) && bmi >= 30.0 && !out {
            rows.push((weight, (glucose * insulin / 405.0).ln()));
        }
    }
    let total: f64 = rows.iter().map(|(w, _)| w).sum();
    let mean = rows.iter().map(|(w, y)| w * y).sum::<f64>() / total;
    (mean, rows.iter().map(|(w, y)| w * (y - mean) * (y - mean)).sum::<f64>() / total)
}

#[test]
fn the_other_factor_stands_beside_the_first() {
    let said = said(&[("--insulin", "59pmol/L"), ("--insulin-factor", "unknown")]);
    // 101 × (59 / 6) / 405 = 2.4523; with 6.945: 101 × (59 / 6.945) / 405 = 2.1186.
    assert!(said.contains("insulin factor not known: 6.00 is taken"), "{said}");
    assert!(said.contains("HOMA-IR 2.45 by the factor 6.00: more insulin resistant than"), "{said}");
    assert!(said.contains("By the other factor, 6.945: HOMA-IR 2.12, "), "{said}");
}

#[test]
fn a_factor_that_turns_the_answer_is_said_first() {
    let by_sex =
        |insulin: &str| said(&[("--insulin", insulin), ("--insulin-factor", "unknown"), ("--group", "sex")]);
    // HOMA-IR 2.45 or 2.12 against 2.66 (2.30–2.72).
    let torn = by_sex("59pmol/L");
    let first = "HOMA-IR 2.45: cannot tell, as it depends on the factor (6.00: cannot tell; 6.945: likely short); the cutoff that \
                 fits (female) is 2.66 (2.30–2.72).";
    assert!(torn.contains(first), "{torn}");
    assert!(torn.contains("32 (28–59)        depends on the factor"), "{torn}");
    // 1.66 or 1.44: short by both.
    let short = by_sex("40pmol/L");
    assert!(short.contains("the verdicts are the same") && !short.contains("depends on"), "{short}");
}

#[test]
fn outside_the_study_both_factors_give_a_value() {
    let said = said(&[("--age", "16"), ("--insulin", "59pmol/L"), ("--insulin-factor", "unknown")]);
    assert!(said.contains("HOMA-IR 2.45 by the factor 6.00, 2.12 by 6.945."), "{said}");
}

#[test]
fn the_same_tests_choose_for_indices_that_say_the_same() {
    let (study, tallies) = opened();
    let placed = place(study, tallies, &woman()).unwrap();
    let (homa, quicki) = (index(&placed, "homa_ir"), index(&placed, "quicki"));
    assert!(!homa.tests.is_empty() && homa.tests_of.is_none());
    assert_eq!((&quicki.tests, quicki.tests_of.as_deref()), (&homa.tests, Some("HOMA-IR")));
    let asked = place(study, tallies, &Person { indices: vec![1], ..woman() }).unwrap();
    assert_eq!(index(&asked, "quicki").tests, homa.tests);
}

#[test]
fn one_index_of_those_that_say_the_same_is_shown() {
    let usual = said(&[]);
    assert!(usual.contains("QUICKI 0.334 rises or falls with HOMA-IR and says the same"), "{usual}");
    assert!(!usual.contains("QUICKI 0.334 is"), "{usual}");
    let asked = said(&[("--index", "quicki")]);
    assert!(
        asked.contains("Lower QUICKI means more insulin resistant: beyond a cutoff is below it."),
        "{asked}"
    );
    assert!(asked.contains("QUICKI 0.334 is") && !asked.contains("HOMA-IR 2.44"), "{asked}");
}

#[test]
fn a_group_as_printed_and_a_study_of_the_right_age_are_found() {
    let printed = said(&[("--group", "female × BMI 30 and over")]);
    assert!(printed.contains("the cutoff that fits (female × BMI 30 and over)"), "{printed}");
    assert!(printed.contains(", n = 351: finds "), "{printed}");
    let crossed = said(&[("--group", "female x BMI 30 and over")]);
    assert!(crossed.contains("the cutoff that fits (female × BMI 30 and over)"), "{crossed}");
    let everyday = said(&[("--group", "obese women")]);
    assert!(everyday.contains("the cutoff that fits (female × BMI 30 and over)"), "{everyday}");
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path());
    let teens = "title = \"Young people\"\n[cohort]\nage = { from = 12, below = 20 }\n";
    fs::write(folder.path().join("pipelines/young.toml"), teens).unwrap();
    let mut args = vec!["pipelines/small.toml"];
    for (name, value) in TYPED.iter().filter(|(name, _)| *name != "--age").chain(&[("--age", "15")]) {
        args.extend([*name, *value]);
    }
    let said = String::from_utf8(cutspan(folder.path(), &args).stdout).unwrap();
    assert!(said.contains("A study that states this age: pipelines/young.toml (Young people)."), "{said}");
    assert!(said.contains("\n    cutspan run pipelines/young.toml --out out-young\n"), "{said}");
    let asked = "\n    cutspan place out-young --glucose 101mg/dL --insulin 9.8uIU/mL --sex female --age 15 ";
    assert!(said.contains(asked), "{said}");
}
