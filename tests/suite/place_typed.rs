//! What is typed of one person: understood, remarked or refused.

use crate::place_support::{place_in, said};

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
    for (bmi, remarked) in [("13", true), ("62", true), ("31", false)] {
        let unusual = said(&[("--bmi", bmi)]).contains("unusual in an adult");
        assert_eq!(unusual, remarked, "{bmi}");
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
    for glucose in ["5,6mmol/L", "5.6 mmol/L", "5,6 mmol/l"] {
        assert!(said(&[("--glucose", glucose)]).contains("glucose 5.6 mmol/L"), "{glucose}");
    }
    assert!(said(&[("--glucose", "101mg/dl")]).contains("glucose 101 mg/dL"));
    assert!(said(&[("--age", "47y"), ("--fasting-hours", "12h")]).contains("age 47 years"));
    // 101 × (59 / 6.945) / 405 = 2.1186.
    let factor = said(&[("--insulin", "59pmol/L"), ("--insulin-factor", "6,945"), ("--analytical-cv", "5%")]);
    assert!(factor.contains("HOMA-IR 2.12: more insulin resistant"), "{factor}");
    let inches = said(&[("--waist", "39in")]);
    assert!(inches.contains("waist 99.06 cm"), "{inches}");
}

#[test]
fn unknown_is_the_same_as_leaving_an_option_out() {
    let unknown = [("--glucose-drug", "unknown"), ("--ancestry", "unknown"), ("--bmi", "unknown")];
    let (code, asked, complaint) = place_in("lenient", &unknown);
    assert_eq!(code, Some(0), "{complaint}");
    assert!(!asked.contains("ancestry unknown") && !asked.contains("bmi 31"), "{asked}");
    let once = " Not given, so not compared within groups by it: body mass index.";
    assert_eq!(
        asked.matches("CAUTION: ").count(),
        2,
        "invented people, and one line of what is not stated: {asked}"
    );
    assert!(asked.contains(once), "{asked}");
}

#[test]
fn nothing_is_taken_for_a_measurement_that_is_none() {
    for (name, value, wanted) in [
        ("--insulin", "0uU/mL", "write the limit: <2uU/mL"),
        ("--glucose", "0mg/dL", "0 is no measurement"),
        ("--waist", "39", "in inches, 39in, it would be 99 cm"),
        ("--a1c", "5.7mmol/mol", "5.7% would be usual"),
    ] {
        let (code, _, complaint) = place_in("small", &[(name, value)]);
        assert_eq!(code, Some(2), "{name} {value}");
        assert!(complaint.contains(wanted), "{name} {value}: {complaint}");
    }
    let below = said(&[("--insulin", "<2uU/mL")]);
    let first = "CAUTION: fasting insulin is below 2 uU/mL: indices are computed with 1.41 (2 / √2), a guess";
    assert!(below.split("Person:").next().is_some_and(|lines| lines.contains(first)), "{below}");
    // 101 × 1.414214 / 405 = 0.352680.
    assert!(below.contains("insulin <2 uU/mL") && below.contains("HOMA-IR 0.353"), "{below}");
    // 101 × 2 / 405 = 0.498765: short of the cutoff, too, so that it is wherever insulin lies.
    let wherever = "Wherever below 2 uU/mL insulin lies (at 2 uU/mL HOMA-IR 0.499; 0.353 is a guess): HOMA-IR 0.353 is likely short of";
    assert!(below.contains(wherever) && !below.contains("if insulin is right"), "{below}");
    assert!(below.contains("HOMA-IR 0.353, by the guess: more insulin resistant than"), "{below}");
}

#[test]
fn little_insulin_beside_raised_glucose_is_said_to_be_no_reassurance() {
    // Compared with the study's people, outside them, and below detection.
    for (glucose, insulin, soon) in
        [("115mg/dL", "0.6uU/mL", false), ("180mg/dL", "1.2uU/mL", true), ("101mg/dL", "<2uU/mL", false)]
    {
        let said = said(&[("--glucose", glucose), ("--insulin", insulin)]);
        let (glucose, insulin) = (glucose.replace("mg", " mg"), insulin.replace("uU", " uU"));
        let little = format!("CAUTION: fasting insulin {insulin} is little beside a glucose of {glucose} (");
        assert!(said.split("Person:").next().is_some_and(|lines| lines.contains(&little)), "{said}");
        assert!(said.contains("a low index is no reassurance then"), "{said}");
        assert_eq!(said.contains("without delay"), soon, "{said}");
    }
    assert!(!said(&[("--insulin", "3.1uU/mL")]).contains("is little beside"));
}

#[test]
fn a_factor_of_which_nothing_makes_use_is_said_to_be_unused() {
    let complaint = |changes: &[(&str, &str)]| place_in("small", changes).2;
    let unused = "--insulin-factor 6.945 is not used: no insulin is given in pmol/L";
    assert!(complaint(&[("--insulin-factor", "6.945")]).contains(unused));
    assert!(!complaint(&[("--insulin", "59pmol/L"), ("--insulin-factor", "6.945")]).contains("not used"));
    let second = "glucose=96mg/dL,insulin=42pmol/L,months=6";
    assert!(!complaint(&[("--insulin-factor", "6.945"), ("--second", second)]).contains("not used"));
}

#[test]
fn a_group_of_other_people_is_refused() {
    let (code, _, complaint) = place_in("small", &[("--group", "female × BMI 18.5-24.9")]);
    assert_eq!(code, Some(2));
    assert!(complaint.contains("the person is not in it: body mass index"), "{complaint}");
    assert!(complaint.contains("is \"30 and over\"; --group \"sex × bmi_class\" compares"), "{complaint}");
    let (code, _, complaint) = place_in("small", &[("--group", "men with obesity")]);
    assert_eq!(code, Some(2));
    assert!(complaint.contains("the person is not in it: sex is \"female\""), "{complaint}");
}
