//! Numbers stated in a study, checked against the run: each kind of check, each slip, the exit code,
//! and the studies of published tables on the real survey.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use cutspan::pipeline;
use cutspan::report::stated_checks;
use cutspan::study::{self, Study, StudyError};
use cutspan::table::{Row, Table};

use crate::support::official_data;

/// Made-up people in four strata of two PSUs: insulin from 1 to 20, three quarters of the women and half
/// of the men at 10 or more; five people of other sex, too few for an estimate.
fn people() -> String {
    let mut text = "id,stratum,psu,sex,insulin\n".to_owned();
    for number in 0..517 {
        let (stratum, psu) = (number % 4, number / 4 % 2);
        let (sex, low) = match number {
            0..256 => ("women", number / 8 % 4 == 0),
            256..512 => ("men", number / 8 % 2 == 0),
            _ => ("unstated", true),
        };
        let insulin = if low { 1 + number % 9 } else { 10 + number % 11 };
        writeln!(text, "{number},{stratum},{psu},{sex},{insulin}").unwrap();
    }
    text
}

const STUDY: &str = r#"
title = "made up"
question = "Are the stated numbers found?"
[[source]]
survey = "table"
name = "made up"
files = ["people.csv"]
id = "id"
stratum = "stratum"
psu = "psu"
[source.columns]
insulin = { column = "insulin", unit = "uU/mL" }
ancestry = { column = "sex" }
[cohort]
[analysis]
indices = ["insulin"]
groups = ["ancestry"]
percentiles = [50]
[[analysis.threshold]]
index = "insulin"
value = 10.0
[resampling]
replicates = 20
"#;

/// A share of the made-up people beyond 10, in one of the groups.
fn share(group: &str, rest: &str) -> String {
    format!(
        "[[check]]\ntable = \"threshold_shares\"\nwhere = {{ group = \"{group}\" }}\n\
         column = \"share_beyond\"\nsource = \"made up\"\n{rest}\n"
    )
}

fn parse(checks: &str, folder: &Path) -> Result<Study, StudyError> {
    study::parse(&format!("{STUDY}{checks}"), "made-up.toml", folder)
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("people.csv"), people()).unwrap();
    folder
}

fn results(checks: &str) -> Vec<Table> {
    let folder = folder();
    pipeline::estimate(&parse(checks, folder.path()).unwrap(), &[]).unwrap().tables
}

fn checks(tables: &[Table]) -> Vec<Row<'_>> {
    tables.iter().find(|table| table.name == "checks").unwrap().iter().collect()
}

#[test]
fn a_check_holds_inside_its_tolerance_and_fails_outside() {
    let cases = [
        ("women", "expected = 74.0\nwithin = 1.0", true),
        ("women", "expected = 74.0\nwithin = 0.9", false),
        ("women", "expected = 50\nrelative = 0.5", true),
        ("women", "expected = 50\nrelative = 0.4", false),
        ("women", "expected = 80.0\nbetween = [75, 90.0]", true),
        ("women", "between = [76.0, 90.0]", false),
        ("women", "greater_than = { where = { group = \"men\" } }", true),
        ("men", "greater_than = { where = { group = \"women\" } }", false),
        ("men", "greater_than = { where = { group = \"unstated\" } }", false),
    ];
    let text: String = cases.iter().map(|(group, rest, _)| share(group, rest)).collect();
    let tables = results(&text);
    let found = checks(&tables);
    assert_eq!(found.len(), cases.len());
    for (row, (group, rest, holds)) in found.iter().zip(&cases) {
        assert_eq!(row.text("held") == "yes", *holds, "{group} {rest}: {}", row.text("why_not"));
        assert_eq!(row.text("why_not").is_empty(), *holds);
        assert_eq!(row.real("found"), Some(if *group == "women" { 75.0 } else { 50.0 }));
    }
    assert_eq!((found[0].real("lower"), found[0].real("upper")), (Some(73.0), Some(75.0)));
    assert_eq!(found[1].text("why_not"), "found 75, outside 73.1 to 74.9");
    assert_eq!((found[6].real("lower"), found[6].text("greater_than")), (Some(50.0), "group = men"));
    assert_eq!(found[7].text("why_not"), "found 50, not above 75");
    assert!(
        found[8].text("why_not").starts_with("the other row: withheld: "),
        "{}",
        found[8].text("why_not")
    );
    let stated = stated_checks(&tables).unwrap();
    assert_eq!((stated.held, stated.all, stated.failed.len()), (4, 9, 5));
    assert_eq!(stated.to_string(), "4 of 9 stated checks hold");
    assert_eq!(stated_checks(&results("")), None);
}

#[test]
fn a_withheld_estimate_fails_with_the_reason_and_its_count_can_still_be_checked() {
    let count = share("unstated", "expected = 5\nwithin = 0").replace("share_beyond", "n");
    let tables = results(&(share("unstated", "between = [0.0, 100.0]") + &count));
    let found = checks(&tables);
    let withheld = found[0].text("why_not");
    assert!(found[0].text("held") == "no" && withheld.starts_with("withheld: "), "{withheld}");
    assert_eq!(found[0].real("found"), None);
    assert_eq!((found[1].text("held"), found[1].real("found")), ("yes", Some(5.0)));
}

#[test]
fn a_check_that_picks_several_rows_or_none_says_what_there_is() {
    let several = share("men", "between = [0, 100]").replace("group = \"men\"", "grouping = \"ancestry\"");
    let percentile = "[[check]]\ntable = \"percentiles\"\nwhere = { percentile = 51, group = \"men\" }\n\
                      column = \"value\"\nsource = \"made up\"\nbetween = [0, 100]\n";
    let tables = results(&(several + &share("boys", "between = [0, 100]") + percentile));
    let why: Vec<&str> = checks(&tables).iter().map(|row| row.text("why_not")).collect();
    assert!(why[0].starts_with("3 rows of threshold_shares match"), "{}", why[0]);
    assert!(why[0].contains("group is men, unstated, women") && why[0].contains("Its columns: survey,"));
    assert!(
        why[1].contains("none of the 4 rows") && why[1].contains("group is everybody, men"),
        "{}",
        why[1]
    );
    assert!(why[2].contains("with the rest, percentile is 50."), "{}", why[2]);
    let two = "[[check]]\ntable = \"percentiles\"\nwhere = { group = \"men\" }\ncolumn = \"value\"\nsource = \"-\"\n\
               between = [0, 100]\n";
    let folder = folder();
    let study = STUDY.replace("percentiles = [50]", "percentiles = [50, 75]") + two;
    let study = study::parse(&study, "made-up.toml", folder.path()).unwrap();
    let tables = pipeline::estimate(&study, &[]).unwrap().tables;
    let why = checks(&tables)[0].text("why_not").to_owned();
    assert!(why.contains("They differ in: percentile is 50, 75. Its columns"), "{why}");
}

#[test]
fn every_slip_in_a_check_has_its_message_at_its_line() {
    let slips = [
        (
            share("men", "expected = 1\nwithin = 1").replace("threshold_shares", "shares"),
            1,
            "unknown table of results \"shares\"",
        ),
        (
            share("men", "expected = 1\nwithin = 1").replace("share_beyond", "share"),
            3,
            "unknown column of this check's table \"share\"",
        ),
        (
            share("men", "expected = 1\nwithin = 1").replace("{ group", "{ sex"),
            2,
            "unknown column of this check's table \"sex\"",
        ),
        (share("men", "expected = 1\nwithin = 1").replace("share_beyond", "stated"), 3, "holds text"),
        (
            share("men", "expected = 1\nwithin = 1").replace("\"men\"", "2"),
            2,
            "group of threshold_shares holds text",
        ),
        (
            share("men", "expected = 1\nwithin = 1").replace("group = \"men\"", "n = \"men\""),
            2,
            "n of threshold_shares holds a number",
        ),
        (
            share("men", "expected = 1\nwithin = 1").replace("source = \"made up\"", "source = \"\""),
            0,
            "where the number of this check is printed",
        ),
        (share("men", "expected = 1"), 0, "needs one of within"),
        (share("men", "expected = 1\nwithin = 1\nrelative = 0.1"), 0, "needs one of within"),
        (share("men", "within = 1"), 0, "need `expected`"),
        (share("men", "expected = 1\nwithin = -1"), 6, "0 or more, found -1"),
        (share("men", "between = [2, 1]"), 5, "two numbers in order"),
        (share("men", "expected = 1\ngreater_than = { where = { group = \"women\" } }"), 0, "leave expected"),
        (share("men", "greater_than = { where = { group = \"men\" } }"), 0, "the row of the check itself"),
        (share("men", "greater_then = { where = { group = \"men\" } }"), 5, "Did you mean `greater_than`?"),
    ];
    let first = STUDY.lines().count() + 1;
    for (checks, line, message) in slips {
        let error = parse(&checks, Path::new(".")).unwrap_err().to_string();
        assert!(error.contains(message), "{checks}: {error}");
        assert!(error.starts_with(&format!("made-up.toml:{}:", first + line)), "{checks}: {error}");
    }
}

#[test]
fn checks_are_written_out_and_read_back_and_explained() {
    let text = share("women", "expected = 74\nwithin = 1")
        + &share("women", "note = \"women above men\"\ngreater_than = { where = { group = \"men\" } }");
    let study = parse(&text, Path::new(".")).unwrap();
    assert_eq!(study.checks.len(), 2);
    assert_eq!(study::parse(&study.resolved_toml, "again.toml", &study.folder).unwrap(), study);
    let explained = study::explain(&study);
    assert!(explained.contains("2 cells of the results compared"), "{explained}");
    assert!(explained.contains("2 in threshold_shares"), "{explained}");
}

fn run(folder: &Path, checks: &str) -> Output {
    fs::write(folder.join("study.toml"), format!("{STUDY}{checks}")).unwrap();
    Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .arg("run")
        .arg(folder.join("study.toml"))
        .arg("--out")
        .arg(folder.join("out"))
        .output()
        .unwrap()
}

#[test]
fn a_run_with_a_failed_check_ends_with_1_and_leaves_its_results() {
    let folder = folder();
    let said = |output: &Output| String::from_utf8_lossy(&output.stdout).into_owned();
    let good = share("women", "expected = 75\nwithin = 0.1");
    let held = run(folder.path(), &good);
    assert_eq!(held.status.code(), Some(0), "{}", String::from_utf8_lossy(&held.stderr));
    assert!(said(&held).contains("1 of 1 stated check holds"), "{}", said(&held));
    let failed = run(folder.path(), &(good + &share("men", "expected = 75\nwithin = 0.1")));
    assert_eq!(failed.status.code(), Some(1));
    assert!(said(&failed).contains("1 of 2 stated checks holds"), "{}", said(&failed));
    let why = String::from_utf8_lossy(&failed.stderr).into_owned();
    let line = "check 2 does not hold: threshold_shares.share_beyond where group = men: found 50, outside 74.9 to 75.1";
    assert!(why.contains(line) && !why.contains("error"), "{why}");
    let page = fs::read_to_string(folder.path().join("out/index.html")).unwrap();
    assert!(page.contains("<h2 id=\"checks-heading\">") && page.contains("1 of 2 stated checks holds."));
    assert!(folder.path().join("out/tables/checks.csv").exists());
    let without = run(folder.path(), "");
    assert!(without.status.success() && !said(&without).contains("stated"));
    let page = fs::read_to_string(folder.path().join("out/index.html")).unwrap();
    assert!(!page.contains("checks-heading"));
}

fn published() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/published");
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut studies: Vec<PathBuf> =
        files.filter(|file| file.extension().is_some_and(|e| e == "toml")).collect();
    studies.sort();
    studies
}

#[test]
fn published_numbers_are_found_in_the_real_files() {
    let studies = published();
    assert!(studies.len() >= 13, "{studies:?}");
    let parsed: Vec<Study> = studies.iter().map(|file| study::load(file).unwrap()).collect();
    for study in &parsed {
        assert_eq!(study::parse(&study.resolved_toml, "again.toml", &study.folder).unwrap(), *study);
    }
    let Some(data) = official_data() else { return };
    for (file, study) in studies.iter().zip(&parsed) {
        let tables = pipeline::estimate(study, std::slice::from_ref(&data)).unwrap().tables;
        let stated = stated_checks(&tables).unwrap_or_else(|| panic!("{} states no check", file.display()));
        assert!(stated.failed.is_empty(), "{}: {stated}\n{}", file.display(), stated.failed.join("\n"));
    }
}
