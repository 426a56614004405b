//! Questions put to people who may not be shown in small counts: what their answers leave out and say.

use std::fs;
use std::path::Path;
use std::process::Command;

use cutspan::table::{Table, csv, schema, small};

use super::small_counts::write_study;

const LIMIT: i64 = 10;
const CLAIM: [&str; 9] = [
    "claim",
    "--index",
    "homa_ir",
    "--at-least",
    "2.5",
    "--outcome",
    "two_of_four_findings",
    "--says",
    "sensitivity at least 50 %",
];

/// What is printed, and what is said beside it.
fn asked(folder: &Path, args: &[&str]) -> [String; 2] {
    let output = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(args)
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    let said = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    assert!(output.status.success(), "{said:?}");
    said
}

fn rows(folder: &Path) -> Table {
    let all = ["--group", "sex,age_18_45_65,obesity,sex × obesity"];
    let file = ["--withheld-references", "--out", "claim.csv", "study.toml"];
    asked(folder, &[&CLAIM[..], &all, &file].concat());
    csv::read(schema::shape("claim").unwrap(), &folder.join("claim.csv")).unwrap()
}

#[test]
fn a_claim_counts_no_small_number_of_people() {
    let folder = tempfile::tempdir().unwrap();
    write_study(folder.path());
    let table = rows(folder.path());
    let (mut shown, mut without, mut undecided) = (0, 0, 0);
    for row in table.iter() {
        let n = row.whole("n");
        assert!(n.is_none_or(|n| n % 5 == 0), "{} {}: {n:?}", row.text("group"), row.text("measure"));
        assert!(row.whole("df").is_none_or(|df| df % 5 == 0 && df > 5), "{}", row.text("group"));
        without += usize::from(n.is_none());
        assert!(!n.is_some_and(|n| (1..LIMIT).contains(&n)), "{} {}", row.text("group"), row.text("measure"));
        if !row.text("claim").is_empty() && row.text("grouping") != schema::ALL_GROUPS {
            let silent = row.real("value").is_none();
            undecided += usize::from(silent);
            assert_eq!(silent, row.text("verdict") == "cannot tell", "{}", row.text("group"));
        }
        let share = row.text("value_unit") == "%" && row.text("measure") != "percentile";
        let Some((value, n)) = row.real("value").zip(n).filter(|_| share) else { continue };
        shown += 1;
        // 10 of 230 are 4.3 %, and 4 % of 230 are 9.
        let few = small::stands_for_few(value / 100.0, n as f64, LIMIT - 2);
        assert!(!few, "{} {}: {value} of {n}", row.text("group"), row.text("measure"));
    }
    assert!(shown > 10 && without > 5 && undecided > 0, "{shown} {without} {undecided}");
    // 7 of 69 women without the outcome are beyond: every measure of women goes with their specificity.
    let women =
        table.iter().find(|row| row.text("group") == "female" && row.text("measure") == "npv").unwrap();
    assert_eq!((women.real("value"), women.text("withheld")), (None, small::BESIDE));
}

#[test]
fn what_is_left_out_and_what_may_not_be_handed_on_is_said() {
    let folder = tempfile::tempdir().unwrap();
    write_study(folder.path());
    let [text, _] = asked(folder.path(), &[&CLAIM[..], &["study.toml"]].concat());
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("Counts of fewer than 10 people, shares that stand for so few"), "{text}");
    // 14 of 230 are left out, but fewer than 10 of the other 216 have no HOMA-IR.
    assert!(
        text.contains("Not among the study's people: under 18 years") && !text.contains("are left out: told"),
        "{text}"
    );
    assert!(text.contains("Percentages are of the people in the table, each counted once"), "{text}");
    assert!(
        text.contains("counts are rounded to 5; shares are those of rounded counts, in whole per cent"),
        "{text}"
    );
    let person = [
        "place",
        "study.toml",
        "--glucose",
        "5.6mmol/L",
        "--insulin",
        "59pmol/L",
        "--insulin-factor",
        "6.00",
    ];
    let here = ["--sex", "female", "--age", "50"];
    let [_, beside] = asked(folder.path(), &[&person[..], &here].concat());
    assert!(beside.contains("not to be handed on"), "{beside}");
    for format in ["text", "markdown", "json"] {
        let [answer, _] = asked(folder.path(), &[&person[..], &here, &["--format", format]].concat());
        let answer = answer.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(answer.contains("not to be handed on"), "{format}: {answer}");
    }
    let public = fs::read_to_string(folder.path().join("study.toml")).unwrap().replace("public = false", "");
    fs::write(folder.path().join("study.toml"), public).unwrap();
    let [text, _] = asked(folder.path(), &[&CLAIM[..], &["study.toml"]].concat());
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("Of 230 people examined in this age range, 14 (6.1 %) are left out: told"),
        "{text}"
    );
    let [_, beside] = asked(folder.path(), &[&person[..], &["--sex", "female", "--age", "50"]].concat());
    assert!(!beside.contains("not to be handed on"), "{beside}");
}
