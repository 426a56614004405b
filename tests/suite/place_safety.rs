//! `cutspan place`, by the real program: what could hurt somebody if it were read wrongly.

use crate::place_support::{place_in, place_in_without, placed_in, said, said_of_demo, said_of_demo_without};

#[test]
fn pregnancy_and_insulin_withhold_whatever_the_study_excludes() {
    for (name, value, reason) in [
        ("--pregnant", "yes", "pregnant"),
        ("--insulin-treated", "yes", "takes insulin"),
        ("--fasting-hours", "3", "not fasted"),
    ] {
        // Of a drug for raised glucose nothing is said, and insulin is one.
        let unsaid = if name == "--insulin-treated" { "--glucose-drug" } else { "" };
        let (code, said, complaint) = placed_in("lenient", unsaid, &[(name, value)]);
        assert_eq!(code, Some(0), "{complaint}");
        assert!(said.contains("CAUTION: outside the study's people") && said.contains(reason), "{said}");
        assert!(!said.contains("more insulin resistant than"), "{name}: {said}");
        // Injected insulin is measured too, and a meal raises it: the value itself means nothing.
        let why = match reason {
            "takes insulin" => Some("the person takes insulin"),
            "pregnant" => Some(
                "the person is pregnant: insulin resistance rises in pregnancy, and no index of other people is to be read then (common practice)",
            ),
            "not fasted" => Some("the sample was not taken after a fast of 8 to under 24 hours"),
            _ => None,
        };
        let withheld = why.is_some_and(|why| said.contains(&format!("Withheld, as {why}: HOMA-IR; QUICKI.")));
        assert_eq!((withheld, said.contains("HOMA-IR 2.44")), (why.is_some(), why.is_none()), "{said}");
        assert_eq!(said.contains("are measured together"), reason == "takes insulin", "{said}");
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
        ("300mg/dL", "ACT ON THIS FIRST: fasting plasma glucose 300 mg/dL is very high (250"),
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
    let symptoms = "plasma glucose 210 mg/dL is in the range of diabetes if symptoms are present (200 mg/dL";
    for (hours, said_so) in [("2", true), ("10", false)] {
        let said = of(&[("--glucose", "210mg/dL"), ("--fasting-hours", hours)]);
        assert_eq!(said.contains(symptoms), said_so, "{hours}: {said}");
    }
    assert!(!fed.contains("if symptoms are present"), "{fed}");
    let unsaid = place_in_without("--fasting-hours", &[("--glucose", "110mg/dL")]);
    assert!(unsaid.contains("110 mg/dL is, if taken fasting, in the raised range"), "{unsaid}");
    for glucose in ["92mg/dL", "100mg/dL"] {
        let said = of(&[("--glucose", glucose), ("--pregnant", "yes")]);
        let words = format!(
            "CAUTION: fasting plasma glucose {} is neither low nor in the diabetes range (70 to 125 mg/dL",
            glucose.replace("mg", " mg")
        );
        assert!(said.contains(&words) && !said.contains("raised range"), "{said}");
        let judged =
            "whether it is raised for pregnancy, which has lower limits of its own, cannot be said here";
        assert!(said.contains(judged) && said.contains("the obstetric team judges it"), "{said}");
        assert!(!said.contains(" now") && !said.contains("HOMA-IR 2."), "{said}");
        // It is read before what keeps the person out.
        let (line, outside) = (said.find(&words), said.find("outside the study's people"));
        assert!(line.zip(outside).is_some_and(|(line, outside)| line < outside), "{said}");
    }
    let fed = of(&[("--pregnant", "yes"), ("--fasting-hours", "2")]);
    assert!(
        fed.contains("was not taken after a fast") && fed.contains("the obstetric team judges it"),
        "{fed}"
    );
}

#[test]
fn a_very_high_glucose_without_fasting_waits_for_nothing() {
    let high = place_in("small", &[("--glucose", "380mg/dL"), ("--fasting-hours", "2")]).1;
    assert!(high.starts_with("ACT ON THIS FIRST: plasma glucose 380 mg/dL is very high"), "{high}");
    for said in ["the same day", "thirst", "weight loss", "vomiting", "ketones", "(common practice)"] {
        assert!(high.contains(said), "{said}: {high}");
    }
    assert!(
        high.contains("plasma glucose 380 mg/dL is in the range of diabetes if symptoms are present (200")
    );
    for unsaid in
        ["fasting plasma glucose", "fasting glucose", "fasting insulin", "after fasting", "needs a sample"]
    {
        assert!(!high.contains(unsaid), "{unsaid}: {high}");
    }
    let fed = said_of_demo(&[("--glucose", "180mg/dL"), ("--fasting-hours", "2"), ("--waist", "102")]);
    assert!(!fed.contains("items of") && !fed.contains("already meets"), "{fed}");
    // With a sample taken after a fast it is said once.
    let fasted = place_in("small", &[("--glucose", "380mg/dL")]).1;
    assert!(!fasted.contains("if symptoms are present"), "{fasted}");
}

#[test]
fn diagnostic_ranges_are_not_for_people_under_treatment() {
    let known =
        [("--diabetes", "yes"), ("--glucose-drug", "yes"), ("--glucose", "118mg/dL"), ("--a1c", "6.4%")];
    let said = place_in("lenient", &known).1;
    let words = "Fasting plasma glucose 118 mg/dL, glycated haemoglobin 6.4 %: diagnostic ranges do not apply under treatment";
    assert!(said.contains(words) && !said.contains("raised range"), "{said}");
    let of = |glucose| place_in("lenient", &[("--diabetes", "yes"), ("--glucose", glucose)]).1;
    for alarm in ["50mg/dL", "300mg/dL"] {
        assert!(of(alarm).starts_with("ACT ON THIS FIRST"), "{alarm}");
    }
    assert!(!of("130mg/dL").contains("in the diabetes range"));
}

#[test]
fn known_diabetes_or_a_meal_does_not_silence_a_high_glucose_in_pregnancy() {
    let of = |glucose: &str, more: (&str, &str)| {
        place_in("small", &[("--glucose", glucose), ("--pregnant", "yes"), more]).1
    };
    let known = of("130mg/dL", ("--diabetes", "yes"));
    assert!(
        known.starts_with("ACT ON THIS FIRST") && known.contains("ask the obstetric team now"),
        "{known}"
    );
    let usual = of("92mg/dL", ("--diabetes", "yes"));
    assert!(
        !usual.contains("ask the obstetric team now") && usual.contains("the obstetric team sets"),
        "{usual}"
    );
    let fed = of("230mg/dL", ("--fasting-hours", "2"));
    assert!(fed.starts_with("ACT ON THIS FIRST") && fed.contains("ask the obstetric team now"), "{fed}");
}

#[test]
fn the_diabetes_range_counts_in_pregnancy() {
    let of = |glucose| place_in("small", &[("--glucose", glucose), ("--pregnant", "yes")]).1;
    let high = of("130mg/dL");
    assert!(
        high.starts_with("ACT ON THIS FIRST: fasting plasma glucose 130 mg/dL is in the diabetes range"),
        "{high}"
    );
    assert!(high.contains("counts in pregnancy as well"), "{high}");
    assert!(high.contains("ask the obstetric team now") && !high.contains("neither low nor"), "{high}");
    assert!(!of("125mg/dL").contains("ACT ON THIS FIRST"));
    for acted_on in ["50mg/dL", "65mg/dL", "260mg/dL"] {
        let said = of(acted_on);
        assert!(
            said.starts_with("ACT ON THIS FIRST") && said.contains("ask the obstetric team now"),
            "{said}"
        );
    }
    assert!(!place_in("small", &[("--glucose", "65mg/dL")]).1.contains("obstetric"));
    // Of two dates, what must be judged by others is read before what is neither low nor raised.
    let second = "glucose=92mg/dL,insulin=7uIU/mL,months=6,pregnant=yes";
    let two = place_in("small", &[("--glucose", "96mg/dL"), ("--second", second)]).1;
    let (then, first) = (two.find("neither low nor in the diabetes"), two.find("neither low nor raised"));
    assert!(then.zip(first).is_some_and(|(then, first)| then < first), "{two}");
}

#[test]
fn no_index_is_said_of_a_glucose_too_low_or_too_high_for_it() {
    for (glucose, why) in [
        ("65mg/dL", "glucose is below 70 mg/dL (3.9 mmol/L)"),
        ("3.8mmol/L", "glucose is below 70 mg/dL (3.9 mmol/L)"),
        ("200mg/dL", "glucose is 200 mg/dL (11.1 mmol/L) or more"),
        ("11.1mmol/L", "glucose is 200 mg/dL (11.1 mmol/L) or more"),
    ] {
        let said = place_in("lenient", &[("--glucose", glucose)]).1;
        let withheld = said.split("Withheld, as ").nth(1).unwrap_or_default();
        assert!(withheld.starts_with(why) && withheld.contains(": HOMA-IR; QUICKI."), "{glucose}: {said}");
        assert!(!said.contains("more insulin resistant than") && !said.contains("HOMA-IR 1."), "{said}");
        // What comes first is not said again as a reason.
        assert!(said.matches("Standards of Care, section 6").count() <= 1, "{said}");
    }
    let just = place_in("lenient", &[("--glucose", "199mg/dL")]).1;
    assert!(just.contains("more insulin resistant than"), "{just}");
}

#[test]
fn what_comes_first_is_said_although_no_index_can_be_computed() {
    let (code, said, complaint) = placed_in("small", "--insulin", &[("--glucose", "50mg/dL")]);
    assert_eq!(code, Some(2));
    assert!(said.starts_with("ACT ON THIS FIRST: fasting plasma glucose 50 mg/dL"), "{said}");
    assert!(complaint.contains("HOMA-IR (not given: insulin)"), "{complaint}");
    assert!(!said.contains("The answer"), "{said}");
}

#[test]
fn without_a_value_the_cutoffs_of_the_persons_groups_are_said() {
    let (code, said, complaint) = placed_in("small", "--insulin", &[]);
    assert_eq!(code, Some(0), "{complaint}");
    assert!(said.contains("The cutoffs of this person's groups") && !said.contains("The answer"), "{said}");
    assert!(
        said.contains("The cutoff that would be used: 3.44 (2.75–4.60) in female × BMI 30 and over"),
        "{said}"
    );
    assert!(said.contains("HOMA-IR, QUICKI (not given: insulin)"), "{said}");
    assert!(!said.contains("more insulin resistant than") && !said.contains("likely"), "{said}");
}

#[test]
fn what_comes_first_is_said_whatever_else_cannot_be_read() {
    for (name, value) in [
        ("--insulin", "9000uU/mL"),
        ("--insulin", ">300uU/mL"),
        ("--metformin", "yes"),
        ("--second", "glucose=96mg/dL;months=6"),
    ] {
        let (code, said, complaint) = place_in("small", &[("--glucose", "400mg/dL"), (name, value)]);
        assert_eq!(code, Some(2), "{name} {value}");
        assert!(said.starts_with("ACT ON THIS FIRST: "), "{name} {value}: {said}");
        assert!(said.contains("plasma glucose 400 mg/dL is very high"), "{name} {value}: {said}");
        assert!(complaint.starts_with("error: "), "{complaint}");
    }
    let (code, said, complaint) = place_in("small", &[("--glucose", "<40mg/dL")]);
    assert_eq!(code, Some(2));
    assert!(said.contains("plasma glucose below 40 mg/dL, as written, is below 54 mg/dL"), "{said}");
    assert!(complaint.contains("no index can be computed from it"), "{complaint}");
}

#[test]
fn no_insulin_in_the_middle_of_those_that_are_taken_is_refused() {
    for insulin in ["94uU/mL", "105uU/mL"] {
        let said = said(&[("--insulin", insulin)]);
        let number = insulin.trim_end_matches("uU/mL");
        let caution =
            format!("CAUTION: fasting insulin {number} uU/mL is unusual and would be usual in pmol/L");
        assert!(said.contains(&caution), "{said}");
    }
}

#[test]
fn what_rests_on_a_fast_that_is_not_known_says_so() {
    let said = said_of_demo_without("--fasting-hours", &[("--glucose", "188mg/dL"), ("--waist", "102")]);
    let outside = "outside the study's people: glucose in the diabetes range (126 mg/dL, 7.0 mmol/L), if taken fasting.";
    assert!(said.contains(outside), "{said}");
    assert!(said.contains("2 given, 1 met (waist); 2 with fasting glucose if taken fasting"), "{said}");
    // 188 × 9.8 / 405 = 4.5491.
    assert!(said.contains("HOMA-IR 4.55, only if taken fasting."), "{said}");
    assert!(said.contains("to be confirmed by a second test unless symptoms are present"), "{said}");
}

#[test]
fn an_age_that_is_given_is_not_said_to_be_unknown() {
    let said = said(&[("--age", "16")]);
    assert!(said.contains("outside the study's people: under 20 years. No percentile"), "{said}");
}

#[test]
fn what_measurements_say_comes_before_what_is_not_known() {
    let said = said_of_demo_without("--pregnant", &[]);
    let at = |words: &str| said.find(words).unwrap_or_else(|| panic!("{words}: {said}"));
    assert!(at("people are invented") < at("in the raised range"), "{said}");
    assert!(at("in the raised range") < at("the answer holds only for somebody"), "{said}");
    assert!(at("the answer holds only for somebody") < at("1 met (fasting glucose): undecided"), "{said}");
    // An outcome that is met comes before it as well.
    let items = [("--waist", "102"), ("--systolic", "135"), ("--diastolic", "88"), ("--pregnant", "unknown")];
    let met = said_of_demo(&items);
    let at = |words: &str| met.find(words).unwrap_or_else(|| panic!("{words}: {met}"));
    assert!(at("the person already meets the outcome") < at("the answer holds only for somebody"), "{met}");
}

#[test]
fn nobody_past_the_age_of_pregnancy_is_asked_for_one() {
    let of = |age: &str| said_of_demo_without("--pregnant", &[("--age", age)]);
    assert!(of("47").contains("--pregnant"), "{}", of("47"));
    assert!(!of("67").contains("pregnant"), "{}", of("67"));
}

#[test]
fn a_drug_for_raised_glucose_is_remarked_where_the_study_includes_who_takes_it() {
    let said = said_of_demo(&[("--glucose-drug", "yes")]);
    assert!(
        said.contains("CAUTION: the person takes a drug for raised glucose: it changes glucose"),
        "{said}"
    );
    assert!(said.contains("HOMA-IR 2.44") && !said_of_demo(&[]).contains("takes a drug"), "{said}");
}

#[test]
fn a_rare_value_is_called_fasting_only_if_it_was() {
    let unsaid = place_in_without("--fasting-hours", &[("--glucose", "48mg/dL")]);
    assert!(unsaid.contains("CAUTION: plasma glucose 48 mg/dL is rarely seen"), "{unsaid}");
    let said = place_in("lenient", &[("--glucose", "48mg/dL")]).1;
    assert!(said.contains("CAUTION: fasting plasma glucose 48 mg/dL is rarely seen"), "{said}");
}

#[test]
fn insulin_is_a_drug_for_raised_glucose() {
    let treated = [("--insulin-treated", "yes"), ("--waist", "102"), ("--glucose", "90mg/dL")];
    let said = said_of_demo_without("--glucose-drug", &treated);
    assert!(said.contains("2 given, 2 met (waist; fasting glucose): undecided."), "{said}");
    assert!(!said.contains("--glucose-drug"), "{said}");
}

#[test]
fn by_what_nobody_is_compared_is_not_said_where_nobody_is() {
    let said = said_of_demo_without("--bmi", &[("--glucose", "48mg/dL")]);
    assert!(said.starts_with("ACT ON THIS FIRST") && !said.contains("not compared within groups"), "{said}");
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
    let said = said_of_demo(&items);
    let counted = "Of the 5 items of metabolic syndrome (harmonized 2009, waist 102/88 cm), 5 given, 5 met (waist; triglycerides; \
                   HDL; blood pressure; fasting glucose): ";
    assert!(said.contains(counted), "{said}");
    assert!(said.contains("the person already meets the outcome that its cutoffs predict"), "{said}");
    // The demo's first cutoffs are for another outcome.
    assert!(!said.contains("the outcome that these cutoffs predict"), "{said}");
    // HDL and pressure that are not met by value are still given: a drug for them would count.
    let open = said_of_demo(&[
        ("--waist", "102"),
        ("--systolic", "120"),
        ("--diastolic", "78"),
        ("--triglycerides", "160mg/dL"),
        ("--hdl", "60mg/dL"),
    ]);
    let counted = "5 given, 3 met (waist; triglycerides; fasting glucose); HDL and blood pressure not met by value, but counted as \
                   met if a drug for it is taken (not stated: --value lipid_drug=…, --value blood_pressure_drug=…): the person";
    assert!(open.contains(counted), "{open}");
    // Items are said of somebody who does not meet it yet.
    let few = said_of_demo(&[("--waist", "102")]);
    assert!(few.contains("2 given, 2 met (waist; fasting glucose): undecided."), "{few}");
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
