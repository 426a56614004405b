//! What `place` prints and draws of one person, by the real program.
//! Sizes of groups, cutoffs and shares in the words are golden: our own output on the invented survey.

use std::fmt::Write as _;
use std::fs;

use cutspan::pipeline;
use cutspan::study;

use crate::chart::texts_state_their_widths;
use crate::place_support::{TYPED, cutspan, small_demo};

const FULL: [&str; 20] = [
    "--glucose",
    "101mg/dL",
    "--insulin",
    "9.8uIU/mL",
    "--sex",
    "female",
    "--age",
    "47",
    "--bmi",
    "31",
    "--fasting-hours",
    "10",
    "--pregnant",
    "no",
    "--diabetes",
    "no",
    "--insulin-treated",
    "no",
    "--second",
    "glucose=96mg/dL,insulin=6uU/mL,months=6",
];

/// The small demo run by the program, and what `place` says of the woman.
fn answer(more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path());
    let args: Vec<&str> = ["pipelines/small.toml"].iter().chain(&FULL).chain(more).copied().collect();
    let done = cutspan(folder.path(), &args);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let said = String::from_utf8(done.stdout).unwrap();
    let files: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(files.len(), 2, "something was stored: {files:?}");
    said
}

#[test]
fn the_answer_as_text_and_markdown() {
    let text = answer(&[]);
    assert!(text.starts_with("CAUTION: "), "{text}");
    for word in ["healthy", "sick", "ill "] {
        assert!(!text.to_lowercase().contains(word), "{word}: {text}");
    }
    insta::with_settings!({filters => [("[0-9a-f]{64}", "SHA256")]}, {
        insta::assert_snapshot!("place_text", text);
        insta::assert_snapshot!("place_markdown", answer(&["--format", "markdown", "--group", "sex"]));
    });
}

#[test]
fn the_answer_as_json_and_from_a_finished_run() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_demo(folder.path());
    let study = study::load(&study).unwrap();
    let out = folder.path().join("out");
    pipeline::run(&study, &pipeline::Options { out: &out, data: Vec::new(), progress: &|_| {} }).unwrap();
    let json = |from: &str| {
        let args: Vec<&str> = [from].iter().chain(&FULL).chain(&["--format", "json"]).copied().collect();
        let done = cutspan(folder.path(), &args);
        serde_json::from_slice::<serde_json::Value>(&done.stdout).unwrap()
    };
    let (of_run, of_study) = (json("out"), json("pipelines/small.toml"));
    assert_eq!(of_run, of_study);
    assert!(of_run["cautions"][0].as_str().unwrap().contains("invented"));
    assert_eq!(of_run["placed"]["indices"][0]["index"], "homa_ir");
    assert!(of_run["placed"]["indices"][0]["ranks"][0]["percentile"].is_f64());
    assert_eq!(of_run["citation"]["study_sha256"].as_str().unwrap().len(), 64);
}

#[test]
fn a_slip_stops_with_a_message_that_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    small_demo(folder.path());
    let study = "pipelines/small.toml";
    let good = ["--glucose", "101mg/dL", "--insulin", "9.8uU/mL", "--age", "47"];
    let with =
        |more: &[&'static str]| -> Vec<&str> { [study].iter().chain(&good).chain(more).copied().collect() };
    let cases: [(&str, Vec<&str>); 13] = [
        ("no unit", vec![study, "--glucose", "5.6"]),
        ("a comma for thousands", vec![study, "--triglycerides", "1,234mg/dL"]),
        ("unknown unit", vec![study, "--glucose", "5.6mg/L"]),
        ("the other unit", vec![study, "--glucose", "5.6mg/dL"]),
        ("insulin in pmol/L without a factor", vec![study, "--insulin", "59pmol/L"]),
        ("a factor that is not in print", vec![study, "--insulin", "59pmol/L", "--insulin-factor", "7"]),
        ("an unknown quantity", with(&["--value", "trigs=150mg/dL"])),
        ("an unknown label", with(&["--sex", "x"])),
        ("neither yes nor no", with(&["--pregnant", "maybe"])),
        ("a second date without months", with(&["--second", "glucose=96mg/dL"])),
        ("a share for a percentage", with(&["--within-person-cv", "0.2"])),
        ("an unknown grouping", with(&["--group", "age"])),
        ("nothing to compute", vec![study, "--bmi", "31"]),
    ];
    let mut all = String::new();
    for (name, args) in cases {
        let done = cutspan(folder.path(), &args);
        assert_eq!(done.status.code(), Some(2), "{name}");
        // What comes before any index is said although there is none.
        let said = String::from_utf8(done.stdout).unwrap();
        assert_eq!(said.contains("\nCAUTION: outside"), name == "nothing to compute", "{name}: {said}");
        assert!(said.is_empty() || !said.contains("The answer"), "{name}: {said}");
        writeln!(all, "# {name}\n{}", String::from_utf8(done.stderr).unwrap()).unwrap();
    }
    let absent = cutspan(folder.path(), &["nowhere", "--age", "47"]);
    writeln!(all, "# no such run\n{}", String::from_utf8(absent.stderr).unwrap()).unwrap();
    insta::assert_snapshot!(all);
}

#[test]
fn the_picture_holds_the_value_and_every_cutoff() {
    let folder = tempfile::tempdir().unwrap();
    let mut args = vec!["demo", "--chart", "place.svg"];
    for (name, value) in &TYPED {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let drawn = fs::read_to_string(folder.path().join("place.svg")).unwrap();
    for text in ["this person: 2.44", "female × BMI 30 and over", "age 40-59", "likely short", "32 (27–38)"]
    {
        assert!(drawn.contains(text), "{text}");
    }
    texts_state_their_widths("place.svg", &drawn);
    let words = words_of(&drawn).replace("&apos;", "'");
    let assays = "Insulin assay: not stated; the study's: invented. Assays are not interchangeable.";
    assert!(words.contains("Cutoffs: largest Youden index.") && words.contains(assays), "{words}");
}

#[test]
fn a_chart_that_cannot_be_drawn_is_said_first_and_an_older_one_disowned() {
    let folder = tempfile::tempdir().unwrap();
    let ask = |more: &[&str]| {
        let outside =
            ["demo", "--chart", "none.svg", "--glucose", "101mg/dL", "--insulin", "9.8uU/mL", "--age", "12"];
        let done = cutspan(folder.path(), &[&outside, more].concat());
        (done.status.code(), String::from_utf8(done.stderr).unwrap())
    };
    let (code, said) = ask(&[]);
    assert_eq!(code, Some(1));
    assert_eq!(said, "CAUTION: --chart none.svg: nothing is drawn, as no value may be placed\n");
    let file = folder.path().join("none.svg");
    assert!(!file.exists());
    fs::write(&file, "of somebody else").unwrap();
    let (code, said) = ask(&["--format", "json"]);
    assert_eq!(code, Some(1));
    let earlier = "; the none.svg that is there is of an EARLIER answer, not of this one\n";
    assert!(said.ends_with(earlier), "{said}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "of somebody else");
}

#[test]
fn the_picture_of_two_dates_holds_both() {
    let folder = tempfile::tempdir().unwrap();
    let second = "glucose=96mg/dL,insulin=7uU/mL,months=6";
    let mut args = vec!["demo", "--second", second, "--chart", "two.svg", "--assay", "invented"];
    for (name, value) in &TYPED {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let drawn = fs::read_to_string(folder.path().join("two.svg")).unwrap();
    for text in ["this person: 2.44", "6 months later: 1.66", "first date:", "second date:"] {
        assert!(drawn.contains(text), "{text}");
    }
    let words = words_of(&drawn);
    let noise = "Insulin assay: invented. HOMA-IR 2.44 → 1.66 (−32 %) in 6 months: not more than noise.";
    assert!(words.contains(noise), "{words}");
}

#[test]
fn a_chart_marks_the_cutoff_that_fits_and_says_what_it_hangs_on() {
    let folder = tempfile::tempdir().unwrap();
    let mut args = vec!["demo", "--chart", "fits.svg", "--group", "sex × bmi_class"];
    for (name, value) in TYPED.iter().filter(|(name, _)| *name != "--fasting-hours") {
        args.extend([*name, *value]);
    }
    let done = cutspan(folder.path(), &args);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let words = words_of(&fs::read_to_string(folder.path().join("fits.svg")).unwrap());
    assert!(words.contains("female × BMI 30 and over: the one that fits"), "{words}");
    assert!(words.contains("cutoff that fits"), "{words}");
    assert!(words.contains("Holds only for somebody who fasted 8 to under 24 hours."), "{words}");
}

/// The words of a drawing, line after line.
fn words_of(drawn: &str) -> String {
    let between = drawn.split('<').filter_map(|piece| piece.split_once('>'));
    let lines: Vec<&str> = between.map(|(_, words)| words.trim()).filter(|words| !words.is_empty()).collect();
    lines.join(" ")
}

/// Lines of an ordinary answer on a terminal that does not say its width.
const ONE_SCREEN: usize = 45;
/// Lines of what stands under the heading of the answer.
const OF_THE_ANSWER: usize = 25;

#[test]
fn an_ordinary_answer_fits_on_a_screen_and_all_of_it_is_to_be_had() {
    let folder = tempfile::tempdir().unwrap();
    let lines = |more: &[&'static str]| {
        let mut args = vec!["demo"];
        for (name, value) in &TYPED {
            args.extend([*name, *value]);
        }
        args.extend(more);
        let done = cutspan(folder.path(), &args);
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8(done.stdout).unwrap()
    };
    let (short, all) = (lines(&["--assay", "invented"]), lines(&["--assay", "invented", "--all"]));
    assert!(short.lines().count() <= ONE_SCREEN, "{} lines\n{short}", short.lines().count());
    let (_, answer) = short.split_once("The answer\n").unwrap();
    let (answer, _) = answer.split_once("\nHow to read this").unwrap();
    assert!(answer.lines().count() <= OF_THE_ANSWER, "{} lines\n{short}", answer.lines().count());
    for column in ["finds/spares", "percentile of 2", "stands for it", "chance beyond 2", "2.44 is"] {
        assert!(all.contains(column), "{column}: {all}");
    }
    assert!(all.contains("short of that") && !all.contains("?/"), "{all}");
}

#[test]
fn no_line_of_the_examples_is_broken() {
    let folder = tempfile::tempdir().unwrap();
    let help = String::from_utf8(cutspan(folder.path(), &["--help"]).stdout).unwrap();
    let (_, examples) = help.split_once("Examples:").unwrap();
    let (examples, _) = examples.split_once("Output:").unwrap();
    assert!(examples.contains("--assay Tosoh\n"), "{examples}");
    for line in examples.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}
