//! Wrong input to a run: exit code 2, no output folder, and a message that says what to do.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

/// Twelve made-up people in two strata of two PSUs, half of them with the outcome.
pub const TABLE: &str = "\
id,age,glucose,insulin,a1c,weight,stratum,psu
1,30,90,5,5.2,1,1,1
2,40,95,8,5.8,2,1,1
3,50,99,12,5.9,1,1,2
4,60,88,4,5.1,1,1,2
5,35,101,15,6.0,2,2,1
6,45,92,6,5.0,1,2,1
7,55,97,10,5.9,1,2,2
8,65,89,7,5.3,3,2,2
9,33,90,5,5.2,1,1,1
10,44,94,9,5.7,1,1,2
11,58,98,11,5.4,1,2,1
12,66,96,10,5.8,1,2,2
";

pub const STUDY: &str = r#"
title = "made-up people"
question = "Does a wrong input stop?"
[[source]]
survey = "table"
name = "made up"
files = ["people.csv"]
id = "id"
weight = "weight"
stratum = "stratum"
psu = "psu"
[source.columns]
age = { column = "age", unit = "years" }
glucose = { column = "glucose", unit = "mg/dL" }
insulin = { column = "insulin", unit = "uU/mL" }
a1c = { column = "a1c", unit = "percent" }
[cohort]
age = { from = 20 }
[analysis]
indices = ["homa_ir"]
outcomes = ["raised_a1c"]
groups = []
[resampling]
replicates = 20
seed = 1
"#;

const OFFICIAL: &str = r#"
title = "an official file"
question = "Does a damaged file stop?"
[[source]]
survey = "nhanes"
cycle = "2017-2018"
[cohort]
[analysis]
indices = ["insulin"]
outcomes = []
groups = []
"#;

/// Runs a study in a folder of its own; answers with what was said, the folder's name taken out.
fn said(folder: &Path, study: &str, out: &str) -> String {
    fs::write(folder.join("study.toml"), study).unwrap();
    let run = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(["run", "study.toml", "--out", out, "--data", "."])
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(2), "{}", String::from_utf8_lossy(&run.stderr));
    assert!(run.stdout.is_empty());
    assert!(!folder.join("out").exists(), "an output folder was left behind");
    let said = String::from_utf8(run.stderr).unwrap();
    let place = folder.canonicalize().unwrap();
    said.replace(&*place.to_string_lossy(), "FOLDER").replace(&*folder.to_string_lossy(), "FOLDER")
}

/// The table or the study with one thing changed.
fn slip(table: (&str, &str), study: (&str, &str)) -> String {
    let folder = tempfile::tempdir().unwrap();
    assert!(TABLE.contains(table.0) && STUDY.contains(study.0));
    fs::write(folder.path().join("people.csv"), TABLE.replacen(table.0, table.1, 1)).unwrap();
    said(folder.path(), &STUDY.replacen(study.0, study.1, 1), "out")
}

const SAME: (&str, &str) = ("", "");

/// An official transport file with its bytes changed.
fn damaged(change: impl Fn(Vec<u8>) -> Vec<u8>) -> String {
    let folder = tempfile::tempdir().unwrap();
    let good = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/xpt/v5.xpt")).unwrap();
    for name in ["DEMO_J.XPT", "GLU_J.XPT", "INS_J.XPT"] {
        fs::write(folder.path().join(name), change(good.clone())).unwrap();
    }
    said(folder.path(), OFFICIAL, "out")
}

#[test]
fn wrong_input_stops_with_a_message_that_says_what_to_do() {
    let cases: [(&str, String); 11] = [
        ("truncated transport file", damaged(|bytes| bytes[..bytes.len() - 100].to_vec())),
        ("wrong first bytes", damaged(|bytes| [b"PK\x03\x04".to_vec(), bytes].concat())),
        ("no such file", said(tempfile::tempdir().unwrap().path(), OFFICIAL, "out")),
        ("unknown column", slip(SAME, ("column = \"insulin\"", "column = \"insuline\""))),
        ("bad unit", slip(SAME, ("unit = \"uU/mL\"", "unit = \"mg/dL\""))),
        ("negative weight", slip(("5.8,2,1,1", "5.8,-2,1,1"), SAME)),
        ("a word in a column of numbers", slip(("4,60,88,4", "4,60,low,4"), SAME)),
        ("duplicated id", slip(("\n5,35", "\n4,35"), SAME)),
        ("nobody left", slip(SAME, ("from = 20", "from = 90"))),
        ("stratum with one PSU", slip(("1,30,90,5,5.2,1,1,1", "1,30,90,5,5.2,1,3,1"), SAME)),
        (
            "outcome with one class",
            slip(SAME, ("outcomes = [\"raised_a1c\"]", "outcomes = [\"diabetes_by_a1c\"]")),
        ),
    ];
    let mut all = String::new();
    for (name, said) in cases {
        writeln!(all, "# {name}\n{said}").unwrap();
    }
    insta::assert_snapshot!(all);
}

#[test]
fn a_folder_that_is_not_a_run_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("people.csv"), TABLE).unwrap();
    fs::create_dir(folder.path().join("thesis")).unwrap();
    fs::write(folder.path().join("thesis/chapter.txt"), "words").unwrap();
    let foreign = said(folder.path(), STUDY, "thesis");
    assert!(foreign.contains("left alone") && foreign.contains("--out"), "{foreign}");
    assert_eq!(fs::read_to_string(folder.path().join("thesis/chapter.txt")).unwrap(), "words");
    let blocked = said(folder.path(), STUDY, "people.csv/out");
    assert!(blocked.contains("cannot be made or written"), "{blocked}");
}
