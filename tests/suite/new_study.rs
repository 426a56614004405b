//! `cutspan new`: whatever is chosen, the file passes `cutspan check`; guesses at a table are shown as guesses.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use cutspan::definitions::{groups, indices, outcomes, survey};
use cutspan::study::{Draft, DraftSource, Invented, Map, Seen, guess, load, parse};

pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub(crate) fn cutspan(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_cutspan"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("CUTSPAN_DATA")
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap()
}

pub(crate) fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn survey_of(cycle: &str) -> DraftSource {
    DraftSource::Survey { survey: "nhanes".to_owned(), cycles: vec![cycle.to_owned()] }
}

fn table_of(map: Map) -> DraftSource {
    DraftSource::Table { name: "clinic".to_owned(), file: "clinic.csv".to_owned(), map }
}

fn passes(draft: &Draft) {
    let text = draft.text();
    if let Err(error) = parse(&text, "new.toml", Path::new(".")) {
        panic!("{error}\n{text}");
    }
    let uncommented = text.lines().filter(|line| line.starts_with('[') || line.starts_with("# ----"));
    assert!(uncommented.count() >= 6, "a comment on every section:\n{text}");
}

/// Columns of a table with everything, with nothing, and with what a clinic has.
fn maps() -> [Map; 3] {
    let column = |name: &str| Seen { name: name.to_owned(), ..Seen::default() };
    let all = cutspan::definitions::quantity::quantities().iter().map(|quantity| column(&quantity.name));
    let clinic = ["id", "sex", "age", "FPG", "INS", "BMI"].map(column);
    [
        guess(&[column("id"), column("stratum"), column("psu")].into_iter().chain(all).collect::<Vec<_>>()),
        guess(&[column("x"), column("y")]),
        guess(&clinic),
    ]
}

#[test]
fn every_choice_that_is_offered_passes_the_check() {
    let plain = |source: DraftSource| Draft {
        title: "A first study".to_owned(),
        source,
        indices: None,
        outcomes: None,
        groups: None,
        threshold: None,
    };
    for cycle in survey::cycles("nhanes").unwrap() {
        passes(&plain(survey_of(&cycle)));
    }
    for map in maps() {
        passes(&plain(table_of(map)));
    }
    let sources = [survey_of("2017-2020")].into_iter().chain(maps().map(table_of));
    let one = |name: &str| Some(vec![name.to_owned()]);
    for source in sources {
        for row in indices() {
            let threshold = Some((row.name.clone(), 2.0));
            passes(&Draft { indices: one(&row.name), threshold, ..plain(source.clone()) });
        }
        for row in outcomes() {
            passes(&Draft { outcomes: one(&row.name), groups: Some(Vec::new()), ..plain(source.clone()) });
        }
        for (position, row) in groups().iter().enumerate() {
            let crossed = if position % 2 == 0 && row.name != "sex" {
                format!("sex × {}", row.name)
            } else {
                row.name.clone()
            };
            let outcomes = Some(Vec::new());
            passes(&Draft { groups: one(&crossed), outcomes, ..plain(source.clone()) });
        }
    }
}

/// Nobody of 2021-2023 has triglycerides: no file of them was released.
#[test]
fn what_a_cycle_did_not_release_is_left_out_and_said() {
    let syndrome = "metabolic_syndrome_harmonized_2009_without_glucose";
    let text = |cycles: &[&str], indices: Option<&str>| {
        let cycles = cycles.iter().map(|cycle| (*cycle).to_owned()).collect();
        let draft = Draft {
            title: "A first study".to_owned(),
            source: DraftSource::Survey { survey: "nhanes".to_owned(), cycles },
            indices: indices.map(|name| vec![name.to_owned()]),
            outcomes: None,
            groups: None,
            threshold: None,
        };
        passes(&draft);
        draft.text()
    };
    for cycles in [&["2021-2023"][..], &["2017-2018", "2021-2023"]] {
        let said = text(cycles, None);
        assert!(said.contains("indices = [\"homa_ir\"] "), "{said}");
        assert!(said.contains("outcomes = [\"raised_a1c\"] "), "{said}");
        let left_out = "# Left out, because triglycerides is not among the released files: tyg, tg_hdl,";
        assert!(said.contains(&format!("{left_out} {syndrome}.")), "{said}");
    }
    let asked = text(&["2021-2023"], Some("tyg"));
    assert!(asked.contains("indices = [\"tyg\"] "), "{asked}");
    assert!(
        asked
            .contains("# check this: triglycerides is not among the released files, and these read it: tyg.")
    );
    for cycle in survey::cycles("nhanes").unwrap().iter().filter(|cycle| *cycle != "2021-2023") {
        let said = text(&[cycle.as_str()], None);
        assert!(said.contains("[\"homa_ir\", \"tyg\", \"tg_hdl\"]") && said.contains(syndrome), "{said}");
        assert!(!said.contains("not among the released files"), "{said}");
    }
}

#[test]
fn the_written_file_is_checked_run_and_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    fs::create_dir(folder.join("studies")).unwrap();
    fs::copy(root().join("data-public/own-table-example.csv"), folder.join("own.csv")).unwrap();
    let new = ["new", "studies/own.toml", "--table", "own.csv", "--threshold", "homa_ir=2.5"];
    let output = cutspan(folder, &new);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let file = folder.join("studies/own.toml");
    let text = fs::read_to_string(&file).unwrap();
    for part in [
        "#:schema ",
        "name = \"own.csv (own table)\"",
        "files = [\"../own.csv\"]",
        "check this: unit from the column's name",
        "value = 2.5",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    assert_eq!(cutspan(folder, &["check", "studies/own.toml"]).status.code(), Some(0));
    let mut study = load(&file).unwrap();
    study.resampling.replicates = 20;
    let results = cutspan::pipeline::estimate(&study, &[]).unwrap();
    assert!(results.tables.iter().any(|table| table.name == "cutoffs" && !table.rows.is_empty()));

    let again = cutspan(folder, &new);
    assert_eq!(again.status.code(), Some(2));
    assert!(said(&again).contains("is there already and is left alone"), "{}", said(&again));
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
}

#[test]
fn a_table_whose_rows_say_invented_becomes_a_study_that_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let veldmark = fs::read_to_string(root().join("data-public/veldmark.csv")).unwrap();
    let text = written(folder.path(), &veldmark, &[]);
    for part in ["\ninvented = true ", "\nname = \"clinic (invented)\" ", "resistance, clinic (invented)\"\n"]
    {
        assert!(text.contains(part), "{part}\n{text}");
    }
    let study = parse(&text, "s.toml", folder.path()).unwrap();
    assert_eq!(study.invented(), Invented::Everybody);
    let text = written(folder.path(), CLINIC, &[]);
    assert!(!text.contains("invented"), "{text}");
    assert!(!parse(&text, "s.toml", folder.path()).unwrap().has_invented());
}

/// What a clinic's table is, in the words of its first study.
pub(crate) fn written(folder: &Path, table: &str, options: &[&str]) -> String {
    fs::write(folder.join("clinic.csv"), table).unwrap();
    let arguments: Vec<&str> =
        ["new", "s.toml", "--table", "clinic.csv"].iter().chain(options).copied().collect();
    let output = cutspan(folder, &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let check = cutspan(folder, &["check", "s.toml"]);
    assert_eq!(check.status.code(), Some(0), "{}", said(&check));
    let text = fs::read_to_string(folder.join("s.toml")).unwrap();
    fs::remove_file(folder.join("s.toml")).unwrap();
    text
}

pub(crate) const CLINIC: &str = "id,sex,age,FPG,INS,TG,HDL,waist,SBP,DBP,BMI\n\
    1,M,40,5.4,60,1.2,1.3,98,128,80,27.1\n2,F,50,5.9,<12,1.9,1.1,92,131,84,31.0\n3,M,61,5.1,44,0.9,1.6,88,119,72,24.3\n";

#[test]
fn an_outcome_that_counts_treatment_is_taken_without_it_where_none_is_known() {
    let folder = tempfile::tempdir().unwrap();
    let name = "metabolic_syndrome_harmonized_2009";
    let text = written(folder.path(), CLINIC, &["--outcome", name]);
    assert!(text.contains(&format!("outcomes = [\"{name}_without_treatment\"]")), "{text}");
    assert!(text.contains("nothing of blood_pressure_drug, glucose_drug, lipid_drug"), "{text}");
    let text = written(folder.path(), CLINIC, &[]);
    assert!(text.contains(&format!("\"{name}_without_glucose_without_treatment\"")), "{text}");
    assert!(text.contains("groups = [\"sex\", \"age_20_40_60\", \"obesity\"]"), "{text}");
    for part in ["# minimum_cell", "# [output]", "# [analysis.standardize]", "check this: waist limits"] {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn a_table_and_a_cycle_make_two_samples() {
    let folder = tempfile::tempdir().unwrap();
    let text = written(folder.path(), CLINIC, &["--cycle", "2017-2020", "--group", "sex x obesity"]);
    for part in ["sample = \"own\"", "sample = \"nhanes\"", "cycle = \"2017-2020\"", "\"pregnant\""] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    // Every section as a comment can be switched on.
    let switched = text.replace("# [output]", "[output]").replace("# width_mm", "width_mm");
    assert_eq!(parse(&switched, "s.toml", folder.path()).unwrap().output.width_mm, 174.0);
}

#[test]
fn other_choices_and_a_stated_number_can_be_switched_on() {
    let folder = tempfile::tempdir().unwrap();
    // What the survey knows of people leaves out more of them than the table can.
    for (options, sets) in [(&[][..], 1), (&["--cycle", "2017-2020"], 2)] {
        let text = written(folder.path(), CLINIC, options);
        let mut on = false;
        let switched = |line: &str| {
            on = (on || line == "# [sensitivity]" || line == "# [[check]]") && !line.is_empty();
            if on { line.trim_start_matches("# ") } else { line }.to_owned()
        };
        let switched = text.lines().map(switched).collect::<Vec<_>>().join("\n");
        let study = parse(&switched, "s.toml", folder.path()).unwrap();
        let section = study.sensitivity.expect("other choices");
        assert_eq!((section.indices.len(), section.groupings.len(), study.checks.len()), (1, 1, 1));
        assert_eq!(section.exclusions.len(), sets, "{text}");
    }
}

#[test]
fn a_wrong_choice_writes_nothing_and_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    for (options, wanted) in [
        (&["--cycle", "2018"][..], "unknown cycle \"2018\". "),
        (&["--cycle", "2017-2018,2017-2020"], "hold the same people"),
        (&["--cycle", "2017-2020", "--index", "homair"], "Did you mean \"homa_ir\"?"),
        (&["--cycle", "2017-2020", "--group", "sex * bmi"], "Did you mean \"bmi_class\"?"),
        (&["--cycle", "2017-2020", "--group", "sex & bmi"], "two are crossed with ×, * or x"),
        (&["--cycle", "2017-2020", "--threshold", "homa_ir=2,5"], "write the decimals after a point: 2.5"),
        (&["--cycle", "2017-2020", "--threshold", "2.5"], "expected INDEX=VALUE"),
        (&["--table", "absent.csv"], "absent.csv: no such file; give a CSV"),
        (&["--table", "."], ".: a folder, not a table"),
        (&[], "say where the data come from: --cycle"),
    ] {
        let arguments: Vec<&str> = ["new", "s.toml"].iter().chain(options).copied().collect();
        let output = cutspan(folder.path(), &arguments);
        assert_eq!(output.status.code(), Some(2), "{options:?}");
        assert!(said(&output).contains(wanted), "{options:?}: {}", said(&output));
        assert!(!folder.path().join("s.toml").exists(), "{options:?}");
    }
}
