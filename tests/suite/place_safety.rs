//! `cutspan place`, by the real program: what could hurt somebody if it were read wrongly.

use std::fs;

use cutspan::analysis::{Person, place};
use cutspan::pipeline;
use cutspan::stats::place::{Group, Variation, place as usual_value};
use cutspan::table::Table;

use crate::place::{WEIGHTS_ROUNDED, cutspan, index, opened, small_demo, woman};
use crate::support::assert_close;

/// A woman whom the demo's study includes, with everything it asks for.
const WOMAN: [(&str, &str); 10] = [
    ("--glucose", "101mg/dL"),
    ("--insulin", "9.8uIU/mL"),
    ("--sex", "female"),
    ("--age", "47"),
    ("--bmi", "31"),
    ("--fasting-hours", "10"),
    ("--pregnant", "no"),
    ("--diabetes", "no"),
    ("--insulin-treated", "no"),
    ("--glucose-drug", "no"),
];

/// Exit code, what was said and what was complained of, with some answers replaced or added.
fn place_in(study: &str, changes: &[(&str, &str)]) -> (Option<i32>, String, String) {
    placed_in(study, "", changes)
}

/// What is said when one answer is not given.
fn place_in_without(unsaid: &str, changes: &[(&str, &str)]) -> String {
    placed_in("lenient", unsaid, changes).1
}

fn placed_in(study: &str, unsaid: &str, changes: &[(&str, &str)]) -> (Option<i32>, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = small_demo(folder.path());
    let text = fs::read_to_string(&file).unwrap();
    let lenient = text.replace(
        "exclude = [\"pregnant\", \"diagnosed_diabetes\", \"diabetes_by_fasting_glucose\"]",
        "exclude = []",
    );
    assert_ne!(text, lenient, "the demo's exclusions are written otherwise");
    fs::write(folder.path().join("lenient.toml"), lenient.replace("pipelines/", "")).unwrap();
    fs::rename(folder.path().join("lenient.toml"), folder.path().join("pipelines/lenient.toml")).unwrap();
    let mut args = vec![if study == "lenient" { "pipelines/lenient.toml" } else { "pipelines/small.toml" }];
    let replaced = |name: &str| name == unsaid || changes.iter().any(|(changed, _)| *changed == name);
    for (name, value) in WOMAN.iter().filter(|(name, _)| !replaced(name)).chain(changes) {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (done.status.code(), text(done.stdout).replace("\n  ", " "), text(done.stderr))
}

fn said(changes: &[(&str, &str)]) -> String {
    let (code, said, complaint) = place_in("small", changes);
    assert_eq!(code, Some(0), "{complaint}");
    said
}

#[test]
fn a_second_measurement_outside_the_studys_people_is_not_judged() {
    let cases = [
        ("glucose=300mg/dL,insulin=2uIU/mL,months=6", "diabetes range"),
        ("glucose=130mg/dL,insulin=7uIU/mL,months=6", "diabetes range"),
        ("glucose=96mg/dL,insulin=7uIU/mL,months=6,fasting-hours=2", "not fasted 8 to under 24 hours"),
        ("glucose=96mg/dL,insulin=7uIU/mL,months=6,pregnant=yes", "pregnant"),
        ("glucose=96mg/dL,insulin=7uIU/mL,months=6,insulin-treated=yes", "takes insulin"),
        ("glucose=96mg/dL,insulin=7uIU/mL,months=6,diabetes=yes", "told by a doctor of diabetes"),
        ("glucose=96mg/dL,insulin=7uIU/mL,months=6,a1c=8%", "A1c"),
        ("glucose=50mg/dL,insulin=7uIU/mL,months=6", "below 54 mg/dL"),
    ];
    for (second, reason) in cases {
        let said = said(&[("--second", second)]);
        assert!(said.contains("the change is not judged"), "{second}: {said}");
        assert!(!said.contains("chance alone reaches"), "{second}: {said}");
        assert!(said.contains(reason) || reason == "A1c", "{second}: {said}");
        assert!(
            reason != "A1c" || said.contains("glycated haemoglobin 8 % is in the diabetes range"),
            "{said}"
        );
    }
    let judged = said(&[("--second", "glucose=96mg/dL,insulin=7uIU/mL,months=6,fasting-hours=9")]);
    assert!(judged.contains("not more than noise (chance alone reaches −46 %)"), "{judged}");
    assert!(!judged.contains("not judged"), "{judged}");
}

#[test]
fn a_second_measurement_does_not_vanish_when_the_first_is_outside() {
    let said = said(&[("--pregnant", "yes"), ("--second", "glucose=96mg/dL,insulin=7uIU/mL,months=6")]);
    assert!(said.contains("the first measurement is outside the study's people: pregnant"), "{said}");
    assert!(said.contains("HOMA-IR 2.44 → 1.66: the change is not judged"), "{said}");
}

#[test]
fn a_second_measurement_is_checked_like_the_first() {
    let slips = [
        ("glucose=96mg/dL,insulin=710uIU/mL,months=6,bmi=310", "bmi: 310"),
        ("glucose=96mg/dL,insulin=7uIU/mL,months=6,sex=male", "sex differs"),
        ("glucose=96mg/dL,insulin=7uIU/mL,months=6,waist-size=90", "not a quantity"),
    ];
    for (second, expected) in slips {
        let (code, _, complaint) = place_in("small", &[("--second", second)]);
        assert_eq!(code, Some(2), "{second}");
        assert!(complaint.contains(expected), "{second}: {complaint}");
    }
    let said = said(&[("--second", "glucose=96mg/dL,insulin=710uIU/mL,months=6")]);
    assert!(said.contains("second measurement: fasting insulin 710 uU/mL is rarely seen"), "{said}");
}

#[test]
fn pregnancy_and_insulin_withhold_whatever_the_study_excludes() {
    for (name, value, reason) in [
        ("--pregnant", "yes", "pregnant"),
        ("--insulin-treated", "yes", "takes insulin"),
        ("--fasting-hours", "3", "not fasted"),
    ] {
        let mut changes = vec![(name, value)];
        if name == "--insulin-treated" {
            changes.push(("--glucose-drug", "yes"));
        }
        let (code, said, complaint) = place_in("lenient", &changes);
        assert_eq!(code, Some(0), "{complaint}");
        assert!(said.contains("CAUTION: outside the study's people") && said.contains(reason), "{said}");
        assert!(!said.contains("more insulin resistant than"), "{name}: {said}");
    }
    let (_, said, _) = place_in("lenient", &[]);
    assert!(said.contains("more insulin resistant than"), "{said}");
}

#[test]
fn a_measurement_speaks_for_itself() {
    let (_, raised, _) = place_in("lenient", &[("--a1c", "6.5%")]);
    assert!(raised.contains("CAUTION: glycated haemoglobin 6.5 % is in the diabetes range"), "{raised}");
    let said_of = |glucose: &str| place_in("lenient", &[("--glucose", glucose)]).1;
    let cases = [
        ("101mg/dL", "Fasting plasma glucose 101 mg/dL is in the raised range (100 to 125 mg/dL"),
        ("5.6mmol/L", "Fasting plasma glucose 5.6 mmol/L is in the raised range"),
        ("300mg/dL", "ACT ON THIS FIRST: fasting plasma glucose 300 mg/dL is far into the diabetes range"),
        ("65mg/dL", "ACT ON THIS FIRST: fasting plasma glucose 65 mg/dL is low"),
        ("50mg/dL", "ACT ON THIS FIRST: fasting plasma glucose 50 mg/dL is below 54 mg/dL"),
    ];
    for (glucose, expected) in cases {
        let said = said_of(glucose);
        assert!(said.contains(expected), "{glucose}: {said}");
    }
    assert!(!said_of("99mg/dL").contains("range"), "99 mg/dL is in no range");
}

#[test]
fn ranges_of_fasting_glucose_are_for_those_who_fasted_and_are_not_pregnant() {
    let of = |changes: &[(&str, &str)]| place_in("lenient", changes).1;
    let fed = of(&[("--glucose", "180mg/dL"), ("--fasting-hours", "2")]);
    assert!(fed.contains("plasma glucose 180 mg/dL was not taken after a fast"), "{fed}");
    assert!(!fed.contains("is in the diabetes range"), "{fed}");
    let unsaid = place_in_without("--fasting-hours", &[("--glucose", "110mg/dL")]);
    assert!(unsaid.contains("110 mg/dL is, if taken fasting, in the raised range"), "{unsaid}");
    for glucose in ["92mg/dL", "100mg/dL"] {
        let said = of(&[("--glucose", glucose), ("--pregnant", "yes")]);
        assert!(
            said.contains("pregnancy has lower limits of its own") && !said.contains("raised range"),
            "{said}"
        );
    }
    let high = of(&[("--glucose", "300mg/dL"), ("--fasting-hours", "2")]);
    assert!(high.contains("ACT ON THIS FIRST"), "{high}");
}

#[test]
fn a_low_glucose_is_not_placed() {
    for glucose in ["45mg/dL", "65mg/dL", "3.5mmol/L"] {
        let (_, said, _) = place_in("lenient", &[("--glucose", glucose), ("--insulin", "30uIU/mL")]);
        assert!(
            said.contains("ACT ON THIS FIRST") && said.contains("insulin needs an explanation"),
            "{said}"
        );
        assert!(!said.contains("more insulin resistant than") && !said.contains("likely beyond"), "{said}");
    }
}

#[test]
fn an_outcome_already_met_is_said_to_be() {
    let items = [
        ("--waist", "102"),
        ("--systolic", "135"),
        ("--diastolic", "88"),
        ("--triglycerides", "160mg/dL"),
        ("--hdl", "45mg/dL"),
    ];
    let folder = tempfile::tempdir().unwrap();
    let mut args = vec!["demo"];
    for (name, value) in WOMAN.iter().chain(&items) {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    let said = String::from_utf8(done.stdout).unwrap().replace("\n  ", " ");
    let counted =
        "Items given that metabolic syndrome (harmonized 2009, waist 102/88 cm) counts: 5 of 5, 5 met";
    assert!(said.contains(counted), "{said}");
    assert!(said.contains("the person already meets the outcome that its cutoffs predict"), "{said}");
}

#[test]
fn the_impossible_is_refused_and_the_rare_remarked() {
    let impossible = [
        ("--bmi", "310"),
        ("--bmi", "3.1"),
        ("--age", "470"),
        ("--age", "-47"),
        ("--insulin", "980uIU/mL"),
        ("--waist", "900"),
        ("--systolic", "1350"),
    ];
    for (name, value) in impossible {
        let (code, _, complaint) = place_in("small", &[(name, value)]);
        assert_eq!(code, Some(2), "{name} {value}");
        let fix =
            if value.starts_with('-') { "leave the minus sign out" } else { "check the number and its unit" };
        assert!(complaint.contains(fix), "{name} {value}: {complaint}");
    }
    let rare = said(&[("--insulin", "0.3uIU/mL")]);
    assert!(rare.contains("CAUTION: fasting insulin 0.3 uU/mL is rarely seen"), "{rare}");
    let (code, _, complaint) = place_in("small", &[("--sex", "male"), ("--pregnant", "yes")]);
    assert_eq!(code, Some(2));
    assert!(complaint.contains("both cannot be true"), "{complaint}");
}

#[test]
fn what_people_type_is_understood() {
    for sex in ["F", "woman", "W"] {
        assert!(said(&[("--sex", sex)]).contains("sex female"), "{sex}");
    }
    let (_, _, complaint) = place_in("small", &[("--glucose", "5,6mmol/L")]);
    assert!(complaint.contains("use a point: 5.6mmol/L"), "{complaint}");
    let (_, _, complaint) = place_in("small", &[("--insulin", "59pmol/L"), ("--insulin-factor", "6,00")]);
    assert!(complaint.contains("use a point: 6.00"), "{complaint}");
}

#[test]
fn every_smallest_group_stands_side_by_side() {
    let folder = tempfile::tempdir().unwrap();
    let (study, tallies) = opened(folder.path());
    let placed = place(&study, &tallies, &woman()).unwrap();
    let homa = index(&placed, "homa_ir");
    let own = |placed: &cutspan::analysis::PlacedIndex| -> Vec<String> {
        placed.own.iter().map(|&at| placed.ranks[at].group.clone()).collect()
    };
    // sex is split further by sex × BMI class, and does not stand beside it.
    assert_eq!(own(homa), ["female × 30 and over"]);
    let asked = Person { grouping: Some(0), ..woman() };
    let by_sex = place(&study, &tallies, &asked).unwrap();
    assert_eq!(own(index(&by_sex, "homa_ir")), ["female"]);
    let mut args = vec!["demo"];
    for (name, value) in &WOMAN {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    let said = String::from_utf8(done.stdout).unwrap().replace("\n  ", " ");
    let first = said.split("How to read this").next().unwrap();
    assert!(first.contains("age 40-59: "), "{said}");
    assert!(first.contains("; female × BMI 30 and over: likely short of 3.44 (2.70–4.61), chance that the usual value is beyond 7 %, 39 % if the true cutoff is 2.70"), "{said}");
    assert!(first.contains("The answer depends on the group."), "{said}");
    assert!(first.contains("Between groups the cutoffs"), "{said}");
    assert!(first.contains("A low percentile in a group at high risk is no reassurance"), "{said}");
    for unexplained in ["CASE WHEN", "derived cutoffs passed", "knowing nothing else", "own group*"] {
        assert!(!said.contains(unexplained), "{unexplained}: {said}");
    }
}

#[test]
fn a_withheld_cutoff_names_what_stands_in_its_place() {
    // A woman under 18.5: too few of them for a cutoff.
    let folder = tempfile::tempdir().unwrap();
    let mut args = vec!["demo"];
    for (name, value) in WOMAN.iter().filter(|(name, _)| *name != "--bmi").chain(&[("--bmi", "18")]) {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    let said = String::from_utf8(done.stdout).unwrap().replace("\n  ", " ");
    assert!(said.contains("female: "), "{said}");
    assert!(said.contains("(withheld in female × BMI under 18.5, shown instead)"), "{said}");
}

#[test]
fn beside_each_cutoff_stands_what_a_run_says() {
    let folder = tempfile::tempdir().unwrap();
    let (study, tallies) = opened(folder.path());
    let person = Person { within_person: Some(0.20), analytical: Some(0.05), ..woman() };
    let placed = place(&study, &tallies, &person).unwrap();
    let homa = index(&placed, "homa_ir");
    let results = pipeline::estimate(&study, &[]).unwrap();
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
        assert_eq!(test.p, row.unwrap().real("p"), "{}", test.grouping);
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
    assert!(said.contains("HOMA-IR 2.45: more insulin resistant than"), "{said}");
    assert!(said.contains("With the other factor, 6.945: 2.12, "), "{said}");
}

#[test]
fn one_index_of_those_that_say_the_same_is_shown() {
    let usual = said(&[]);
    assert!(usual.contains("QUICKI 0.334 rises or falls with HOMA-IR and says the same"), "{usual}");
    assert!(!usual.contains("QUICKI 0.334 (lower means"), "{usual}");
    let asked = said(&[("--index", "quicki")]);
    assert!(
        asked.contains("QUICKI 0.334 (lower means") && !asked.contains("HOMA-IR 2.44 (higher"),
        "{asked}"
    );
}

#[test]
fn a_group_as_printed_and_a_study_of_the_right_age_are_found() {
    let printed = said(&[("--group", "female × BMI 30 and over")]);
    assert!(printed.contains("female × BMI 30 and over: "), "{printed}");
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path());
    let teens = "title = \"Young people\"\n[cohort]\nage = { from = 12, below = 20 }\n";
    fs::write(folder.path().join("pipelines/young.toml"), teens).unwrap();
    let mut args = vec!["pipelines/small.toml"];
    for (name, value) in WOMAN.iter().filter(|(name, _)| *name != "--age").chain(&[("--age", "15")]) {
        args.extend([*name, *value]);
    }
    let said = String::from_utf8(cutspan(folder.path(), &args).stdout).unwrap();
    assert!(said.contains("A study that states this age: pipelines/young.toml (Young people)."), "{said}");
}

#[test]
fn the_picture_holds_the_value_and_every_cutoff() {
    let folder = tempfile::tempdir().unwrap();
    let mut args = vec!["demo", "--chart", "place.svg"];
    for (name, value) in &WOMAN {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let drawn = fs::read_to_string(folder.path().join("place.svg")).unwrap();
    for text in ["this person: 2.44", "female × BMI 30 and over", "age 40-59", "likely short", "32 (27–38)"]
    {
        assert!(drawn.contains(text), "{text}");
    }
    let outside =
        ["demo", "--chart", "none.svg", "--glucose", "101mg/dL", "--insulin", "9.8uU/mL", "--age", "12"];
    let done = cutspan(folder.path(), &outside);
    assert_eq!(done.status.code(), Some(2));
    assert!(String::from_utf8(done.stderr).unwrap().contains("nothing to draw"));
    assert!(!folder.path().join("none.svg").exists());
}
