//! A second measurement of one person: checked like the first, and judged only where it may be.
//! Sizes of groups, cutoffs and shares in the words are golden: our own output on the invented survey.

use crate::place_support::{place_in, said, said_of_demo};

/// Words of a row of the table of both dates, after the group.
const CELLS: usize = 9;

/// How many cells of a group's row are of a date at which the person is not in it.
fn cells_of_nobody(said: &str, group: &str) -> usize {
    let answer = said.split("The answer").nth(1).unwrap_or_default();
    let rows = answer.split(group).skip(1);
    let count = |row: &str| row.split_whitespace().take(CELLS).filter(|cell| *cell == "–").count();
    rows.map(count).max().unwrap_or_default()
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
    assert!(
        judged.contains("not more than noise, if by the same assay (chance alone reaches −46 %)"),
        "{judged}"
    );
    assert!(!judged.contains("not judged"), "{judged}");
}

#[test]
fn a_second_measurement_does_not_vanish_when_the_first_is_outside() {
    let said = said(&[("--diabetes", "yes"), ("--second", "glucose=96mg/dL,insulin=7uIU/mL,months=6")]);
    let outside = "at the first date the person is outside the study's people: told by a doctor of diabetes";
    assert!(said.contains(outside), "{said}");
    // The reason is said once, whatever the number of indices.
    assert!(said.contains("HOMA-IR 2.44 → 1.66: the change is not judged, as said first."), "{said}");
    assert_eq!(said.matches("at the first date the person is outside").count(), 1, "{said}");
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
    assert!(said.contains("second date: fasting insulin 710 uU/mL is rarely seen"), "{said}");
    // What is in doubt at the second date alone hangs on nothing at the first.
    assert!(said.contains("Second date, 6 months later: If insulin 710 uU/mL is right"), "{said}");
    assert!(said.contains("First date: HOMA-IR 2.44 is ") && !said.contains("First date: Rule"), "{said}");
}

#[test]
fn each_date_says_in_which_range_its_glucose_is() {
    let said = said(&[("--second", "glucose=96mg/dL,insulin=7uIU/mL,months=6")]);
    assert!(said.contains("First date: fasting plasma glucose 101 mg/dL is in the raised range"), "{said}");
    assert!(
        said.contains("Second date: fasting plasma glucose 96 mg/dL is neither low nor raised (70 to 99"),
        "{said}"
    );
    let hardly = "Glucose 101 mg/dL → 96 mg/dL is within day-to-day variation (which reaches −14 %";
    assert!(said.contains(hardly), "{said}");
    // 125 → 85 mg/dL is a fall of 32 %; chance alone, 1 − exp(−1.96 √2 √(ln 1.0025 + ln 1.0004)), reaches 13.9 %.
    let changes = [("--glucose", "125mg/dL"), ("--second", "glucose=85mg/dL,insulin=7uIU/mL,months=6")];
    let far = place_in("small", &changes).1;
    assert!(far.contains("85 mg/dL is neither low nor raised") && !far.contains("→ 85 mg/dL"), "{far}");
    let low = place_in("small", &[("--second", "glucose=60mg/dL,insulin=7uIU/mL,months=6")]).1;
    assert!(low.contains("ACT ON THIS FIRST: second date: fasting plasma glucose 60 mg/dL is low"), "{low}");
    assert!(!low.contains("Second date, 6 months later:"), "{low}");
}

#[test]
fn the_second_value_gets_the_same_sentences() {
    let said = said_of_demo(&[("--second", "glucose=96mg/dL,insulin=7uIU/mL,months=6")]);
    // 96 × 7 / 405 = 1.659.
    let of_second = said.split("Second date, 6 months later: ").nth(1).unwrap().lines().next().unwrap();
    let chance = "HOMA-IR 1.66 is likely short of 3.44 (2.70–4.61), the cutoff that fits (female × BMI 30 and over). The chance \
                  that the usual value is beyond the cutoff is 0.1 % if that is truly 3.44, and ";
    assert!(of_second.contains(chance), "{said}");
    assert!(of_second.contains("HOMA-IR 1.66: more insulin resistant than"), "{said}");
    assert!(said.contains("first date  usual value"), "{said}");
    assert!(said.contains("second date  usual value then"), "{said}");
    assert!(
        said.contains("Threshold 2 (often quoted without a population): 2.44 was past it, 1.66 no longer is")
    );
    // Of another class of BMI at the second date: another group's cutoff.
    let lighter = said_of_demo(&[("--second", "glucose=96mg/dL,insulin=7uIU/mL,bmi=24,months=24")]);
    let of_second = lighter.split("Second date, 24 months later: ").nth(1).unwrap().lines().next().unwrap();
    assert!(
        of_second.contains("HOMA-IR 1.66 is likely short of") && !of_second.contains("30 and over"),
        "{lighter}"
    );
    let by_bmi =
        [("--group", "sex × bmi_class"), ("--second", "glucose=96mg/dL,insulin=7uIU/mL,bmi=24,months=24")];
    let other = "another group than at the first date (female × BMI 30 and over then, female now)";
    let by_bmi = said_of_demo(&by_bmi);
    assert!(by_bmi.contains(other), "{by_bmi}");
    assert!(lighter.contains(" in female × BMI 18.5-24.9, the group of the second date."), "{lighter}");
    // Each date has its own groups; the other has none there.
    for group in ["female × BMI 18.5-24.9", "female × BMI 30 and over"] {
        assert!(cells_of_nobody(&lighter, group) >= 2, "{group}: {lighter}");
    }
}

#[test]
fn the_second_date_has_the_same_warnings_and_its_own_items() {
    let second = "glucose=96mg/dL,insulin=7uIU/mL,months=6";
    let said = said_of_demo(&[("--waist", "102"), ("--second", second)]);
    let of_second = said.split("Second date, 6 months later: ").nth(1).unwrap().lines().next().unwrap();
    let low = "A low percentile in a group whose values lie high is no reassurance";
    assert!(of_second.contains(low), "{of_second}");
    assert!(said.contains("First date: of the 5 items of metabolic syndrome"), "{said}");
    assert!(said.contains("2 given, 2 met (waist; fasting glucose): undecided."), "{said}");
    // 96 mg/dL is no raised glucose; the waist is that of the first date.
    let then = "Second date: of the 5 items of metabolic syndrome (harmonized 2009, waist 102/88 cm), 2 given, 1 met (waist)";
    assert!(said.contains(then), "{said}");
    assert!(said.contains("; as at the first date: waist circumference."), "{said}");
}

#[test]
fn parts_of_a_second_date_are_separated_by_commas() {
    let (code, _, complaint) = place_in("small", &[("--second", "glucose=96mg/dL;insulin=7uIU/mL;months=6")]);
    assert_eq!(code, Some(2));
    assert!(complaint.contains("separated by commas, not by semicolons"), "{complaint}");
}

#[test]
fn the_second_date_has_an_assay_of_its_own() {
    let values = |assay: &str| format!("glucose=96mg/dL,insulin=7uIU/mL,months=6,assay={assay}");
    let of = |first: &str, second: &str| said(&[("--assay", first), ("--second", &values(second))]);
    let other = of("invented", "Mercodia");
    assert!(
        other.contains(
            "the insulin assays of the two dates differ (invented, then Mercodia); the change is not judged"
        ),
        "{other}"
    );
    assert!(other.contains("second date: fasting insulin: measured by Mercodia"), "{other}");
    assert!(!other.contains("chance alone reaches"), "{other}");
    let threshold = "2.44 was past it, 1.66 no longer is (not to be compared, as the insulin assays of the two dates differ";
    assert!(other.contains(threshold), "{other}");
    let same = of("invented", "invented");
    assert!(same.contains("not more than noise (chance alone reaches"), "{same}");
    // What is said to be unknown is not taken from the other date.
    for (first, second, date) in [("invented", "unknown", "second"), ("unknown", "invented", "first")] {
        let said = of(first, second);
        assert!(said.contains(&format!("insulin assay not stated for the {date} date")), "{said}");
        assert!(said.contains("not more than noise, if by the same assay (chance alone reaches"), "{said}");
        assert!(!said.contains(", insulin assay"), "{said}");
    }
    assert!(of("invented", "unknown").contains("second date: fasting insulin: assay not stated"));
    assert!(of("unknown", "unknown").contains("not more than noise, if by the same assay"));
}

#[test]
fn a_second_value_is_withheld_where_the_first_would_be() {
    let cases = [
        ("glucose=96mg/dL,insulin-treated=yes", "the person takes insulin"),
        ("glucose=60mg/dL", "glucose is below 70 mg/dL (3.9 mmol/L)"),
        ("glucose=300mg/dL", "glucose is 200 mg/dL (11.1 mmol/L) or more"),
        ("glucose=96mg/dL,fasting-hours=2", "the sample was not taken after a fast"),
    ];
    for (values, why) in cases {
        let said = said(&[("--second", &format!("{values},insulin=7uIU/mL,months=6"))]);
        let words = format!("HOMA-IR cannot be compared; withheld then, as {why}");
        assert!(said.contains(&words), "{values}: {said}");
        assert!(!said.contains("2.44 → "), "{values}: {said}");
    }
}

#[test]
fn two_dates_far_apart_are_remarked() {
    let said =
        |months: &str| said(&[("--second", &format!("glucose=96mg/dL,insulin=7uIU/mL,months={months}"))]);
    assert!(said("600").contains("600 months between the two dates: unusual, check the value"));
    assert!(!said("24").contains("unusual"));
}

#[test]
fn a_time_in_weeks_is_said_in_weeks() {
    let weeks = said(&[("--second", "glucose=96mg/dL,insulin=7uIU/mL,weeks=8")]);
    assert!(weeks.contains("Second date, 8 weeks later: ") && weeks.contains(" in 8 weeks: "), "{weeks}");
}

#[test]
fn a_variation_that_is_named_says_the_same_when_it_is_stated() {
    let of = |second: &str, stated: Option<&str>| {
        let second = format!("glucose=96mg/dL,insulin={second},months=6");
        let mut asked = vec![("--second", second.as_str())];
        asked.extend(stated.map(|cv| ("--within-person-cv", cv)));
        said(&asked)
    };
    // ln(1.42222 / 2.44395) / (1.96 √2) = −0.19532; √(exp(0.19532² − ln(1 + 0.054²)) − 1) = 18.9 %.
    assert!(of("6uIU/mL", None).contains("with 18 % or less the change would be more than noise"));
    let turned = of("6uIU/mL", Some("18"));
    assert!(turned.contains(" in 6 months: more than noise, if by the same assay"), "{turned}");
    assert!(turned.contains("; from 19 % on the change would not be more than noise"), "{turned}");
    assert!(of("6uIU/mL", Some("19")).contains(" in 6 months: not more than noise, if by the same assay"));
    // The variation that is taken, as it is printed, changes nothing when it is stated: exp(1.96 √2 × 0.22025) = 1.841.
    let taken = "This takes a day-to-day variation of 21.6 %";
    for stated in [None, Some("21.6")] {
        let rise = of("14uIU/mL", stated);
        assert!(rise.contains("(chance alone reaches +84 %)") && rise.contains(taken), "{rise}");
    }
}

#[test]
fn an_unknown_factor_is_put_to_the_change_too() {
    let said = |insulin: &str, second: &str| {
        let second = format!("glucose=96mg/dL,insulin={second},months=6");
        said(&[("--insulin", insulin), ("--insulin-factor", "unknown"), ("--second", &second)])
    };
    // 96 × (36 / 6) / 405 = 1.4222 and 96 × (36 / 6.945) / 405 = 1.2287, of 2.4440: −41.8 % and −49.7 %, against −46 %.
    let torn = said("9.8uIU/mL", "36pmol/L");
    let words = "HOMA-IR 2.44 → 1.42 (−42 %) by the factor 6.00, 2.44 → 1.23 (−50 %) by 6.945, in 6 months: cannot tell: it \
                 depends on the factor (6.00: not more than noise; 6.945: more than noise)";
    assert!(torn.contains(words), "{torn}");
    assert!(torn.contains("CAUTION: second date: insulin factor not known: 6.00 is taken"), "{torn}");
    assert!(torn.contains("By the other factor, 6.945: HOMA-IR 1.23, "), "{torn}");
    // Both in pmol/L: one ratio, whichever factor holds.
    let same = said("59pmol/L", "42pmol/L");
    assert!(same.contains("by 6.945, in 6 months: not more than noise by both"), "{same}");
    assert!(same.contains(" cutoffs by the factor 6.00, ") && same.contains(" by 6.945, from "), "{same}");
}

#[test]
fn the_second_date_may_have_a_factor_of_its_own() {
    let second = "glucose=96mg/dL,insulin=42pmol/L,insulin-factor=6,months=1";
    // 96 × 7 / 405 = 1.659.
    let own = said(&[("--second", second)]);
    assert!(own.contains("HOMA-IR 2.44 → 1.66 (−32 %) in 1 month: not more than noise"), "{own}");
    let (code, _, complaint) =
        place_in("small", &[("--second", "glucose=96mg/dL,insulin=42pmol/L,months=1")]);
    assert_eq!(code, Some(2));
    assert!(complaint.contains("pmol/L needs --insulin-factor"), "{complaint}");
}

#[test]
fn the_age_goes_on_with_the_months() {
    let values = |more: &str| format!("glucose=96mg/dL,insulin=7uIU/mL,{more}");
    let older = said_of_demo(&[("--age", "59"), ("--second", &values("months=18"))]);
    assert!(older.contains("; age 60.5, counted on."), "{older}");
    for group in ["age 40-59", "age 60 and over"] {
        assert!(cells_of_nobody(&older, group) >= 2, "{group}: {older}");
    }
    for (more, wanted) in [
        ("months=6,age=30", "an age of 30, 6 months after an age of 47 (47.5 is expected)"),
        ("months=1000", "1000 months after an age of 47"),
        ("months=2400", "above 0 and at most 1200"),
        ("months=-6", "above 0 and at most 1200"),
    ] {
        let (code, _, complaint) = place_in("small", &[("--second", &values(more))]);
        assert_eq!(code, Some(2), "{more}");
        assert!(complaint.contains(wanted), "{more}: {complaint}");
    }
}

#[test]
fn a_value_below_the_limit_is_not_compared_with_another() {
    let said = said(&[("--second", "glucose=96mg/dL,insulin=<2uIU/mL,months=6")]);
    let why = "insulin is below the limit of detection at the second date; the change is not judged";
    assert!(said.contains(why) && !said.contains("chance alone reaches"), "{said}");
    assert!(said.contains("CAUTION: second date: fasting insulin is below 2 uU/mL"), "{said}");
}
