//! What a clinician, a student and a writer do wrong first, and what they are told.

use std::fs;
use std::path::Path;
use std::process::Command;

const STUDY: &str = "title = \"t\"\n[[source]]\nsurvey = \"table\"\nname = \"clinic\"\nfiles = [\"clinic.csv\"]\nid = \"id\"\n\
[source.columns]\nglucose = { column = \"glucose\", unit = \"mg/dL\" }\ninsulin = { column = \"insulin\", unit = \"uU/mL\" }\n\
[analysis]\nindices = [\"homa_ir\"]\n[[analysis.threshold]]\nindex = \"homa_ir\"\nvalue = 2.5\n[resampling]\nreplicates = 20\n";
const CLINIC: &str = "id,glucose,insulin\n1,90,5\n2,95,8\n3,99,12\n4,101,15\n";

/// Exit code and what is said, in a folder with a study and its table.
fn told(folder: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    (output.status.code(), String::from_utf8(output.stderr).unwrap())
}

fn folder(study: &str, table: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("study.toml"), study).unwrap();
    fs::write(folder.path().join("clinic.csv"), table).unwrap();
    folder
}

#[track_caller]
fn tells(folder: &Path, arguments: &[&str], wanted: &[&str]) {
    let (code, said) = told(folder, arguments);
    assert_eq!(code, Some(2), "{arguments:?}: {said}");
    for part in wanted {
        assert!(said.contains(part), "{arguments:?}: \"{part}\" is not in\n{said}");
    }
}

#[test]
fn a_wrong_command_is_answered_with_the_right_one() {
    let folder = folder(STUDY, CLINIC);
    let here = folder.path();
    for (arguments, wanted) in [
        (&["chek", "study.toml"][..], &["unrecognized subcommand 'chek'", "'check'"][..]),
        (&["run", "study.toml", "--output", "x"], &["unexpected argument '--output'", "'--out'"]),
        (&["run"], &["required arguments", "<STUDY>"]),
        (&["list", "index"], &["invalid value 'index'", "indices"]),
        (&["check", "absent.toml"], &["cannot read the study file absent.toml", "cutspan new"]),
        (&["run", "."], &["this is a folder, expected a study file", "study.toml"]),
        (&["run", "clinic.csv"], &["this is a table", "cutspan new study.toml --table clinic.csv"]),
        (&["claim", "--below", "2,5"], &["write the decimals after a point: 2.5"]),
        (
            &["claim", "--index", "homa_ir", "--below", "2mg"],
            &["HOMA-IR has no unit of its own", "write --below 2"],
        ),
        (&["claim", "absent", "--below", "2"], &["absent", "no such file or folder"]),
        (&["place", "demo", "--glucose", "101", "--insulin", "9uU/mL"], &["has no unit", "mg/dL"]),
        (&["place", "demo", "--triglycerides", "1,234mg/dL"], &["write 1234mg/dL or 1.234mg/dL"]),
        (&["place", "demo", "--glucose", "101mg/l"], &["is not a unit of it", "mg/dL"]),
        (&["place", "demo", "--insulin", "59pmol/L", "--glucose", "101mg/dL"], &["--insulin-factor 6.00"]),
        (&["completions", "bsh"], &["invalid value 'bsh'", "bash"]),
    ] {
        tells(here, arguments, wanted);
    }
}

#[test]
fn a_variable_that_is_set_to_nothing_is_no_value() {
    let folder = folder(STUDY, CLINIC);
    for arguments in [&["check", "study.toml"][..], &["list", "indices"], &["data", "verify", "--data", "."]]
    {
        let said = |value: &str| {
            let output = Command::new(env!("CARGO_BIN_EXE_cutspan"))
                .args(arguments)
                .current_dir(folder.path())
                .env("CUTSPAN_DATA", value)
                .output()
                .unwrap();
            String::from_utf8(output.stderr).unwrap()
        };
        assert!(!said("").contains("value is required"), "{arguments:?}: {}", said(""));
        assert_eq!(said(""), said("."), "{arguments:?}");
    }
}

#[test]
fn a_slip_in_a_study_file_is_told_in_the_writers_words() {
    for (from, to, wanted) in [
        ("[[source]]", "[[sources]]", &["unknown key `sources`", "Did you mean `source`?"][..]),
        ("unit = \"mg/dL\"", "unit = \"mg/dL\", factor = 6,00", &["write decimals after a point: 6.00"]),
        ("title = \"t\"", "title = \"t\"\nminimum_cell = 100", &["no effect without public = false"]),
        (
            "title = \"t\"",
            "title = \"t\"\npublic = false\nminimum_cell = 3",
            &["minimum_cell is the fewest people", "must be 5 or more"],
        ),
        ("glucose = {", "hba1c = {", &["\"hba1c\" is called \"a1c\" here"]),
        ("value = 2.5", "value = 2,5", &["study.toml:14", "write decimals after a point: 2.5"]),
        ("value = 2.5", "value = \"2,5\"", &["found the text \"2,5\"", "a number", "after a point: 2.5"]),
        (
            "indices = [\"homa_ir\"]",
            "indices = \"homa_ir\"",
            &["found the text \"homa_ir\"", "list in square"],
        ),
        ("[resampling]", "[cohort]\nage = 20\n[resampling]", &["found the number 20", "{ from = 20 }"]),
        ("replicates = 20", "replicates = \"20\"", &["found the text \"20\"", "a whole number"]),
        ("replicates = 20", "kind = \"bootstrp\"", &["Did you mean `bootstrap`?"]),
        ("unit = \"mg/dL\"", "unit = \"mg/ml\"", &["unknown unit \"mg/ml\"", "mg/dL, mmol/L"]),
        ("title = \"t\"\n", "", &["`title` is missing", "cutspan new"]),
        ("value = 2.5", "value = -2.5", &["-2.5 lies below 0, where HOMA-IR never is"]),
        (
            "indices = [\"homa_ir\"]",
            "indices = [\"homa_ir\"]\npercentiles = [0.5, 0.75, 0.9]",
            &["percentiles are per cent", "did you mean 50, 75, 90?"],
        ),
        (
            "indices = [\"homa_ir\"]",
            "indices = [\"homa_ir\"]\noutcomes = [\"raised_a1c\"]",
            &["names no column for it: add it under [source.columns], or leave \"raised_a1c\" out"],
        ),
        (
            "column = \"insulin\"",
            "column = \"glucose\"",
            &["glucose and insulin are both read from the column \"glucose\""],
        ),
        (
            "[resampling]",
            "[cohort]\nrequire = [\"pregnant\"]\nexclude = [\"pregnant\"]\n[resampling]",
            &["\"pregnant\" is required and excluded"],
        ),
        (
            "[resampling]",
            "[cohort]\nrequire = [\"fasted\"]\n[resampling]",
            &["Did you mean \"fasted_8_to_24_hours\"?"],
        ),
        (
            "[resampling]",
            "[analysis.standardize]\nof = [\"sex\"]\nto = [\"age_20_40_60\"]\n[resampling]",
            &["a list of lists, such as [[\"age_20_40_60\"]]"],
        ),
        (
            "[resampling]",
            "[[check]]\ntable = \"percentiles\"\ncolumn = \"value\"\nwhere = { percentile = \"50\" }\nexpected = 2\n\
             within = 1\nsource = \"s\"\n[resampling]",
            &["holds a number, found \"50\": write it without quotation marks, percentile = 50"],
        ),
    ] {
        assert!(STUDY.contains(from), "{from}");
        let folder = folder(&STUDY.replacen(from, to, 1), CLINIC);
        tells(folder.path(), &["check", "study.toml"], wanted);
    }
    let empty = folder("title = \"t\"\n[analysis]\nindices = [\"homa_ir\"]\n", CLINIC);
    tells(empty.path(), &["check", "study.toml"], &["at least one [[source]]"]);
    let latin = folder(STUDY, CLINIC);
    fs::write(latin.path().join("latin.toml"), b"title = \"a\"\nquestion = \"f\xfcr\"\n").unwrap();
    tells(latin.path(), &["check", "latin.toml"], &["line 2 is not UTF-8", "save the file as UTF-8"]);
    // Units are known by other spellings too.
    let spelt = folder(&STUDY.replace("mg/dL", "mg/dl").replace("uU/mL", "µIU/ml"), CLINIC);
    assert_eq!(told(spelt.path(), &["check", "study.toml"]).0, Some(0));
}

#[test]
fn low_percentiles_beside_others_are_meant() {
    let low = STUDY.replace("[\"homa_ir\"]", "[\"homa_ir\"]\npercentiles = [0.5, 2.5, 97.5]");
    assert_eq!(told(folder(&low, CLINIC).path(), &["check", "study.toml"]).0, Some(0));
}

#[test]
fn a_slip_in_a_table_is_told_with_its_place() {
    for (table, wanted) in [
        ("id;glucose;insulin\n1;90;5\n", &["separated by semicolons", "commas or tabs"][..]),
        ("id,glucose,insulin\n1,\"5,6\",5\n", &["line 2", "column `glucose`", "decimals after a point: 5.6"]),
        ("id,glucose,insulin\n1,90,low\n", &["line 2", "found `low`", "missing = [\"low\"]"]),
        ("id,FPG,insulin\n1,90,5\n", &["no column `glucose`", "id, FPG, insulin"]),
    ] {
        let folder = folder(STUDY, table);
        tells(folder.path(), &["run", "study.toml"], wanted);
    }
    // Check reads the table too, tells everything at once, and needs no official file.
    let two = folder(STUDY, "id,glucose,insulin\n1,90,low\n1,-4,5\n");
    tells(
        two.path(),
        &["check", "study.toml"],
        &["3 things are wrong", "`low`", "each id once", "`-4`", "line 3"],
    );
    tells(folder(STUDY, "id,glucose,insulin\n").path(), &["check", "study.toml"], &["has no rows"]);
    let gone = folder(STUDY, CLINIC);
    fs::remove_file(gone.path().join("clinic.csv")).unwrap();
    tells(gone.path(), &["check", "study.toml"], &["clinic.csv", "cannot be read"]);
    let folder = folder(&STUDY.replace("clinic.csv", "clinic.xlsx"), CLINIC);
    fs::write(folder.path().join("clinic.xlsx"), "PK\u{3}\u{4}").unwrap();
    tells(folder.path(), &["run", "study.toml"], &["workbook", "save the sheet as CSV"]);
}

#[test]
fn check_finds_what_a_run_would_refuse() {
    let known = STUDY.replace("insulin = {", "a1c = { column = \"a1c\", unit = \"percent\" }\ninsulin = {");
    let study =
        known.replace("indices = [\"homa_ir\"]", "indices = [\"homa_ir\"]\noutcomes = [\"diabetes_by_a1c\"]");
    let table = "id,glucose,insulin,a1c\n1,90,5,5.1\n2,95,8,5.4\n3,99,12,5.9\n4,101,15,6.0\n";
    let folder = folder(&study, table);
    let wanted = &["outcome diabetes_by_a1c: nobody of the cohort has it"];
    tells(folder.path(), &["check", "study.toml"], wanted);
    tells(folder.path(), &["run", "study.toml"], wanted);
    fs::write(folder.path().join("clinic.csv"), table.replace("15,6.0", "15,6.9")).unwrap();
    assert_eq!(told(folder.path(), &["check", "study.toml"]).0, Some(0));
}

#[test]
fn an_empty_column_is_named_before_an_outcome_is_judged() {
    let known = STUDY.replace(
        "insulin = {",
        "a1c = { column = \"A1c\", unit = \"percent\" }\nsex = { column = \"Sex\" }\nhdl = { column = \"HDL\", unit = \"mg/dL\" }\n\
         insulin = {",
    );
    let rows = [
        ["1", "90", "5", "5.1", "male", "35"],
        ["2", "95", "8", "5.4", "female", "70"],
        ["3", "99", "12", "5.9", "female", "40"],
        ["4", "101", "15", "6.0", "male", "60"],
    ];
    let blank = |column: usize| {
        let row = |row: &[&str; 6]| {
            let mut cells = row.to_vec();
            cells[column] = "";
            cells.join(",") + "\n"
        };
        format!("id,glucose,insulin,A1c,Sex,HDL\n{}", rows.iter().map(row).collect::<String>())
    };
    for (column, outcome, wanted) in [
        (
            1,
            "raised_a1c",
            "because glucose is missing for everybody (nobody has a value in column `glucose` of clinic)",
        ),
        (
            2,
            "raised_a1c",
            "because insulin is missing for everybody (nobody has a value in column `insulin` of clinic)",
        ),
        (
            3,
            "raised_a1c",
            "reads a1c, which is missing for everybody (nobody has a value in column `A1c` of clinic)",
        ),
        (4, "low_hdl", "(nobody has a value in column `Sex` of clinic)"),
        (5, "low_hdl", "(nobody has a value in column `HDL` of clinic)"),
    ] {
        let study = known.replace(
            "indices = [\"homa_ir\"]",
            &format!("indices = [\"homa_ir\"]\noutcomes = [\"{outcome}\"]"),
        );
        let folder = folder(&study, &blank(column));
        tells(folder.path(), &["check", "study.toml"], &[wanted]);
        tells(folder.path(), &["run", "study.toml"], &[wanted]);
    }
}

#[test]
fn a_formula_of_the_wrong_kind_is_refused_before_anything_is_read() {
    for (row, wanted) in [
        (
            "[[define.exclusion]]\nname = \"fat\"\nlabel = \"l\"\nsource = \"s\"\nformula = \"triglycerides_mmol_l\"\n",
            "expected yes or no",
        ),
        (
            "[[define.outcome]]\nname = \"high\"\nlabel = \"l\"\nsource = \"s\"\nformula = \"systolic_mm_hg - 140.0\"\n",
            "expected yes or no",
        ),
        (
            "[[define.index]]\nname = \"own\"\nlabel = \"l\"\nunit = \"1\"\ndirection = \"higher\"\nsource = \"s\"\n\
             formula = \"glucose_mg_dl > 100.0\"\n",
            "gives yes or no, expected a number",
        ),
    ] {
        let folder = folder(&format!("{STUDY}{row}"), CLINIC);
        let (code, said) = told(folder.path(), &["check", "study.toml"]);
        assert!(code == Some(2) && said.contains(wanted) && said.contains("study.toml:"), "{row}: {said}");
    }
}

/// Exit code and what is printed by a check that finds nothing wrong.
fn checked(folder: &Path) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(["check", "study.toml"])
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn check_says_what_the_files_hold_and_who_the_people_are() {
    let said = checked(folder(STUDY, CLINIC).path());
    for part in [
        "clinic: clinic.csv, 4 rows; 3 of its 3 columns are used",
        "not a random sample of a population",
        "says nothing of pregnancy, drugs for blood sugar",
        "insulin assay is not stated",
        "bootstrap of people",
        "  everybody\n",
        "claim --index homa_ir --below 2.5",
    ] {
        assert!(said.contains(part), "{part}\n{said}");
    }
    assert!(!said.contains("Cutoff rules") && !said.contains("positive weight"), "{said}");
    let assay =
        STUDY.replace("unit = \"uU/mL\"", "unit = \"uU/mL\", assay = \"ours\"").replace("homa_ir", "quicki");
    let said = checked(folder(&assay, CLINIC).path());
    assert!(
        !said.contains("assay is not stated") && said.contains("claim --index quicki --above 2.5"),
        "{said}"
    );
    let unusual = checked(folder(STUDY, &CLINIC.replace("99,12", "450,12")).path());
    assert!(unusual.contains("Remarks on the values") && unusual.contains("450, line 4"), "{unusual}");
    let official = "[[source]]\nsurvey = \"nhanes\"\ncycle = \"2017-2018\"\n";
    let start = STUDY.find("[[source]]").unwrap();
    let end = STUDY.find("[analysis]").unwrap();
    let official = format!("{}{official}{}", &STUDY[..start], &STUDY[end..]);
    let said = checked(folder(&official, CLINIC).path());
    assert!(
        said.contains("not at hand: ") && said.contains("cutspan data get 2017-2018 --to FOLDER"),
        "{said}"
    );
}
