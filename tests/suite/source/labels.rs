//! Texts of columns: which are not understood, which are likely slips, and which classes are too small to be shown.

use std::fs;

use cutspan::source::inspect;

use super::details::{notices, private};
use super::tables::{COHORT, cohort, read_texts, refused};

/// Sixty people, of whom one has a text that is nearly that of most.
fn of_smokers() -> String {
    let text = |at: usize| match at {
        0 => "nevr",
        1..=4 => "former",
        _ => "never",
    };
    let rows = (0..60).map(|at| format!("p{at},5.5,70,1,2,{},1,s1,p1\n", text(at)));
    format!("{}\n{}", COHORT.lines().next().unwrap(), rows.collect::<String>())
}

#[test]
fn a_rare_text_that_is_nearly_a_common_one_is_told_with_its_line() {
    let loaded = read_texts(&cohort(), &[("cohort.csv", &of_smokers())]).unwrap();
    let said = notices(&loaded, "text_slip");
    assert_eq!(said.len(), 1, "{said:?}");
    for part in [
        "from column `group`: \"nevr\" (1 person, line 2) beside \"never\" (55 people): a slip of the pen?",
        "codes = { \"former\" = \"former\", \"never\" = \"never\", \"nevr\" = \"never\" } in the braces",
    ] {
        assert!(said[0].contains(part), "{part}: {said:?}");
    }
    // With the codes there is one class and nothing to be said.
    let mut source = cohort();
    let codes = [("former", "former"), ("never", "never"), ("nevr", "never")];
    source.columns[4].codes =
        codes.map(|(text, label)| (text.to_owned(), label.to_owned())).into_iter().collect();
    let loaded = read_texts(&source, &[("cohort.csv", &of_smokers())]).unwrap();
    assert!(notices(&loaded, "text_slip").is_empty());
    let hidden = private(&cohort(), &of_smokers());
    let said = notices(&hidden, "text_slip");
    assert!(said[0].contains("cutspan check names it") && !said[0].contains("nevr"), "{said:?}");
}

#[test]
fn check_names_classes_that_are_too_small_to_be_shown() {
    let folder = tempfile::tempdir().unwrap();
    let row = |at: usize| format!("{at},5.5,60,{}\n", if at < 4 { "Strand" } else { "Fell" });
    fs::write(
        folder.path().join("t.csv"),
        format!("id,fpg,ins,home\n{}", (0..40).map(row).collect::<String>()),
    )
    .unwrap();
    let said = |public: bool, groups: &str| {
        let text = format!(
            "title = \"t\"\npublic = {public}\n[[source]]\nsurvey = \"table\"\nname = \"t\"\nfiles = [\"t.csv\"]\nid = \"id\"\n\
             [source.columns]\nglucose = {{ column = \"fpg\", unit = \"mmol/L\" }}\nancestry = {{ column = \"home\" }}\n\
             insulin = {{ column = \"ins\", unit = \"pmol/L\", factor = 6.0 }}\n[analysis]\nindices = [\"homa_ir\"]\n\
             groups = {groups}\n"
        );
        let study = cutspan::study::parse(&text, "t.toml", folder.path()).unwrap();
        let found = inspect(&study, &[]).unwrap().notices;
        found
            .into_iter()
            .filter(|notice| notice.kind == "small_class")
            .map(|notice| notice.message)
            .collect::<Vec<_>>()
    };
    let told = said(false, "[\"ancestry\"]");
    assert!(
        told.len() == 1 && told[0].contains("\"Strand\" (4 people) has fewer than 10 people"),
        "{told:?}"
    );
    assert_eq!((said(true, "[\"ancestry\"]").len(), said(false, "[]").len()), (0, 0));
}

#[test]
fn a_text_without_a_code_is_told_what_to_write() {
    let nine = refused(&cohort(), &[("cohort.csv", &COHORT.replacen(",1,2,\"", ",1,9,\"", 1))]);
    assert!(
        nine.contains("`9`") && nine.contains("write missing = [\"9\"] in the braces of the column"),
        "{nine}"
    );
    let day = refused(&cohort(), &[("cohort.csv", &COHORT.replacen("5.6", "1970-05-03", 1))]);
    assert!(day.contains("no date") && day.contains("the whole years from the day of birth"), "{day}");
}
