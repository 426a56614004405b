//! `cutspan claim`: how names, numbers and files may be written, and what is said when they are wrong.

use std::fmt::Write as _;

use super::claim::{claim, joined, said, small_demo};

#[test]
fn names_are_known_by_label_and_everyday_words_are_explained() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = |args: &[&str]| {
        let run = claim(folder.path(), args);
        assert_eq!(run.status.code(), Some(2), "{args:?}");
        String::from_utf8(run.stderr).unwrap()
    };
    let cases: [(&[&str], &str); 6] = [
        (
            &["--index", "homa_ir", "--group", "sex=children"],
            "sex has no group “children”. It has \"female\", \"male\"",
        ),
        (
            &["--index", "HOMA-IR", "--outcome", "mets", "--says", "npv at least 90 %"],
            "What is meant is called \"metabolic_syndrome_harmonized_2009\", \"metabolic_syndrome_harmonized_2009_without_glucose\"",
        ),
        (
            &["--index", "QUICKI"],
            "no run was named, so the invented survey answered; it has no index \"QUICKI\"; it has homa_ir, tyg, mets_ir. \"quicki\" is known: run a study that has it (pipelines/nhanes-2017-2020-adults.toml) and add its folder",
        ),
        (&["--index", "fasting_insulin"], "\"insulin\" is known"),
        (&["--index", "homa_r"], "Did you mean \"homa_ir\"?"),
        (&["--index", "quicky"], "Did you mean \"quicki\", which this run does not have?"),
    ];
    for (args, words) in cases {
        let text = wrong(&[args, &["--below", "2"]].concat());
        assert!(text.contains(words), "{text}");
    }
}

#[test]
fn an_everyday_word_that_can_mean_one_name_is_taken_and_said() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let of = |args: &[&str]| {
        let run = claim(folder.path(), &[args, &["--below", "2", "small.toml"]].concat());
        assert_eq!(run.status.code(), Some(0), "{args:?}");
        [run.stdout, run.stderr].map(|bytes| String::from_utf8(bytes).unwrap())
    };
    let [plain, _] = of(&["--index", "homa_ir", "--group", "sex"]);
    assert!(!plain.contains("taken to mean"), "{plain}");
    let [text, _] = of(&["--index", "homa", "--group", "gender"]);
    let said = "“homa” is taken to mean homa_ir.\n\n“gender” is taken to mean sex.\n\n";
    assert_eq!(text.replacen(said, "", 1), plain);
    // It stands in the answer wherever that is written, and beside a table on the other stream.
    let file = folder.path().join("claim.md");
    of(&["--index", "homa_ir", "--group", "all adults", "--out", file.to_str().unwrap()]);
    let markdown = std::fs::read_to_string(&file).unwrap();
    assert!(markdown.contains("“all adults” is taken to mean everybody in the study."), "{markdown}");
    let [table, beside] = of(&["--index", "homa", "--format", "csv"]);
    assert!(
        beside.contains("“homa” is taken to mean homa_ir") && !table.contains("taken to mean"),
        "{beside}"
    );
    let [everybody, _] = of(&["--index", "homa_ir", "--group", "everybody"]);
    assert!(everybody.contains("Everybody") && !everybody.contains("female"), "{everybody}");
}

#[test]
fn names_units_and_options_are_understood_as_people_write_them() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let of = |args: &[&str]| joined(&said(folder.path(), &[args, &["small.toml"]].concat()));
    let plain = of(&["--index", "homa_ir", "--below", "2", "--group", "bmi_class"]);
    for index in ["homair", "HOMA-IR", "homa-ir", "Homa IR"] {
        assert_eq!(of(&["--index", index, "--under", "2", "--group", "bmi"]), plain, "{index}");
    }
    let above = of(&["--index", "homa_ir", "--above", "2", "--group", "class"]);
    assert_eq!(of(&["--index", "homa_ir", "--over", "2.0", "--group", "bmi-class,BMI"]), above);
}

#[test]
fn a_part_of_a_name_that_several_groupings_have_is_asked_back() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = |group: &str| {
        let run = claim(folder.path(), &["--index", "homa_ir", "--below", "2", "--group", group]);
        assert_eq!(run.status.code(), Some(2), "{group}");
        String::from_utf8(run.stderr).unwrap()
    };
    // The invented survey has bmi_class, and sex × bmi_class.
    assert!(
        wrong("class").contains("\"class\" could be any of \"bmi_class\", \"sex × bmi_class\""),
        "{}",
        wrong("class")
    );
    let all = wrong("wealth,sex,luck");
    assert!(all.contains("no grouping \"wealth\"") && all.contains("no grouping \"luck\""), "{all}");
}

#[test]
fn a_sentence_in_place_of_a_run_is_told_how_to_ask() {
    let folder = tempfile::tempdir().unwrap();
    let run = claim(folder.path(), &["HOMA-IR below 2 is fine", "out"]);
    assert_eq!(run.status.code(), Some(2));
    let text = String::from_utf8(run.stderr).unwrap();
    assert!(
        text.contains("“HOMA-IR below 2 is fine”. Ask it in parts: --index NAME, the threshold by --below 2"),
        "{text}"
    );
}

#[test]
fn a_wrong_question_is_explained() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path(), "");
    let wrong: [&[&str]; 21] = [
        &["--index", "homa_ir", "--below", "-2", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--says", "is fine", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--says", "npv at least 0.9", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--out", "claim.csv", "--format", "markdown", "small.toml"],
        &["--index", "homar", "--below", "2", "small.toml"],
        &["--index", "homa_ir", "--below", "2mg/dL", "small.toml"],
        &["--below", "2", "small.toml"],
        &["--index", "homa_ir", "small.toml"],
        &["--index", "homa_ir", "--below", "NaN", "small.toml"],
        &["--index", "homa_ir", "--below", "2,5", "small.toml"],
        &["--index", "homa_ir", "--below", "two", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--group", "bmi_clss,wealth,sex", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--means", "insulin_resistent", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--says", "luck", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--says", "share at most 250 %", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--says", "best cutoff", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--chart", "claim.pdf", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--out", "no/such/claim.txt", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "--chart", "nodir/claim.png", "small.toml"],
        &["--index", "homa_ir", "--below", "2", "nowhere"],
        &["--index", "homa_ir", "--below", "2", "."],
    ];
    let mut all = String::new();
    for args in wrong {
        let run = claim(folder.path(), args);
        assert_eq!(run.status.code(), Some(2), "{args:?}");
        assert!(run.stdout.is_empty(), "{args:?}");
        writeln!(all, "# {}\n{}", args.join(" "), String::from_utf8(run.stderr).unwrap()).unwrap();
    }
    insta::assert_snapshot!("claim_errors", all);
}
